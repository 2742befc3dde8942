#include "physics/head.h"

#include "near.h"

#include <gsl/gsl_math.h>
#include <string.h>

#define KNOWN(x) ((struct quantity){.value = (x), .known = true})

/* US units by definition: foot, pound-force, US gallon, slug. */
static const double foot_m = 0.3048, pound_force_n = 0.45359237 * 9.80665, gallon_m3 = 231.0 * 0.0254 * 0.0254 * 0.0254;
static const double psi_pa = 0.45359237 * 9.80665 / (0.0254 * 0.0254), slug_kg = 0.45359237 * 9.80665 / 0.3048;

/* --- friction --- */

START_TEST(laminar_friction_is_64_over_re)
{
    near_rel(pipe_friction_factor(1000.0, 0.01), 0.064, 1e-15);
    near_rel(pipe_friction_factor(2299.9, 0.0), 64.0 / 2299.9, 1e-15);
    ck_assert(pipe_friction_factor(2300.0, 0.0) > 0.04); /* Colebrook-White from here on: 0.0473 */
}
END_TEST

START_TEST(friction_satisfies_colebrook)
{
    for (double reynolds = 2300.0; reynolds < 1e9; reynolds *= 3.7) {
        for (double roughness = 0.0; roughness <= 0.05; roughness += 0.0025) {
            double f = pipe_friction_factor(reynolds, roughness);
            double left = 1.0 / sqrt(f), right = -2.0 * log10(roughness / 3.7 + 2.51 / (reynolds * sqrt(f)));
            near_rel(left, right, 1e-12); /* the accuracy that the header promises */
        }
    }
}
END_TEST

/* White, Fluid Mechanics, section 6.6: Prandtl's law of smooth pipes, four decimals. Its constant 0.8 is
 * Colebrook's 2.51 rounded. */
static const struct {
    double reynolds, factor;
} smooth_pipe[] = {{4e3, 0.0399}, {1e4, 0.0309}, {1e5, 0.0180}, {1e6, 0.0116}, {1e7, 0.0081}, {1e8, 0.0059}};

START_TEST(friction_meets_the_law_of_smooth_pipes)
{
    near_abs(pipe_friction_factor(smooth_pipe[_i].reynolds, 0.0), smooth_pipe[_i].factor, 6e-5); /* four decimals */
}
END_TEST

START_TEST(friction_outside_the_range_is_nan)
{
    ck_assert(isfinite(pipe_friction_factor(1e5, 0.05)) && isnan(pipe_friction_factor(1e5, 0.0501)));
    ck_assert(isfinite(pipe_friction_factor(1e-3, 0.0)) && isnan(pipe_friction_factor(0.0, 0.0)));
    ck_assert(isnan(pipe_friction_factor(1e5, -1e-9)) && isnan(pipe_friction_factor(NAN, 0.0)));
    ck_assert(isnan(pipe_friction_factor(1e5, NAN)) && isnan(pipe_friction_factor(INFINITY, 0.0)));
}
END_TEST

/* --- total head --- */

/* Fox and McDonald, Introduction to Fluid Mechanics, Ex. 10.3: readings as printed; the head re-computed by hand from
 * them (at 1000 gpm the book says about 89 ft). */
static const struct {
    double flow_gpm, suction_psi, delivery_psi, head_ft;
} fox[] = {
    {0.0, 0.65, 53.3, 123.37},    {500.0, 0.25, 48.3, 112.76},  {800.0, -0.35, 42.3, 100.32},
    {1000.0, -0.92, 36.9, 89.18}, {1100.0, -1.24, 33.0, 80.93}, {1200.0, -1.62, 27.8, 69.82},
    {1400.0, -2.42, 15.3, 42.85}, {1500.0, -2.89, 7.3, 25.49},
};

START_TEST(two_gauges_give_fox_and_mcdonalds_head)
{
    struct rig rig = {.gauge_height_m = KNOWN(3.0 * foot_m),
                      .suction_gauge_height_m = KNOWN(1.0 * foot_m),
                      .delivery_bore_m = KNOWN(0.5 * foot_m),
                      .suction_bore_m = KNOWN(0.5 * foot_m)};
    struct head_terms terms = {.flow_m3s = fox[_i].flow_gpm * gallon_m3 / 60.0,
                               .gauge_pressure_pa = fox[_i].delivery_psi * psi_pa,
                               .suction_pressure_pa = KNOWN(fox[_i].suction_psi * psi_pa),
                               .density_kg_m3 = 1.94 * slug_kg / gsl_pow_3(foot_m),
                               .gravity_m_s2 = 32.2 * foot_m};
    struct head_parts parts;
    ck_assert_ptr_null(head_total(&rig, &terms, &parts));
    near_abs(parts.total_m / foot_m, fox[_i].head_ft, 0.006); /* printed to 0.01 ft */
    near_abs(parts.velocity_m, 0.0, 0.0);                     /* equal bores */
}
END_TEST

