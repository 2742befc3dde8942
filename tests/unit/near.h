/* near.h - comparing numbers in tests so that NaN fails
 *
 * Success is |got - want| <= tolerance; ck_assert_double_eq_tol uses <, which cannot test for exact equality.
 */
#ifndef NEAR_H
#define NEAR_H

#include <check.h>
#include <math.h>

#define near_abs(got, want, tolerance)                                                                                 \
    do {                                                                                                               \
        double got_ = (got), want_ = (want), tol_ = (tolerance);                                                       \
        ck_assert_msg(fabs(got_ - want_) <= tol_, "%s is %.17g, want %.17g within %.3g", #got, got_, want_, tol_);     \
    } while (0)

#define near_rel(got, want, tolerance) near_abs(got, want, (tolerance)*fabs(want))

#endif
