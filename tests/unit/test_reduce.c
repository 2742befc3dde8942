/* reduce.c: every way a bay measures, from the mean readings of a point to its flow, head, power and speed. Expected
 * values are worked by hand from the formula beside them, with g = 9.8 m/s2 and, where stated, water of 1000 kg/m3. */
#include "physics/reduce.h"
#include "physics/water.h"

#include "near.h"

#include <math.h>
#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))
#define KNOWN(x)     ((struct quantity){.value = (x), .known = true})

/* Arithmetic of a few operations. */
static const double rounding = 1e-12;

static struct bay bay;
static struct model model;
static struct motor motor;
static struct means means;
static struct site site;
static struct operating_point point;
static struct reduce_remarks remarks;

static void setup(void)
{
    bay = (struct bay){.rig = {.gravity_m_s2 = KNOWN(9.8),
                               .air_pressure_pa = KNOWN(1e5),
                               .water_density_kg_m3 = KNOWN(1000.0),
                               .delivery_bore_m = KNOWN(0.08),
                               .gauge_height_m = KNOWN(2.0),
                               .water_level_m = KNOWN(0.5),
                               .current_ratio = 1.0,
                               .voltage_ratio = 1.0}};
    model = (struct model){.phases = KNOWN(3.0), .rated_frequency_hz = KNOWN(50.0), .rated_speed_rpm = KNOWN(2900.0)};
    means = (struct means){0};
    site = site_of(&bay.rig);
}

static void read_value(enum channel channel, double value_si)
{
    means.value[channel] = value_si;
    means.present |= UINT32_C(1) << channel;
}

static void reduce(void)
{
    reduce_point(&bay, &model, &site, &means, &point, &remarks);
}

static void expect(struct quantity got, double want)
{
    ck_assert(got.known);
    near_rel(got.value, want, rounding);
}

/* --- the site and the water --- */

/* Stated, else by latitude and altitude, else standard (ISO 80000-3): 9.80665 m/s2. At 45 degrees at sea level the
 * normal gravity is 9.8062 m/s2 (WGS 84). */
START_TEST(gravity_is_stated_computed_or_standard)
{
    struct site found = site_of(&(struct rig){.gravity_m_s2 = KNOWN(9.8), .latitude_rad = KNOWN(0.5)});
    ck_assert(found.gravity_stated && !found.gravity_assumed);
    near_abs(found.gravity_m_s2, 9.8, 0.0);
    found = site_of(&(struct rig){.latitude_rad = KNOWN(0.78539816339744831)});
    ck_assert(!found.gravity_stated && !found.gravity_assumed);
    near_abs(found.gravity_m_s2, 9.8062, 5e-4);
    found = site_of(&(struct rig){.air_pressure_pa = KNOWN(1e5)});
    ck_assert(!found.gravity_stated && found.gravity_assumed && found.air_pressure_stated);
    near_abs(found.gravity_m_s2, 9.80665, 0.0);
    near_abs(found.air_pressure_pa, 1e5, 0.0);
}
END_TEST

/* Water is compressed by 4.5e-10 of its density a pascal: that of 40 bar at the gauge is of half as much, between gauge
 * and inlet. */
START_TEST(density_is_of_the_mean_pressure)
{
    double half;
    bay.rig.water_density_kg_m3 = (struct quantity){0};
    read_value(CH_WATER_TEMPERATURE, 25.0);
    read_value(CH_GAUGE_PRESSURE, 40e5);
    reduce();
    ck_assert(water_density(25.0, 1e5 + 20e5, &half));
    ck_assert(point.density_kg_m3.known);
    near_rel(point.density_kg_m3.value, half, rounding);
}
END_TEST

/* A model that is not known is three-phase, as one that does not state its phases: sqrt(3) U I cos phi. */
START_TEST(a_unit_without_a_model_has_three_phases)
{
    read_value(CH_VOLTAGE, 400.0);
    read_value(CH_CURRENT, 10.0);
    read_value(CH_POWER_FACTOR, 0.8);
    reduce_point(&bay, NULL, &site, &means, &point, &remarks);
    expect(point.input_power_w, sqrt(3.0) * 400.0 * 10.0 * 0.8);
    model.phases = (struct quantity){0};
    reduce();
    expect(point.input_power_w, sqrt(3.0) * 400.0 * 10.0 * 0.8);
    read_value(CH_POWER_FACTOR, 1.005);
    reduce();
    ck_assert(!point.input_power_w.known);
    ck_assert_ptr_nonnull(strstr(remarks.power, "not within 0 to 1"));
}
END_TEST