/* Munson et al., Fundamentals of Fluid Mechanics, Ex. 5.20: 300 gpm, 3.5 in at 18 psi to 1 in at 60 psi; of the power
 * 7.4 hp raise the pressure and 17.6 hp the velocity. */
START_TEST(velocity_head_is_munsons)
{
    double horsepower_w = 550.0 * foot_m * pound_force_n;
    struct rig rig = {.gauge_height_m = KNOWN(0.0),
                      .suction_gauge_height_m = KNOWN(0.0),
                      .delivery_bore_m = KNOWN(0.0254),
                      .suction_bore_m = KNOWN(3.5 * 0.0254)};
    struct head_terms terms = {.flow_m3s = 300.0 * gallon_m3 / 60.0,
                               .gauge_pressure_pa = 60.0 * psi_pa,
                               .suction_pressure_pa = KNOWN(18.0 * psi_pa),
                               .density_kg_m3 = 1.94 * slug_kg / gsl_pow_3(foot_m),
                               .gravity_m_s2 = 32.2 * foot_m};
    struct head_parts parts;
    ck_assert_ptr_null(head_total(&rig, &terms, &parts));
    double w_per_m = terms.density_kg_m3 * terms.gravity_m_s2 * terms.flow_m3s;
    near_abs(w_per_m * parts.pressure_m / horsepower_w, 7.4, 0.0501); /* printed to 0.1 hp */
    near_abs(w_per_m * parts.velocity_m / horsepower_w, 17.6, 0.05);
}
END_TEST

/* Sarkar, Fluid Mechanics and Hydraulic Machines, Ex. 10.2 adds a velocity head for the suction and one for the
 * delivery pipe: 28.4589 m. The head of a submerged set counts the delivery's alone. */
START_TEST(one_velocity_head_not_sarkars_two)
{
    double speed_m_s = 1.0 / 60.0 / (M_PI_4 * 0.01), velocity_head_m = gsl_pow_2(speed_m_s) / (2.0 * 9.81);
    struct rig rig = {.gauge_height_m = KNOWN(20.0),
                      .water_level_m = KNOWN(-2.0),
                      .delivery_bore_m = KNOWN(0.1),
                      .delivery_loss_coefficient = KNOWN(6.0 / velocity_head_m)};
    struct head_terms terms = {.flow_m3s = 1.0 / 60.0, .density_kg_m3 = 1000.0, .gravity_m_s2 = 9.81};
    struct head_parts parts;
    ck_assert_ptr_null(head_total(&rig, &terms, &parts));
    near_abs(parts.total_m + velocity_head_m, 28.4589, 5e-4); /* the book's velocity head is rounded on the way */
    near_abs(parts.lift_m, 22.0, 1e-12);
    near_abs(parts.friction_m, 6.0, 1e-12);
}
END_TEST

START_TEST(friction_of_the_delivery_pipe_is_added)
{
    /* by hand: D 0.08 m, Q 0.012 m3/s, v 2.387324 m/s, Re 190261.6 at 1.002e-3 Pa s; 30 m of 0.2 mm roughness and K 2.5
     */
    struct rig rig = {.gauge_height_m = KNOWN(1.2),
                      .water_level_m = KNOWN(9.0),
                      .delivery_bore_m = KNOWN(0.08),
                      .delivery_length_m = KNOWN(30.0),
                      .delivery_roughness_m = KNOWN(2e-4),
                      .delivery_loss_coefficient = KNOWN(2.5)};
    struct head_terms terms = {.flow_m3s = 0.012,
                               .gauge_pressure_pa = 4.2e5,
                               .water_level_m = KNOWN(-3.4),
                               .density_kg_m3 = 998.2,
                               .viscosity_pa_s = 1.002e-3,
                               .gravity_m_s2 = 9.79};
    struct head_parts parts;
    ck_assert_ptr_null(head_total(&rig, &terms, &parts));
    double head_m = gsl_pow_2(2.387324146) / (2.0 * 9.79), f = pipe_friction_factor(190261.6, 0.0025);
    near_abs(parts.lift_m, 4.6, 1e-12); /* the log's level, not the rig's */
    near_rel(parts.pressure_m, 4.2e5 / (998.2 * 9.79), 1e-14);
    near_rel(parts.velocity_m, head_m, 1e-8);                           /* ten figures of v above */
    near_rel(parts.friction_m, (2.5 + f * 30.0 / 0.08) * head_m, 1e-7); /* Re is rounded to seven figures */
    near_rel(parts.total_m, parts.lift_m + parts.pressure_m + parts.velocity_m + parts.friction_m, 1e-15);
}
END_TEST

