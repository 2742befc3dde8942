/* spread.h - the distribution of a sum of independent errors
 *
 * An instrument's accuracy limit is a rectangular error, a calibration certificate's uncertainty a normal one, scatter
 * of readings a normal one whose size is itself known from a few readings only. Their sum is neither normal nor
 * rectangular where one of them dominates. The two widest rectangular errors are kept as they are, all else is taken as
 * normal (or Student t where its size is known from few readings); that sum has a closed form.
 */
#ifndef DUTYPROOF_SPREAD_H
#define DUTYPROOF_SPREAD_H

#include <stdbool.h>

/* One error about zero. {0} is no error at all. */
struct spread {
    double wide, narrow; /* half-widths of the two widest rectangular errors, wide >= narrow >= 0 */
    double variance;     /* of all other errors together */
    double
        variance_squared; /* sum of variance^2 / degrees of freedom of those known from scatter (Welch-Satterthwaite) */
};

/* Adds an independent error. half_width, standard deviation >= 0; freedom: degrees of freedom of an estimated
 * deviation, INFINITY when it is known. */
void spread_add_rectangular(struct spread *spread, double half_width);
void spread_add_normal(struct spread *spread, double deviation, double freedom);

/* Standard deviation of the sum. Source: JCGM 100:2008, 5.1.2. */
double spread_deviation(const struct spread *spread);

/* Probability that the error is at most x. The normal part is widened by t(0.975, nu)/1.96 for its effective degrees of
 * freedom nu (JCGM 100:2008, G.4.1), so that the 95 % interval holds; the convolution with one or two rectangles is
 * exact. */
double spread_probability(const struct spread *spread, double x);

/* Half-width of the symmetric interval that holds the error with probability 95 %: the expanded uncertainty. 0 when
 * there is no error. */
double spread_expanded(const struct spread *spread);

#endif