/* --- flow --- */

/* Lengths in mm. coefficient 0: the standard's. reading: m3/s, Pa, m, m3 or kg by the method. */
static const struct {
    enum flow_method method;
    double pipe_mm, throat_mm, width_mm, crest_mm, approach_mm, coefficient, reading, filling_s, flow_m3s;
} flows[] = {
    {.method = FLOW_METER, .reading = 0.01, .flow_m3s = 0.01},
    {.method = FLOW_METER, .reading = 0.0, .flow_m3s = 0.0},
    /* C / sqrt(1 - beta^4) pi/4 d^2 sqrt(2 dp / rho), C = 0.6: ISO 5167-1, equation 1 */
    {FLOW_ORIFICE, 100, 50, 0, 0, 0, 0.6, 20e3, 0, 0.007695298980971186},
    {FLOW_NOZZLE, 100, 50, 0, 0, 0, 0.6, 20e3, 0, 0.007695298980971186},
    {FLOW_VENTURI, 100, 50, 0, 0, 0, 0, 20e3, 0, 0.012761370810110551},       /* machined: C = 0.995, ISO 5167-4 */
    {FLOW_VENTURI_NOZZLE, 100, 60, 0, 0, 0, 0, 20e3, 0, 0.01851807376613862}, /* 0.9858 - 0.196 beta^4.5, ISO 5167-3 */
    /* 90 degrees: 8/15 C sqrt(2 g) h^2.5 with C = 0.58 of its own, and Kindsvater-Shen's 0.578 and 0.85 mm (ISO 1438)
     */
    {FLOW_V_NOTCH, 0, 0, 0, 600, 3000, 0.58, 0.2, 0, 0.024497950136468334},
    {FLOW_V_NOTCH, 0, 0, 0, 0, 0, 0, 0.2, 0, 0.024673695013401966},
    /* 2/3 C sqrt(2 g) b h^1.5, C = 0.6; over the full width Ce = 0.602 + 0.075 h/p, kb = -0.9 mm, kh = 1 mm (ISO 1438)
     */
    {FLOW_RECTANGULAR_NOTCH, 0, 0, 300, 200, 900, 0.6, 0.1, 0, 0.0168},
    {FLOW_RECTANGULAR_NOTCH, 0, 0, 300, 200, 300, 0, 0.1, 0, 0.0181207345789707},
    {FLOW_TANK_VOLUME, 0, 0, 0, 0, 0, 0, 0.3, 60, 0.005},
    /* m / rho (1 + rho_air (1/rho - 1/8000)), rho_air = 1e5 / (287.05287 * 293.15): ISO 4185 */
    {FLOW_TANK_MASS, 0, 0, 0, 0, 0, 0, 300, 60, 0.005005199077190886},
};

static struct quantity mm(double length_mm)
{
    return length_mm > 0.0 ? quantity_of(length_mm * 1e-3) : quantity_absent();
}

static enum channel channel_of(enum flow_method method)
{
    switch (method) {
    case FLOW_METER: return CH_FLOW;
    case FLOW_V_NOTCH:
    case FLOW_RECTANGULAR_NOTCH: return CH_WEIR_HEAD;
    case FLOW_TANK_VOLUME: return CH_TANK_VOLUME;
    case FLOW_TANK_MASS: return CH_TANK_MASS;
    default: return CH_DIFFERENTIAL_PRESSURE;
    }
}

static void use_method(enum flow_method method)
{
    bay.rig.flow_method = method;
    bay.rig.venturi_kind = VENTURI_MACHINED;
    bay.rig.notch_angle_rad = KNOWN(acos(-1.0) / 2.0);
}

START_TEST(each_method_gives_its_flow)
{
    use_method(flows[_i].method);
    bay.rig.flow_pipe_bore_m = mm(flows[_i].pipe_mm);
    bay.rig.throat_bore_m = mm(flows[_i].throat_mm);
    bay.rig.notch_width_m = mm(flows[_i].width_mm);
    bay.rig.notch_crest_height_m = mm(flows[_i].crest_mm);
    bay.rig.approach_width_m = mm(flows[_i].approach_mm);
    if (flows[_i].coefficient > 0.0) {
        bay.rig.discharge_coefficient = KNOWN(flows[_i].coefficient);
    }
    read_value(channel_of(flows[_i].method), flows[_i].reading);
    read_value(CH_FILLING_TIME, flows[_i].filling_s);
    reduce();
    ck_assert_ptr_null(remarks.flow);
    expect(point.flow_m3s, flows[_i].flow_m3s);
}
END_TEST

