/* conformance.h - the probability that the true values conform (private to certainty/)
 */
#ifndef DUTYPROOF_CONFORMANCE_H
#define DUTYPROOF_CONFORMANCE_H

#include "certainty/uncertainty_budget.h"

/* Probability that each checked number, and all of them together, conform; fills duties and the whole. Status:
 * E_MEMORY. */
enum status budget_conformance(struct uncertainty_budget *budget);

#endif
