/* chain.c: what the points of a test are to its curves. */
#include "physics/chain.h"

#include "near.h"
#include "physics/water.h"

enum { POINTS = 8 };

static struct bench {
    struct arena arena;
    struct bay bay;
    struct model model;
    struct site site;
    struct chain chain;
} bench;

static void set_up(void)
{
    bench = (struct bench){.site = {.gravity_m_s2 = 9.79, .air_pressure_pa = 1e5}};
    bench.bay.rig = (struct rig){.flow_method = FLOW_METER,
                                 .gauge_height_m = quantity_of(0.0),
                                 .water_level_m = quantity_of(0.0),
                                 .delivery_bore_m = quantity_of(0.1),
                                 .current_ratio = 1.0,
                                 .voltage_ratio = 1.0,
                                 .speed_basis = SPEED_FREQUENCY};
    bench.model.rated_frequency_hz = quantity_of(50.0);
}

static void tear_down(void)
{
    arena_release(&bench.arena);
}

static void put(size_t i, enum channel channel, double value)
{
    bench.chain.means[i].value[channel] = value;
    bench.chain.means[i].present |= UINT32_C(1) << channel;
}

/* Points at even flows, with the temperature given at the first and the last. */
static void run(size_t count, double from_c, double to_c)
{
    ck_assert_int_eq(chain_init(&bench.chain, &bench.arena, count), OK);
    bench.chain.bay = &bench.bay;
    bench.chain.model = &bench.model;
    bench.chain.site = &bench.site;
    bench.chain.basis = SPEED_FREQUENCY;
    for (size_t i = 0; i < count; i++) {
        double share = (double)i / (POINTS - 1);
        put(i, CH_FLOW, 0.01 * share);
        put(i, CH_GAUGE_PRESSURE, 6e5 * (1.0 - 0.6 * share * share));
        put(i, CH_INPUT_POWER, 3000.0 + 2000.0 * share);
        put(i, CH_FREQUENCY, 50.0);
        put(i, CH_WATER_TEMPERATURE, from_c + (to_c - from_c) * share);
        bench.chain.usable[i] = i < POINTS;
    }
    if (count > POINTS) {
        put(POINTS, CH_WATER_TEMPERATURE, 95.0);
        put(POINTS, CH_FLOW, 0.004);
    }
    ck_assert_int_eq(chain_run(&bench.chain), OK);
}

/* Water that warms from 20 to 50 degC through a test: 988 kg/m3 at its end, 998 at its start (IAPWS). The parabola of
 * density follows to 1e-4, its third difference over the range being 0.2 kg/m3. */
START_TEST(density_is_that_of_the_flow)
{
    run(POINTS, 20.0, 50.0);
    for (size_t i = 0; i < POINTS; i++) {
        double share = (double)i / (POINTS - 1), density;
        ck_assert(water_density(20.0 + 30.0 * share, 1e5 + 3e5 * (1.0 - 0.6 * share * share), &density));
        near_rel(curves_specific_weight(&bench.chain.curves, 0.01 * share), 9.79 * density, 1e-4);
    }
    double first = curves_specific_weight(&bench.chain.curves, 0.0);
    near_rel(curves_specific_weight(&bench.chain.curves, -0.001), first, 1e-15); /* nothing is extrapolated */
}
END_TEST

/* A point that is not in the curves, with hot water: nothing moves. */
START_TEST(a_point_outside_the_curves_moves_nothing)
{
    double without, with;
    run(POINTS, 27.0, 27.5);
    ck_assert(curves_set_efficiency(&bench.chain.curves, 0.006, &without));
    run(POINTS + 1, 27.0, 27.5);
    ck_assert(bench.chain.as_tested[POINTS].density_kg_m3.value < 970.0);
    ck_assert(curves_set_efficiency(&bench.chain.curves, 0.006, &with));
    near_abs(with, without, 0.0);
}
END_TEST

Suite *chain_suite(void);
Suite *chain_suite(void)
{
    Suite *suite = suite_create("chain");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_add_test(core, density_is_that_of_the_flow);
    tcase_add_test(core, a_point_outside_the_curves_moves_nothing);
    suite_add_tcase(suite, core);
    return suite;
}
