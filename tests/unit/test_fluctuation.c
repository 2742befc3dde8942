/* fluctuation.c: what a swing of the readings is of flow, head and power, against a limit. */
#include "verdict/fluctuation.h"

#include "near.h"

#include <math.h>

/* By the slope of the reduction, found by differences: rounding and curvature stay below this. */
static const double by_differences = 1e-7;

static struct bench {
    struct arena arena;
    struct bay bay;
    struct model model;
    struct site site;
    struct settled_point settled;
    struct chain chain;
} bench;

/* A bay with every flow device, and water of 1000 kg/m3 under 10 m/s2: a metre of head is 10 kPa. */
static void set_up(void)
{
    bench = (struct bench){.site = {.gravity_m_s2 = 10.0, .air_pressure_pa = 1e5}};
    bench.bay.rig = (struct rig){.water_density_kg_m3 = quantity_of(1000.0),
                                 .flow_pipe_bore_m = quantity_of(0.1),
                                 .throat_bore_m = quantity_of(0.06),
                                 .discharge_coefficient = quantity_of(0.6),
                                 .notch_angle_rad = quantity_of(1.5),
                                 .notch_width_m = quantity_of(0.3),
                                 .gauge_height_m = quantity_of(0.0),
                                 .water_level_m = quantity_of(0.0),
                                 .delivery_bore_m = quantity_of(10.0), /* no velocity to speak of */
                                 .meter_constant_per_j = quantity_of(1e-3),
                                 .current_ratio = 1.0,
                                 .voltage_ratio = 1.0};
    bench.model.phases = quantity_of(3.0);
    ck_assert_int_eq(chain_init(&bench.chain, &bench.arena, 1), OK);
    bench.chain.bay = &bench.bay;
    bench.chain.model = &bench.model;
    bench.chain.site = &bench.site;
    bench.settled.readings = 3;
}

static void tear_down(void)
{
    arena_release(&bench.arena);
}

/* Three readings of a channel: 0.98, 1.00 and 1.05 of a size, about their mean 1.01. */
static void read_channel(enum channel channel, double size)
{
    bench.settled.channels[channel] =
        (struct channel_stats){.n = 3, .mean = 1.01 * size, .low = 0.98 * size, .high = 1.05 * size};
    if (size < 0.0) {
        bench.settled.channels[channel].low = 1.05 * size;
        bench.settled.channels[channel].high = 0.98 * size;
    }
    bench.chain.means[0].value[channel] = 1.01 * size;
    bench.chain.means[0].present |= UINT32_C(1) << channel;
}

static const double amplitude = 0.04 / 1.01, apart = 0.07 / 1.01;

static struct point_fluctuation fluctuation(const struct grade_class *class)
{
    ck_assert_int_eq(chain_run(&bench.chain), OK);
    return point_fluctuation_of(&bench.chain, 0, &bench.settled, class);
}

/* The relative change of flow is the exponent times that of the reading: 1/2 of a throttle's pressure (ISO 5167), 5/2
 * and 3/2 of the head on a V and a rectangular notch (ISO 1438). */
static const struct {
    enum flow_method method;
    enum channel channel;
    double size, exponent; /* 0: a filling is a mean by itself */
} methods[] = {
    {FLOW_METER, CH_FLOW, 0.01, 1.0},
    {FLOW_ORIFICE, CH_DIFFERENTIAL_PRESSURE, 1e4, 0.5},
    {FLOW_VENTURI, CH_DIFFERENTIAL_PRESSURE, 1e4, 0.5},
    {FLOW_VENTURI_NOZZLE, CH_DIFFERENTIAL_PRESSURE, 1e4, 0.5},
    {FLOW_NOZZLE, CH_DIFFERENTIAL_PRESSURE, 1e4, 0.5},
    {FLOW_V_NOTCH, CH_WEIR_HEAD, 0.1, 2.5},
    {FLOW_RECTANGULAR_NOTCH, CH_WEIR_HEAD, 0.1, 1.5},
    {FLOW_TANK_VOLUME, CH_TANK_VOLUME, 1.0, 0.0},
    {FLOW_TANK_MASS, CH_TANK_MASS, 1000.0, 0.0},
};

START_TEST(flow_swings_by_its_devices_exponent)
{
    bench.bay.rig.flow_method = methods[_i].method;
    read_channel(methods[_i].channel, methods[_i].size);
    read_channel(CH_FILLING_TIME, 60.0);
    struct point_fluctuation found = fluctuation(NULL);
    struct point_fluctuation spread = point_spread_of(&bench.chain, 0, &bench.settled, NULL);
    ck_assert(bench.chain.as_tested[0].flow_m3s.known);
    ck_assert(found.flow.known == (methods[_i].exponent > 0.0));
    if (found.flow.known) {
        near_rel(found.flow.value, methods[_i].exponent * amplitude, by_differences);
        near_rel(spread.flow.value, methods[_i].exponent * apart, by_differences);
    }
}
END_TEST

/* 0.04 of 200 kPa is 0.8 m of the 20.2 m of total head; a suction gauge at half the pressure takes from the same head.
 */
