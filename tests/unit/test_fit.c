/* The NIST sets and numpy are in tests/outside/regression_numpy.py; here is what a pump test asks of the fit. */
#include "papers/check_words.h"
#include "physics/fit.h"

#include "near.h"
#include "weight.h"

#include <stdlib.h>
#include <string.h>

/* Exact data leave only arithmetic: some hundred roundings of 2e-16, widened by the condition of degree 5 on [-1, 1].
 */
#define ARITHMETIC 1e-11

static const double shut_off_test[8] = {0, 0.002, 0.004, 0.006, 0.008, 0.010, 0.012, 0.013};

static double poly(const double *c, size_t degree, double q)
{
    double y = 0;
    for (size_t i = degree + 1; i-- > 0;) {
        y = y * q + c[i];
    }
    return y;
}

/* --- recovery --- */

static const struct {
    size_t degree;
    double c[6];
} known_curves[] = {
    {1, {62.5, -1234.5}},
    {2, {71.3, 512.7, -231000.9}},
    {3, {58.9, 333.3, -120000.1, -7.77e6}},
    {4, {64.2, -250.5, 81000.3, -9.1e6, 1.3e8}},
    {5, {64.2, -250.5, 81000.3, -9.1e6, 1.3e8, 4.4e10}},
};

static const char *why_of(const struct curve *curve)
{
    static char text[CURVE_TEXT];
    return curve_why_text(curve, text);
}

START_TEST(recovers_coefficients)
{
    double y[8];
    size_t degree = known_curves[_i].degree;
    for (int i = 0; i < 8; i++) {
        y[i] = poly(known_curves[_i].c, degree, shut_off_test[i]);
    }
    struct curve curve;
    ck_assert(fit_curve(shut_off_test, y, 8, degree, &curve));
    ck_assert_uint_eq(curve.degree, degree);
    ck_assert_uint_eq(curve.freedom, 8 - degree - 1);
    for (size_t i = 0; i <= degree; i++) {
        /* A coefficient matters by what it adds at the greatest flow. */
        near_abs(curve.coefficient[i] * pow(0.013, (double)i), known_curves[_i].c[i] * pow(0.013, (double)i),
                 71 * ARITHMETIC);
    }
    near_abs(curve_at(&curve, 0.0071), poly(known_curves[_i].c, degree, 0.0071), 71 * ARITHMETIC);
    near_abs(curve.residual, 0, 71 * ARITHMETIC);
    double step = 1e-6;
    double slope = (poly(known_curves[_i].c, degree, 0.0071 + step) - poly(known_curves[_i].c, degree, 0.0071 - step)) /
                   (2 * step);
    near_rel(curve_slope(&curve, 0.0071), slope, 1e-6); /* central difference: step^2 and rounding / step */
}
END_TEST

/* --- the choice of degree --- */

static void scatter(double *y, const double *c, size_t degree, const double *flow, size_t count, double size)
{
    static const double noise[12] = {0.31, -0.77, 0.52, 0.94, -0.66, -0.21, 0.83, -0.48, 0.12, -0.95, 0.57, -0.36};
    for (size_t i = 0; i < count; i++) {
        y[i] = poly(c, degree, flow[i]) + size * noise[i % 12];
    }
}

START_TEST(chooses_the_degree_of_exact_data)
{
    double y[8];
    struct curve curve;
    size_t degree = (size_t)_i + 2; /* 2 .. 4 */
    scatter(y, known_curves[degree - 1].c, degree, shut_off_test, 8, 0);
    ck_assert(fit_curve(shut_off_test, y, 8, 0, &curve));
    ck_assert_uint_eq(curve.degree, degree);
}
END_TEST

