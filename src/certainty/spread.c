#include "certainty/spread.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

static const double pi = 3.14159265358979323846;
static const double coverage = 0.95;

void spread_add_rectangular(struct spread *spread, double half_width)
{
    double folded = half_width;
    if (half_width > spread->wide) {
        folded = spread->narrow;
        spread->narrow = spread->wide;
        spread->wide = half_width;
    } else if (half_width > spread->narrow) {
        folded = spread->narrow;
        spread->narrow = half_width;
    }
    spread->variance += folded * folded / 3.0;
}

void spread_add_normal(struct spread *spread, double deviation, double freedom)
{
    double variance = deviation * deviation;
    spread->variance += variance;
    if (isfinite(freedom) && freedom > 0.0) {
        spread->variance_squared += variance * variance / freedom;
    }
}

double spread_deviation(const struct spread *spread)
{
    return sqrt(spread->variance + (spread->wide * spread->wide + spread->narrow * spread->narrow) / 3.0);
}

/* Standard deviation of the normal part, widened where it rests on few readings. The degrees of freedom are those of
 * the whole sum: a poorly known part that hardly counts widens hardly. */
static double normal_deviation(const struct spread *spread)
{
    double deviation = sqrt(spread->variance);
    if (!(spread->variance_squared > 0.0)) {
        return deviation;
    }
    double freedom = fmax(1.0, spread->variance * spread->variance / spread->variance_squared);
    return deviation * gsl_cdf_tdist_Pinv(0.5 + 0.5 * coverage, freedom) / gsl_cdf_ugaussian_Pinv(0.5 + 0.5 * coverage);
}

static double normal_cdf(double z)
{
    return 0.5 * erfc(-z / sqrt(2.0));
}

static double normal_density(double z)
{
    return exp(-0.5 * z * z) / sqrt(2.0 * pi);
}

/* First and second repeated integrals of the normal distribution function, from minus infinity. */
static double normal_integral(double z)
{
    return z * normal_cdf(z) + normal_density(z);
}

static double normal_integral_twice(double z)
{
    return 0.5 * ((z * z + 1.0) * normal_cdf(z) + z * normal_density(z));
}

/* Distribution function of a rectangle of half-width b plus a normal deviate of deviation s. */
static double one_rectangle(double x, double b, double s)
{
    if (s <= 1e-9 * b) {
        return fmin(1.0, fmax(0.0, 0.5 + 0.5 * x / b));
    }
    double sum = normal_integral((x + b) / s) - normal_integral((x - b) / s);
    return fmin(1.0, fmax(0.0, s / (2.0 * b) * sum));
}

/* The same for two rectangles; without a normal part it is a trapezium's. */
static double two_rectangles(double x, double b, double c, double s)
{
    double small = 1e-6 * b;
    double n = fmax(s, small);
    double sum = normal_integral_twice((x + b + c) / n) - normal_integral_twice((x + b - c) / n) -
                 normal_integral_twice((x - b + c) / n) + normal_integral_twice((x - b - c) / n);
    return fmin(1.0, fmax(0.0, n * n / (4.0 * b * c) * sum));
}

/* A rectangle this much narrower than the rest is as good as normal, and the closed form would cancel. */
static const double negligible = 0.05;

double spread_probability(const struct spread *spread, double x)
{
    double s = normal_deviation(spread), wide = spread->wide, narrow = spread->narrow;
    if (narrow > 0.0 && narrow < negligible * fmax(wide, s)) {
        s = sqrt(s * s + narrow * narrow / 3.0);
        narrow = 0.0;
    }
    if (narrow <= 0.0 && wide < negligible * s) {
        s = sqrt(s * s + wide * wide / 3.0);
        wide = 0.0;
    }
    if (narrow > 0.0) {
        return two_rectangles(x, wide, narrow, s);
    }
    if (wide > 0.0) {
        return one_rectangle(x, wide, s);
    }
    if (s > 0.0) {
        return normal_cdf(x / s);
    }
    return x >= 0.0 ? 1.0 : 0.0;
}

double spread_expanded(const struct spread *spread)
{
    double low = 0.0, high = 8.0 * normal_deviation(spread) + spread->wide + spread->narrow;
    if (!(high > 0.0)) {
        return 0.0;
    }
    /* Bisection to the resolution of the closed form; the distribution function rises strictly here. */
    for (int i = 0; i < 40; i++) {
        double middle = 0.5 * (low + high);
        if (spread_probability(spread, middle) < 0.5 + 0.5 * coverage) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}
