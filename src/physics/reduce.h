/* reduce.h - from the mean readings of a point to flow, head, power and efficiency as tested (stage 4)
 *
 * A pure function of the means: uncertainty varies its input and calls it again.
 */
#ifndef DUTYPROOF_REDUCE_H
#define DUTYPROOF_REDUCE_H

#include "physics/flow_limits.h"
#include "physics/head.h"
#include "tables/bay.h"

#include <stdint.h>

/* Gravity and air pressure of the bay, computed or as stated. */
struct site {
    double gravity_m_s2, air_pressure_pa;
    bool gravity_stated, gravity_assumed; /* stated in rig.csv; standard gravity for want of latitude */
    bool air_pressure_stated;
};

/* Mean readings of a point, SI and corrected. */
struct means {
    double value[CHANNEL_COUNT];
    uint32_t present; /* bit CH_x set: value[CH_x] was read at this point */
    uint32_t
        logged; /* the same of the whole log: a wattmeter that is blank at one point is not one that the bay lacks */
};

static inline struct quantity means_get(const struct means *means, enum channel channel)
{
    return (means->present >> channel & 1U) != 0 ? quantity_of(means->value[channel]) : quantity_absent();
}

/* One state of the set, as tested. What was not measured is absent. Efficiencies are fractions. */
struct operating_point {
    struct quantity water_temperature_c, density_kg_m3; /* density as used for head and power */
    struct quantity flow_m3s, head_m;
    struct head_parts head_parts; /* meaningful when head_m is known */
    struct quantity input_power_w, shaft_power_w, hydraulic_power_w;
    struct quantity voltage_v, current_a, power_factor, frequency_hz, speed_rpm;
    struct quantity motor_speed_rpm; /* from the motor's curve, at the test's frequency */
    struct quantity voltage_unbalance, current_unbalance;
    struct quantity set_efficiency, pump_efficiency;
};

/* Why a quantity of a point is absent although the log measures something of it, and what had to be taken for granted.
 */
struct reduce_remarks {
    const char *flow, *head, *power, *shaft; /* why absent; static texts, NULL when there is nothing to say */
    const char *zero;                        /* a reading below zero counts as zero flow */
    bool one_wattmeter;                      /* input power is three times that of one phase */
    struct flow_limits flow_limits;
};

/* Gravity and air pressure of a bay: as stated, else from latitude and altitude. */
struct site site_of(const struct rig *rig);

/* Reduces one point. Density and power use the density at the mean of inlet and delivery absolute pressure, or the
 * stated one. remarks may be NULL. Never fails: a quantity that cannot be computed is absent. */
void reduce_point(const struct bay *bay, const struct model *model, const struct site *site, const struct means *means,
                  struct operating_point *point, struct reduce_remarks *remarks);

/* The channel that a flow method reads. */
enum channel flow_channel(enum flow_method method);

#endif
