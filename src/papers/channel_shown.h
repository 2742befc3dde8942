/* channel_shown.h - readings in the units that their log is written in
 */
#ifndef DUTYPROOF_CHANNEL_SHOWN_H
#define DUTYPROOF_CHANNEL_SHOWN_H

#include "settle/settle.h"

/* The unit's name, "" where the log states none. */
const char *channel_unit_name(const struct log *log, enum channel channel);

/* A reading, and a difference of two readings, from SI. */
double channel_shown(const struct log *log, enum channel channel, double si);
double channel_difference_shown(const struct log *log, enum channel channel, double si);

/* Time and point number order the rows; they are not averaged. */
static inline bool channel_is_measured(enum channel channel)
{
    return channel != CH_TIME && channel != CH_POINT;
}

/* The largest deviation of a reading from the mean, as a share of it. Absent for a single reading, and for temperatures
 * and levels, of which a share says nothing. */
struct quantity channel_fluctuation(enum channel channel, const struct channel_stats *stats);

#endif
