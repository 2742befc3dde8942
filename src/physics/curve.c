#include "physics/curve.h"

#include <math.h>

/* A curve meets a line, or touches it, when they come this near, as a share of the line's greatest value ... */
#define TOUCH    1e-9
/* ... or of the curve's own size, where that is all the arithmetic can tell. */
#define ROUNDING 1e-12

/* --- value, slope, band --- */

static double scaled_flow(const struct curve *curve, double flow_m3s)
{
    return (flow_m3s - curve->center) / curve->scale;
}

static double poly_at(const double *c, size_t degree, double x)
{
    double y = c[degree];
    for (size_t i = degree; i-- > 0;) {
        y = y * x + c[i];
    }
    return y;
}

static void poly_slope(const double *c, size_t degree, double *slope)
{
    for (size_t i = 1; i <= degree; i++) {
        slope[i - 1] = (double)i * c[i];
    }
}

double curve_at(const struct curve *curve, double flow_m3s)
{
    return curve->known ? poly_at(curve->scaled, curve->degree, scaled_flow(curve, flow_m3s)) : NAN;
}

double curve_slope(const struct curve *curve, double flow_m3s)
{
    double slope[FIT_DEGREE_MAX];
    if (!curve->known) {
        return NAN;
    }
    poly_slope(curve->scaled, curve->degree, slope);
    return poly_at(slope, curve->degree - 1, scaled_flow(curve, flow_m3s)) / curve->scale;
}

double curve_band(const struct curve *curve, double flow_m3s)
{
    if (!curve->known) {
        return NAN;
    }
    double x = scaled_flow(curve, flow_m3s), power[FIT_DEGREE_MAX + 1] = {1}, variance = 0;
    for (size_t i = 1; i <= curve->degree; i++) {
        power[i] = power[i - 1] * x;
    }
    for (size_t i = 0; i <= curve->degree; i++) {
        for (size_t j = 0; j <= curve->degree; j++) {
            variance += power[i] * curve->covariance[i][j] * power[j];
        }
    }
    return curve->student_t * sqrt(fmax(variance, 0));
}

bool curve_covers(const struct curve *curve, double flow_m3s)
{
    double slack = 1e-9 * (curve->flow_high_m3s - curve->flow_low_m3s);
    return curve->known && flow_m3s >= curve->flow_low_m3s - slack && flow_m3s <= curve->flow_high_m3s + slack;
}

/* --- crossings --- */

/* The zero of a polynomial between two places where its signs differ, by bisection to 2^-60 of the interval. */
static double poly_bisect(const double *c, size_t degree, double left, double right)
{
    bool left_negative = poly_at(c, degree, left) < 0;
    double middle = left;
    for (int step = 0; step < 60; step++) {
        middle = left + (right - left) / 2;
        bool same_side = (poly_at(c, degree, middle) < 0) == left_negative;
        *(same_side ? &left : &right) = middle;
    }
    return middle;
}

/* Where a polynomial is zero, to within near, on [low, high]: rising, each place once, degree + 1 places at most.
 * Between two neighbouring zeros of its slope a polynomial is monotone, so that bisection cannot miss: the slopes are
 * solved first, from the straight line up. Unlike a companion matrix this keeps a touching root real and needs no
 * memory. */
static size_t poly_zeros(const double *c, size_t degree, double low, double high, double near, double *zeros)
{
    if (degree == 0) {
        return 0;
    }
    double slope[FIT_DEGREE_MAX] = {0}, node[FIT_DEGREE_MAX + 2] = {low};
    poly_slope(c, degree, slope);
    size_t last = 1 + poly_zeros(slope, degree - 1, low, high, 0, node + 1), count = 0;
    node[last] = high;
    double left = low, left_y = poly_at(c, degree, low);
    for (size_t i = 0; i <= last && count <= degree; i++) {
        double right = node[i], right_y = poly_at(c, degree, right);
        bool here = fabs(right_y) <= near;
        bool between = !here && !(fabs(left_y) <= near) && (left_y < 0) != (right_y < 0);
        double zero = between ? poly_bisect(c, degree, left, right) : right;
        if ((here || between) && (count == 0 || zero > zeros[count - 1])) {
            zeros[count++] = zero;
        }
        left = right;
        left_y = right_y;
    }
    return count;
}

size_t curve_crossings(const struct curve *curve, double a, double b, double flow_m3s[FIT_DEGREE_MAX + 1])
{
    if (!curve->known || !isfinite(a) || !isfinite(b)) {
        return 0;
    }
    double difference[FIT_DEGREE_MAX + 1] = {0}, low = curve->flow_low_m3s, high = curve->flow_high_m3s, size = 0;
    for (size_t i = 0; i <= curve->degree; i++) {
        difference[i] = curve->scaled[i];
        size += fabs(curve->scaled[i]);
    }
    difference[0] -= a + b * curve->center;
    difference[1] -= b * curve->scale;
    double near = fmax(TOUCH * (fabs(a) + fabs(b) * fmax(fabs(low), fabs(high))), ROUNDING * size);
    size_t count =
        poly_zeros(difference, curve->degree, scaled_flow(curve, low), scaled_flow(curve, high), near, flow_m3s);
    for (size_t i = 0; i < count; i++) {
        flow_m3s[i] = fmin(fmax(curve->center + curve->scale * flow_m3s[i], low), high);
    }
    return count;
}

bool curve_cross(const struct curve *curve, double a, double b, double *flow_m3s)
{
    double all[FIT_DEGREE_MAX + 1];
    size_t count = curve_crossings(curve, a, b, all);
    if (count > 0) {
        *flow_m3s = all[count - 1];
    }
    return count > 0;
}

/* --- extremes --- */

