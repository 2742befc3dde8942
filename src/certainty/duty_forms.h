/* duty_forms.h - the numbers of a duty point as linear forms of the points' values (private to certainty/)
 */
#ifndef DUTYPROOF_DUTY_FORMS_H
#define DUTYPROOF_DUTY_FORMS_H

#include "certainty/uncertainty_budget.h"

/* The numbers of duty d as linear forms, and their values. Status: E_MEMORY. */
enum status budget_forms(struct uncertainty_budget *budget, size_t d);

/* Weight of each of count points in the least-squares polynomial of a degree at a flow: curve(flow) = sum weight_i y_i.
 * By orthogonal polynomials on the points (Forsythe 1957), without a matrix. count > degree. */
void fit_weights(const double *flow_m3s, size_t count, size_t degree, double flow_at_m3s, double *weight);

#endif