START_TEST(a_missing_reading_gives_no_flow)
{
    use_method((enum flow_method)_i);
    bay.rig.flow_pipe_bore_m = mm(100);
    bay.rig.throat_bore_m = mm(50);
    bay.rig.notch_width_m = mm(300);
    reduce();
    ck_assert(!point.flow_m3s.known && !point.head_m.known && !point.set_efficiency.known);
    ck_assert_str_eq(remarks.flow, "no flow: the reading that the rig's flow method needs is missing");
    if (_i == FLOW_TANK_VOLUME || _i == FLOW_TANK_MASS) {
        read_value(channel_of((enum flow_method)_i), 0.3); /* without a filling time, then with one of 0 */
        reduce();
        ck_assert(!point.flow_m3s.known && remarks.flow != NULL);
        read_value(CH_FILLING_TIME, 0.0);
        reduce();
        ck_assert(!point.flow_m3s.known && remarks.flow != NULL);
    }
}
END_TEST

/* Below zero: the limit is 0.1 % of 50 kPa, 50 Pa; and 0.5 % of 0.4 m, 2 mm. */
static const struct {
    enum flow_method method;
    enum accuracy_basis basis;
    double accuracy, range_high, reading;
    bool zero;
} drifts[] = {
    {FLOW_ORIFICE, ACCURACY_OF_RANGE, 0.001, 50e3, -50.0, true},
    {FLOW_ORIFICE, ACCURACY_OF_RANGE, 0.001, 50e3, -50.1, false},
    {FLOW_ORIFICE, ACCURACY_OF_READING, 0.001, 50e3, -50.0, true},
    {FLOW_ORIFICE, ACCURACY_OF_READING, 0.001, 50e3, -50.1, false},
    {FLOW_ORIFICE, ACCURACY_OF_READING, 0.001, 0.0, -0.1, false}, /* no range stated */
    {FLOW_ORIFICE, ACCURACY_OF_RANGE, 0.0, 0.0, -0.1, false},     /* no instrument listed */
    {FLOW_V_NOTCH, ACCURACY_OF_RANGE, 0.005, 0.4, -0.002, true},
    {FLOW_V_NOTCH, ACCURACY_OF_RANGE, 0.005, 0.4, -0.00201, false},
    {FLOW_METER, ACCURACY_OF_RANGE, 0.005, 0.02, -0.0001, true},
    {FLOW_METER, ACCURACY_OF_RANGE, 0.005, 0.02, -0.000101, false},
};

START_TEST(a_drift_of_zero_is_zero_flow)
{
    use_method(drifts[_i].method);
    bay.rig.flow_pipe_bore_m = mm(100);
    bay.rig.throat_bore_m = mm(50);
    struct instrument instrument = {.channel = channel_of(drifts[_i].method),
                                    .accuracy = quantity_of(drifts[_i].accuracy),
                                    .basis = drifts[_i].basis};
    if (drifts[_i].range_high > 0.0) {
        instrument.range_high_si = KNOWN(drifts[_i].range_high);
    }
    bay.instruments = &instrument;
    bay.instrument_count = drifts[_i].accuracy > 0.0 ? 1 : 0;
    read_value(instrument.channel, drifts[_i].reading);
    read_value(CH_GAUGE_PRESSURE, 3e5);
    reduce();
    ck_assert(point.flow_m3s.known == drifts[_i].zero && point.head_m.known == drifts[_i].zero);
    ck_assert((remarks.zero != NULL) == drifts[_i].zero && (remarks.flow == NULL) == drifts[_i].zero);
    if (drifts[_i].zero) {
        near_abs(point.flow_m3s.value, 0.0, 0.0);
        expect(point.head_m, 1.5 + 3e5 / 9800.0);
    }
}
END_TEST

START_TEST(water_out_of_range_is_said)
{
    use_method(FLOW_ORIFICE);
    bay.rig.flow_pipe_bore_m = mm(100);
    bay.rig.throat_bore_m = mm(50);
    bay.rig.water_density_kg_m3 = quantity_absent();
    read_value(CH_DIFFERENTIAL_PRESSURE, 20e3);
    reduce();
    ck_assert(!point.flow_m3s.known);
    ck_assert_ptr_nonnull(strstr(remarks.flow, "needs the density of the water"));
}
END_TEST

