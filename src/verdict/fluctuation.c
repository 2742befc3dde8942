#include "verdict/fluctuation.h"

#include <math.h>

/* How far the readings of a channel with two readings or more lie apart, in its unit. */
typedef double swing_of(const struct channel_stats *stats);

static double amplitude(const struct channel_stats *stats)
{
    return fmax(stats->high - stats->mean, stats->mean - stats->low);
}

static double spread(const struct channel_stats *stats)
{
    return stats->high - stats->low;
}

static struct quantity relative(const struct settled_point *settled, enum channel channel, swing_of *swing)
{
    const struct channel_stats *stats = &settled->channels[channel];
    double mean = fabs(stats->mean);
    return stats->n > 1 && mean > 0.0 ? quantity_of(swing(stats) / mean) : quantity_absent();
}

static struct quantity flow_swing(const struct rig *rig, const struct settled_point *settled, swing_of *swing)
{
    switch (rig->flow_method) {
    case FLOW_METER: return relative(settled, CH_FLOW, swing);
    case FLOW_ORIFICE:
    case FLOW_VENTURI:
    case FLOW_VENTURI_NOZZLE:
    case FLOW_NOZZLE: return quantity_times(relative(settled, CH_DIFFERENTIAL_PRESSURE, swing), 0.5);
    case FLOW_V_NOTCH: return quantity_times(relative(settled, CH_WEIR_HEAD, swing), 2.5);
    case FLOW_RECTANGULAR_NOTCH: return quantity_times(relative(settled, CH_WEIR_HEAD, swing), 1.5);
    case FLOW_TANK_VOLUME:
    case FLOW_TANK_MASS: break; /* a filling is a mean by itself */
    }
    return quantity_absent();
}

static struct quantity head_swing(const struct settled_point *settled, const struct operating_point *point,
                                  double gravity_m_s2, swing_of *swing)
{
    const struct channel_stats *pressure = &settled->channels[CH_GAUGE_PRESSURE];
    if (pressure->n < 2 || !point->head_m.known || !(point->head_m.value > 0.0)) {
        return quantity_absent();
    }
    return quantity_of(swing(pressure) / (point->density_kg_m3.value * gravity_m_s2) / point->head_m.value);
}

static struct point_fluctuation swings(const struct rig *rig, const struct settled_point *settled,
                                       const struct operating_point *point, double gravity_m_s2, swing_of *swing)
{
    return (struct point_fluctuation){.flow = flow_swing(rig, settled, swing),
                                      .head = head_swing(settled, point, gravity_m_s2, swing),
                                      .input_power = relative(settled, CH_INPUT_POWER, swing),
                                      .speed = relative(settled, CH_SPEED, swing),
                                      .within = true};
}

static bool permitted(struct quantity found, struct quantity limit)
{
    return !found.known || !limit.known || found.value <= limit.value;
}

struct point_fluctuation point_fluctuation_of(const struct rig *rig, const struct settled_point *settled,
                                              const struct operating_point *point, double gravity_m_s2,
                                              const struct grade_class *grade_class)
{
    struct point_fluctuation found = swings(rig, settled, point, gravity_m_s2, amplitude);
    if (grade_class != NULL) {
        found.within = permitted(found.flow, grade_class->fluctuation_flow) &&
                       permitted(found.head, grade_class->fluctuation_head) &&
                       permitted(found.input_power, grade_class->fluctuation_power) &&
                       permitted(found.speed, grade_class->fluctuation_speed);
    }
    return found;
}

struct point_fluctuation point_spread_of(const struct rig *rig, const struct settled_point *settled,
                                         const struct operating_point *point, double gravity_m_s2,
                                         const struct grade_spread *limits)
{
    struct point_fluctuation found = swings(rig, settled, point, gravity_m_s2, spread);
    if (limits != NULL) {
        struct quantity limit = quantity_of(limits->spread_qhp);
        found.within = permitted(found.flow, limit) && permitted(found.head, limit) &&
                       permitted(found.input_power, limit) && permitted(found.speed, quantity_of(limits->spread_speed));
    }
    return found;
}
