/* Verdicts on both sides of every limit of every grade
 *
 * The tolerances below are typed from the published tables, not read from the program's: ISO 9906:2012 table 8 (from
 * memory, cross-checked) and, for the ellipses and their efficiencies, ISO 3555 class B and ISO 2548:1973 class C (from
 * memory). Each limit is probed 0.2 % of the tolerance inside and outside, so that a tolerance wrong by 1 % of itself
 * fails a row. Every row runs with a grade made here and with the built-in grade of that name.
 */
#include "base/text.h"
#include "papers/check_words.h"
#include "verdict/judge.h"

#include "near.h"
#include "weight.h"

#include <stddef.h>
#include <string.h>

#define FLOW_M3S    0.01
#define HEAD_M      40.0
#define WEIGHT_N_M3 9790.0 /* rho g */

enum { TESTED_POINTS = 9 };

/* --- grades as published, in % --- */

static const struct published {
    const char *name;
    enum grade_geometry geometry;
    double flow_plus, flow_minus, head_plus, head_minus; /* ellipse: X_Q and X_H in the minus fields */
    double power_plus;                                   /* negative: not stated */
    double set_minus, pump_minus;
} published[] = {
    {"1B", GEOMETRY_BILATERAL, 5, 5, 3, 3, 4, 3, 3},         {"1E", GEOMETRY_BILATERAL, 5, 5, 3, 3, 4, 0, 0},
    {"1U", GEOMETRY_UNILATERAL, 10, 0, 6, 0, 10, 0, 0},      {"2B", GEOMETRY_BILATERAL, 8, 8, 5, 5, 8, 5, 5},
    {"2U", GEOMETRY_UNILATERAL, 16, 0, 10, 0, 16, 5, 5},     {"3B", GEOMETRY_BILATERAL, 9, 9, 7, 7, 9, 7, 7},
    {"class B", GEOMETRY_ELLIPSE, 0, 4, 0, 2, -1, 2.5, 2.8}, {"class C", GEOMETRY_ELLIPSE, 0, 7, 0, 4, -1, 4.5, 5.0},
};

enum { PUBLISHED = sizeof published / sizeof published[0], CROSSES = 6 };

static struct quantity percent(double value)
{
    return value < 0 ? quantity_absent() : quantity_of(value / 100);
}

static struct grade made_grade(const struct published *row)
{
    bool ellipse = row->geometry == GEOMETRY_ELLIPSE;
    return (struct grade){
        .name = row->name,
        .geometry = row->geometry,
        .flow_plus = ellipse ? quantity_absent() : percent(row->flow_plus),
        .flow_minus = percent(row->flow_minus),
        .head_plus = ellipse ? quantity_absent() : percent(row->head_plus),
        .head_minus = percent(row->head_minus),
        .power_plus = percent(row->power_plus),
        .efficiency_minus_set = percent(row->set_minus),
        .efficiency_minus_pump = percent(row->pump_minus),
        .source = "typed",
    };
}

/* --- one bench: a model with one duty, its curves, and room for the result --- */

static struct bench {
    struct arena arena;
    struct faults faults;
    struct grade_book book;
    struct grade grade;
    struct duty duty[2];
    struct model model;
    struct curves curves;
    struct duty_result result;
} bench;

static void set_up(void)
{
    memset(&bench, 0, sizeof bench);
    bench.duty[0] = (struct duty){
        .flow_m3s = quantity_of(FLOW_M3S),
        .head_m = quantity_of(HEAD_M),
        .flow_text = "10.0",
        .head_text = "40.0",
        .efficiency_text = "60.0",
        .input_power_text = "7.00",
        .flow_unit = "L/s",
        .head_unit = "m",
        .power_unit = "kW",
        .grade_name = "",
        .grade = &bench.grade,
    };
    bench.model.duty_count = 1;
    bench.model.duties = bench.duty;
    set_specific_weight(&bench.curves, WEIGHT_N_M3);
}

static void tear_down(void)
{
    arena_release(&bench.arena);
}

/* The grade of a row: made here, or the built-in one. */
static void take_grade(const struct published *row, bool builtin)
{
    bench.grade = made_grade(row);
    if (builtin) {
        ck_assert_int_eq(grade_book_read(NULL, &bench.arena, &bench.book, &bench.faults), OK);
        const struct grade *found = grade_find(&bench.book, row->name);
        ck_assert_ptr_nonnull(found);
        bench.duty[0].grade = found;
    }
}

/* y = c0 + c1 Q + c2 Q^2 through evenly spaced points of [low, high]. */
static struct curve drawn(double c0, double c1, double c2, double low_m3s, double high_m3s)
{
    double flow[TESTED_POINTS], y[TESTED_POINTS];
    struct curve curve;
    for (int i = 0; i < TESTED_POINTS; i++) {
        flow[i] = low_m3s + (high_m3s - low_m3s) * i / (TESTED_POINTS - 1);
        y[i] = c0 + c1 * flow[i] + c2 * flow[i] * flow[i];
    }
    ck_assert(fit_curve(flow, y, TESTED_POINTS, fabs(c2) > 0 ? 2 : 1, &curve));
    return curve;
}

/* A head curve that falls by slope x H_G / Q_G and has the head H_G (1 + apart) at Q_G. */
static void draw_head(double apart, double slope, double low_m3s, double high_m3s)
{
    double fall = slope * HEAD_M / FLOW_M3S;
    bench.curves.of[CURVE_HEAD] = drawn(HEAD_M * (1 + apart) + fall * FLOW_M3S, -fall, 0, low_m3s, high_m3s);
}

/* A check in words. */
static struct check_words words_of(const struct check *check)
{
    struct check_words words;
    ck_assert_int_eq(check_words_of(check, bench.duty, &bench.arena, &words), OK);
    return words;
}

static const char *left_open(void)
{
    return not_stated_text(bench.result.not_stated, &bench.arena);
}

static const struct check *judged(enum check_item item)
{
    bench.result = judge_duty(&bench.model, bench.duty, &bench.curves, NULL);
    for (size_t i = 0; i < bench.result.check_count; i++) {
        if (bench.result.checks[i].item == item) {
            return &bench.result.checks[i];
        }
    }
    return NULL;
}

/* The verdict on one item, with its reason where it is not judged. */
static enum verdict verdict_on(enum check_item item)
{
    const struct check *check = judged(item);
    ck_assert_ptr_nonnull(check);
    ck_assert_int_eq(check->reason.code != REASON_NONE, check->verdict == VERDICT_NOT_JUDGED);
    if (check->margin.known && check->verdict != VERDICT_NOT_JUDGED) {
        ck_assert_int_eq(check->verdict == VERDICT_PASS,
                         check->margin.value >= -2 * JUDGE_RESOLUTION * fabs(check->value.value));
    }
    return check->verdict;
}

/* --- crosses --- */

/* The limits of a grade on one arm: apart of the two sides, as fractions. */
struct side {
    bool vertical, upper;
};

static const struct side sides[] = {{true, true}, {true, false}, {false, true}, {false, false}};

/* Draws a head curve that lies at the fraction x of the guarantee on the one arm and far from the other. */
static void draw_on_arm(bool vertical, double x)
{
    const double flat = 0.05, steep = 10;
    if (vertical) {
        draw_head(x, flat, 0,
                  2 * FLOW_M3S); /* meets H_G at x / 0.05 of Q_G away: outside any horizontal arm, and that is tested */
    } else {
        draw_head(x * steep, steep, 0.5 * FLOW_M3S, 1.5 * FLOW_M3S);
    }
}