/* The ends of [low, high] and the turning points between, rising. Returns: how many (2 .. FIT_DEGREE_MAX + 1). */
static size_t curve_nodes(const struct curve *curve, double low_m3s, double high_m3s, double node[FIT_DEGREE_MAX + 2])
{
    double slope[FIT_DEGREE_MAX];
    poly_slope(curve->scaled, curve->degree, slope);
    node[0] = low_m3s;
    size_t turns =
        poly_zeros(slope, curve->degree - 1, scaled_flow(curve, low_m3s), scaled_flow(curve, high_m3s), 0, node + 1);
    for (size_t i = 1; i <= turns; i++) {
        node[i] = curve->center + curve->scale * node[i];
    }
    node[turns + 1] = high_m3s;
    return turns + 2;
}

void curve_extremes(const struct curve *curve, double low_m3s, double high_m3s, double *least, double *greatest,
                    double *greatest_at)
{
    *least = *greatest = *greatest_at = NAN;
    if (!curve->known) {
        return;
    }
    double node[FIT_DEGREE_MAX + 2];
    size_t count = curve_nodes(curve, low_m3s, high_m3s, node);
    *least = *greatest = curve_at(curve, low_m3s);
    *greatest_at = low_m3s;
    for (size_t i = 1; i < count; i++) {
        double y = curve_at(curve, node[i]);
        *least = fmin(*least, y);
        if (y > *greatest) {
            *greatest = y;
            *greatest_at = node[i];
        }
    }
}

bool curve_rises(const struct curve *curve, double *to_m3s)
{
    if (!curve->known) {
        return false;
    }
    double node[FIT_DEGREE_MAX + 2], steepest = 0;
    size_t count = curve_nodes(curve, curve->flow_low_m3s, curve->flow_high_m3s, node);
    double lowest = curve_at(curve, node[0]), size = fabs(lowest);
    for (size_t i = 1; i < count; i++) {
        double y = curve_at(curve, node[i]);
        size = fmax(size, fabs(y));
        if (y - lowest > fmax(steepest, fmax(curve->residual, TOUCH * size))) {
            steepest = y - lowest;
            *to_m3s = node[i];
        }
        lowest = fmin(lowest, y);
    }
    return steepest > 0;
}

/* --- efficiency --- */

double curves_specific_weight(const struct curves *curves, double flow_m3s)
{
    const struct curve *density = &curves->of[CURVE_DENSITY];
    if (!density->known) {
        return 0;
    }
    return curves->gravity_m_s2 *
           curve_at(density, fmin(fmax(flow_m3s, density->flow_low_m3s), density->flow_high_m3s));
}

static bool efficiency_from(const struct curves *curves, const struct curve *power, double flow_m3s, double *efficiency)
{
    if (!curve_covers(&curves->of[CURVE_HEAD], flow_m3s) || !curve_covers(power, flow_m3s)) {
        return false;
    }
    double power_w = curve_at(power, flow_m3s);
    double weight_n_m3 = curves_specific_weight(curves, flow_m3s);
    double value = weight_n_m3 * flow_m3s * curve_at(&curves->of[CURVE_HEAD], flow_m3s) / power_w;
    if (!(power_w > 0) || !(weight_n_m3 > 0) || !isfinite(value)) {
        return false;
    }
    *efficiency = value;
    return true;
}

bool curves_set_efficiency(const struct curves *curves, double flow_m3s, double *efficiency)
{
    return efficiency_from(curves, &curves->of[CURVE_INPUT_POWER], flow_m3s, efficiency);
}

bool curves_pump_efficiency(const struct curves *curves, double flow_m3s, double *efficiency)
{
    return efficiency_from(curves, &curves->of[CURVE_SHAFT_POWER], flow_m3s, efficiency);
}

static double efficiency_or_least(const struct curves *curves, double flow_m3s)
{
    double efficiency;
    return curves_set_efficiency(curves, flow_m3s, &efficiency) ? efficiency : -INFINITY;
}

bool curves_best_efficiency(const struct curves *curves, struct best_efficiency *best)
{
    enum { STEPS = 200, NARROWINGS = 60 };
    double low = fmax(curves->of[CURVE_HEAD].flow_low_m3s, curves->of[CURVE_INPUT_POWER].flow_low_m3s);
    double high = fmin(curves->of[CURVE_HEAD].flow_high_m3s, curves->of[CURVE_INPUT_POWER].flow_high_m3s);
    if (!curves->of[CURVE_HEAD].known || !curves->of[CURVE_INPUT_POWER].known || !(high > low)) {
        return false;
    }
    /* The best of a fine grid, then its neighbourhood narrowed: efficiency has one hump there. */
    double step = (high - low) / STEPS;
    size_t at = 0;
    for (size_t i = 1; i <= STEPS; i++) {
        if (efficiency_or_least(curves, low + step * (double)i) >
            efficiency_or_least(curves, low + step * (double)at)) {
            at = i;
        }
    }
    double left = at == 0 ? low : low + step * ((double)at - 1), right = fmin(low + step * ((double)at + 1), high);
    for (int i = 0; i < NARROWINGS; i++) {
        double third = (right - left) / 3;
        bool rises = efficiency_or_least(curves, left + third) < efficiency_or_least(curves, right - third);
        *(rises ? &left : &right) = rises ? left + third : right - third;
    }
    double flow = left + (right - left) / 2, efficiency;
    bool at_end = flow - low <= 1e-6 * (high - low) || high - flow <= 1e-6 * (high - low);
    if (!curves_set_efficiency(curves, flow, &efficiency)) {
        return false;
    }
    *best = (struct best_efficiency){flow, curve_at(&curves->of[CURVE_HEAD], flow), efficiency, at_end};
    return true;
}
