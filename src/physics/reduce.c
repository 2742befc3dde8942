#include "physics/reduce.h"

#include "physics/electric.h"
#include "physics/flow_tank.h"
#include "physics/flow_throttle.h"
#include "physics/flow_weir.h"
#include "physics/motor.h"
#include "physics/water.h"

#include <math.h>

/* Standard gravity, m/s2 (ISO 80000-3), where neither gravity nor latitude is stated. */
static const double standard_gravity_m_s2 = 9.80665;
/* Temperature at which viscosity is taken where the log has none, degC. */
static const double temperature_for_want_c = 20.0;
/* Specific gas constant of dry air, J/(kg K) (ISO 2533). */
static const double gas_constant_air = 287.05287;

struct site site_of(const struct rig *rig)
{
    struct site site = {.gravity_stated = rig->gravity_m_s2.known, .air_pressure_stated = rig->air_pressure_pa.known};
    double altitude_m = quantity_or(rig->altitude_m, 0.0);
    if (rig->gravity_m_s2.known) {
        site.gravity_m_s2 = rig->gravity_m_s2.value;
    } else if (rig->latitude_rad.known) {
        site.gravity_m_s2 = site_gravity(rig->latitude_rad.value, altitude_m);
    } else {
        site.gravity_m_s2 = standard_gravity_m_s2;
        site.gravity_assumed = true;
    }
    site.air_pressure_pa = rig->air_pressure_pa.known ? rig->air_pressure_pa.value : site_air_pressure(altitude_m);
    return site;
}

/* The liquid of one point, as far as it is known. */
struct liquid {
    struct quantity temperature_c, density_kg_m3, viscosity_pa_s;
};

/* Density at the mean of inlet and delivery pressure; the free surface stands for the inlet of a submerged set. */
static struct liquid liquid_of(const struct rig *rig, const struct site *site, const struct means *means)
{
    struct quantity gauge_pa = means_get(means, CH_GAUGE_PRESSURE);
    struct quantity suction_pa = means_get(means, CH_SUCTION_PRESSURE);
    double p_abs_pa = site->air_pressure_pa + 0.5 * (quantity_or(gauge_pa, 0.0) + quantity_or(suction_pa, 0.0));
    struct liquid liquid = {.temperature_c = means_get(means, CH_WATER_TEMPERATURE),
                            .density_kg_m3 = rig->water_density_kg_m3};
    double density, viscosity;
    if (!liquid.density_kg_m3.known && liquid.temperature_c.known &&
        water_density(liquid.temperature_c.value, p_abs_pa, &density)) {
        liquid.density_kg_m3 = quantity_of(density);
    }
    double at_c = quantity_or(liquid.temperature_c, temperature_for_want_c);
    if (liquid.density_kg_m3.known && water_viscosity(at_c, p_abs_pa, &viscosity)) {
        liquid.viscosity_pa_s = quantity_of(viscosity);
    }
    return liquid;
}

static struct quantity flow_if(bool computed, double flow_m3s)
{
    return computed ? quantity_of(flow_m3s) : quantity_absent();
}

static struct quantity throttle_flow(const struct rig *rig, const struct liquid *liquid, struct quantity dp_pa,
                                     struct flow_limits *limits)
{
    if (!dp_pa.known || !liquid->density_kg_m3.known || !liquid->viscosity_pa_s.known || !rig->flow_pipe_bore_m.known ||
        !rig->throat_bore_m.known) {
        return quantity_absent();
    }
    struct throttle device = {.pipe_bore_m = rig->flow_pipe_bore_m.value,
                              .throat_bore_m = rig->throat_bore_m.value,
                              .coefficient = rig->discharge_coefficient,
                              .density_kg_m3 = liquid->density_kg_m3.value,
                              .viscosity_pa_s = liquid->viscosity_pa_s.value};
    double flow_m3s = 0.0;
    bool computed = false;
    switch (rig->flow_method) {
    case FLOW_ORIFICE: computed = flow_orifice(&device, rig->tappings, dp_pa.value, &flow_m3s, limits); break;
    case FLOW_VENTURI: computed = flow_venturi(&device, rig->venturi_kind, dp_pa.value, &flow_m3s, limits); break;
    case FLOW_VENTURI_NOZZLE: computed = flow_venturi_nozzle(&device, dp_pa.value, &flow_m3s, limits); break;
    case FLOW_NOZZLE: computed = flow_nozzle(&device, dp_pa.value, &flow_m3s, limits); break;
    default: break;
    }
    return flow_if(computed, flow_m3s);
}