/* --- head: 10 L/s through 80 mm, v = 1.98944 m/s, v^2/2g = 0.201932 m; 300 kPa are 30.6122 m --- */

static const struct {
    double loss, length_m, level_m, suction_pa; /* NaN: not read */
    double head_m, tolerance;
} heads[] = {
    {0.0, 0.0, NAN, NAN, 32.314176466123925, 1e-12},
    {1.5, 0.0, NAN, NAN, 32.617073818371026, 1e-12}, /* fittings of 1.5 velocity heads */
    {0.0, 0.0, -0.8, NAN, 33.61417646612392, 1e-12}, /* drawn down, as read with the point */
    {0.0, 0.0, NAN, -20e3, 34.47228162233426,
     1e-12}, /* suction gauge 0.3 m up on 100 mm: 1.7 + 320/9.8 + (v2^2 - v1^2)/2g */
    /* 4.5 m of 0.05 mm: f = 0.0198246 by Colebrook at Re = 158 908 (fluids and iapws; viscosity by two releases within
       1e-4) */
    {0.0, 4.5, NAN, NAN, 32.539357504938096, 1e-6},
};

START_TEST(each_form_gives_its_head)
{
    bay.rig.delivery_loss_coefficient = KNOWN(heads[_i].loss);
    bay.rig.delivery_length_m = KNOWN(heads[_i].length_m);
    bay.rig.delivery_roughness_m = KNOWN(5e-5);
    bay.rig.suction_bore_m = KNOWN(0.1);
    bay.rig.suction_gauge_height_m = KNOWN(0.3);
    read_value(CH_FLOW, 0.01);
    read_value(CH_GAUGE_PRESSURE, 3e5);
    read_value(CH_WATER_TEMPERATURE, 20.0);
    if (isfinite(heads[_i].level_m)) {
        read_value(CH_WATER_LEVEL, heads[_i].level_m);
    }
    if (isfinite(heads[_i].suction_pa)) {
        read_value(CH_SUCTION_PRESSURE, heads[_i].suction_pa);
    }
    reduce();
    ck_assert_msg(point.head_m.known, "%s", remarks.head != NULL ? remarks.head : "");
    near_rel(point.head_m.value, heads[_i].head_m, heads[_i].tolerance);
    expect(point.hydraulic_power_w, 9800.0 * 0.01 * point.head_m.value);
}
END_TEST

/* --- input power --- */

enum { MOST_READINGS = 4 };

static const struct {
    double phases, current_ratio, voltage_ratio, meter_constant_per_kwh; /* phases 0: not stated */
    struct {
        enum channel channel;
        double value_si;
    } readings[MOST_READINGS];
    double power_w, power_factor; /* NaN: absent */
    bool one_wattmeter;
} powers[] = {
    {3, 1, 1, 0, {{CH_INPUT_POWER, 5e3}}, 5e3, NAN, false},
    /* Bird, Electrical Circuit Theory and Technology, example 19.16: 12 kW at power factor 0.6 */
    {3, 1, 1, 0, {{CH_WATTMETER_1, 10618.8}, {CH_WATTMETER_2, 1381.2}}, 12e3, NAN, false},
    {3, 1, 1, 0, {{CH_WATTMETER_1, 8e3}, {CH_WATTMETER_2, -500.0}}, 7.5e3, NAN, false}, /* the sign is kept */
    {3, 1, 1, 0, {{CH_WATTMETER_1, 1e3}, {CH_WATTMETER_2, 2e3}, {CH_WATTMETER_3, 3e3}}, 6e3, NAN, false},
    {3, 1, 1, 0, {{CH_WATTMETER_1, 1e3}}, 3e3, NAN, true},
    {0, 1, 1, 0, {{CH_WATTMETER_1, 1e3}}, 3e3, NAN, true},
    {1, 1, 1, 0, {{CH_WATTMETER_1, 1e3}}, 1e3, NAN, false},
    /* 20 rev of 600 rev/kWh in 60 s: 3600 * 20 / (600 * 60) kW; behind 50/5 and 220/110 twenty times that */
    {3, 1, 1, 600, {{CH_METER_REVOLUTIONS, 20.0}, {CH_METER_TIME, 60.0}}, 2e3, NAN, false},
    {3, 10, 2, 600, {{CH_METER_REVOLUTIONS, 20.0}, {CH_METER_TIME, 60.0}}, 40e3, NAN, false},
    {3, 1, 1, 0, {{CH_METER_REVOLUTIONS, 20.0}, {CH_METER_TIME, 60.0}}, NAN, NAN, false},
    {3, 1, 1, 600, {{CH_METER_REVOLUTIONS, 20.0}, {CH_METER_TIME, 0.0}}, NAN, NAN, false},
    /* sqrt(3) 400 V 10 A 0.8; 240 V 8 A 0.9 */
    {3, 1, 1, 0, {{CH_VOLTAGE, 400.0}, {CH_CURRENT, 10.0}, {CH_POWER_FACTOR, 0.8}}, 5542.562584220407, 0.8, false},
    {1, 1, 1, 0, {{CH_VOLTAGE, 240.0}, {CH_CURRENT, 8.0}, {CH_POWER_FACTOR, 0.9}}, 1728.0, 0.9, false},
    {3, 1, 1, 0, {{CH_VOLTAGE, 400.0}, {CH_CURRENT, 10.0}, {CH_POWER_FACTOR, 1.0}}, 6928.203230275509, 1.0, false},
    {3, 1, 1, 0, {{CH_VOLTAGE, 400.0}, {CH_CURRENT, 10.0}, {CH_POWER_FACTOR, 1.01}}, NAN, 1.01, false},
    {3, 1, 1, 0, {{CH_VOLTAGE, 400.0}, {CH_CURRENT, 10.0}, {CH_POWER_FACTOR, -0.01}}, NAN, -0.01, false},
    /* 5 kW / (sqrt(3) 400 V 10 A) */
    {3, 1, 1, 0, {{CH_INPUT_POWER, 5e3}, {CH_VOLTAGE, 400.0}, {CH_CURRENT, 10.0}}, 5e3, 0.7216878364870323, false},
    {3, 1, 1, 0, {{CH_VOLTAGE, 400.0}}, NAN, NAN, false},
};