START_TEST(cross_on_both_sides_of_each_limit)
{
    const struct published *row = &published[_i / 2 % CROSSES];
    const struct side *side = &sides[_i / 2 / CROSSES];
    double tolerance = side->vertical ? (side->upper ? row->head_plus : row->head_minus)
                                      : (side->upper ? row->flow_plus : row->flow_minus);
    double limit = tolerance / 100, sign = side->upper ? 1 : -1;
    double probe = fmax(0.002 * limit, 1e-5); /* a zero tolerance is probed at 1e-5 of the guarantee */
    take_grade(row, _i % 2 == 1);

    draw_on_arm(side->vertical, sign * (limit - (tolerance > 0 ? probe : -0)));
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    draw_on_arm(side->vertical, sign * limit);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS); /* a touching end is inside */
    const struct check *check = &bench.result.checks[0];
    ck_assert_str_eq(words_of(check).where, side->vertical ? "at guaranteed flow" : "at guaranteed head");
    ck_assert_int_eq(check->dimension, side->vertical ? DIM_LENGTH : DIM_FLOW);
    near_rel(check->value.value, (side->vertical ? HEAD_M : FLOW_M3S) * (1 + sign * limit), 1e-9);
    near_rel(side->upper ? check->limit_high.value : check->limit_low.value, check->value.value, 1e-9);
    draw_on_arm(side->vertical, sign * (limit + probe));
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_FAIL);
    ck_assert_int_eq(bench.result.verdict, VERDICT_FAIL);
}
END_TEST

START_TEST(one_arm_is_enough_and_the_roomier_shows)
{
    take_grade(&published[3], false);      /* 2B: 8 % of flow, 5 % of head */
    draw_head(0.02, 0.5, 0, 2 * FLOW_M3S); /* head +2 % (60 % of its room left), flow +4 % (50 %) */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    ck_assert_str_eq(words_of(&bench.result.checks[0]).where, "at guaranteed flow");
    near_rel(bench.result.checks[0].margin.value, 0.03 * HEAD_M, 1e-9);
    draw_head(0.02, 1, 0, 2 * FLOW_M3S); /* flow +2 % (75 %) */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    ck_assert_str_eq(words_of(&bench.result.checks[0]).where, "at guaranteed head");
    near_rel(bench.result.checks[0].margin.value, 0.06 * FLOW_M3S, 1e-9);
    near_rel(bench.result.at_guaranteed_flow.head_m.value, 1.02 * HEAD_M, 1e-9);
    near_rel(bench.result.at_guaranteed_head.flow_m3s.value, 1.02 * FLOW_M3S, 1e-9);
}
END_TEST

/* --- what is not tested --- */

/* 2B: arms 9.2 .. 10.8 L/s and 38 .. 42 m. A curve by its head at Q_G, slope and tested flows. */
static const struct {
    double apart, slope, low, high; /* flows as shares of Q_G */
    enum verdict verdict;
    const char *reason;
} untested[] = {
    /* guaranteed flow beyond the tested flows, guaranteed head met within its arm */
    {-0.20, 4.0, 0.2, 0.98, VERDICT_PASS, NULL},
    /* neither read */
    {0.20, 0.5, 0.2, 0.90, VERDICT_NOT_JUDGED,
     "guaranteed flow 10.00 L/s lies outside the tested flows 2.000 to 9.000 L/s"},
    {-0.20, 0.5, 1.10, 2.0, VERDICT_NOT_JUDGED,
     "guaranteed flow 10.00 L/s lies outside the tested flows 11.00 to 20.00 L/s"},
    /* guaranteed head met too early, and the curve ends before the guaranteed flow: the vertical arm is open */
    {-0.20, 1.0, 0.2, 0.95, VERDICT_NOT_JUDGED,
     "guaranteed flow 10.00 L/s lies outside the tested flows 2.000 to 9.500 L/s"},
    /* head read and too low, guaranteed head met too early: both arms closed though the horizontal one was not covered
     */
    {-0.20, 1.0, 0.2, 1.02, VERDICT_FAIL, NULL},
    /* head too low, the curve never reaches H_G but covers the arm: not touched */
    {-0.20, 0.2, 0.5, 1.2, VERDICT_FAIL, NULL},
    /* head too low, H_G not reached, arm not covered on its upper side */
    {-0.20, 0.2, 0.5, 1.05, VERDICT_NOT_JUDGED,
     "the head curve lies below the guaranteed head 40.00 m throughout the tested flows 5.000 to 10.50 L/s"},
    /* head too high, the curve ends above H_G before the arm does */
    {0.06, 0.2, 0.5, 1.05, VERDICT_NOT_JUDGED,
     "the head curve lies above the guaranteed head 40.00 m to the end of the tested flows 5.000 to 10.50 L/s"},
    {0.06, 0.2, 0.5, 1.08, VERDICT_FAIL, NULL},
    /* nor when its lower side is not covered: H_G may be met there */
    {-0.20, 0.2, 0.95, 1.2, VERDICT_NOT_JUDGED,
     "the head curve lies below the guaranteed head 40.00 m throughout the tested flows 9.500 to 12.00 L/s"},
    /* head in its arm: passes whatever the other */
    {0.04, 0.2, 0.5, 1.00, VERDICT_PASS, NULL},
};

START_TEST(never_beyond_the_tested_flows)
{
    take_grade(&published[3], false);
    draw_head(untested[_i].apart, untested[_i].slope, untested[_i].low * FLOW_M3S, untested[_i].high * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), untested[_i].verdict);
    if (untested[_i].reason != NULL) {
        ck_assert_str_eq(words_of(&bench.result.checks[0]).reason, untested[_i].reason);
    }
    ck_assert_int_eq(bench.result.verdict, untested[_i].verdict);
    if (_i == 0) { /* judged by the one arm: said */
        ck_assert_str_eq(words_of(&bench.result.checks[0]).where,
                         "at guaranteed head alone: the guaranteed flow lies outside the tested flows");
    }
}
END_TEST

START_TEST(unstable_curve_is_read_on_its_falling_branch)
{
    /* 36 + 1200 Q - 8e4 Q^2: greatest 40.5 m at 7.5 L/s; 40 m at 5 and 10 L/s. */
    take_grade(&published[3], false);
    bench.curves.of[CURVE_HEAD] = drawn(36, 1200, -8e4, 0, 0.016);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    near_rel(bench.result.at_guaranteed_head.flow_m3s.value, 0.010, 1e-9);
    /* Tested to 9 L/s only: 40 m is met while rising at 5 L/s, and still exceeded at the end. */
    bench.curves.of[CURVE_HEAD] = drawn(36, 1200, -8e4, 0, 0.009);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert(!bench.result.at_guaranteed_head.flow_m3s.known);
}
END_TEST

START_TEST(rising_branch_does_not_close_the_arm)
{
    /* 30 + 3000 Q - 1e5 Q^2: 40 m at 3.8 L/s while rising, 50 m at Q_G, greatest at 15 L/s: too high, and the falling
     * branch not tested. */
    take_grade(&published[3], false);
    bench.curves.of[CURVE_HEAD] = drawn(30, 3000, -1e5, 0, 0.0102);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    bench.curves.of[CURVE_HEAD] = drawn(30, 3000, -1e5, 0, 0.0108); /* now the whole arm is, and it is not touched */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_FAIL);
}
END_TEST

START_TEST(one_sided_arms_start_at_the_point)
{
    take_grade(&published[2], false);
    bench.grade.flow_minus = bench.grade.head_minus = quantity_absent(); /* a profile may leave them blank */
    draw_on_arm(true, -1e-5);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_FAIL);
    draw_on_arm(false, 0.05);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    near_rel(bench.result.tolerance.flow_low_m3s.value, FLOW_M3S, 1e-12);
}
END_TEST