START_TEST(rounding_does_not_raise_the_degree)
{
    double flow[60], y[60];
    struct curve curve;
    size_t degree = (size_t)_i + 2; /* 2 .. 3 */
    for (int i = 0; i < 60; i++) {
        flow[i] = 0.013 * i / 59;
    }
    scatter(y, known_curves[degree - 1].c, degree, flow, 60, 0);
    ck_assert(fit_curve(flow, y, 60, 0, &curve));
    ck_assert_uint_eq(curve.degree, degree);
}
END_TEST

START_TEST(scatter_does_not_raise_the_degree)
{
    double flow[12], y[12];
    struct curve curve;
    for (int i = 0; i < 12; i++) {
        flow[i] = 0.001 * i;
    }
    scatter(y, known_curves[1].c, 2, flow, 12, 0.4);
    ck_assert(fit_curve(flow, y, 12, 0, &curve));
    ck_assert_uint_eq(curve.degree, 2);
    ck_assert_str_eq(why_of(&curve), "degree 2: lowest AICc of degrees 2 to 4");
}
END_TEST

/* A current that bends by 1 A over the test, read to 0.18 A: the criterion alone prefers a straight line, which at the
 * greatest flow lies above every reading. */
START_TEST(no_straight_line_through_a_bent_curve)
{
    static const double flow[] = {0.001, 0.002, 0.003, 0.004, 0.005, 0.006, 0.007};
    static const double noise[] = {0.10, -0.18, 0.13, -0.21, 0.17, 0.20, -0.12};
    double y[7], highest = 0;
    struct curve curve;
    for (int i = 0; i < 7; i++) {
        double x = (flow[i] - 0.004) / 0.003;
        y[i] = 9.5 + 0.9 * x - 0.25 * x * x + noise[i];
        highest = fmax(highest, y[i]);
    }
    ck_assert(fit_curve(flow, y, 7, 0, &curve));
    ck_assert_uint_ge(curve.degree, 2);
    ck_assert(curve_at(&curve, 0.007) <= highest);
    ck_assert_uint_ne(curve.rival, curve.degree);
}
END_TEST

START_TEST(few_points_get_a_parabola)
{
    double y[6];
    struct curve curve;
    size_t count = (size_t)_i;
    scatter(y, known_curves[2].c, 3, shut_off_test, count, 0.1);
    ck_assert(fit_curve(shut_off_test, y, count, 0, &curve));
    ck_assert_uint_eq(curve.degree, 2);
    ck_assert_uint_eq(curve.freedom, count - 3);
}
END_TEST

START_TEST(constant_and_zero_data_are_fine)
{
    double y[8];
    struct curve curve;
    for (int i = 0; i < 8; i++) {
        y[i] = _i == 0 ? 14.2 : 0.0;
    }
    ck_assert(fit_curve(shut_off_test, y, 8, 0, &curve));
    ck_assert_uint_eq(curve.degree, 2);
    near_abs(curve_at(&curve, 0.005), y[0], 14.2 * ARITHMETIC);
    near_abs(curve_band(&curve, 0.005), 0, 14.2 * ARITHMETIC);
    ck_assert_uint_eq(curve.outlier_count, 0);
}
END_TEST

START_TEST(repeated_flows_do_not_count_twice)
{
    /* Four settings, three readings each, within 1 % of the range of each other: degree 2, not 4. */
    double flow[12], y[12];
    struct curve curve;
    for (int i = 0; i < 12; i++) {
        flow[i] = 0.004 * (i / 3) + 1e-5 * (i % 3);
    }
    scatter(y, known_curves[3].c, 4, flow, 12, 0.001);
    ck_assert(fit_curve(flow, y, 12, 0, &curve));
    ck_assert_uint_eq(curve.degree, 2);
    ck_assert(!fit_curve(flow, y, 12, 4, &curve));
    ck_assert_str_eq(why_of(&curve), "the points lie at 4 distinct flows, the curve needs 5");
}
END_TEST

/* Nine points at three settings carry a parabola: 60 - 1e5 Q^2, off by -0.1, 0 and +0.1 at each, so that it runs
 * through the means. */
