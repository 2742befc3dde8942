/* The head margin that batch statistics take, by its definition: how far the head curve may be lowered, as a whole,
 * before flow and head fail; and the room, how far from there to where they fail from above. Curves are straight lines,
 * on which arms and ellipse are exact: tolerances are rounding. */
#include "batch/batch.h"
#include "batch/batch_record.h"
#include "batch/batch_stats.h"
#include "run/result.h"

#include "near.h"
#include "weight.h"

#include <string.h>

#define FLOW_M3S 0.01
#define HEAD_M   40.0

enum { POINTS = 5, UNITS = 5 };

static struct bench {
    struct arena arena;
    struct grade grade;
    struct duty duty;
    struct model model;
    struct batch_row row;
} bench;

static void set_up(void)
{
    memset(&bench, 0, sizeof bench);
    bench.grade = (struct grade){.name = "typed", .class_name = "", .source = "typed"};
    bench.duty = (struct duty){.flow_m3s = quantity_of(FLOW_M3S),
                               .head_m = quantity_of(HEAD_M),
                               .grade = &bench.grade,
                               .grade_name = "typed",
                               .flow_text = "10.0",
                               .head_text = "40.0",
                               .efficiency_text = "",
                               .input_power_text = "",
                               .flow_unit = "L/s",
                               .head_unit = "m",
                               .power_unit = "kW"};
    bench.model =
        (struct model){.name = "M", .duty_count = 1, .duties = &bench.duty, .motor_name = "", .label_scheme = ""};
}

static void tear_down(void)
{
    arena_release(&bench.arena);
}

/* Geometries with tolerances in %, X_Q and X_H of an ellipse in the minus columns; fall: slope of the curve in H_G /
 * Q_G; apart: how far the curve lies from the guarantee, in H_G. */
static const struct margin_case {
    const char *name;
    enum grade_geometry geometry;
    double flow_minus, flow_plus, head_minus, head_plus, fall, apart;
    bool open_above;
} cases[] = {
    {"cross, flat", GEOMETRY_BILATERAL, 8, 8, 5, 5, 0.3, 0.01, false},
    {"cross, steep", GEOMETRY_BILATERAL, 8, 8, 5, 5, 1.5, -0.03, false},
    {"unilateral, flat", GEOMETRY_UNILATERAL, 0, 16, 0, 10, 0.4, 0.02, false},
    {"unilateral, steep", GEOMETRY_UNILATERAL, 0, 16, 0, 10, 1.2, 0.15, false},
    {"ellipse, flat", GEOMETRY_ELLIPSE, 7, 0, 4, 0, 0.4, 0.02, false},
    {"ellipse, steep", GEOMETRY_ELLIPSE, 7, 0, 4, 0, 1.6, -0.06, false},
    {"ellipse, missed", GEOMETRY_ELLIPSE, 7, 0, 4, 0, 1.0, -0.12, false},
    {"minimum, flat", GEOMETRY_MINIMUM, 8, 0, 5, 0, 0.3, 0.01, true},
    {"minimum, steep", GEOMETRY_MINIMUM, 8, 0, 5, 0, 1.5, -0.02, true},
};

enum { CASES = sizeof cases / sizeof cases[0] };

static struct curve line(double at_duty_m, double fall)
{
    double flow[POINTS], head[POINTS];
    struct curve curve;
    for (int i = 0; i < POINTS; i++) {
        flow[i] = FLOW_M3S * 2.0 * i / (POINTS - 1);
        head[i] = at_duty_m - fall * HEAD_M * (flow[i] / FLOW_M3S - 1.0);
    }
    ck_assert(fit_curve(flow, head, POINTS, 1, &curve));
    return curve;
}

