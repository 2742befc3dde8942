/* learn.h - a model's reference from the curves of its good units
 */
#ifndef CAUSES_LEARN_H
#define CAUSES_LEARN_H

#include "physics/fit.h"
#include "tables/reference_curves.h"

/* A good unit's curves at rated speed: passed, not seeded with a fault. Power and current may be unknown. */
struct good_curves {
    const struct curve *of[CURVES]; /* NULL or not known: not measured */
};

/* Learns the mean curves and the ways in which units differ (principal components, up to REFERENCE_SPREADS_MAX).
 * The nodes lie over the flows that nine units of ten cover; units that do not are left out. A quantity counts where
 * every unit that is left has it. model and stages are the caller's. Status: E_INPUT fewer than two units or no common
 * flows (says so); E_MEMORY. */
enum status reference_learn(const struct good_curves *units, size_t count, struct reference_curves *learned,
                            struct faults *faults);

#endif