/* --- ellipses --- */

static const double ellipse_slopes[] = {0.05, 0.6, 8};

START_TEST(ellipse_on_both_sides)
{
    const struct published *row = &published[CROSSES + _i / 2 % 2];
    double slope = ellipse_slopes[_i / 4 % 3], sign = _i / 12 == 0 ? 1 : -1;
    take_grade(row, _i % 2 == 1);
    /* Along a line of this slope dQ / Q_G = (dH / H_G) / slope; the left side is 1 at dH / H_G = sqrt(X_H^2 + (X_Q
     * slope)^2). */
    double limit = hypot(row->head_minus, row->flow_minus * slope) / 100;
    for (int outside = 0; outside <= 1; outside++) {
        draw_head(sign * limit * (outside ? 1.002 : 0.998), slope, 0, 2.5 * FLOW_M3S);
        ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), outside ? VERDICT_FAIL : VERDICT_PASS);
        near_rel(bench.result.checks[0].value.value, outside ? 1 / (1.002 * 1.002) : 1 / (0.998 * 0.998), 1e-9);
        /* in m: the edge is at the limit, and the ellipse reaches as far on the other side */
        near_abs(bench.result.checks[0].margin.value, (outside ? -0.002 : 0.002) * limit * HEAD_M, 1e-9 * HEAD_M);
        near_abs(bench.result.checks[0].margin_m3s.value, (outside ? -0.002 : 0.002) * limit / slope * FLOW_M3S,
                 1e-9 * FLOW_M3S / slope);
        ck_assert(bench.result.checks[0].too_high == (sign > 0));
    }
    draw_head(sign * limit, slope, 0, 2.5 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    near_rel(bench.result.tolerance.ellipse_flow_m3s, row->flow_minus / 100 * FLOW_M3S, 1e-12);
    near_rel(bench.result.tolerance.ellipse_head_m, row->head_minus / 100 * HEAD_M, 1e-12);
}
END_TEST

START_TEST(ellipse_needs_both_distances)
{
    take_grade(&published[7], false);
    draw_head(0, 0.6, 0, 2 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    ck_assert_str_eq(words_of(&bench.result.checks[0]).where, "the curve passes through the guaranteed point");
    /* Steep, 5e-9 of H_G high: within the resolution (1e-9) of the flow only. */
    draw_head(5e-9, 10, 0.5 * FLOW_M3S, 1.5 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    ck_assert_str_eq(words_of(&bench.result.checks[0]).where, "the curve passes through the guaranteed point");
    draw_head(0.01, 0.1, 0, 1.05 * FLOW_M3S); /* meets H_G at 1.1 Q_G only */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    draw_head(-0.01, 0.6, 0, 0.99 * FLOW_M3S); /* ends before Q_G */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
}
END_TEST

/* --- minimum values --- */

static struct grade minimum_grade(void)
{
    return (struct grade){.name = "mine",
                          .geometry = GEOMETRY_MINIMUM,
                          .flow_minus = percent(8),
                          .head_minus = percent(4),
                          .source = "typed"};
}

/* Limits 9.2 L/s and 38.4 m; both must be met. */
static const struct {
    double apart, slope, high;
    enum verdict verdict;
    const char *where;
} minimum[] = {
    {0.10, 1.0, 2.0, VERDICT_PASS, "at guaranteed head"}, /* no upper limit; room: head 14 of 4 %, flow 18 of 8 % */
    {-0.0399, 1.0, 2.0, VERDICT_PASS, "at guaranteed flow"},
    {-0.0401, 1.0, 2.0, VERDICT_FAIL, "at guaranteed flow"},
    {-0.0399, 0.0399 / 0.0799, 2.0, VERDICT_PASS, "at guaranteed head"},
    {-0.0399, 0.0399 / 0.0801, 2.0, VERDICT_FAIL, "at guaranteed head"}, /* head met, flow not */
    {0.10, 0.2, 1.2, VERDICT_PASS, "at guaranteed flow"},   /* above H_G to the end: the flow there is greater still */
    {0.10, 0.2, 0.95, VERDICT_NOT_JUDGED, NULL},            /* Q_G not tested */
    {0.10, 0.2, 0.90, VERDICT_NOT_JUDGED, NULL},            /* nor the least flow: both arms open */
    {-0.10, 1.0, 0.95, VERDICT_FAIL, "at guaranteed head"}, /* 9.0 L/s at H_G is too little whatever follows */
};

START_TEST(minimum_values_need_both)
{
    bench.grade = minimum_grade();
    draw_head(minimum[_i].apart, minimum[_i].slope, 0, minimum[_i].high * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), minimum[_i].verdict);
    if (minimum[_i].where != NULL) {
        ck_assert_str_eq(words_of(&bench.result.checks[0]).where, minimum[_i].where);
    }
    ck_assert(!bench.result.checks[0].limit_high.known);
}
END_TEST

/* --- rounding by IS 2 --- */

static const struct {
    enum grade_rounding rounding;
    const char *text;
    double head_m;
    enum verdict verdict;
    double compared_m;
} roundings[] = {
    {ROUND_NONE, "40.0", 38.36, VERDICT_FAIL, 0},   {ROUND_IS2, "40.0", 38.36, VERDICT_PASS, 38.4}, /* limit 38.4 */
    {ROUND_IS2, "40.0", 38.34, VERDICT_FAIL, 38.3}, {ROUND_IS2, "40.00", 38.36, VERDICT_FAIL, 38.36},
    {ROUND_IS2, "40", 38.46, VERDICT_FAIL, 38}, /* rounds out of the limits as well */
    {ROUND_IS2, "40", 38.54, VERDICT_PASS, 39},
};

START_TEST(rounds_to_the_places_of_the_guarantee)
{
    bench.grade = minimum_grade();
    bench.grade.rounding = roundings[_i].rounding;
    bench.duty[0].head_text = roundings[_i].text;
    draw_head(roundings[_i].head_m / HEAD_M - 1, 1, 0, 2 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), roundings[_i].verdict);
    const struct check *check = &bench.result.checks[0];
    near_rel(check->value.value, roundings[_i].head_m, 1e-9); /* the plain value stays */
    ck_assert_int_eq(check->compared.known, roundings[_i].rounding == ROUND_IS2);
    if (check->compared.known) {
        near_rel(check->compared.value, roundings[_i].compared_m, 1e-12);
    }
}
END_TEST

START_TEST(does_not_round_what_is_not_read)
{
    bench.grade = minimum_grade();
    bench.grade.rounding = ROUND_IS2;
    draw_head(-0.10, 1, 0, 0.95 * FLOW_M3S); /* 9.0 L/s at H_G fails; Q_G not tested */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_FAIL);
    near_rel(bench.result.checks[0].compared.value, 0.0090, 1e-9);
    draw_head(0.10, 0.2, 0, 0.95 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert(!bench.result.checks[0].compared.known);
}
END_TEST

/* --- efficiency and input power --- */

/* A head curve through the guaranteed point, and power curves that give one efficiency at every flow. */
static void draw_efficiency(double set, double pump)
{
    const double fall = HEAD_M / FLOW_M3S, high = 1.5 * FLOW_M3S;
    bench.curves.of[CURVE_HEAD] = drawn(2 * HEAD_M, -fall, 0, 0, high);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(0, WEIGHT_N_M3 * 2 * HEAD_M / set, -WEIGHT_N_M3 * fall / set, 0, high);
    bench.curves.of[CURVE_SHAFT_POWER] = drawn(0, WEIGHT_N_M3 * 2 * HEAD_M / pump, -WEIGHT_N_M3 * fall / pump, 0, high);
}

