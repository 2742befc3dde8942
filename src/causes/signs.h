/* signs.h - faults that are read off directly and need no good units: a dead phase, an unbalance and what it follows, a
 * low supply
 *
 * Common practice throughout; several makers' manuals agree (secondary sources).
 */
#ifndef CAUSES_SIGNS_H
#define CAUSES_SIGNS_H

#include "causes/causes.h"

enum { PHASES = 3 };

/* Means of a test, in one order of the lines (r, y, b; ry, yb, br). */
struct phase_readings {
    struct quantity current_a[PHASES], voltage_v[PHASES];
};

/* Currents read by line with the motor's leads rolled one line further each time: three hook-ups of one motor, the same
 * load. */
struct hook_ups {
    double current_a[PHASES][PHASES]; /* [hook-up][line] */
};

enum follows { FOLLOWS_NOT_KNOWN, FOLLOWS_SUPPLY, FOLLOWS_MOTOR };

/* Greatest deviation from the mean over the mean. Absent unless all three are known and their mean is above 0. */
struct quantity phase_unbalance(const struct quantity of[PHASES]);

/* The line whose current is less than a tenth of the others' while they flow: -1 when there is none. */
int dead_phase(const struct quantity current_a[PHASES]);

/* Unbalance that stays with the line is the supply's, unbalance that moves with the lead is the motor's. Not known
 * where neither explains most of it or there is less than 2 % to explain. */
enum follows unbalance_follows(const struct hook_ups *hook_ups);

struct signs {
    int dead_phase;            /* 0, 1, 2: line r, y, b; -1: none */
    struct quantity unbalance; /* of current, where it calls for a look (above 10 %) */
    bool supply_explains;      /* the voltages' unbalance times ten covers it */
    enum follows follows;
    struct quantity low_voltage;   /* share of rated, where below 0.95 */
    struct quantity low_frequency; /* share of rated, where below 0.98 */
};

/* What is known of the supply, for the signs; hook_ups NULL: one hook-up alone. voltage and frequency are shares of
 * rated. */
struct supply_readings {
    struct phase_readings phases;
    const struct hook_ups *hook_ups;
    struct quantity voltage, frequency;
};
void signs_find(const struct supply_readings *readings, struct signs *signs);

/* Puts the causes that the signs show in front of those inferred from the curves. A dead phase stands alone: what it
 * does to the curves says nothing of the set. A voltage-transformer ratio that the curves show is not called a low
 * supply. */
void causes_add_signs(const struct signs *signs, const struct cause_table *causes, struct causes_result *result);

#endif
