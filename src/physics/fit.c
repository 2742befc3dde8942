/* How the degree is chosen
 *
 * Fewer than CRITERION_POINTS_MIN points: degree 2. The corrected Akaike criterion has no finite value, or one that is
 * almost all penalty, for so few points (n - p - 2 <= 0 for a parabola through five), and would draw a straight line
 * through the bent curve of every pump; a parabola with the wide band of its few degrees of freedom is the honest
 * choice.
 *
 * Nor is a straight line chosen from more points: head, power and current of a pump all bend, and where the scatter
 * hides it a straight line leaves the readings at its ends by more than they scatter.
 *
 * From there on: the degree of lowest AICc among 2 .. 4 that leaves the criterion finite and at least one flow more
 * than it needs to be checked against. AICc = n ln(RSS / n) + n (n + p) / (n - p - 2) with p coefficients (Hurvich &
 * Tsai 1989, equation 3).
 */
#include "physics/fit.h"

#include <float.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_multifit.h>
#include <math.h>

enum { DEGREE_CHOSEN_MIN = 2, DEGREE_CHOSEN_MAX = 4, CRITERION_POINTS_MIN = 7, DISTINCT_ENOUGH = FIT_DEGREE_MAX + 2 };

/* Flows nearer to each other than this share of the tested range are one setting of the valve: together they say
 * nothing of how the curve bends. */
#define FLOW_APART 0.01

/* A root-mean-square residual below this share of the greatest |y| is arithmetic, not scatter: the double's 2e-16 with
 * room for the condition of the design matrix and the conversions before it. */
#define ROUNDING 1e-12

#define CONFIDENCE 0.95

/* A sound test is called into question once in a hundred: the papers name outliers on CURVES_NAMED of its curves (head
 * and input power), each point of each being a chance to err (Bonferroni). */
#define FALSE_ALARM 0.01
enum { CURVES_NAMED = 2 };

/* A point nearer to the curve than this share of the greatest |y| is no outlier, however small the scatter of the
 * others: no instrument of a test bay tells so little. Common practice, no source. */
#define NO_OUTLIER_WITHIN 1e-3

/* One least-squares problem, with memory for its highest degree. */
struct problem {
    const double *flow_m3s, *y;
    size_t count;
    double greatest; /* |y| */
    double floor;    /* residual sum of squares that is mere rounding */
    gsl_matrix *design;
    gsl_multifit_linear_workspace *work;
};

static bool refuse(struct curve *curve, enum curve_cause cause, size_t count, size_t of)
{
    curve->why = (struct curve_why){cause, count, of};
    return false;
}

/* Counts settings from the lowest flow upwards, up to DISTINCT_ENOUGH. */
static size_t count_distinct(const double *flow_m3s, size_t count, double low, double apart)
{
    size_t distinct = 1;
    for (double last = low; distinct < DISTINCT_ENOUGH; distinct++) {
        double next = INFINITY;
        for (size_t i = 0; i < count; i++) {
            if (flow_m3s[i] > last + apart && flow_m3s[i] < next) {
                next = flow_m3s[i];
            }
        }
        if (!isfinite(next)) {
            break;
        }
        last = next;
    }
    return distinct;
}

/* The door: what GSL would turn into NaN without a word. Sets the range and scale of the curve. */
static bool points_usable(const double *flow_m3s, const double *y, size_t count, struct curve *curve)
{
    if (count == 0) {
        return refuse(curve, CURVE_NOT_MEASURED, 0, 0);
    }
    if (count < FIT_POINTS_MIN) {
        return refuse(curve, CURVE_FEW_POINTS, count, FIT_POINTS_MIN);
    }
    double low = flow_m3s[0], high = flow_m3s[0];
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(flow_m3s[i]) || !isfinite(y[i])) {
            return refuse(curve, CURVE_NOT_FINITE, count, i + 1);
        }
        low = fmin(low, flow_m3s[i]);
        high = fmax(high, flow_m3s[i]);
    }
    if (!(high > low) || !isfinite(high - low)) {
        return refuse(curve, CURVE_ONE_FLOW, count, 0);
    }
    curve->flow_low_m3s = low;
    curve->flow_high_m3s = high;
    curve->center = low + (high - low) / 2;
    curve->scale = (high - low) / 2;
    return true;
}

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* The highest degree that may be chosen for so many points and distinct flows (3 or more of each). */
static size_t degree_limit(size_t count, size_t distinct)
{
    if (distinct == 3 || count < CRITERION_POINTS_MIN) {
        return 2;
    }
    return smaller(DEGREE_CHOSEN_MAX, smaller(count - 4, distinct - 2));
}

