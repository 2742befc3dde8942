/* fit_probe - fits the points of a table by the library and prints what it found, for the outside checks
 *
 * Usage: fit_probe DEGREE FLOW... < "flow y" lines. DEGREE 0: chosen from the data. Prints one "name value..." line
 * each, and for each FLOW "at flow value slope band".
 */
#include "papers/check_words.h"
#include "physics/fit.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>

enum { POINTS_MAX = 1000 };

static void print_numbers(const char *name, const double *numbers, size_t count)
{
    printf("%s", name);
    for (size_t i = 0; i < count; i++) {
        printf(" %.17g", numbers[i]);
    }
    printf("\n");
}

int main(int argc, char **argv)
{
    double flow[POINTS_MAX], y[POINTS_MAX];
    size_t count = 0;
    gsl_set_error_handler_off();
    while (count < POINTS_MAX && scanf("%lf %lf", &flow[count], &y[count]) == 2) {
        count++;
    }
    struct curve curve;
    size_t degree = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
    if (!fit_curve(flow, y, count, degree, &curve)) {
        char why[CURVE_TEXT];
        fprintf(stderr, "no curve: %s\n", curve_why_text(&curve, why));
        return EXIT_FAILURE;
    }
    size_t p = curve.degree + 1;
    printf("degree %zu\nfreedom %zu\n", curve.degree, curve.freedom);
    print_numbers("coefficient", curve.coefficient, p);
    print_numbers("scale", (double[]){curve.center, curve.scale}, 2);
    print_numbers("scaled", curve.scaled, p);
    for (size_t i = 0; i < p; i++) {
        print_numbers("covariance", curve.covariance[i], p);
    }
    print_numbers("residual", &curve.residual, 1);
    print_numbers("student_t", &curve.student_t, 1);
    printf("outliers");
    for (size_t i = 0; i < curve.outlier_count; i++) {
        printf(" %zu", curve.outliers[i]);
    }
    printf("\n");
    for (int i = 2; i < argc; i++) {
        double q = strtod(argv[i], NULL);
        print_numbers("at", (double[]){q, curve_at(&curve, q), curve_slope(&curve, q), curve_band(&curve, q)}, 4);
    }
    return EXIT_SUCCESS;
}