START_TEST(efficiency_on_both_sides)
{
    const struct published *row = &published[_i / 4];
    bool of_pump = _i / 2 % 2 == 1;
    double minus = (of_pump ? row->pump_minus : row->set_minus) / 100, probe = fmax(0.002 * minus, 1e-6);
    take_grade(row, _i % 2 == 1);
    bench.duty[0].efficiency = quantity_of(0.6);
    bench.duty[0].efficiency_of_pump = of_pump;
    for (int outside = 0; outside <= 1; outside++) {
        double efficiency = 0.6 * (1 - minus + (outside ? -probe : minus > 0 ? probe : 0));
        draw_efficiency(of_pump ? 0.9 : efficiency, of_pump ? efficiency : 0.9); /* the other one must not matter */
        ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), outside ? VERDICT_FAIL : VERDICT_PASS);
    }
    const struct check *check = judged(CHECK_EFFICIENCY);
    ck_assert_str_eq(check_name(check), of_pump ? "pump efficiency" : "set efficiency");
    ck_assert_str_eq(words_of(check).where, "on the duty line");
    near_rel(check->limit_low.value, 0.6 * (1 - minus), 1e-12);
    ck_assert_int_eq(bench.result.verdict, VERDICT_FAIL);
}
END_TEST

START_TEST(input_power_on_both_sides)
{
    const struct published *row = &published[_i / 2];
    double plus = row->power_plus / 100;
    take_grade(row, _i % 2 == 1);
    bench.duty[0].input_power_w = quantity_of(7000);
    draw_efficiency(0.6, 0.7);
    for (int outside = 0; outside <= 1; outside++) {
        double power = 7000 * (1 + plus * (outside ? 1.002 : 0.998));
        bench.curves.of[CURVE_INPUT_POWER] = drawn(power, 0, 0, 0, 1.5 * FLOW_M3S);
        ck_assert_int_eq(verdict_on(CHECK_INPUT_POWER), row->power_plus < 0 ? VERDICT_NOT_JUDGED
                                                        : outside           ? VERDICT_FAIL
                                                                            : VERDICT_PASS);
    }
    if (row->power_plus < 0) {
        ck_assert_str_eq(words_of(judged(CHECK_INPUT_POWER)).reason,
                         "the profile states no tolerance for input power (fill grades.csv)");
    }
}
END_TEST

START_TEST(efficiency_is_read_where_the_grade_says)
{
    /* Head 10 % high, so that the duty line and the guaranteed flow are different places: H = 44 m at Q_G, slope 1.
     * Line: 40 (1 + 1.1 - q) = 40 q, q = 1.05. Power constant 7000 W. */
    take_grade(&published[5], false);
    bench.duty[0].efficiency = quantity_of(0.6);
    draw_head(0.10, 1, 0, 1.5 * FLOW_M3S);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(7000, 0, 0, 0, 1.5 * FLOW_M3S);
    near_rel(judged(CHECK_EFFICIENCY)->value.value, WEIGHT_N_M3 * 0.0105 * 42 / 7000, 1e-9);
    near_rel(bench.result.on_duty_line.flow_m3s.value, 0.0105, 1e-9);
    near_rel(bench.result.on_duty_line.head_m.value, 42.0, 1e-9);
    bench.grade.efficiency_at = READ_GUARANTEED_FLOW;
    near_rel(judged(CHECK_EFFICIENCY)->value.value, WEIGHT_N_M3 * 0.010 * 44 / 7000, 1e-9);
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).where, "at guaranteed flow");
}
END_TEST

START_TEST(input_power_is_read_where_the_grade_says)
{
    /* The duty line at 1.05 Q_G as above; power 5000 W + 200 kW/(m3/s) Q: 7100 W there, 7000 W at Q_G. */
    take_grade(&published[5], false);
    bench.duty[0].input_power_w = quantity_of(7000);
    draw_head(0.10, 1, 0, 1.5 * FLOW_M3S);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(5000, 2e5, 0, 0, 1.5 * FLOW_M3S);
    near_rel(judged(CHECK_INPUT_POWER)->value.value, 7100.0, 1e-9);
    ck_assert_str_eq(words_of(judged(CHECK_INPUT_POWER)).where, "on the duty line");
    bench.grade.power_at = READ_GUARANTEED_FLOW;
    near_rel(judged(CHECK_INPUT_POWER)->value.value, 7000.0, 1e-9);
    ck_assert_str_eq(words_of(judged(CHECK_INPUT_POWER)).where, "at guaranteed flow");
}
END_TEST

/* Limit 0.6 (1 - 7 %) = 0.558: 0.5577 falls short of it, as 0.558 it does not. */
START_TEST(efficiency_is_rounded)
{
    take_grade(&published[5], false);
    bench.grade.rounding = _i == 0 ? ROUND_NONE : ROUND_IS2;
    bench.duty[0].efficiency = quantity_of(0.6);
    draw_efficiency(0.5577, 0.7);
    ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), _i == 0 ? VERDICT_FAIL : VERDICT_PASS);
    if (_i != 0) {
        near_rel(judged(CHECK_EFFICIENCY)->compared.value, 0.558, 1e-12);
    }
}
END_TEST

/* ISO 9906:2012, 4.4.2 (from memory): the values of the formula by hand, tau_eta and tau_P in %. */
static const struct {
    double shaft_kw, efficiency, power;
} small_pumps[] = {
    {10, 7.0, 9.90},    {7.5, 9.5, 11.80},  {5.5, 11.5, 13.46}, {3.7, 13.3, 15.03},
    {2.2, 14.8, 16.37}, {1.5, 15.5, 17.01}, {1, 16.0, 17.46},
};

static void take_small_pump(void)
{
    ck_assert_int_eq(grade_book_read(NULL, &bench.arena, &bench.book, &bench.faults), OK);
    bench.duty[0].grade = grade_find(&bench.book, "small pump");
    ck_assert_ptr_nonnull(bench.duty[0].grade);
    bench.duty[0].efficiency = quantity_of(0.6);
    bench.duty[0].input_power_w = quantity_of(7000);
    draw_efficiency(0.6, 0.7);
}

START_TEST(small_pump_tolerances)
{
    take_small_pump();
    /* Greatest at the end of the tested flows. */
    double power_w = small_pumps[_i].shaft_kw * 1000;
    bench.curves.of[CURVE_SHAFT_POWER] = drawn(power_w / 2, power_w / 2 / (1.5 * FLOW_M3S), 0, 0, 1.5 * FLOW_M3S);
    near_rel(judged(CHECK_EFFICIENCY)->limit_low.value, 0.6 * (1 - small_pumps[_i].efficiency / 100), 1e-12);
    near_abs(judged(CHECK_INPUT_POWER)->limit_high.value / 7000 - 1, small_pumps[_i].power / 100,
             0.00005); /* printed to 0.01 % */
    /* Flow and head +/-10 and +/-8 %: an article on GB/T 3216-2016, identical to ISO 9906:2012. */
    near_rel(bench.result.tolerance.flow_low_m3s.value, 0.9 * FLOW_M3S, 1e-12);
    near_rel(bench.result.tolerance.flow_high_m3s.value, 1.1 * FLOW_M3S, 1e-12);
    near_rel(bench.result.tolerance.head_low_m.value, 0.92 * HEAD_M, 1e-12);
    near_rel(bench.result.tolerance.head_high_m.value, 1.08 * HEAD_M, 1e-12);
    ck_assert_ptr_nonnull(strstr(words_of(judged(CHECK_EFFICIENCY)).source, "(from the test)"));
}
END_TEST