static struct quantity weir_flow(const struct rig *rig, double gravity_m_s2, struct quantity head_m,
                                 struct flow_limits *limits)
{
    if (!head_m.known) {
        return quantity_absent();
    }
    struct weir weir = {.angle_rad = rig->notch_angle_rad.value,
                        .width_m = rig->notch_width_m.value,
                        .crest_height_m = rig->notch_crest_height_m.value,
                        .approach_width_m = rig->approach_width_m.value,
                        .crest_known = rig->notch_crest_height_m.known,
                        .approach_known = rig->approach_width_m.known,
                        .coefficient = rig->discharge_coefficient,
                        .gravity_m_s2 = gravity_m_s2};
    double flow_m3s = 0.0;
    bool computed = rig->flow_method == FLOW_V_NOTCH ? flow_v_notch(&weir, head_m.value, &flow_m3s, limits)
                                                     : flow_rectangular_notch(&weir, head_m.value, &flow_m3s, limits);
    return flow_if(computed, flow_m3s);
}

enum channel flow_channel(enum flow_method method)
{
    switch (method) {
    case FLOW_METER: return CH_FLOW;
    case FLOW_ORIFICE:
    case FLOW_VENTURI:
    case FLOW_VENTURI_NOZZLE:
    case FLOW_NOZZLE: return CH_DIFFERENTIAL_PRESSURE;
    case FLOW_V_NOTCH:
    case FLOW_RECTANGULAR_NOTCH: return CH_WEIR_HEAD;
    case FLOW_TANK_VOLUME: return CH_TANK_VOLUME;
    case FLOW_TANK_MASS: return CH_TANK_MASS;
    }
    return CH_FLOW;
}

/* The reading of the flow device. At shut-off it may lie below zero by as much as the instrument drifts, and then
 * counts as zero; further below it is no reading of a flow. */
static struct quantity flow_reading(const struct bay *bay, enum channel channel, const struct means *means,
                                    struct reduce_remarks *remarks)
{
    struct quantity reading = means_get(means, channel);
    if (!reading.known) {
        remarks->flow = "no flow: the reading that the rig's flow method needs is missing";
        return reading;
    }
    if (!(reading.value < 0.0)) {
        return reading;
    }
    struct quantity drift = instrument_zero_limit(bay_instrument(bay, channel), 1.0);
    if (drift.known && -reading.value <= drift.value) {
        remarks->zero = "the flow device reads below zero, within its instrument's accuracy: "
                        "taken as zero flow (a drift of zero shifts every reading, see 'zero' in instruments.csv)";
        return quantity_of(0.0);
    }
    remarks->flow = "no flow: the flow device reads below zero by more than its instrument's accuracy allows, "
                    "or that is not stated; look at its zero in instruments.csv and at its connections";
    return quantity_absent();
}

/* collected: the volume, m3, or the mass, kg. */
static struct quantity tank_flow(const struct rig *rig, const struct site *site, const struct liquid *liquid,
                                 struct quantity collected, struct quantity time_s)
{
    double flow_m3s = 0.0;
    bool computed = false;
    if (!collected.known || !time_s.known) {
        return quantity_absent();
    }
    if (rig->flow_method == FLOW_TANK_VOLUME) {
        computed = flow_tank_volume(collected.value, time_s.value, &flow_m3s);
        return flow_if(computed, flow_m3s);
    }
    if (!liquid->density_kg_m3.known) {
        return quantity_absent();
    }
    double air_k = quantity_or(liquid->temperature_c, temperature_for_want_c) + 273.15;
    double air_kg_m3 = site->air_pressure_pa / (gas_constant_air * air_k);
    computed = flow_tank_mass(collected.value, time_s.value, liquid->density_kg_m3.value, air_kg_m3, &flow_m3s);
    return flow_if(computed, flow_m3s);
}

