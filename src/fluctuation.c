#include "dutyproof/fluctuation.h"

#include <math.h>

/* Largest deviation of a reading from the mean, in the channel's unit; absent for fewer than two readings. */
static struct quantity amplitude_of(const struct settled_point *settled, enum channel channel)
{
    const struct channel_stats *stats = &settled->channels[channel];
    if (stats->n < 2) {
        return quantity_absent();
    }
    return quantity_of(fmax(stats->high - stats->mean, stats->mean - stats->low));
}

static struct quantity relative_amplitude_of(const struct settled_point *settled, enum channel channel)
{
    double mean = fabs(settled->channels[channel].mean);
    struct quantity amplitude = amplitude_of(settled, channel);
    return amplitude.known && mean > 0.0 ? quantity_of(amplitude.value / mean) : quantity_absent();
}

static struct quantity flow_amplitude(const struct rig *rig, const struct settled_point *settled)
{
    switch (rig->flow_method) {
    case FLOW_METER: return relative_amplitude_of(settled, CH_FLOW);
    case FLOW_ORIFICE:
    case FLOW_VENTURI:
    case FLOW_VENTURI_NOZZLE:
    case FLOW_NOZZLE: return quantity_times(relative_amplitude_of(settled, CH_DIFFERENTIAL_PRESSURE), 0.5);
    case FLOW_V_NOTCH: return quantity_times(relative_amplitude_of(settled, CH_WEIR_HEAD), 2.5);
    case FLOW_RECTANGULAR_NOTCH: return quantity_times(relative_amplitude_of(settled, CH_WEIR_HEAD), 1.5);
    case FLOW_TANK_VOLUME:
    case FLOW_TANK_MASS: break; /* a filling is a mean by itself */
    }
    return quantity_absent();
}

static bool permitted(struct quantity amplitude, struct quantity limit)
{
    return !amplitude.known || !limit.known || amplitude.value <= limit.value;
}

struct point_fluctuation point_fluctuation_of(const struct rig *rig, const struct settled_point *settled,
                                              const struct operating_point *point, double gravity_m_s2,
                                              const struct grade_class *grade_class)
{
    struct point_fluctuation fluctuation = {.flow = flow_amplitude(rig, settled),
                                            .input_power = relative_amplitude_of(settled, CH_INPUT_POWER),
                                            .speed = relative_amplitude_of(settled, CH_SPEED),
                                            .within = true};
    struct quantity pressure_pa = amplitude_of(settled, CH_GAUGE_PRESSURE);
    if (pressure_pa.known && point->head_m.known && point->head_m.value > 0.0) {
        fluctuation.head =
            quantity_of(pressure_pa.value / (point->density_kg_m3.value * gravity_m_s2) / point->head_m.value);
    }
    if (grade_class != NULL) {
        fluctuation.within = permitted(fluctuation.flow, grade_class->fluctuation_flow) &&
                             permitted(fluctuation.head, grade_class->fluctuation_head) &&
                             permitted(fluctuation.input_power, grade_class->fluctuation_power) &&
                             permitted(fluctuation.speed, grade_class->fluctuation_speed);
    }
    return fluctuation;
}
