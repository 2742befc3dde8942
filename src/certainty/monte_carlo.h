/* monte_carlo.h - a whole test sent many times through chain, fit and judgement with its errors drawn at random
 */
#ifndef DUTYPROOF_MONTE_CARLO_H
#define DUTYPROOF_MONTE_CARLO_H

#include "certainty/certainty.h"

/* Sends trials random draws of all errors through the whole chain, fit and judgement included. scatter_by_residual: as
 * uncertainty_find decided. Source: JCGM 101:2008. Status: E_MEMORY. */
enum status monte_carlo_run(const struct certainty_input *input, bool scatter_by_residual, size_t trials,
                            struct arena *arena, struct monte_carlo *out);

#endif