START_TEST(three_settings_get_a_parabola)
{
    double flow[9], y[9];
    struct curve curve;
    for (int i = 0; i < 9; i++) {
        flow[i] = 0.006 * (i / 3);
        y[i] = 60 - 1e5 * flow[i] * flow[i] + 0.1 * (i % 3 - 1);
    }
    ck_assert(fit_curve(flow, y, 9, 0, &curve));
    ck_assert_str_eq(why_of(&curve), "degree 2: lowest AICc of degrees 2 to 2");
    near_abs(curve_at(&curve, 0.006), 56.4, 60 * ARITHMETIC);
    near_rel(curve.residual, sqrt(6 * 0.01 / 6), 1e-9); /* six points off by 0.1, 9 - 3 degrees of freedom */
}
END_TEST

START_TEST(order_does_not_matter)
{
    static const size_t order[8] = {5, 2, 7, 0, 3, 6, 1, 4};
    double y[8], flow_mixed[8], y_mixed[8];
    struct curve curve, mixed;
    scatter(y, known_curves[1].c, 2, shut_off_test, 8, 0.3);
    for (int i = 0; i < 8; i++) {
        flow_mixed[i] = shut_off_test[order[i]];
        y_mixed[i] = y[order[i]];
    }
    ck_assert(fit_curve(shut_off_test, y, 8, 0, &curve) && fit_curve(flow_mixed, y_mixed, 8, 0, &mixed));
    ck_assert_uint_eq(curve.degree, mixed.degree);
    near_rel(curve_at(&mixed, 0.0063), curve_at(&curve, 0.0063), ARITHMETIC);
    near_rel(curve_band(&mixed, 0.0063), curve_band(&curve, 0.0063), 1e-9);
}
END_TEST

/* --- refusals --- */

static const struct {
    size_t count, degree;
    double flow[7], y[7];
    const char *why;
} refused[] = {
    {0, 0, {0}, {0}, "not measured at any point"},
    {1, 0, {1}, {1}, "1 point, a curve needs at least 4"},
    {3, 0, {1, 2, 3}, {1, 2, 3}, "3 points, a curve needs at least 4"},
    {4, 0, {1, 2, NAN, 4}, {1, 2, 3, 4}, "point 3 of 4 is not a finite number"},
    {4, 0, {1, 2, 3, 4}, {1, INFINITY, 3, 4}, "point 2 of 4 is not a finite number"},
    {4, 0, {2, 2, 2, 2}, {1, 2, 3, 4}, "all 4 points lie at one flow"},
    {4, 0, {-1.7e308, 0, 1, 1.7e308}, {1, 2, 3, 4}, "all 4 points lie at one flow"},
    {5, 0, {1, 1, 1, 2, 2}, {1, 2, 3, 4, 5}, "the points lie at 2 distinct flows, the curve needs 3"},
    {4, 3, {1, 2, 3, 4}, {1, 2, 3, 4}, "4 points do not carry a curve of degree 3"},
    {6, 6, {1, 2, 3, 4, 5, 6}, {1, 2, 3, 4, 5, 6}, "6 points do not carry a curve of degree 6"},
    /* squares beyond the greatest double */
    {4, 2, {1, 2, 3, 4}, {1e200, -1e200, 1e200, -1e200}, "the points do not determine a curve of degree 2"},
    {7,
     0,
     {1, 2, 3, 4, 5, 6, 7},
     {1e200, -1e200, 1e200, -1e200, 1e200, -1e200, 1e200},
     "the points do not determine a curve of degree 2"},
    /* RSS 64^2 / 924 1e306; the variance of x^5 is 86 times that (orthogonal polynomials of 7 points: (243 7/20)^2 /
     * 84)
     */
    {7,
     5,
     {1, 2, 3, 4, 5, 6, 7},
     {1e153, -1e153, 1e153, -1e153, 1e153, -1e153, 1e153},
     "the points do not determine a curve of degree 5"},
};