static struct quantity flow_of(const struct bay *bay, const struct site *site, const struct liquid *liquid,
                               const struct means *means, struct reduce_remarks *remarks)
{
    const struct rig *rig = &bay->rig;
    struct quantity reading = flow_reading(bay, flow_channel(rig->flow_method), means, remarks);
    struct quantity flow = quantity_absent();
    switch (rig->flow_method) {
    case FLOW_METER: flow = reading; break;
    case FLOW_ORIFICE:
    case FLOW_VENTURI:
    case FLOW_VENTURI_NOZZLE:
    case FLOW_NOZZLE: flow = throttle_flow(rig, liquid, reading, &remarks->flow_limits); break;
    case FLOW_V_NOTCH:
    case FLOW_RECTANGULAR_NOTCH: flow = weir_flow(rig, site->gravity_m_s2, reading, &remarks->flow_limits); break;
    case FLOW_TANK_VOLUME:
    case FLOW_TANK_MASS: flow = tank_flow(rig, site, liquid, reading, means_get(means, CH_FILLING_TIME)); break;
    }
    if (!flow.known && remarks->flow == NULL) {
        remarks->flow =
            !liquid->density_kg_m3.known
                ? "no flow: the flow device needs the density of the water, "
                  "but no water temperature within 0 to 100 °C was read, and rig.csv states no water density"
                : "no flow: the readings of the rig's flow method make no sense together";
    }
    return flow;
}

static void find_head(const struct rig *rig, const struct site *site, const struct liquid *liquid,
                      const struct means *means, struct operating_point *point, struct reduce_remarks *remarks)
{
    struct quantity gauge_pa = means_get(means, CH_GAUGE_PRESSURE);
    if (!gauge_pa.known) {
        remarks->head = "no head: no gauge pressure was read";
        return;
    }
    if (!liquid->density_kg_m3.known) {
        remarks->head =
            "no head: no water temperature within 0 to 100 °C was read, and rig.csv states no water density";
        return;
    }
    if (!point->flow_m3s.known) {
        remarks->head = "no head: the velocity head needs the flow";
        return;
    }
    struct head_terms terms = {.flow_m3s = point->flow_m3s.value,
                               .gauge_pressure_pa = gauge_pa.value,
                               .suction_pressure_pa = means_get(means, CH_SUCTION_PRESSURE),
                               .water_level_m = means_get(means, CH_WATER_LEVEL),
                               .density_kg_m3 = liquid->density_kg_m3.value,
                               .viscosity_pa_s = liquid->viscosity_pa_s.value,
                               .gravity_m_s2 = site->gravity_m_s2};
    remarks->head = head_total(rig, &terms, &point->head_parts);
    if (remarks->head == NULL) {
        point->head_m = quantity_of(point->head_parts.total_m);
    }
}

static bool is_logged(const struct means *means, enum channel channel)
{
    return ((means->logged | means->present) >> channel & 1U) != 0;
}

/* Sum of the bay's wattmeters, signs kept; absent when one of them was not read. One alone on three phases stands for a
 * balanced load with the star point reached: three times its phase. */
static struct quantity wattmeter_power(const struct means *means, double phases, struct reduce_remarks *remarks)
{
    double sum_w = 0.0;
    int count = 0;
    for (int channel = CH_WATTMETER_1; channel <= CH_WATTMETER_3; channel++) {
        struct quantity reading_w = means_get(means, (enum channel)channel);
        if (is_logged(means, (enum channel)channel)) {
            if (!reading_w.known) {
                remarks->power = "no input power: one of the wattmeters was not read";
                return quantity_absent();
            }
            sum_w += reading_w.value;
            count++;
        }
    }
    if (count == 0) {
        return quantity_absent();
    }
    remarks->one_wattmeter = count == 1 && phases > 1.0;
    return quantity_of(remarks->one_wattmeter ? phases * sum_w : sum_w);
}

/* Input power by whatever the bay reads, the direct reading first. */
static struct quantity input_power_of(const struct rig *rig, const struct means *means, double phases,
                                      const struct operating_point *point, struct quantity power_factor,
                                      struct reduce_remarks *remarks)
{
    struct quantity power_w = means_get(means, CH_INPUT_POWER);
    if (!power_w.known) {
        power_w = wattmeter_power(means, phases, remarks);
    }
    if (power_w.known) {
        return power_w;
    }
    struct quantity metered = power_of_meter(means_get(means, CH_METER_REVOLUTIONS), rig->meter_constant_per_j,
                                             means_get(means, CH_METER_TIME));
    if (metered.known) {
        return quantity_times(metered, rig->current_ratio * rig->voltage_ratio);
    }
    return power_of_current(phases, point->voltage_v, point->current_a, power_factor);
}

static const char *why_no_power(const struct rig *rig, const struct means *means, struct quantity power_factor)
{
    if (means_get(means, CH_METER_REVOLUTIONS).known && !rig->meter_constant_per_j.known) {
        return "no input power: an energy meter was read but rig.csv states no meter constant";
    }
    if (power_factor.known && !(power_factor.value >= 0.0 && power_factor.value <= 1.0)) {
        return "no input power: the power factor that was read is not within 0 to 1";
    }
    return "no input power: neither power, wattmeters, an energy meter with its time nor voltage, "
           "current and power factor were read";
}