START_TEST(small_pump_shaft_power_sources)
{
    take_small_pump();
    bench.curves.of[CURVE_SHAFT_POWER] = (struct curve){0};
    bench.curves.of[CURVE_INPUT_POWER] = drawn(5000, 0, 0, 0, 1.5 * FLOW_M3S);
    bench.model.rated_power_w = quantity_of(3700);
    near_rel(judged(CHECK_EFFICIENCY)->limit_low.value, 0.6 * (1 - 0.133), 1e-12);
    ck_assert_ptr_nonnull(strstr(words_of(judged(CHECK_EFFICIENCY)).source, "3.700 kW (the rated power)"));
    bench.model.motor_efficiency = quantity_of(0.8);
    near_rel(judged(CHECK_EFFICIENCY)->limit_low.value, 0.6 * (1 - 0.13), 1e-12); /* 4 kW */
    ck_assert_ptr_nonnull(
        strstr(words_of(judged(CHECK_EFFICIENCY)).source, "4.000 kW (from input power and motor efficiency)"));
}
END_TEST

START_TEST(small_pump_needs_a_shaft_power)
{
    take_small_pump();
    bench.curves.of[CURVE_SHAFT_POWER] = bench.curves.of[CURVE_INPUT_POWER] = (struct curve){0};
    bench.model.motor_efficiency = quantity_of(0.8);
    bench.model.rated_power_w = quantity_of(3700); /* no power measured: the rated one, 13.3 % */
    near_rel(judged(CHECK_EFFICIENCY)->limit_low.value, 0.6 * (1 - 0.133), 1e-12);
    for (int stated = 0; stated <= 1; stated++) {
        bench.model.rated_power_w = stated ? quantity_of(0) : quantity_absent();
        ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
        for (size_t i = 0; i < bench.result.check_count; i++) {
            ck_assert_str_eq(
                words_of(&bench.result.checks[i]).reason,
                "shaft power is not known, so that it is open whether the rule for pumps up to 10 kW applies");
        }
    }
}
END_TEST

START_TEST(small_pump_rule_ends_at_10_kw)
{
    take_small_pump();
    bench.curves.of[CURVE_SHAFT_POWER] = drawn(10001, 0, 0, 0, 1.5 * FLOW_M3S);
    for (size_t i = 0; i < (judged(CHECK_FLOW_AND_HEAD), bench.result.check_count); i++) {
        ck_assert_int_eq(bench.result.checks[i].verdict, VERDICT_NOT_JUDGED);
        ck_assert_str_eq(
            words_of(&bench.result.checks[i]).reason,
            "grade 'small pump' is for shaft power up to 10 kW; greatest shaft power here 10.00 kW (from the test)");
    }
    ck_assert_int_eq(bench.result.verdict, VERDICT_NOT_JUDGED);
}
END_TEST

/* --- overload over the head range --- */

/* Head 80 m - 4000 Q, tested 0 .. 15 L/s: 80 .. 20 m. Current 10 A + 500 Q (17.5 A at the end), input power 3000 W +
 * 2e5 Q. */
static void draw_overload(double low_m3s, double high_m3s)
{
    take_grade(&published[3], false);
    bench.curves.of[CURVE_HEAD] = drawn(80, -4000, 0, low_m3s, high_m3s);
    bench.curves.of[CURVE_CURRENT] = drawn(10, 500, 0, low_m3s, high_m3s);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(3000, 2e5, 0, low_m3s, high_m3s);
    bench.model.head_low_m = quantity_of(30);
    bench.model.head_high_m = quantity_of(60);
}

/* 30 m at 12.5 L/s: 16.25 A, 5500 W. */
static const struct {
    double low, high, rated_a, current_plus; /* percent, negative: not stated */
    enum verdict verdict;
    const char *reason;
} overloads[] = {
    {0, 0.015, 16.25, -1, VERDICT_PASS, NULL}, /* exactly the limit */
    {0, 0.015, 16.24, -1, VERDICT_FAIL, NULL},
    {0, 0.015, 15.20, 7, VERDICT_PASS, NULL}, /* 16.264 A */
    {0, 0.015, 15.18, 7, VERDICT_FAIL, NULL}, /* 16.243 A */
    /* tested to 40 m only */
    {0, 0.010, 16.25, -1, VERDICT_NOT_JUDGED,
     "head range 30.00 to 60.00 m was not wholly tested: heads 40.00 to 80.00 m at tested flows 0.000 to 10.00 L/s"},
    {0, 0.010, 14.99, -1, VERDICT_FAIL, NULL}, /* exceeded already within what was tested: 15 A at 40 m */
    {0, 0.004, 16.25, -1, VERDICT_NOT_JUDGED,
     "head range 30.00 to 60.00 m was not wholly tested: heads 64.00 to 80.00 m at tested flows 0.000 to 4.000 L/s"},
    /* the high heads not tested */
    {0.006, 0.015, 16.25, -1, VERDICT_NOT_JUDGED,
     "head range 30.00 to 60.00 m was not wholly tested: heads 20.00 to 56.00 m at tested flows 6.000 to 15.00 L/s"},
    {0.002, 0.015, 16.25, -1, VERDICT_PASS, NULL}, /* shut-off was not, but 72 m */
};

START_TEST(overload_current)
{
    draw_overload(overloads[_i].low, overloads[_i].high);
    bench.model.rated_current_a = quantity_of(overloads[_i].rated_a);
    bench.grade.current_plus = percent(overloads[_i].current_plus);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), overloads[_i].verdict);
    const struct check *check = judged(CHECK_OVERLOAD_CURRENT);
    if (overloads[_i].reason != NULL) {
        ck_assert_str_eq(words_of(check).reason, overloads[_i].reason);
    } else if (overloads[_i].high > 0.01) {
        near_rel(check->value.value, 16.25, 1e-9);
        ck_assert_str_eq(words_of(check).where, "30.00 to 60.00 m, at 12.50 L/s");
    }
}
END_TEST

/* The head range lies at 5 .. 12.5 L/s; the current was measured at some of the tested flows only. */
static const struct {
    double low, high, rated_a;
    enum verdict verdict;
    const char *reason;
} measured_in_part[] = {
    {0, 0.0125, 16.25, VERDICT_PASS, NULL},
    {0, 0.010, 16.25, VERDICT_NOT_JUDGED,
     "head range 30.00 to 60.00 m was wholly tested, but current only at tested flows 0.000 to 10.00 L/s"},
    {0, 0.010, 14.99, VERDICT_FAIL, NULL}, /* 15 A there */
    {0.006, 0.015, 16.25, VERDICT_NOT_JUDGED,
     "head range 30.00 to 60.00 m was wholly tested, but current only at tested flows 6.000 to 15.00 L/s"},
    {0.001, 0.004, 12.40, VERDICT_NOT_JUDGED, /* 12.5 A at 5 L/s would be too much */
     "head range 30.00 to 60.00 m was wholly tested, but current only at tested flows 1.000 to 4.000 L/s"},
    {0, 0, 16.25, VERDICT_NOT_JUDGED, "current: not measured at any point"},
};

START_TEST(overload_with_a_current_measured_in_part)
{
    draw_overload(0, 0.015);
    bench.model.rated_current_a = quantity_of(measured_in_part[_i].rated_a);
    if (measured_in_part[_i].high > 0) {
        bench.curves.of[CURVE_CURRENT] = drawn(10, 500, 0, measured_in_part[_i].low, measured_in_part[_i].high);
    } else {
        (void)fit_curve(NULL, NULL, 0, 0, &bench.curves.of[CURVE_CURRENT]);
    }
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), measured_in_part[_i].verdict);
    if (measured_in_part[_i].reason != NULL) {
        ck_assert_str_eq(words_of(judged(CHECK_OVERLOAD_CURRENT)).reason, measured_in_part[_i].reason);
    }
}
END_TEST

