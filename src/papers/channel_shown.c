#include "papers/channel_shown.h"

#include <math.h>

const char *channel_unit_name(const struct log *log, enum channel channel)
{
    return log->units[channel] != NULL ? log->units[channel]->name : "";
}

double channel_shown(const struct log *log, enum channel channel, double si)
{
    const struct unit *unit = log->units[channel];
    return unit != NULL ? unit_from_si(unit, si) : si;
}

double channel_difference_shown(const struct log *log, enum channel channel, double si)
{
    return channel_shown(log, channel, si) - channel_shown(log, channel, 0.0);
}

struct quantity channel_fluctuation(enum channel channel, const struct channel_stats *stats)
{
    enum dimension dimension = channel_info(channel)->dimension;
    bool has_share = dimension != DIM_TEMPERATURE && dimension != DIM_LENGTH && stats->mean != 0.0;
    double swing = fmax(stats->high - stats->mean, stats->mean - stats->low);
    return has_share && stats->n > 1 ? quantity_of(swing / fabs(stats->mean)) : quantity_absent();
}