START_TEST(pressure_counts_as_its_share_of_the_head)
{
    read_channel(CH_FLOW, 0.001);
    read_channel(CH_GAUGE_PRESSURE, 2e5);
    near_rel(fluctuation(NULL).head.value, 0.8 / 20.2, 1e-6); /* a velocity head of 1e-11 m, differences */
    bench.bay.rig.suction_bore_m = quantity_of(10.0);
    bench.bay.rig.suction_gauge_height_m = quantity_of(0.0);
    read_channel(CH_SUCTION_PRESSURE, 1e5);
    near_rel(fluctuation(NULL).head.value, (0.8 + 0.4) / 10.1, 1e-6);
    bench.bay.rig.gauge_height_m = quantity_of(-20.0); /* no head is left */
    ck_assert(!fluctuation(NULL).head.known);
    bench.bay.rig.gauge_height_m = quantity_absent();
    ck_assert(!fluctuation(NULL).head.known);
}
END_TEST

/* The same swing of the load, whichever way the power is read. */
static const struct {
    size_t count;
    enum channel channels[6];
    double sizes[6];
    double times; /* channels that multiply, each with the full swing */
} ways[] = {
    {1, {CH_INPUT_POWER}, {4000.0}, 1.0},
    {2, {CH_WATTMETER_1, CH_WATTMETER_2}, {3000.0, 1000.0}, 1.0},
    {2, {CH_WATTMETER_1, CH_WATTMETER_2}, {3000.0, -500.0}, 1.4}, /* (3000 + 500) / 2500 */
    {3, {CH_WATTMETER_1, CH_WATTMETER_2, CH_WATTMETER_3}, {1000.0, 1100.0, 1200.0}, 1.0},
    {1, {CH_WATTMETER_1}, {1000.0}, 1.0},
    {3, {CH_VOLTAGE, CH_CURRENT, CH_POWER_FACTOR}, {400.0, 10.0, 0.8}, 3.0},
    {2, {CH_METER_REVOLUTIONS, CH_METER_TIME}, {200.0, 60.0}, 2.0},
    {2, {CH_INPUT_POWER, CH_CURRENT}, {4000.0, 10.0}, 1.0}, /* a current that makes no power does not count */
};

START_TEST(power_swings_whichever_way_it_is_read)
{
    for (size_t k = 0; k < ways[_i].count; k++) {
        read_channel(ways[_i].channels[k], ways[_i].sizes[k]);
    }
    struct quantity found = fluctuation(NULL).input_power;
    ck_assert(found.known);
    near_rel(found.value, ways[_i].times * amplitude, by_differences);
    struct grade_class class = {.fluctuation_power = quantity_of(0.9 * found.value)};
    ck_assert(!fluctuation(&class).within);
    class.fluctuation_power = quantity_of(1.1 * found.value);
    ck_assert(fluctuation(&class).within);
    near_rel(point_spread_of(&bench.chain, 0, &bench.settled, NULL).input_power.value, ways[_i].times * apart,
             by_differences);
}
END_TEST

static void read_all(void)
{
    read_channel(CH_FLOW, 0.01);
    read_channel(CH_GAUGE_PRESSURE, 2e5);
    read_channel(CH_INPUT_POWER, 4000.0);
    read_channel(CH_SPEED, 2900.0);
}

START_TEST(a_single_reading_does_not_swing)
{
    read_all();
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        bench.settled.channels[c].n = bench.settled.channels[c].n > 0 ? 1 : 0;
    }
    struct point_fluctuation one = fluctuation(NULL);
    ck_assert(!one.flow.known && !one.head.known && !one.input_power.known && !one.speed.known && one.within);
}
END_TEST

/* Each quantity decides by itself, at its limit and just below. */
START_TEST(a_limit_holds_for_each_quantity)
{
    struct grade_class class = {0};
    struct quantity *limits[] = {&class.fluctuation_flow, &class.fluctuation_head, &class.fluctuation_power,
                                 &class.fluctuation_speed};
    read_all();
    struct point_fluctuation found = fluctuation(&class);
    const struct quantity values[] = {found.flow, found.head, found.input_power, found.speed};
    ck_assert(found.within);
    for (int i = 0; i < 4; i++) {
        *limits[i] = values[i];
        ck_assert(fluctuation(&class).within);
        limits[i]->value *= 0.999;
        ck_assert(!fluctuation(&class).within);
        *limits[i] = (struct quantity){0};
    }
    struct grade_spread spread = {.spread_qhp = 1.001 * apart, .spread_speed = 1.001 * apart};
    ck_assert(point_spread_of(&bench.chain, 0, &bench.settled, &spread).within);
    spread.spread_speed = 0.999 * apart;
    ck_assert(!point_spread_of(&bench.chain, 0, &bench.settled, &spread).within);
    spread = (struct grade_spread){.spread_qhp = 0.999 * apart, .spread_speed = 1.001 * apart};
    ck_assert(!point_spread_of(&bench.chain, 0, &bench.settled, &spread).within);
}
END_TEST

Suite *fluctuation_suite(void);

Suite *fluctuation_suite(void)
{
    Suite *suite = suite_create("fluctuation");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_add_loop_test(core, flow_swings_by_its_devices_exponent, 0, (int)(sizeof methods / sizeof *methods));
    tcase_add_test(core, pressure_counts_as_its_share_of_the_head);
    tcase_add_loop_test(core, power_swings_whichever_way_it_is_read, 0, (int)(sizeof ways / sizeof *ways));
    tcase_add_test(core, a_single_reading_does_not_swing);
    tcase_add_test(core, a_limit_holds_for_each_quantity);
    suite_add_tcase(suite, core);
    return suite;
}
