/* electric.h - input power, power factor and unbalance from electrical readings
 */
#ifndef DUTYPROOF_ELECTRIC_H
#define DUTYPROOF_ELECTRIC_H

#include "base/quantity.h"

#include <stddef.h>

/* The mean of those of count readings that are known; absent when none is. */
struct quantity mean_of(const struct quantity *readings, size_t count);

/* Unbalance: largest deviation from the mean, over the mean (fraction). Absent unless all count are known and the mean
 * is positive. Source: NEMA MG 1, 14.36.2 (the definition; universal). */
struct quantity unbalance_of(const struct quantity *readings, size_t count);

/* Input power, W, of phases (1 or 3) at voltage V (line to line when 3), current A (both >= 0) and power factor (0 to
 * 1). Absent if any is, or is out of range. */
struct quantity power_of_current(double phases, struct quantity voltage_v, struct quantity current_a,
                                 struct quantity power_factor);

/* Power factor from power; absent when a quantity is, or voltage or current is 0. Above 1 when the readings contradict
 * each other (a wrong transformer ratio), which is for the caller to say. */
struct quantity power_factor_of(double phases, struct quantity power_w, struct quantity voltage_v,
                                struct quantity current_a);

/* Power on an energy meter: revolutions / (constant x time), constant in 1/J. Absent if any is, or the time or constant
 * is not positive. */
struct quantity power_of_meter(struct quantity revolutions, struct quantity constant_per_j, struct quantity time_s);

#endif
