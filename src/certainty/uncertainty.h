/* uncertainty.h - how sure the numbers are, and how likely the unit conforms
 *
 * Two kinds of error, and they go through the chain differently. An instrument's error is one and the same at every
 * point of a test: all points move together, and the fitted curve with them. The scatter of readings is another at each
 * point, and the fit averages it out. To first order (JCGM 100:2008, 5.1) both are carried by the sensitivities of each
 * point's flow, head, power and current to each reading, and by the weight that each point has in the value of a fitted
 * curve.
 *
 * Neither ever changes a verdict: the grades already allow for the uncertainty of the test (ISO 9906:2012, scope).
 */
#ifndef DUTYPROOF_UNCERTAINTY_H
#define DUTYPROOF_UNCERTAINTY_H

#include "certainty/certainty.h"

/* Finds the uncertainty of every point and duty of a test whose verdicts stand, and the probability that it conforms.
 * guard and monte_carlo stay {0}. scratch is used and left to the caller to release. Status: E_MEMORY. */
enum status uncertainty_find(const struct certainty_input *input, struct arena *arena, struct arena *scratch,
                             struct certainty *certainty);

#endif
