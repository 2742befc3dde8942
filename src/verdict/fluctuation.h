/* fluctuation.h - how much the readings of a point swing about their mean, against the permissible amplitude
 */
#ifndef DUTYPROOF_FLUCTUATION_H
#define DUTYPROOF_FLUCTUATION_H

#include "physics/reduce.h"
#include "settle/settle.h"

/* Largest relative deviation of a reading from the mean, or spread between readings, as a fraction of the quantity that
 * the reading stands for. */
struct point_fluctuation {
    struct quantity flow, head, input_power, speed;
    bool within; /* what the grade's class permits; true when nothing is stated */
};

/* Amplitudes of one point. A differential pressure counts half (flow goes with its root), a notch's head 5/2 (V) or
 * 3/2; a gauge pressure counts as its share of the total head. Absent for a single reading. class may be NULL. Source:
 * ISO 9906:2012 table of permissible amplitudes (from memory, confirm), in reference/classes.csv. */
struct point_fluctuation point_fluctuation_of(const struct rig *rig, const struct settled_point *settled,
                                              const struct operating_point *point, double gravity_m_s2,
                                              const struct grade_class *grade_class);

/* Spread of the repeated readings of one point, (highest - lowest)/mean, counted in the same way. Absent for fewer than
 * two readings. permitted may be NULL. Source: ISO 9906, limits of variation between repeated readings (from memory,
 * confirm), in reference/spreads.csv. */
struct point_fluctuation point_spread_of(const struct rig *rig, const struct settled_point *settled,
                                         const struct operating_point *point, double gravity_m_s2,
                                         const struct grade_spread *permitted);

#endif