/* At 12.5 L/s 10 A + 499 Q is 16.2375 A, and the input power 5500 W. */
START_TEST(overload_rounds_what_is_written)
{
    draw_overload(0, 0.015);
    bench.grade.rounding = ROUND_IS2;
    bench.curves.of[CURVE_CURRENT] = drawn(10, 499, 0, 0, 0.015);
    bench.model.rated_current_a = quantity_of(16.2);
    bench.model.rated_current_text = "16.2";
    bench.model.rated_power_w = quantity_of(4400);
    bench.model.motor_efficiency = quantity_of(4400 / 5499.0);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), VERDICT_PASS);
    near_rel(judged(CHECK_OVERLOAD_CURRENT)->compared.value, 16.2, 1e-12);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_POWER), VERDICT_FAIL); /* a limit that is derived has no places */
    ck_assert(!judged(CHECK_OVERLOAD_POWER)->compared.known);
}
END_TEST

/* Tested from shut-off, and the greatest head is 80 m. */
START_TEST(overload_over_heads_the_pump_does_not_reach)
{
    draw_overload(0, 0.015);
    bench.model.head_low_m = quantity_of(90);
    bench.model.head_high_m = quantity_of(100);
    bench.model.rated_current_a = quantity_of(17);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_OVERLOAD_CURRENT)).reason,
                     "head range 90.00 to 100.0 m was not wholly tested: "
                     "heads 20.00 to 80.00 m at tested flows 0.000 to 15.00 L/s");
    ck_assert(!judged(CHECK_OVERLOAD_CURRENT)->value.known);
}
END_TEST

START_TEST(overload_needs_both_heads_and_an_efficiency)
{
    draw_overload(0, 0.015);
    bench.model.rated_current_a = quantity_of(17);
    bench.model.rated_power_w = quantity_of(4400);
    bench.model.motor_efficiency = quantity_of(0);
    ck_assert_ptr_null(judged(CHECK_OVERLOAD_POWER));
    ck_assert_str_eq(left_open(), "efficiency, input power, motor data for the rated input power");
    ck_assert_ptr_nonnull(judged(CHECK_OVERLOAD_CURRENT));
    bench.model.head_high_m = quantity_absent();
    ck_assert_ptr_null(judged(CHECK_OVERLOAD_CURRENT));
    ck_assert_str_eq(left_open(), "efficiency, input power, head range");
}
END_TEST

START_TEST(overload_counts_a_rising_branch_and_shut_off)
{
    /* Unstable: 36 + 1200 Q - 8e4 Q^2. The range 30 .. 60 m starts at shut-off, which is tested; current greatest
     * there. */
    draw_overload(0, 0.016);
    bench.curves.of[CURVE_HEAD] = drawn(36, 1200, -8e4, 0, 0.0192);
    bench.curves.of[CURVE_CURRENT] = drawn(17, -500, 0, 0, 0.0192);
    bench.model.rated_current_a = quantity_of(16.9);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), VERDICT_FAIL);
    near_rel(judged(CHECK_OVERLOAD_CURRENT)->value.value, 17.0, 1e-9);
    bench.model.rated_current_a = quantity_of(17);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_CURRENT), VERDICT_PASS);
    /* Up to 40 m only: the top of the curve, 5 to 10 L/s, is left out and both branches count. */
    bench.model.head_high_m = quantity_of(40);
    near_rel(judged(CHECK_OVERLOAD_CURRENT)->value.value, 17.0, 1e-9);
    bench.curves.of[CURVE_CURRENT] = drawn(10, 500, 0, 0, 0.0192);
    double end = (1200 + sqrt(1200 * 1200 + 4 * 8e4 * 6)) / (2 * 8e4); /* 30 m again */
    near_rel(judged(CHECK_OVERLOAD_CURRENT)->value.value, 10 + 500 * end, 1e-9);
}
END_TEST

START_TEST(overload_power_by_motor_data)
{
    static double input_w[] = {1000, 4000, 6000}, shaft_w[] = {700, 3200, 4840};
    static struct quantity none[3];
    const struct motor motor = {"m", 3, input_w, shaft_w, none, none};
    draw_overload(0, 0.015);
    bench.model.rated_power_w = quantity_of(4400);
    ck_assert_ptr_null(judged(CHECK_OVERLOAD_POWER));
    ck_assert_ptr_nonnull(strstr(left_open(), "motor data for the rated input power"));
    bench.model.motor_efficiency = quantity_of(0.8); /* 5500 W: exactly the greatest */
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_POWER), VERDICT_PASS);
    near_rel(judged(CHECK_OVERLOAD_POWER)->value.value, 5500.0, 1e-9);
    bench.model.motor_efficiency = quantity_of(0.801);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_POWER), VERDICT_FAIL);
    bench.model.motor = &motor; /* goes before the constant: 4840 W shaft is 6000 W input */
    bench.model.rated_power_w = quantity_of(4840);
    ck_assert_int_eq(verdict_on(CHECK_OVERLOAD_POWER), VERDICT_PASS);
    near_rel(judged(CHECK_OVERLOAD_POWER)->limit_high.value, 6000.0, 1e-9);
}
END_TEST

START_TEST(overload_belongs_to_the_first_duty)
{
    draw_overload(0, 0.015);
    bench.model.rated_current_a = quantity_of(16);
    bench.duty[1] = bench.duty[0];
    bench.model.duty_count = 2;
    ck_assert_ptr_nonnull(judged(CHECK_OVERLOAD_CURRENT));
    bench.result = judge_duty(&bench.model, &bench.duty[1], &bench.curves, NULL);
    ck_assert_uint_eq(bench.result.check_count, 1);
    ck_assert_str_eq(left_open(), "efficiency, input power");
}
END_TEST

/* --- reasons --- */

START_TEST(no_grade_no_verdict)
{
    static const char *const names[] = {"", NULL, "4Z"};
    draw_efficiency(0.6, 0.7);
    bench.curves.of[CURVE_CURRENT] = drawn(10, 500, 0, 0, 1.5 * FLOW_M3S);
    bench.duty[0].efficiency = quantity_of(0.6);
    bench.duty[0].input_power_w = quantity_of(7000);
    bench.model.head_low_m = quantity_of(30);
    bench.model.head_high_m = quantity_of(60);
    bench.model.rated_current_a = quantity_of(17);
    bench.duty[0].grade = NULL;
    bench.duty[0].grade_name = names[_i];
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert_uint_eq(bench.result.check_count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_int_eq(bench.result.checks[i].verdict, VERDICT_NOT_JUDGED);
        ck_assert_str_eq(words_of(&bench.result.checks[i]).reason,
                         _i < 2 ? "no grade is stated for this duty (models.csv, column grade)"
                                : "grade '4Z' is not known (models.csv, column grade)");
    }
    ck_assert_int_eq(bench.result.verdict, VERDICT_NOT_JUDGED);
    near_rel(bench.result.at_guaranteed_flow.head_m.value, HEAD_M, 1e-9); /* what was measured is still shown */
    ck_assert(!bench.result.tolerance.head_low_m.known);
}
END_TEST

START_TEST(no_curve_no_verdict)
{
    take_grade(&published[3], false);
    const char *given = _i == 0 ? "no steady point has a flow" : NULL;
    ck_assert(!fit_curve(NULL, NULL, 0, 0, &bench.curves.of[CURVE_HEAD]));
    bench.result = judge_duty(&bench.model, bench.duty, _i == 2 ? NULL : &bench.curves, given);
    static const char *const reasons[] = {"no steady point has a flow", "no head curve: not measured at any point",
                                          "no head curve: no test"};
    ck_assert_str_eq(words_of(&bench.result.checks[0]).reason, reasons[_i]);
    ck_assert_int_eq(bench.result.verdict, VERDICT_NOT_JUDGED);
    ck_assert(!bench.result.at_guaranteed_flow.head_m.known && !bench.result.on_duty_line.flow_m3s.known);
}
END_TEST

