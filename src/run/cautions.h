/* cautions.h - cautions about a test: they change nothing
 */
#ifndef DUTYPROOF_CAUTIONS_H
#define DUTYPROOF_CAUTIONS_H

#include "run/result.h"

/* Cautions: supply, speed, number and place of points, fluctuation, unbalance, implausible readings, curve shape,
 * water. Status: E_MEMORY. */
enum status cautions_add(struct result *result, struct arena *arena);

#endif
