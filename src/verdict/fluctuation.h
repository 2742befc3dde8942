/* fluctuation.h - how much the readings of a point swing about their mean, against the permissible amplitude
 */
#ifndef DUTYPROOF_FLUCTUATION_H
#define DUTYPROOF_FLUCTUATION_H

#include "physics/chain.h"
#include "settle/settle.h"

/* Largest relative deviation of a reading from the mean, or spread between readings, as a fraction of the quantity that
 * the reading stands for. */
struct point_fluctuation {
    struct quantity flow, head, input_power, speed;
    bool within; /* what the grade's class permits; true when nothing is stated */
};

/* Amplitudes of point i of a chain that has run. What a swing of a reading is of flow, head or power comes from the
 * reduction itself: half of a differential pressure's, 5/2 of the head on a V-notch, a gauge pressure's share of the
 * total head. Readings that make one quantity together (wattmeters; voltage, current and power factor) follow the load
 * together: their swings add up. Absent for a single reading, and for the flow of a tank, whose filling is a mean by
 * itself. class may be NULL. Source: ISO 9906:2012 table of permissible amplitudes (from memory, confirm), in
 * reference/classes.csv. */
struct point_fluctuation point_fluctuation_of(const struct chain *chain, size_t i, const struct settled_point *settled,
                                              const struct grade_class *grade_class);

/* Spread of the repeated readings of one point, (highest - lowest)/mean, counted in the same way. Absent for fewer than
 * two readings. permitted may be NULL. Source: ISO 9906, limits of variation between repeated readings (from memory,
 * confirm), in reference/spreads.csv. */
struct point_fluctuation point_spread_of(const struct chain *chain, size_t i, const struct settled_point *settled,
                                         const struct grade_spread *permitted);

#endif