static void problem_release(struct problem *problem)
{
    gsl_matrix_free(problem->design);
    gsl_multifit_linear_free(problem->work);
}

/* Fills the design matrix with powers of the scaled flow. Returns: false when memory is out; release in any case. */
static bool problem_init(struct problem *problem, const double *flow_m3s, const double *y, size_t count, size_t highest,
                         const struct curve *curve)
{
    *problem = (struct problem){.flow_m3s = flow_m3s, .y = y, .count = count};
    problem->design = gsl_matrix_alloc(count, highest + 1);
    problem->work = gsl_multifit_linear_alloc(count, highest + 1);
    if (problem->design == NULL || problem->work == NULL) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        double x = (flow_m3s[i] - curve->center) / curve->scale, power = 1;
        for (size_t j = 0; j <= highest; j++, power *= x) {
            gsl_matrix_set(problem->design, i, j, power);
        }
        problem->greatest = fmax(problem->greatest, fabs(y[i]));
    }
    problem->floor = fmax((double)count * (ROUNDING * problem->greatest) * (ROUNDING * problem->greatest), DBL_MIN);
    return true;
}

/* Solves for one degree into curve's degree, scaled, covariance, freedom and residual. rss: residual sum of squares. */
static bool problem_solve(struct problem *problem, size_t degree, struct curve *curve, double *rss)
{
    size_t p = degree + 1;
    gsl_matrix_const_view design = gsl_matrix_const_submatrix(problem->design, 0, 0, problem->count, p);
    gsl_vector_const_view y = gsl_vector_const_view_array(problem->y, problem->count);
    gsl_vector_view scaled = gsl_vector_view_array(curve->scaled, p);
    gsl_matrix_view covariance = gsl_matrix_view_array_with_tda(&curve->covariance[0][0], p, p, FIT_DEGREE_MAX + 1);
    int failed = gsl_multifit_linear(&design.matrix, &y.vector, &scaled.vector, &covariance.matrix, rss, problem->work);
    bool finite = failed == 0 && isfinite(*rss);
    for (size_t i = 0; finite && i < p; i++) {
        finite = isfinite(curve->scaled[i]) && isfinite(curve->covariance[i][i]);
    }
    if (!finite || gsl_multifit_linear_rank(DBL_EPSILON, problem->work) < p) {
        return refuse(curve, CURVE_NOT_DETERMINED, 0, degree);
    }
    curve->degree = degree;
    curve->freedom = problem->count - p;
    curve->residual = sqrt(*rss / (double)curve->freedom);
    return true;
}

static double criterion(const struct problem *problem, size_t degree, double rss)
{
    double n = (double)problem->count, p = (double)degree + 1;
    return n * log(fmax(rss, problem->floor) / n) + n * (n + p) / (n - p - 2);
}

/* A degree whose criterion is no more than this above the lowest is nearly as well supported. Source: Burnham &
 * Anderson, Model Selection and Multimodel Inference, 2002, 2.6 (from memory): up to 2, substantially. */
#define RIVAL_WITHIN 2.0

/* Tries every degree from 2 to the highest; on a tie the lower one stays. */
static bool choose_degree(struct problem *problem, size_t highest, struct curve *curve, double *rss)
{
    double lowest = INFINITY, second = INFINITY;
    size_t rival = 0;
    for (size_t degree = DEGREE_CHOSEN_MIN; degree <= highest; degree++) {
        struct curve trial = *curve;
        double trial_rss;
        if (!problem_solve(problem, degree, &trial, &trial_rss)) {
            return refuse(curve, trial.why.cause, trial.why.count, trial.why.of);
        }
        double value = criterion(problem, degree, trial_rss);
        if (value < lowest) {
            second = lowest;
            rival = curve->degree;
            lowest = value;
            *rss = trial_rss;
            *curve = trial;
        } else if (value < second) {
            second = value;
            rival = degree;
        }
    }
    curve->rival = second - lowest <= RIVAL_WITHIN ? rival : 0;
    curve->why = (struct curve_why){CURVE_BY_CRITERION, 0, highest};
    return true;
}