START_TEST(refuses_by_name)
{
    struct curve curve;
    ck_assert(!fit_curve(refused[_i].flow, refused[_i].y, refused[_i].count, refused[_i].degree, &curve));
    ck_assert(!curve.known);
    ck_assert_str_eq(why_of(&curve), refused[_i].why);
    ck_assert(isnan(curve_at(&curve, 1)) && isnan(curve_slope(&curve, 1)) && isnan(curve_band(&curve, 1)));
    double flow, least, greatest;
    curve_extremes(&curve, 0, 1, &least, &greatest, &flow);
    ck_assert(isnan(least) && isnan(greatest) && isnan(flow));
    ck_assert(!curve_covers(&curve, 0) && !curve_cross(&curve, 1, 0, &flow) && !curve_rises(&curve, &flow));
}
END_TEST

/* --- outliers --- */

START_TEST(names_the_gross_reading)
{
    double y[8];
    struct curve curve;
    scatter(y, known_curves[1].c, 2, shut_off_test, 8, 0.05);
    ck_assert(fit_curve(shut_off_test, y, 8, 2, &curve));
    ck_assert_uint_eq(curve.outlier_count, 0);
    y[4] += 4;
    ck_assert(fit_curve(shut_off_test, y, 8, 2, &curve));
    ck_assert_uint_eq(curve.outlier_count, 1);
    ck_assert_uint_eq(curve.outliers[0], 4);
    ck_assert_uint_eq(curve.points, 8); /* named, not dropped */
}
END_TEST

/* A point off by less than 0.1 % of the greatest value is none, even where the others lie on the curve to the last bit.
 */
START_TEST(a_hair_is_no_outlier)
{
    double y[8];
    struct curve curve;
    scatter(y, known_curves[1].c, 2, shut_off_test, 8, 0.0);
    double off = (_i == 0 ? 0.0012 : 0.0030) * y[0]; /* of which the curve itself takes up about a third */
    y[4] += off;
    ck_assert(fit_curve(shut_off_test, y, 8, 2, &curve));
    ck_assert_uint_eq(curve.outlier_count, _i == 0 ? 0 : 1);
}
END_TEST

/* Ten of 400 points off by 1, which is 6.3 times their common scatter sqrt(10 / 400): the first eight are kept. */
START_TEST(keeps_the_first_outliers)
{
    double flow[400], y[400];
    struct curve curve;
    for (int i = 0; i < 400; i++) {
        flow[i] = i;
        y[i] = 50 + (i % 40 == 20 ? 1 : 0);
    }
    ck_assert(fit_curve(flow, y, 400, 1, &curve));
    ck_assert_uint_eq(curve.outlier_count, FIT_OUTLIERS_KEPT);
    for (size_t i = 0; i < FIT_OUTLIERS_KEPT; i++) {
        ck_assert_uint_eq(curve.outliers[i], 40 * i + 20);
    }
}
END_TEST

/* --- crossings and extremes of a curve given exactly --- */

/* y = c0 + c1 Q + ... tested from low to high. */
static struct curve exact(const double *c, size_t degree, double low, double high)
{
    double flow[9], y[9];
    struct curve curve;
    for (int i = 0; i < 9; i++) {
        flow[i] = low + (high - low) * i / 8;
        y[i] = poly(c, degree, flow[i]);
    }
    ck_assert(fit_curve(flow, y, 9, degree, &curve));
    return curve;
}

