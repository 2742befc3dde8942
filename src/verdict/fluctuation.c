#include "verdict/fluctuation.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

/* How far the readings of a channel with two readings or more lie apart, in its unit. */
typedef double swing_of(const struct channel_stats *stats);

static double amplitude(const struct channel_stats *stats)
{
    return fmax(stats->high - stats->mean, stats->mean - stats->low);
}

static double apart(const struct channel_stats *stats)
{
    return stats->high - stats->low;
}

static struct quantity relative(const struct settled_point *settled, enum channel channel, swing_of *swing)
{
    const struct channel_stats *stats = &settled->channels[channel];
    double mean = fabs(stats->mean);
    return stats->n > 1 && mean > 0.0 ? quantity_of(swing(stats) / mean) : quantity_absent();
}

/* One point whose readings swing. */
struct swinging {
    const struct chain *chain;
    size_t i;
    const struct settled_point *settled;
    swing_of *swing;
};

/* Flow, head and input power of the point with one reading moved. */
static struct operating_point moved_point(const struct swinging *s, enum channel channel, double by)
{
    struct means means = s->chain->means[s->i];
    struct operating_point moved;
    means.value[channel] += by;
    reduce_point(s->chain->bay, s->chain->model, s->chain->site, &means, &moved, NULL);
    return moved;
}

/* What a channel's swing is of a quantity, relative, by the slope of the reduction at the mean. at: of the quantity in
 * struct operating_point. */
static double share(const struct swinging *s, enum channel channel, double of, size_t at)
{
    static const double step = 1e-4; /* of the swing: rounding and curvature both stay below 1e-8 of it */
    double swing = s->swing(&s->settled->channels[channel]), by = step * swing;
    struct operating_point up = moved_point(s, channel, by), down = moved_point(s, channel, -by);
    struct quantity high, low;
    memcpy(&high, (const char *)&up + at, sizeof high);
    memcpy(&low, (const char *)&down + at, sizeof low);
    return high.known && low.known ? fabs((high.value - low.value) / (2.0 * step) / of) : 0.0;
}

static bool counts(enum channel channel, enum channel_makes makes)
{
    const struct channel_info *info = channel_info(channel);
    bool electric = info->makes == MAKES_VOLTAGE || info->makes == MAKES_CURRENT;
    return makes == MAKES_FLOW ? info->makes == makes && info->follows
                               : info->makes == makes || (makes == MAKES_POWER && electric);
}

static struct quantity swing_in(const struct swinging *s, enum channel_makes makes, struct quantity of, size_t at)
{
    double sum = 0.0;
    bool read = false;
    for (int c = 0; of.known && of.value != 0.0 && c < CHANNEL_COUNT; c++) {
        enum channel channel = (enum channel)c;
        const struct channel_stats *stats = &s->settled->channels[c];
        if (counts(channel, makes) && stats->n > 1) {
            double part = s->swing(stats) > 0.0 ? share(s, channel, of.value, at) : 0.0;
            read = read || part > 0.0 || channel_info(channel)->makes == makes;
            sum += part;
        }
    }
    return read ? quantity_of(sum) : quantity_absent();
}

static struct point_fluctuation swings(const struct swinging *s)
{
    const struct operating_point *point = &s->chain->as_tested[s->i];
    struct quantity head_m = quantity_or(point->head_m, 0.0) > 0.0 ? point->head_m : quantity_absent();
    return (struct point_fluctuation){
        .flow = swing_in(s, MAKES_FLOW, point->flow_m3s, offsetof(struct operating_point, flow_m3s)),
        .head = swing_in(s, MAKES_HEAD, head_m, offsetof(struct operating_point, head_m)),
        .input_power = swing_in(s, MAKES_POWER, point->input_power_w, offsetof(struct operating_point, input_power_w)),
        .speed = relative(s->settled, CH_SPEED, s->swing),
        .within = true};
}

static bool permitted(struct quantity found, struct quantity limit)
{
    return !found.known || !limit.known || found.value <= limit.value;
}

struct point_fluctuation point_fluctuation_of(const struct chain *chain, size_t i, const struct settled_point *settled,
                                              const struct grade_class *grade_class)
{
    struct point_fluctuation found = swings(&(struct swinging){chain, i, settled, amplitude});
    if (grade_class != NULL) {
        found.within = permitted(found.flow, grade_class->fluctuation_flow) &&
                       permitted(found.head, grade_class->fluctuation_head) &&
                       permitted(found.input_power, grade_class->fluctuation_power) &&
                       permitted(found.speed, grade_class->fluctuation_speed);
    }
    return found;
}

struct point_fluctuation point_spread_of(const struct chain *chain, size_t i, const struct settled_point *settled,
                                         const struct grade_spread *limits)
{
    struct point_fluctuation found = swings(&(struct swinging){chain, i, settled, apart});
    if (limits != NULL) {
        struct quantity limit = quantity_of(limits->spread_qhp);
        found.within = permitted(found.flow, limit) && permitted(found.head, limit) &&
                       permitted(found.input_power, limit) && permitted(found.speed, quantity_of(limits->spread_speed));
    }
    return found;
}
