/* evidence.h - how well one hypothesis explains a stacked vector of readings
 *
 * Readings are whitened once by the covariance of a good unit's readings (units, instruments, scatter). A hypothesis
 * may be off by a few directions of its own, each one standard deviation long (its form is not exact): V. Then chi2 =
 * |r|^2 - b' G^-1 b,  b = V' r,  G = 1 + V'V,   log evidence = -(chi2 + log det G) / 2 + what all hypotheses share
 * (Woodbury's identity and the determinant lemma).
 */
#ifndef CAUSES_EVIDENCE_H
#define CAUSES_EVIDENCE_H

#include <stdbool.h>
#include <stddef.h>

enum { EVIDENCE_POINTS_MAX = 16, EVIDENCE_MAX = 3 * EVIDENCE_POINTS_MAX + 1, DIRECTIONS_MAX = 8 };

/* A lower triangle of Cholesky, rows packed one after the other. */
struct whitener {
    size_t count;
    double triangle[EVIDENCE_MAX * (EVIDENCE_MAX + 1) / 2];
};

/* Factors a covariance (full, row by row of EVIDENCE_MAX). Returns: false when it is not positive definite. */
bool whitener_make(const double covariance[][EVIDENCE_MAX], size_t count, struct whitener *whitener);

/* Solves L x = x in place. */
void whiten(const struct whitener *whitener, double *x);

/* Directions in which a hypothesis is not exact, whitened; and G for directions that are scale times as long. */
struct directions {
    size_t count, size;
    double vector[DIRECTIONS_MAX][EVIDENCE_MAX];
    double product[DIRECTIONS_MAX][DIRECTIONS_MAX]; /* V'V */
    double scale;
    double triangle[DIRECTIONS_MAX][DIRECTIONS_MAX]; /* of G */
    double log_determinant;
};

/* Multiplies the vectors that stand in it, once; then makes G for a scale, as often as it is needed. */
void directions_multiply(struct directions *directions, size_t size);
void directions_scale(struct directions *directions, double scale);

/* A whitened residual with what every product needs of it. */
struct residual {
    double of[EVIDENCE_MAX];
    double square, along[DIRECTIONS_MAX]; /* |r|^2, V' r */
};
void residual_multiply(const struct directions *directions, struct residual *residual);

/* r' M r with M = 1 - V G^-1 V'. */
double residual_chi2(const struct directions *directions, const struct residual *residual);

/* Residuals a at t = 0 and b at t = 1, straight between: log of the mean over t of exp(-chi2 / 2) with the determinant,
 * and the best t with its chi2. */
struct segment {
    double log_mean, best_chi2, best_t;
};
struct segment segment_between(const struct directions *directions, const struct residual *a, const struct residual *b);

/* log(exp(a) + exp(b)) without overflow. */
double log_sum(double a, double b);

#endif