START_TEST(power_not_measured)
{
    take_grade(&published[3], false);
    draw_efficiency(0.6, 0.7);
    (void)fit_curve(NULL, NULL, 0, 0, &bench.curves.of[CURVE_INPUT_POWER]);
    bench.duty[0].efficiency = quantity_of(0.6);
    ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).reason,
                     "set efficiency needs input power: not measured at any point");
    ck_assert_int_eq(bench.result.verdict, VERDICT_NOT_JUDGED); /* flow and head pass, but that is not all */
    draw_head(-0.2, 1, 0, 2 * FLOW_M3S);
    (void)judged(CHECK_EFFICIENCY);
    ck_assert_int_eq(bench.result.verdict, VERDICT_FAIL);
}
END_TEST

START_TEST(duty_line_not_tested)
{
    take_grade(&published[3], false);
    bench.duty[0].efficiency = quantity_of(0.6);
    draw_head(0.04, 0.1, 0, FLOW_M3S); /* the line is met at 1.036 Q_G */
    bench.curves.of[CURVE_INPUT_POWER] = drawn(7000, 0, 0, 0, FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(
        words_of(judged(CHECK_EFFICIENCY)).reason,
        "the line from the origin through the guaranteed point does not meet the head curve within the tested flows 0.000 to 10.00 L/s");
    draw_head(0, 0.1, 0, 1.5 * FLOW_M3S);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(7000, 0, 0, 0, 0.9 * FLOW_M3S);
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).reason,
                     "flow 10.00 L/s lies outside the tested flows 0.000 to 9.000 L/s of input power");
}
END_TEST

/* Guaranteed flow or head absent (negative) or 0: the reasons on flow and head, and on an efficiency read on the duty
 * line and at the guaranteed flow (NULL: judged). */
static const struct {
    double flow_m3s, head_m;
    const char *flow_and_head, *on_line, *at_flow;
} half_stated[] = {
    {-1, HEAD_M, "guaranteed flow is not stated (models.csv)",
     "guaranteed flow and head are not both stated, so that there is no duty line",
     "guaranteed flow is not stated (models.csv)"},
    {FLOW_M3S, -1, "guaranteed head is not stated (models.csv)",
     "guaranteed flow and head are not both stated, so that there is no duty line", NULL},
    {0, HEAD_M, "guaranteed flow and head must be greater than 0 (models.csv)",
     "the line from the origin through the guaranteed point does not meet the head curve within the tested flows 0.000 to 15.00 L/s",
     NULL},
    {FLOW_M3S, 0, "guaranteed flow and head must be greater than 0 (models.csv)",
     "the line from the origin through the guaranteed point does not meet the head curve within the tested flows 0.000 to 15.00 L/s",
     NULL},
};

START_TEST(half_of_the_guarantee_is_stated)
{
    take_grade(&published[3], false);
    draw_efficiency(0.6, 0.7); /* the head falls to 20 m at the end of the tested flows */
    bench.curves.of[CURVE_INPUT_POWER] = drawn(7000, 0, 0, 0, 1.5 * FLOW_M3S);
    bench.duty[0].efficiency = quantity_of(0.6);
    bench.duty[0].flow_m3s = half_stated[_i].flow_m3s < 0 ? quantity_absent() : quantity_of(half_stated[_i].flow_m3s);
    bench.duty[0].head_m = half_stated[_i].head_m < 0 ? quantity_absent() : quantity_of(half_stated[_i].head_m);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason, half_stated[_i].flow_and_head);
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).reason, half_stated[_i].on_line);
    ck_assert(!bench.result.on_duty_line.flow_m3s.known);
    bench.grade.efficiency_at = READ_GUARANTEED_FLOW;
    const struct check *check = judged(CHECK_EFFICIENCY);
    if (half_stated[_i].at_flow != NULL) {
        ck_assert_str_eq(words_of(check).reason, half_stated[_i].at_flow);
    } else {
        near_rel(check->value.value, WEIGHT_N_M3 * half_stated[_i].flow_m3s * HEAD_M / 7000, 1e-9); /* 40 m at Q_G */
    }
}
END_TEST

START_TEST(efficiency_at_a_flow_that_is_not_tested)
{
    take_grade(&published[3], false);
    bench.grade.efficiency_at = READ_GUARANTEED_FLOW;
    bench.duty[0].efficiency = quantity_of(0.6);
    bench.duty[0].flow_unit = NULL; /* shown in SI */
    draw_head(0, 1, 0, 0.9 * FLOW_M3S);
    bench.curves.of[CURVE_INPUT_POWER] = drawn(7000, 0, 0, 0, 1.5 * FLOW_M3S);
    ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).reason,
                     "flow 0.01000 m³/s lies outside the tested flows 0.000 to 0.009000 m³/s of head");
}
END_TEST

START_TEST(blank_tolerances_refuse)
{
    ck_assert_int_eq(grade_book_read(NULL, &bench.arena, &bench.book, &bench.faults), OK);
    bench.duty[0].grade = grade_find(&bench.book, "IS 8034");
    ck_assert_ptr_nonnull(bench.duty[0].grade);
    bench.duty[0].efficiency = quantity_of(0.6);
    draw_efficiency(0.6, 0.7);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason,
                     "the profile states no tolerance for flow (fill grades.csv)");
    ck_assert_str_eq(words_of(judged(CHECK_EFFICIENCY)).reason,
                     "the profile states no tolerance for set efficiency (fill grades.csv)");
}
END_TEST

/* One tolerance of a two-sided grade left blank: flow and head cannot be judged. */
START_TEST(one_blank_tolerance_refuses)
{
    static const struct {
        size_t at;
        const char *reason;
    } blanks[] = {
        {offsetof(struct grade, flow_plus), "the profile states no tolerance for flow (fill grades.csv)"},
        {offsetof(struct grade, flow_minus), "the profile states no tolerance for flow (fill grades.csv)"},
        {offsetof(struct grade, head_plus), "the profile states no tolerance for head (fill grades.csv)"},
        {offsetof(struct grade, head_minus), "the profile states no tolerance for head (fill grades.csv)"},
    };
    take_grade(&published[3], false);
    draw_efficiency(0.6, 0.7);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    const struct quantity blank = {0};
    memcpy((char *)&bench.grade + blanks[_i].at, &blank, sizeof blank);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_NOT_JUDGED);
    ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason, blanks[_i].reason);
    take_grade(&published[7], false); /* an ellipse has its axes in the minus fields, and no others */
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), VERDICT_PASS);
    memcpy((char *)&bench.grade + blanks[_i].at, &blank, sizeof blank);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), _i % 2 == 0 ? VERDICT_PASS : VERDICT_NOT_JUDGED);
    if (_i % 2 != 0) {
        ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason, blanks[_i].reason);
    }
}
END_TEST

START_TEST(what_is_not_stated_is_listed)
{
    take_grade(&published[3], false);
    draw_efficiency(0.6, 0.7);
    (void)judged(CHECK_FLOW_AND_HEAD);
    ck_assert_str_eq(left_open(), "efficiency, input power, head range");
    ck_assert_uint_eq(bench.result.check_count, 1);
    bench.duty[0].head_m = quantity_absent();
    ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason, "guaranteed head is not stated (models.csv)");
    ck_assert_str_eq(left_open(), "head, efficiency, input power, head range");
    bench.duty[0].flow_m3s = quantity_absent();
    ck_assert_str_eq(words_of(judged(CHECK_FLOW_AND_HEAD)).reason,
                     "guaranteed flow and head are not stated (models.csv)");
}
END_TEST