START_TEST(each_reading_gives_its_power)
{
    bay.rig.current_ratio = powers[_i].current_ratio;
    bay.rig.voltage_ratio = powers[_i].voltage_ratio;
    model.phases = powers[_i].phases > 0.0 ? quantity_of(powers[_i].phases) : quantity_absent();
    if (powers[_i].meter_constant_per_kwh > 0.0) {
        bay.rig.meter_constant_per_j = quantity_of(powers[_i].meter_constant_per_kwh / 3.6e6);
    }
    for (int k = 0; k < MOST_READINGS && powers[_i].readings[k].channel != CH_TIME; k++) {
        read_value(powers[_i].readings[k].channel, powers[_i].readings[k].value_si);
    }
    reduce();
    ck_assert(point.input_power_w.known == isfinite(powers[_i].power_w));
    ck_assert((remarks.power == NULL) == point.input_power_w.known);
    ck_assert(remarks.one_wattmeter == powers[_i].one_wattmeter);
    ck_assert(point.power_factor.known == isfinite(powers[_i].power_factor));
    if (point.input_power_w.known) {
        expect(point.input_power_w, powers[_i].power_w);
    }
    if (point.power_factor.known) {
        expect(point.power_factor, powers[_i].power_factor);
    }
}
END_TEST

/* A wattmeter that the log has and that is blank at one point is not one that the bay lacks. */
START_TEST(a_blank_wattmeter_is_not_a_single_one)
{
    read_value(CH_WATTMETER_1, 1e3);
    means.logged = means.present | UINT32_C(1) << CH_WATTMETER_2;
    reduce();
    ck_assert(!point.input_power_w.known && !remarks.one_wattmeter);
    ck_assert_str_eq(remarks.power, "no input power: one of the wattmeters was not read");
    read_value(CH_INPUT_POWER, 2e3); /* the direct reading goes first */
    reduce();
    expect(point.input_power_w, 2e3);
    ck_assert_ptr_null(remarks.power);
}
END_TEST

START_TEST(phases_give_mean_and_unbalance)
{
    read_value(CH_VOLTAGE_RY, 410.0);
    read_value(CH_VOLTAGE_YB, 415.0);
    read_value(CH_VOLTAGE_BR, 423.0);
    read_value(CH_CURRENT_R, 9.0);
    read_value(CH_CURRENT_Y, 10.0);
    reduce();
    expect(point.voltage_v, 416.0);
    expect(point.voltage_unbalance, 7.0 / 416.0); /* NEMA MG 1: largest deviation from the mean, over the mean */
    expect(point.current_a, 9.5);
    ck_assert(!point.current_unbalance.known); /* of two of three */
    read_value(CH_CURRENT_B, 14.0);
    reduce();
    expect(point.current_unbalance, 3.0 / 11.0);
}
END_TEST