static const struct {
    double c[5], low, high, a, b;
    bool found;
    double flow;
} crossings[] = {
    /* falling parabola 50 - 2 Q^2 */
    {{50, 0, -2}, 0, 5, 32, 0, true, 3},
    {{50, 0, -2}, 0, 5, 0, 0, true, 5},              /* the end of the range */
    {{50, 0, -2}, 0, 5, 50, 0, true, 0},             /* the other end, where it is flat */
    {{50, 0, -2}, 0, 5, -1, 0, false, 0},            /* below */
    {{50, 0, -2}, 0, 5, 51, 0, false, 0},            /* above */
    {{50, 0, -2}, 0, 5, 0, 10.5, true, 3.022178499}, /* duty line: 2 Q^2 + 10.5 Q - 50 = 0, Q = (sqrt(510.25) - 10.5)
                                                           / 4 */
    /* unstable: 40 + 12 Q - 3 Q^2, greatest 52 at Q = 2 */
    {{40, 12, -3}, 0, 6, 49, 0, true, 3}, /* met at 1 and 3: the rightmost */
    {{40, 12, -3}, 0, 6, 52, 0, true, 2}, /* touched at the top */
    {{40, 12, -3}, 0, 6, 52.01, 0, false, 0},
    {{40, 12, -3}, 0, 2, 49, 0, true, 1}, /* only the rising branch tested */
    /* quartic (Q-1)(Q-2)(Q-3)(Q-4) */
    {{24, -50, 35, -10, 1}, 0, 5, 0, 0, true, 4},
    {{24, -50, 35, -10, 1}, 0, 3.5, 0, 0, true, 3},
    {{24, -50, 35, -10, 1}, 1.5, 2.5, 0, 0, true, 2},
    /* constant */
    {{14, 0}, 0, 5, 13, 0, false, 0},
    {{14, 0}, 0, 5, 14, 0, true, 5},
};

START_TEST(crosses_rightmost)
{
    size_t degree = 4;
    while (degree > 1 && !(fabs(crossings[_i].c[degree]) > 0)) {
        degree--;
    }
    struct curve curve = exact(crossings[_i].c, degree, crossings[_i].low, crossings[_i].high);
    double flow = -1;
    ck_assert_int_eq(curve_cross(&curve, crossings[_i].a, crossings[_i].b, &flow), crossings[_i].found);
    if (crossings[_i].found) {
        near_abs(flow, crossings[_i].flow, 1e-7); /* a touching place is flat: the root of the arithmetic */
        ck_assert(flow >= crossings[_i].low && flow <= crossings[_i].high);
    }
    ck_assert(!curve_cross(&curve, NAN, 0, &flow) && !curve_cross(&curve, 1, NAN, &flow));
}
END_TEST

START_TEST(lists_all_crossings)
{
    struct curve curve = exact((const double[]){24, -50, 35, -10, 1}, 4, 0, 5);
    double flow[FIT_DEGREE_MAX + 1];
    ck_assert_uint_eq(curve_crossings(&curve, 0, 0, flow), 4);
    for (int i = 0; i < 4; i++) {
        near_abs(flow[i], i + 1, 1e-9);
    }
}
END_TEST

/* 52 - 3 (Q - 2)^2 tested from 0 to 2, in x = Q - 1: the end of the tested flows is the top as well, and is one place.
 */
START_TEST(touches_the_top_at_the_end_once)
{
    const struct curve curve = {.known = true,
                                .degree = 2,
                                .center = 1,
                                .scale = 1,
                                .scaled = {49, 6, -3},
                                .flow_low_m3s = 0,
                                .flow_high_m3s = 2};
    double flow[FIT_DEGREE_MAX + 1];
    ck_assert_uint_eq(curve_crossings(&curve, 52, 0, flow), 1);
    near_abs(flow[0], 2, 0);
}
END_TEST