START_TEST(verdicts_combine)
{
    ck_assert_int_eq(verdict_worse(VERDICT_PASS, VERDICT_NOT_JUDGED), VERDICT_NOT_JUDGED);
    ck_assert_int_eq(verdict_worse(VERDICT_NOT_JUDGED, VERDICT_FAIL), VERDICT_FAIL);
    ck_assert_int_eq(verdict_worse(VERDICT_FAIL, VERDICT_PASS), VERDICT_FAIL);
    ck_assert_int_eq(verdict_worse(VERDICT_PASS, VERDICT_PASS), VERDICT_PASS);
    ck_assert_str_eq(verdict_name(VERDICT_PASS), "pass");
    ck_assert_str_eq(verdict_name(VERDICT_FAIL), "fail");
    ck_assert_str_eq(verdict_name(VERDICT_NOT_JUDGED), "not judged");
}
END_TEST

/* Fox & McDonald, Introduction to Fluid Mechanics, Example 10.3 (p. 504), in SI, at its own best point: 1000 gpm, 89.18
 * ft, 79.16 %. The guarantee is the table's point, so a fitted curve must pass 1B there; against 6 % more head it must
 * fail 1B and pass 3B. */
START_TEST(textbook_pump)
{
    static const double flow_gpm[8] = {0, 500, 800, 1000, 1100, 1200, 1400, 1500};
    static const double head_ft[8] = {123.37, 112.76, 100.32, 89.18, 80.93, 69.82, 42.85, 25.49};
    static const double input_hp[8] = {15.14, 22.04, 26.07, 28.51, 29.61, 30.53, 31.96, 32.80};
    double flow[8], head[8], power[8];
    for (int i = 0; i < 8; i++) {
        flow[i] = flow_gpm[i] * 231 * 0.0254 * 0.0254 * 0.0254 / 60;
        head[i] = head_ft[i] * 0.3048;
        power[i] = input_hp[i] * 745.69987158227022;
    }
    ck_assert(fit_curve(flow, head, 8, 0, &bench.curves.of[CURVE_HEAD]) &&
              fit_curve(flow, power, 8, 0, &bench.curves.of[CURVE_SHAFT_POWER]));
    set_specific_weight(&bench.curves,
                        62.468 *
                            157.08746); /* 1.94 slug/ft3 x 32.2 ft/s2 = 62.468 lbf/ft3; 1 lbf/ft3 = 157.08746 N/m3 */
    bench.duty[0].flow_m3s = quantity_of(flow[3]);
    bench.duty[0].efficiency = quantity_of(0.7916);
    bench.duty[0].efficiency_of_pump = true;
    bench.duty[0].flow_unit = "US gpm";
    bench.duty[0].head_unit = "ft";
    static const struct {
        double head_factor;
        int row;
        enum verdict verdict;
    } duties[] = {{1, 0, VERDICT_PASS}, {1.10, 0, VERDICT_FAIL}, {1.06, 5, VERDICT_PASS}};
    take_grade(&published[duties[_i].row], true);
    bench.duty[0].head_m = quantity_of(head[3] * duties[_i].head_factor);
    ck_assert_int_eq(verdict_on(CHECK_FLOW_AND_HEAD), duties[_i].verdict);
    if (_i == 0) {
        ck_assert_int_eq(verdict_on(CHECK_EFFICIENCY), VERDICT_PASS);
        near_abs(judged(CHECK_EFFICIENCY)->value.value, 0.7916, 0.012); /* the curve smooths the book's readings */
    }
}
END_TEST

#define ROWS(table) (int)(sizeof(table) / sizeof(table)[0])

Suite *judge_suite(void);

Suite *judge_suite(void)
{
    Suite *suite = suite_create("judge");
    TCase *geometry = tcase_create("geometry"), *power = tcase_create("power"), *reasons = tcase_create("reasons");
    tcase_add_checked_fixture(geometry, set_up, tear_down);
    tcase_add_checked_fixture(power, set_up, tear_down);
    tcase_add_checked_fixture(reasons, set_up, tear_down);
    tcase_add_loop_test(geometry, cross_on_both_sides_of_each_limit, 0, 2 * CROSSES * ROWS(sides));
    tcase_add_test(geometry, one_arm_is_enough_and_the_roomier_shows);
    tcase_add_loop_test(geometry, never_beyond_the_tested_flows, 0, ROWS(untested));
    tcase_add_test(geometry, unstable_curve_is_read_on_its_falling_branch);
    tcase_add_test(geometry, rising_branch_does_not_close_the_arm);
    tcase_add_test(geometry, one_sided_arms_start_at_the_point);
    tcase_add_loop_test(geometry, ellipse_on_both_sides, 0, 2 * 2 * 3 * 2);
    tcase_add_test(geometry, ellipse_needs_both_distances);
    tcase_add_loop_test(geometry, minimum_values_need_both, 0, ROWS(minimum));
    tcase_add_loop_test(geometry, rounds_to_the_places_of_the_guarantee, 0, ROWS(roundings));
    tcase_add_test(geometry, does_not_round_what_is_not_read);
    tcase_add_loop_test(geometry, textbook_pump, 0, 3);
    tcase_add_loop_test(power, efficiency_on_both_sides, 0, 4 * PUBLISHED);
    tcase_add_loop_test(power, input_power_on_both_sides, 0, 2 * PUBLISHED);
    tcase_add_test(power, efficiency_is_read_where_the_grade_says);
    tcase_add_test(power, input_power_is_read_where_the_grade_says);
    tcase_add_loop_test(power, efficiency_is_rounded, 0, 2);
    tcase_add_loop_test(power, small_pump_tolerances, 0, ROWS(small_pumps));
    tcase_add_test(power, small_pump_shaft_power_sources);
    tcase_add_test(power, small_pump_needs_a_shaft_power);
    tcase_add_test(power, small_pump_rule_ends_at_10_kw);
    tcase_add_loop_test(power, overload_current, 0, ROWS(overloads));
    tcase_add_loop_test(power, overload_with_a_current_measured_in_part, 0, ROWS(measured_in_part));
    tcase_add_test(power, overload_rounds_what_is_written);
    tcase_add_test(power, overload_over_heads_the_pump_does_not_reach);
    tcase_add_test(power, overload_needs_both_heads_and_an_efficiency);
    tcase_add_test(power, overload_counts_a_rising_branch_and_shut_off);
    tcase_add_test(power, overload_power_by_motor_data);
    tcase_add_test(power, overload_belongs_to_the_first_duty);
    tcase_add_loop_test(reasons, no_grade_no_verdict, 0, 3);
    tcase_add_loop_test(reasons, no_curve_no_verdict, 0, 3);
    tcase_add_test(reasons, power_not_measured);
    tcase_add_test(reasons, duty_line_not_tested);
    tcase_add_loop_test(reasons, half_of_the_guarantee_is_stated, 0, ROWS(half_stated));
    tcase_add_test(reasons, efficiency_at_a_flow_that_is_not_tested);
    tcase_add_loop_test(reasons, one_blank_tolerance_refuses, 0, 4);
    tcase_add_test(reasons, blank_tolerances_refuse);
    tcase_add_test(reasons, what_is_not_stated_is_listed);
    tcase_add_test(reasons, verdicts_combine);
    suite_add_tcase(suite, geometry);
    suite_add_tcase(suite, power);
    suite_add_tcase(suite, reasons);
    return suite;
}
