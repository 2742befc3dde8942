/* sensitivity.h - how each reading of each point moves the points of the curves (private to uncertainty) */
#ifndef DUTYPROOF_SENSITIVITY_H
#define DUTYPROOF_SENSITIVITY_H

#include "certainty/certainty.h"

/* What one reading of one point does, and how well it is known. */
struct reading_effect {
    double limit; /* instrument's accuracy limit there, SI, with the reading's sign where it is of the reading; 0: none
                     stated */
    double standard_error; /* of the mean from its readings; 0 for a single one */
    double freedom;        /* degrees of freedom of standard_error */
    double flow, density;  /* change of the point's flow at rated speed and of its density, per unit of the reading */
    double value[CURVE_COUNT]; /* change of head, power, ... at rated speed, per unit of the reading */
    double relative[4];        /* relative change of flow, head, input power, set efficiency as tested, per unit */
};

struct sensitivity {
    size_t count;                                       /* points */
    const struct instrument *instrument[CHANNEL_COUNT]; /* NULL: none listed, or it states no accuracy */
    bool used[CHANNEL_COUNT];                           /* the channel moves something */
    enum channel first[CHANNEL_COUNT];                  /* the first channel whose error is the same: see below */
    struct reading_effect *effect[CHANNEL_COUNT];       /* count each; NULL when not used */
};

/* Moves each reading of each point by its own uncertainty (or a thousandth where it states none) and reduces again.
 * Status: E_MEMORY. */
enum status sensitivity_find(const struct chain *chain, const struct settled *settled, struct sensitivity *sensitivity,
                             struct arena *scratch);

/* Readings of one kind of quantity by one instrument (one serial: the three voltages of an analyser, not its voltage
 * and its power) err together; a bay that knows better gives the inputs serials of their own. first[c] is c where the
 * channel errs by itself. */

/* Half-width as stated -> standard uncertainty. */
double limit_deviation(const struct instrument *instrument, double limit);

#endif