START_TEST(finds_extremes_and_rising_branch)
{
    struct curve curve = exact((const double[]){40, 12, -3}, 2, 0, 6);
    double least, greatest, at, to = -1;
    curve_extremes(&curve, 0, 6, &least, &greatest, &at);
    near_abs(greatest, 52, 52 * ARITHMETIC);
    near_abs(at, 2, 1e-7);
    near_abs(least, 4, 52 * ARITHMETIC);
    curve_extremes(&curve, 3, 4, &least, &greatest, &at);
    near_abs(greatest, 49, 52 * ARITHMETIC);
    near_abs(at, 3, ARITHMETIC);
    ck_assert(curve_rises(&curve, &to));
    near_abs(to, 2, 1e-7);
    curve = exact((const double[]){50, 0, -2}, 2, 0, 5);
    ck_assert(!curve_rises(&curve, &to));
    curve = exact((const double[]){50, -4, 1}, 2, 0, 3); /* falls to 46 at 2, then rises to 47 */
    ck_assert(curve_rises(&curve, &to));
    near_abs(to, 3, ARITHMETIC);
}
END_TEST

/* --- efficiency --- */

START_TEST(best_efficiency_of_a_known_pump)
{
    /* H = 60 - 1.5e5 Q^2, P = 2000 W, factor 9790: Q H is greatest where 60 = 4.5e5 Q^2. */
    struct curves curves = {.gravity_m_s2 = 0};
    set_specific_weight(&curves, 9790);
    curves.of[CURVE_HEAD] = exact((const double[]){60, 0, -1.5e5}, 2, 0, 0.018);
    curves.of[CURVE_INPUT_POWER] = exact((const double[]){2000, 0}, 1, 0, 0.018);
    struct best_efficiency best;
    ck_assert(curves_best_efficiency(&curves, &best));
    near_abs(best.flow_m3s, sqrt(60 / 4.5e5), 1e-7 * 0.018); /* the top of a hump is flat: root of the arithmetic */
    near_abs(best.head_m, 40, 1e-5);
    near_rel(best.set_efficiency, 9790 * sqrt(60 / 4.5e5) * 40 / 2000, 1e-9);
    ck_assert(!best.at_end);
    double efficiency = -1;
    ck_assert(curves_set_efficiency(&curves, 0, &efficiency));
    near_abs(efficiency, 0, 0);
    ck_assert(!curves_set_efficiency(&curves, 0.019, &efficiency)); /* not tested */
    ck_assert(!curves_pump_efficiency(&curves, 0.01, &efficiency)); /* no shaft power */
    curves.of[CURVE_HEAD] = exact((const double[]){60, 0, -1.5e5}, 2, 0, 0.008);
    ck_assert(curves_best_efficiency(&curves, &best));
    ck_assert(best.at_end);
    set_specific_weight(&curves, 0);
    ck_assert(!curves_set_efficiency(&curves, 0.005, &efficiency));
    set_specific_weight(&curves, INFINITY);
    ck_assert(!curves_set_efficiency(&curves, 0.005, &efficiency));
}
END_TEST

/* The same pump tested beyond its best flow only, with a power below 0, and with power where the head was not tested.
 */
START_TEST(best_efficiency_at_the_low_end_or_not_known)
{
    struct curves curves = {.gravity_m_s2 = 0};
    set_specific_weight(&curves, 9790);
    struct best_efficiency best;
    curves.of[CURVE_HEAD] = exact((const double[]){60, 0, -1.5e5}, 2, 0.013, 0.018);
    curves.of[CURVE_INPUT_POWER] = exact((const double[]){2000, 0}, 1, 0, 0.018);
    ck_assert(curves_best_efficiency(&curves, &best));
    ck_assert(best.at_end);
    near_abs(best.flow_m3s, 0.013, 1e-9);
    near_rel(best.set_efficiency, 9790 * 0.013 * (60 - 1.5e5 * 0.013 * 0.013) / 2000, 1e-9);
    curves.of[CURVE_INPUT_POWER] = exact((const double[]){-2000, 0}, 1, 0, 0.018);
    ck_assert(!curves_best_efficiency(&curves, &best));
    curves.of[CURVE_INPUT_POWER] = exact((const double[]){2000, 0}, 1, 0, 0.013); /* one flow in common is no curve */
    ck_assert(!curves_best_efficiency(&curves, &best));
}
END_TEST

