#include "causes/evidence.h"

#include <math.h>

static const double pi = 3.14159265358979323846;

bool whitener_make(const double covariance[][EVIDENCE_MAX], size_t count, struct whitener *whitener)
{
    whitener->count = count;
    double *row = whitener->triangle;
    for (size_t i = 0; i < count; row += ++i) {
        const double *other = whitener->triangle;
        for (size_t j = 0; j <= i; other += ++j) {
            double rest = covariance[i][j];
            for (size_t k = 0; k < j; k++) {
                rest -= row[k] * other[k];
            }
            if (j == i && !(rest > 0.0)) {
                return false;
            }
            row[j] = j == i ? 1.0 / sqrt(rest) : rest * other[j]; /* the diagonal is kept inverted */
        }
    }
    return true;
}

void whiten(const struct whitener *whitener, double *x)
{
    const double *row = whitener->triangle;
    for (size_t i = 0; i < whitener->count; row += ++i) {
        double rest = x[i];
        for (size_t k = 0; k < i; k++) {
            rest -= row[k] * x[k];
        }
        x[i] = rest * row[i];
    }
}

static double dot(const double *a, const double *b, size_t size)
{
    double sum = 0.0;
    for (size_t i = 0; i < size; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

void directions_multiply(struct directions *directions, size_t size)
{
    directions->size = size;
    for (size_t i = 0; i < directions->count; i++) {
        for (size_t j = 0; j <= i; j++) {
            directions->product[i][j] = dot(directions->vector[i], directions->vector[j], size);
        }
    }
}

/* G = 1 + s^2 V'V is positive definite by construction. */
void directions_scale(struct directions *directions, double scale)
{
    directions->scale = scale;
    directions->log_determinant = 0.0;
    for (size_t i = 0; i < directions->count; i++) {
        double *row = directions->triangle[i];
        for (size_t j = 0; j <= i; j++) {
            double rest = (i == j ? 1.0 : 0.0) + scale * scale * directions->product[i][j];
            rest -= dot(row, directions->triangle[j], j);
            row[j] = i == j ? sqrt(rest) : rest / directions->triangle[j][j];
        }
        directions->log_determinant += 2.0 * log(row[i]);
    }
}

void residual_multiply(const struct directions *directions, struct residual *residual)
{
    residual->square = dot(residual->of, residual->of, directions->size);
    for (size_t i = 0; i < directions->count; i++) {
        residual->along[i] = dot(directions->vector[i], residual->of, directions->size);
    }
}

/* Solves the triangle of G for s V'x. */
static void solve(const struct directions *directions, const double *along, double out[DIRECTIONS_MAX])
{
    for (size_t i = 0; i < directions->count; i++) {
        const double *row = directions->triangle[i];
        out[i] = (directions->scale * along[i] - dot(row, out, i)) / row[i];
    }
}

double residual_chi2(const struct directions *directions, const struct residual *residual)
{
    double solved[DIRECTIONS_MAX];
    solve(directions, residual->along, solved);
    return residual->square - dot(solved, solved, directions->count);
}

/* log of the integral over t in [0, 1] of exp(-(a + 2 b t + c t^2) / 2): the normal distribution over [low, high] in
 * its own deviations. Far out on one side only the near end counts: exp(-chi2 / 2) over its slope there. */
static double log_integral(double a, double b, double c)
{
    if (c < 1e-12) {
        return -0.5 * (a + b + c / 3.0);
    }
    double root = sqrt(c), low = b / root, high = low + root;
    if (low > 5.0) {
        return -0.5 * a - log(b);
    }
    if (high < -5.0) {
        return -0.5 * (a + 2.0 * b + c) - log(-(b + c));
    }
    double part =
        low > 0.0 ? erfc(low / sqrt(2.0)) - erfc(high / sqrt(2.0)) : erfc(-high / sqrt(2.0)) - erfc(-low / sqrt(2.0));
    return -0.5 * (a - b * b / c) + 0.5 * log(2.0 * pi / c) + log(fmax(0.5 * part, 1e-300));
}

struct segment segment_between(const struct directions *directions, const struct residual *a, const struct residual *b)
{
    double of_a[DIRECTIONS_MAX], of_b[DIRECTIONS_MAX];
    solve(directions, a->along, of_a);
    solve(directions, b->along, of_b);
    double aa = a->square - dot(of_a, of_a, directions->count), bb = b->square - dot(of_b, of_b, directions->count);
    double ab = dot(a->of, b->of, directions->size) - dot(of_a, of_b, directions->count);
    double along = ab - aa, step = fmax(bb - 2.0 * ab + aa, 0.0); /* a'(b - a), |b - a|^2 */
    double t = step > 0.0 ? fmin(1.0, fmax(0.0, -along / step)) : 0.0;
    return (struct segment){
        .log_mean = log_integral(aa, along, step) - 0.5 * directions->log_determinant,
        .best_chi2 = aa + 2.0 * along * t + step * t * t,
        .best_t = t,
    };
}

double log_sum(double a, double b)
{
    double greater = fmax(a, b);
    return isfinite(greater) ? greater + log1p(exp(-fabs(a - b))) : greater;
}