/* --- the motor's curve --- */

static double input_w[] = {1000.0, 5000.0}, shaft_w[] = {0.0, 4000.0};
static struct quantity speed_rpm[] = {{3000.0, true}, {2800.0, true}};

static const struct {
    double input_w, frequency_hz, shaft_w, speed_rpm; /* NaN: absent */
} loads[] = {
    {3000.0, 50.0, 2000.0, 2900.0}, {3000.0, 49.0, 2000.0, 2842.0}, {1000.0, 50.0, 0.0, 3000.0},
    {5000.0, 50.0, 4000.0, 2800.0}, {5000.1, 50.0, NAN, NAN},       {999.9, 50.0, NAN, NAN},
};

START_TEST(shaft_power_and_speed_follow_the_motors_curve)
{
    motor = (struct motor){
        .count = 2, .input_power_w = input_w, .shaft_power_w = shaft_w, .speed_rpm = speed_rpm, .current_a = speed_rpm};
    model.motor = &motor;
    read_value(CH_FLOW, 0.005);
    read_value(CH_GAUGE_PRESSURE, 2e5);
    read_value(CH_INPUT_POWER, loads[_i].input_w);
    read_value(CH_FREQUENCY, loads[_i].frequency_hz);
    reduce();
    bool inside = isfinite(loads[_i].shaft_w);
    ck_assert(point.shaft_power_w.known == inside && point.motor_speed_rpm.known == inside);
    ck_assert((remarks.shaft == NULL) == inside);
    if (!inside) {
        ck_assert(!point.pump_efficiency.known);
        ck_assert_str_eq(remarks.shaft, "no shaft power: the input power lies outside the motor's curve (motors.csv)");
        return;
    }
    near_abs(point.shaft_power_w.value, loads[_i].shaft_w, 1e-9); /* of thousands of watts */
    expect(point.motor_speed_rpm, loads[_i].speed_rpm);
    if (loads[_i].shaft_w > 0.0) {
        expect(point.pump_efficiency, point.hydraulic_power_w.value / loads[_i].shaft_w);
    } else {
        ck_assert(!point.pump_efficiency.known);
    }
}
END_TEST

START_TEST(a_constant_efficiency_serves_for_want_of_a_curve)
{
    model.motor_efficiency = KNOWN(0.8);
    read_value(CH_INPUT_POWER, 5000.0);
    reduce();
    expect(point.shaft_power_w, 4000.0);
    ck_assert(!point.motor_speed_rpm.known);
}
END_TEST

Suite *reduce_suite(void);

Suite *reduce_suite(void)
{
    Suite *suite = suite_create("reduce");
    TCase *flow = tcase_create("flow"), *head = tcase_create("head"), *power = tcase_create("power");
    tcase_add_checked_fixture(flow, setup, NULL);
    tcase_add_checked_fixture(head, setup, NULL);
    tcase_add_checked_fixture(power, setup, NULL);
    tcase_add_loop_test(flow, each_method_gives_its_flow, 0, COUNT(flows));
    tcase_add_loop_test(flow, a_missing_reading_gives_no_flow, FLOW_METER, FLOW_TANK_MASS + 1);
    tcase_add_loop_test(flow, a_drift_of_zero_is_zero_flow, 0, COUNT(drifts));
    tcase_add_test(flow, water_out_of_range_is_said);
    tcase_add_loop_test(head, each_form_gives_its_head, 0, COUNT(heads));
    tcase_add_loop_test(power, each_reading_gives_its_power, 0, COUNT(powers));
    tcase_add_test(power, a_blank_wattmeter_is_not_a_single_one);
    tcase_add_test(power, gravity_is_stated_computed_or_standard);
    tcase_add_test(power, density_is_of_the_mean_pressure);
    tcase_add_test(power, a_unit_without_a_model_has_three_phases);
    tcase_add_test(power, phases_give_mean_and_unbalance);
    tcase_add_loop_test(power, shaft_power_and_speed_follow_the_motors_curve, 0, COUNT(loads));
    tcase_add_test(power, a_constant_efficiency_serves_for_want_of_a_curve);
    suite_add_tcase(suite, flow);
    suite_add_tcase(suite, head);
    suite_add_tcase(suite, power);
    return suite;
}