static void find_electrical(const struct rig *rig, const struct model *model, const struct means *means,
                            struct operating_point *point, struct reduce_remarks *remarks)
{
    double phases = model != NULL ? quantity_or(model->phases, 3.0) : 3.0;
    struct quantity voltages[] = {means_get(means, CH_VOLTAGE_RY), means_get(means, CH_VOLTAGE_YB),
                                  means_get(means, CH_VOLTAGE_BR)};
    struct quantity currents[] = {means_get(means, CH_CURRENT_R), means_get(means, CH_CURRENT_Y),
                                  means_get(means, CH_CURRENT_B)};
    struct quantity power_factor = means_get(means, CH_POWER_FACTOR);
    struct quantity voltage = means_get(means, CH_VOLTAGE), current = means_get(means, CH_CURRENT);
    point->voltage_v = voltage.known ? voltage : mean_of(voltages, 3);
    point->current_a = current.known ? current : mean_of(currents, 3);
    point->voltage_unbalance = unbalance_of(voltages, 3);
    point->current_unbalance = unbalance_of(currents, 3);
    point->frequency_hz = means_get(means, CH_FREQUENCY);
    point->speed_rpm = means_get(means, CH_SPEED);
    point->input_power_w = input_power_of(rig, means, phases, point, power_factor, remarks);
    if (point->input_power_w.known) {
        remarks->power = NULL;
    } else if (remarks->power == NULL) {
        remarks->power = why_no_power(rig, means, power_factor);
    }
    point->power_factor = power_factor.known
                              ? power_factor
                              : power_factor_of(phases, point->input_power_w, point->voltage_v, point->current_a);
}

/* Shaft power from the motor's curve, or from a constant efficiency for want of one; speed from the curve, at the
 * test's frequency. */
static void find_shaft(const struct model *model, struct operating_point *point, struct reduce_remarks *remarks)
{
    if (model == NULL || !point->input_power_w.known) {
        return;
    }
    if (model->motor != NULL) {
        point->shaft_power_w = motor_shaft_power(model->motor, point->input_power_w.value);
        if (!point->shaft_power_w.known) {
            remarks->shaft = "no shaft power: the input power lies outside the motor's curve (motors.csv)";
        }
        struct quantity speed_rpm = motor_speed(model->motor, point->input_power_w.value);
        if (speed_rpm.known && point->frequency_hz.known && model->rated_frequency_hz.known) {
            point->motor_speed_rpm =
                quantity_times(speed_rpm, point->frequency_hz.value / model->rated_frequency_hz.value);
        }
    } else if (model->motor_efficiency.known) {
        point->shaft_power_w = quantity_times(point->input_power_w, model->motor_efficiency.value);
    }
}

static struct quantity efficiency_of(struct quantity useful_w, struct quantity spent_w)
{
    bool known = useful_w.known && spent_w.known && spent_w.value > 0.0;
    return known ? quantity_of(useful_w.value / spent_w.value) : quantity_absent();
}

void reduce_point(const struct bay *bay, const struct model *model, const struct site *site, const struct means *means,
                  struct operating_point *point, struct reduce_remarks *remarks)
{
    struct reduce_remarks unwanted;
    if (remarks == NULL) {
        remarks = &unwanted;
    }
    *remarks = (struct reduce_remarks){0};
    *point = (struct operating_point){0};
    const struct rig *rig = &bay->rig;
    struct liquid liquid = liquid_of(rig, site, means);
    point->water_temperature_c = liquid.temperature_c;
    point->density_kg_m3 = liquid.density_kg_m3;
    point->flow_m3s = flow_of(bay, site, &liquid, means, remarks);
    find_head(rig, site, &liquid, means, point, remarks);
    find_electrical(rig, model, means, point, remarks);
    find_shaft(model, point, remarks);
    if (point->flow_m3s.known && point->head_m.known) {
        point->hydraulic_power_w =
            quantity_of(liquid.density_kg_m3.value * site->gravity_m_s2 * point->flow_m3s.value * point->head_m.value);
    }
    point->set_efficiency = efficiency_of(point->hydraulic_power_w, point->input_power_w);
    point->pump_efficiency = efficiency_of(point->hydraulic_power_w, point->shaft_power_w);
}
