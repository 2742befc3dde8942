#include "physics/electric.h"

#include <math.h>

struct quantity mean_of(const struct quantity *readings, size_t count)
{
    double sum = 0.0;
    size_t known = 0;
    for (size_t i = 0; i < count; i++) {
        if (readings[i].known) {
            sum += readings[i].value;
            known++;
        }
    }
    return known > 0 ? quantity_of(sum / (double)known) : quantity_absent();
}

struct quantity unbalance_of(const struct quantity *readings, size_t count)
{
    struct quantity mean = mean_of(readings, count);
    double largest = 0.0;
    if (!mean.known || !(mean.value > 0.0)) {
        return quantity_absent();
    }
    for (size_t i = 0; i < count; i++) {
        if (!readings[i].known) {
            return quantity_absent();
        }
        largest = fmax(largest, fabs(readings[i].value - mean.value));
    }
    return quantity_of(largest / mean.value);
}

/* Apparent power, VA: V I on one phase, sqrt(3) V I on three. Absent where the inputs make no sense. */
static struct quantity apparent_power(double phases, struct quantity voltage_v, struct quantity current_a)
{
    bool valid = (phases == 1.0 || phases == 3.0) && voltage_v.known && current_a.known && voltage_v.value >= 0.0 &&
                 current_a.value >= 0.0;
    return valid ? quantity_of(sqrt(phases) * voltage_v.value * current_a.value) : quantity_absent();
}

struct quantity power_of_current(double phases, struct quantity voltage_v, struct quantity current_a,
                                 struct quantity power_factor)
{
    bool valid = power_factor.known && power_factor.value >= 0.0 && power_factor.value <= 1.0;
    return valid ? quantity_times(apparent_power(phases, voltage_v, current_a), power_factor.value) : quantity_absent();
}

struct quantity power_factor_of(double phases, struct quantity power_w, struct quantity voltage_v,
                                struct quantity current_a)
{
    struct quantity apparent_va = apparent_power(phases, voltage_v, current_a);
    bool valid = power_w.known && apparent_va.known && apparent_va.value > 0.0;
    return valid ? quantity_of(power_w.value / apparent_va.value) : quantity_absent();
}

struct quantity power_of_meter(struct quantity revolutions, struct quantity constant_per_j, struct quantity time_s)
{
    bool valid = revolutions.known && revolutions.value >= 0.0 && constant_per_j.known && constant_per_j.value > 0.0 &&
                 time_s.known && time_s.value > 0.0;
    return valid ? quantity_of(revolutions.value / (constant_per_j.value * time_s.value)) : quantity_absent();
}
