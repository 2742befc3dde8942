/* fit.h - a curve through the points of a test (stage 6)
 *
 * Least squares by GSL (SVD of the design matrix on flow scaled to [-1, 1], never the raw normal equations). The degree
 * is chosen from the data by the corrected Akaike criterion (Hurvich & Tsai 1989); see fit.c for the bounds. Nothing is
 * dropped: outliers are named.
 */
#ifndef DUTYPROOF_FIT_H
#define DUTYPROOF_FIT_H

#include "physics/curve.h"

enum { FIT_POINTS_MIN = 4 };

/* Fits y(flow). Needs FIT_POINTS_MIN finite points with as many distinct flows as coefficients; else curve->known is
 * false and why says so. degree 0: chosen from the data; otherwise that degree (1 .. FIT_DEGREE_MAX), for tests and
 * repeated fits. Outlier: externally studentized residual beyond the two-sided Student t quantile of 1 %,
 * Bonferroni-corrected over the points of the two curves on which a test's outliers are named; none within 0.1 % of the
 * greatest |y|. Returns: curve->known; false also when memory is out. */
bool fit_curve(const double *flow_m3s, const double *y, size_t count, size_t degree, struct curve *curve);

#endif