/* A tested unit whose head at guaranteed flow is so many metres off the guarantee. */
static struct batch_test tested(const struct margin_case *row, double apart_m)
{
    struct result result = {.model = &bench.model, .serial = "S", .tester = "", .remarks = "", .duty_count = 1};
    struct duty_result duty;
    struct batch_test test = {.row = &bench.row, .tests = 1, .attempt = 1};
    bench.grade.geometry = row->geometry;
    bench.grade.flow_minus = quantity_of(row->flow_minus / 100);
    bench.grade.flow_plus = quantity_of(row->flow_plus / 100);
    bench.grade.head_minus = quantity_of(row->head_minus / 100);
    bench.grade.head_plus = quantity_of(row->head_plus / 100);
    result.curves.of[CURVE_HEAD] = line(HEAD_M + apart_m, row->fall);
    set_specific_weight(&result.curves, 9790.0);
    result.duties = &duty;
    duty = judge_duty(&bench.model, &bench.duty, &result.curves, NULL);
    result.verdict = duty.verdict;
    ck_assert_int_eq(batch_record(&result, &bench.arena, &test), OK);
    return test;
}

START_TEST(margin_is_how_far_the_curve_may_be_lowered)
{
    const struct margin_case *row = &cases[_i];
    double apart_m = row->apart * HEAD_M;
    const struct batch_duty duty = tested(row, apart_m).duties[0];
    ck_assert(duty.head_margin_m.known);
    double edge_m = apart_m - duty.head_margin_m.value;
    ck_assert_msg(tested(row, edge_m + 1e-6).verdict == VERDICT_PASS, "%s: fails above the margin", row->name);
    ck_assert_msg(tested(row, edge_m - 1e-6).verdict == VERDICT_FAIL, "%s: passes below the margin", row->name);
    ck_assert(duty.head_room_m.known == !row->open_above);
    if (!row->open_above) {
        edge_m += duty.head_room_m.value;
        ck_assert_msg(tested(row, edge_m - 1e-6).verdict == VERDICT_PASS, "%s: fails within the room", row->name);
        ck_assert_msg(tested(row, edge_m + 1e-6).verdict == VERDICT_FAIL, "%s: passes beyond the room", row->name);
    }
}
END_TEST

/* Capability of a line of ellipse units by its definition (ISO 22514-1:2014, from memory): from the mean to the nearer
 * edge of the ellipse in three standard deviations. On a slope of f the ellipse reaches sqrt(X_H^2 + (f X_Q)^2) of
 * H_G either way. Heads half a metre apart about the guarantee less 1 m: s = sqrt(2.5) / 2, moving range 0.5. */
START_TEST(capability_of_an_ellipse)
{
    const struct margin_case row = {"ellipse", GEOMETRY_ELLIPSE, 7, 0, 4, 0, 1.0, 0, false};
    struct batch_test tests[UNITS];
    struct batch_summary summary;
    for (int i = 0; i < UNITS; i++) {
        tests[i] = tested(&row, -1.0 + 0.5 * (i - 2));
        tests[i].tested = (struct date){.known = true, .year = 2024, .month = 1, .day = 1 + i};
    }
    struct batch batch = {.count = UNITS, .tests = tests};
    ck_assert_int_eq(batch_sum_up(&batch, &bench.arena, &summary), OK);
    const struct batch_series *series = &summary.sections[0].head[0];
    double reach_m = HEAD_M * hypot(0.04, 0.07), to_edge_m = reach_m - 1.0;
    near_rel(series->ppk.value, to_edge_m / (3.0 * 0.5 * sqrt(2.5)), 1e-6);
    near_rel(series->cpk.value, to_edge_m / (3.0 * 0.5 / 1.128), 1e-6); /* d2 of two: 1.128 in every table */
}
END_TEST

Suite *margins_suite(void);
Suite *margins_suite(void)
{
    Suite *suite = suite_create("margins");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_add_loop_test(core, margin_is_how_far_the_curve_may_be_lowered, 0, CASES);
    tcase_add_test(core, capability_of_an_ellipse);
    suite_add_tcase(suite, core);
    return suite;
}