/* Fox & McDonald, Introduction to Fluid Mechanics, Example 10.3 (p. 504): a pump tested at eight flows. Efficiency
 * re-computed from the book's readings: 77.90 % at 800, 79.16 % at 1000 and 76.10 % at 1100 gpm; the parabola through
 * these three is greatest at 926 gpm with 79.8 %. */
START_TEST(textbook_pump_test)
{
    static const double flow_gpm[8] = {0, 500, 800, 1000, 1100, 1200, 1400, 1500};
    static const double head_ft[8] = {123.37, 112.76, 100.32, 89.18, 80.93, 69.82, 42.85, 25.49};
    static const double shaft_hp[8] = {15.14, 22.04, 26.07, 28.51, 29.61, 30.53, 31.96, 32.80};
    struct curves curves;
    memset(&curves, 0, sizeof curves);
    ck_assert(fit_curve(flow_gpm, head_ft, 8, 0, &curves.of[CURVE_HEAD]));
    ck_assert(fit_curve(flow_gpm, shaft_hp, 8, 0, &curves.of[CURVE_INPUT_POWER]));
    set_specific_weight(&curves,
                        1.94 * 32.2 * 231 / 1728 / 60 / 550); /* slug/ft3, ft/s2, gpm to ft3/s, ft lbf/s to hp */
    for (int i = 0; i < 8; i++) {
        near_abs(curve_at(&curves.of[CURVE_HEAD], flow_gpm[i]), head_ft[i],
                 0.02 * 123.37); /* gauges read to 0.1 psi and drawn: 2 % */
    }
    struct best_efficiency best;
    ck_assert(curves_best_efficiency(&curves, &best));
    near_abs(best.flow_m3s, 926, 50); /* half of the least distance between the points */
    near_abs(best.set_efficiency, 0.798,
             0.01); /* the curve smooths what the parabola runs through: 1 % of the reading */
    double to;
    ck_assert(!curve_rises(&curves.of[CURVE_HEAD], &to));
}
END_TEST

Suite *fit_suite(void);

Suite *fit_suite(void)
{
    Suite *suite = suite_create("fit");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits");
    tcase_add_loop_test(core, recovers_coefficients, 0, 5);
    tcase_add_test(core, no_straight_line_through_a_bent_curve);
    tcase_add_loop_test(core, chooses_the_degree_of_exact_data, 0, 3);
    tcase_add_loop_test(core, rounding_does_not_raise_the_degree, 0, 2);
    tcase_add_test(core, scatter_does_not_raise_the_degree);
    tcase_add_loop_test(core, few_points_get_a_parabola, 4, 7);
    tcase_add_test(core, three_settings_get_a_parabola);
    tcase_add_test(core, order_does_not_matter);
    tcase_add_test(core, names_the_gross_reading);
    tcase_add_loop_test(core, a_hair_is_no_outlier, 0, 2);
    tcase_add_test(core, keeps_the_first_outliers);
    tcase_add_loop_test(core, crosses_rightmost, 0, (int)(sizeof crossings / sizeof crossings[0]));
    tcase_add_test(core, lists_all_crossings);
    tcase_add_test(core, touches_the_top_at_the_end_once);
    tcase_add_test(core, finds_extremes_and_rising_branch);
    tcase_add_test(core, best_efficiency_of_a_known_pump);
    tcase_add_test(core, best_efficiency_at_the_low_end_or_not_known);
    tcase_add_test(core, textbook_pump_test);
    tcase_add_loop_test(limits, constant_and_zero_data_are_fine, 0, 2);
    tcase_add_test(limits, repeated_flows_do_not_count_twice);
    tcase_add_loop_test(limits, refuses_by_name, 0, (int)(sizeof refused / sizeof refused[0]));
    suite_add_tcase(suite, core);
    suite_add_tcase(suite, limits);
    return suite;
}
