/* fluctuation.c: what a swing of the readings is of flow, head and power, against a limit. */
#include "verdict/fluctuation.h"

#include "near.h"

#define KNOWN(x)                                                                                                       \
    {                                                                                                                  \
        .value = (x), .known = true                                                                                    \
    }

/* Three readings 98, 100 and 105 about the mean 101 of every channel: amplitude 4/101, spread 7/101. */
static struct settled_point settled_point(void)
{
    struct settled_point point = {.readings = 3};
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        point.channels[c] = (struct channel_stats){.n = 3, .mean = 101.0, .low = 98.0, .high = 105.0};
    }
    return point;
}

static const struct operating_point water = {.head_m = KNOWN(20.0), .density_kg_m3 = KNOWN(1000.0)};

/* The relative change of flow is the exponent times that of the reading: 1/2 of a throttle's pressure (ISO 5167), 5/2
 * and 3/2 of the head on a V and a rectangular notch (ISO 1438). */
static const struct {
    enum flow_method method;
    double exponent; /* 0: a filling is a mean by itself */
} methods[] = {
    {FLOW_METER, 1.0},     {FLOW_ORIFICE, 0.5}, {FLOW_VENTURI, 0.5},           {FLOW_VENTURI_NOZZLE, 0.5},
    {FLOW_NOZZLE, 0.5},    {FLOW_V_NOTCH, 2.5}, {FLOW_RECTANGULAR_NOTCH, 1.5}, {FLOW_TANK_VOLUME, 0.0},
    {FLOW_TANK_MASS, 0.0},
};

START_TEST(flow_swings_by_its_devices_exponent)
{
    struct rig rig = {.flow_method = methods[_i].method};
    struct settled_point settled = settled_point();
    struct point_fluctuation found = point_fluctuation_of(&rig, &settled, &water, 9.81, NULL);
    struct point_fluctuation spread = point_spread_of(&rig, &settled, &water, 9.81, NULL);
    ck_assert(found.flow.known == (methods[_i].exponent > 0.0));
    if (found.flow.known) {
        near_rel(found.flow.value, methods[_i].exponent * 4.0 / 101.0, 1e-15);
        near_rel(spread.flow.value, methods[_i].exponent * 7.0 / 101.0, 1e-15);
    }
    near_rel(found.input_power.value, 4.0 / 101.0, 1e-15);
    near_rel(found.speed.value, 4.0 / 101.0, 1e-15);
}
END_TEST

/* 4 Pa of 1000 kg/m3 x 9.81 m/s2 x 20 m. */
START_TEST(pressure_counts_as_its_share_of_the_head)
{
    struct rig rig = {.flow_method = FLOW_METER};
    struct settled_point settled = settled_point();
    struct operating_point no_head = water, dry = water;
    near_rel(point_fluctuation_of(&rig, &settled, &water, 9.81, NULL).head.value, 4.0 / (1000.0 * 9.81 * 20.0), 1e-14);
    no_head.head_m = (struct quantity){0};
    dry.head_m = (struct quantity){.known = true};
    ck_assert(!point_fluctuation_of(&rig, &settled, &no_head, 9.81, NULL).head.known);
    ck_assert(!point_fluctuation_of(&rig, &settled, &dry, 9.81, NULL).head.known);
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        settled.channels[c].n = 1;
    }
    struct point_fluctuation one = point_fluctuation_of(&rig, &settled, &water, 9.81, NULL);
    ck_assert(!one.flow.known && !one.head.known && !one.input_power.known && !one.speed.known && one.within);
}
END_TEST

/* Each quantity decides by itself, at its limit and just below. */
START_TEST(a_limit_holds_for_each_quantity)
{
    struct rig rig = {.flow_method = FLOW_METER};
    struct settled_point settled = settled_point();
    struct grade_class class = {0};
    struct quantity *limits[] = {&class.fluctuation_flow, &class.fluctuation_head, &class.fluctuation_power,
                                 &class.fluctuation_speed};
    struct point_fluctuation found = point_fluctuation_of(&rig, &settled, &water, 9.81, &class);
    const struct quantity values[] = {found.flow, found.head, found.input_power, found.speed};
    ck_assert(found.within);
    for (int i = 0; i < 4; i++) {
        *limits[i] = values[i];
        ck_assert(point_fluctuation_of(&rig, &settled, &water, 9.81, &class).within);
        limits[i]->value *= 0.999;
        ck_assert(!point_fluctuation_of(&rig, &settled, &water, 9.81, &class).within);
        *limits[i] = (struct quantity){0};
    }
    struct grade_spread spread = {.spread_qhp = 7.0 / 101.0, .spread_speed = 7.0 / 101.0};
    ck_assert(point_spread_of(&rig, &settled, &water, 9.81, &spread).within);
    spread.spread_speed *= 0.999;
    ck_assert(!point_spread_of(&rig, &settled, &water, 9.81, &spread).within);
    spread = (struct grade_spread){.spread_qhp = 6.99 / 101.0, .spread_speed = 7.0 / 101.0};
    ck_assert(!point_spread_of(&rig, &settled, &water, 9.81, &spread).within);
}
END_TEST

Suite *fluctuation_suite(void);

Suite *fluctuation_suite(void)
{
    Suite *suite = suite_create("fluctuation");
    TCase *core = tcase_create("core");
    tcase_add_loop_test(core, flow_swings_by_its_devices_exponent, 0, (int)(sizeof methods / sizeof *methods));
    tcase_add_test(core, pressure_counts_as_its_share_of_the_head);
    tcase_add_test(core, a_limit_holds_for_each_quantity);
    suite_add_tcase(suite, core);
    return suite;
}