/* From powers of x = (Q - center) / scale to powers of Q: a Taylor shift by repeated synthetic division. */
static void expand_coefficients(struct curve *curve)
{
    double *c = curve->coefficient, power = 1;
    for (size_t i = 0; i <= curve->degree; i++, power *= curve->scale) {
        c[i] = curve->scaled[i] / power;
    }
    for (size_t i = 0; i < curve->degree; i++) {
        for (size_t j = curve->degree; j-- > i;) {
            c[j] -= curve->center * c[j + 1];
        }
    }
}

/* Externally studentized residual of point i, from the fit itself: with leverage h and residual r,
 * t = r sqrt((freedom - 1) / (RSS (1 - h) - r^2)). A point that holds the curve alone (h = 1) has none: 0. */
static double studentized(const struct curve *curve, const struct problem *problem, size_t i, double rss)
{
    double flow = problem->flow_m3s[i], r = problem->y[i] - curve_at(curve, flow);
    double band = curve_band(curve, flow) / (curve->student_t * curve->residual), leverage = band * band;
    double without = rss * (1 - leverage) - r * r; /* RSS (1 - h) of the fit without this point */
    if (!(1 - leverage > 1e-9)) {
        return 0;
    }
    return without > 0 ? fabs(r) * sqrt((double)(curve->freedom - 1) / without) : INFINITY;
}

static void name_outliers(struct curve *curve, const struct problem *problem, double rss)
{
    if (curve->freedom < 2 || rss <= problem->floor) {
        return;
    }
    double tail = FALSE_ALARM / (2 * CURVES_NAMED * (double)problem->count);
    double threshold = gsl_cdf_tdist_Qinv(tail, (double)(curve->freedom - 1));
    for (size_t i = 0; i < problem->count && curve->outlier_count < FIT_OUTLIERS_KEPT; i++) {
        double off = fabs(problem->y[i] - curve_at(curve, problem->flow_m3s[i]));
        if (off > NO_OUTLIER_WITHIN * problem->greatest && studentized(curve, problem, i, rss) > threshold) {
            curve->outliers[curve->outlier_count++] = i;
        }
    }
}

/* Fits with the memory at hand: the degree asked for, or (0) one of 1 .. highest. */
static bool fit_problem(struct problem *problem, size_t degree, size_t highest, struct curve *curve)
{
    double rss = 0;
    bool chosen = degree == 0 && problem->count >= CRITERION_POINTS_MIN;
    if (!(chosen ? choose_degree(problem, highest, curve, &rss) : problem_solve(problem, highest, curve, &rss))) {
        return false;
    }
    if (!chosen) {
        curve->why.cause = degree != 0 ? CURVE_AS_ASKED : CURVE_TOO_FEW_TO_CHOOSE;
    }
    curve->known = true;
    curve->points = problem->count;
    curve->student_t = gsl_cdf_tdist_Pinv(1 - (1 - CONFIDENCE) / 2, (double)curve->freedom);
    expand_coefficients(curve);
    name_outliers(curve, problem, rss);
    return true;
}

bool fit_curve(const double *flow_m3s, const double *y, size_t count, size_t degree, struct curve *curve)
{
    *curve = (struct curve){0};
    if (!points_usable(flow_m3s, y, count, curve)) {
        return false;
    }
    size_t distinct = count_distinct(flow_m3s, count, curve->flow_low_m3s, FLOW_APART * 2 * curve->scale);
    size_t wanted = degree == 0 ? 3 : degree + 1;
    if (degree > FIT_DEGREE_MAX || count < degree + 2) {
        return refuse(curve, CURVE_FEW_FOR_DEGREE, count, degree);
    }
    if (distinct < wanted) {
        return refuse(curve, CURVE_FEW_FLOWS, distinct, wanted);
    }
    size_t highest = degree == 0 ? degree_limit(count, distinct) : degree;
    struct problem problem;
    bool made = problem_init(&problem, flow_m3s, y, count, highest, curve);
    bool fitted = made ? fit_problem(&problem, degree, highest, curve) : refuse(curve, CURVE_OUT_OF_MEMORY, 0, 0);
    problem_release(&problem);
    return fitted;
}