START_TEST(shut_off_needs_no_viscosity)
{
    struct rig rig = {.gauge_height_m = KNOWN(1.0),
                      .water_level_m = KNOWN(0.0),
                      .delivery_bore_m = KNOWN(0.08),
                      .delivery_length_m = KNOWN(5.0)};
    struct head_terms terms = {.gauge_pressure_pa = 9.79e5, .density_kg_m3 = 1000.0, .gravity_m_s2 = 9.79};
    struct head_parts parts;
    ck_assert_ptr_null(head_total(&rig, &terms, &parts));
    near_abs(parts.total_m, 101.0, 1e-12);
}
END_TEST

/* What each case lacks, and a word of the sentence that must name it. */
enum lack {
    NO_GAUGE_HEIGHT,
    NO_WATER_LEVEL,
    NO_BORE,
    NO_ROUGHNESS,
    TOO_ROUGH,
    NO_VISCOSITY,
    NO_SUCTION_HEIGHT,
    NO_SUCTION_BORE,
    NO_DENSITY,
    BACKWARD_FLOW,
    FLOW_NAN,
    LACKS
};
static const char *const named[LACKS] = {"gauge height",
                                         "water level",
                                         "delivery bore",
                                         "delivery roughness",
                                         "twentieth",
                                         "viscosity",
                                         "suction gauge height",
                                         "suction bore",
                                         "density",
                                         "flow",
                                         "flow"};

START_TEST(what_is_missing_is_named)
{
    struct rig rig = {.gauge_height_m = KNOWN(1.0),
                      .water_level_m = KNOWN(0.0),
                      .delivery_bore_m = KNOWN(0.08),
                      .delivery_length_m = KNOWN(5.0),
                      .delivery_roughness_m = KNOWN(1e-4),
                      .suction_bore_m = KNOWN(0.1),
                      .suction_gauge_height_m = KNOWN(0.2)};
    struct head_terms terms = {.flow_m3s = 0.01,
                               .gauge_pressure_pa = 3e5,
                               .density_kg_m3 = 998.0,
                               .viscosity_pa_s = 1e-3,
                               .gravity_m_s2 = 9.79};
    struct head_parts parts = {.total_m = 7.0};
    switch ((enum lack)_i) {
    case NO_GAUGE_HEIGHT: rig.gauge_height_m.known = false; break;
    case NO_WATER_LEVEL: rig.water_level_m.known = false; break;
    case NO_BORE: rig.delivery_bore_m.known = false; break;
    case NO_ROUGHNESS: rig.delivery_roughness_m.known = false; break;
    case TOO_ROUGH: rig.delivery_roughness_m.value = 0.0041; break;
    case NO_VISCOSITY: terms.viscosity_pa_s = 0.0; break;
    case NO_SUCTION_HEIGHT: terms.suction_pressure_pa = KNOWN(0.0), rig.suction_gauge_height_m.known = false; break;
    case NO_SUCTION_BORE: terms.suction_pressure_pa = KNOWN(0.0), rig.suction_bore_m.known = false; break;
    case NO_DENSITY: terms.density_kg_m3 = 0.0; break;
    case BACKWARD_FLOW: terms.flow_m3s = -0.01; break;
    case FLOW_NAN: terms.flow_m3s = NAN; break;
    case LACKS: break;
    }
    const char *missing = head_total(&rig, &terms, &parts);
    ck_assert_ptr_nonnull(missing);
    ck_assert_msg(strstr(missing, named[_i]) != NULL, "'%s' does not name '%s'", missing, named[_i]);
    near_abs(parts.total_m, 7.0, 0.0);
}
END_TEST

Suite *head_suite(void);

Suite *head_suite(void)
{
    Suite *suite = suite_create("head");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits");
    tcase_add_test(core, laminar_friction_is_64_over_re);
    tcase_add_test(core, friction_satisfies_colebrook);
    tcase_add_loop_test(core, friction_meets_the_law_of_smooth_pipes, 0, 6);
    tcase_add_loop_test(core, two_gauges_give_fox_and_mcdonalds_head, 0, 8);
    tcase_add_test(core, velocity_head_is_munsons);
    tcase_add_test(core, one_velocity_head_not_sarkars_two);
    tcase_add_test(core, friction_of_the_delivery_pipe_is_added);
    tcase_add_test(core, shut_off_needs_no_viscosity);
    tcase_add_test(limits, friction_outside_the_range_is_nan);
    tcase_add_loop_test(limits, what_is_missing_is_named, 0, LACKS);
    suite_add_tcase(suite, core);
    suite_add_tcase(suite, limits);
    return suite;
}
