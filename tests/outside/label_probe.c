/* label_probe.c - lets label_vectors.py call the formulas: a line of standard input is a name and its numbers, in SI.
 */
#include "label/label_batch.h"
#include "label/label_eu.h"
#include "label/label_us.h"

#include <stdio.h>
#include <string.h>

enum { ARGUMENTS_MAX = 16 };

static struct label_loads loads_of(const double *x)
{
    struct label_loads loads = {0};
    for (int i = 0; i < LABEL_LOADS; i++) {
        loads.flow_m3s[i] = x[i];
        loads.head_m[i] = x[3 + i];
        loads.shaft_power_w[i] = x[6 + i];
    }
    return loads;
}

/* speed, stages, flow, head, efficiency, C at 0.10, C at 0.40 -> index */
static double eu(const double *x)
{
    bool beyond;
    const struct label_constant low = {.index = quantity_of(0.1), .c = x[5]},
                                high = {.index = quantity_of(0.4), .c = x[6]};
    const struct label_constant *const constants[] = {&low, &high};
    double c = eu_constant_met(eu_specific_speed(x[0], x[1], x[2], x[3]), x[2], x[4]);
    return eu_index(constants, 2, c, &beyond);
}

/* 3 flows, 3 heads, 3 shaft powers, speed, stages, C, rated power, full-load efficiency -> PEI */
static double us(const double *x)
{
    struct label_loads loads = loads_of(x);
    struct us_motor motor = {.rated_power_w = x[12], .efficiency = x[13]};
    double standard = us_standard_efficiency(x[9], x[10], loads.flow_m3s[1], loads.head_m[1], x[11]);
    return us_rating_w(&motor, &loads) / us_standard_rating_w(&motor, &loads, standard);
}

static double tolerance(const double *x)
{
    return tolerance_factor((size_t)x[0], x[1], x[2]);
}

/* mean, deviation, n, less is better -> represented value */
static double represented(const double *x)
{
    double limit;
    return label_represented(x[0], x[1], (size_t)x[2], x[3] > 0.0, &limit);
}

static const struct {
    const char *name;
    double (*call)(const double *x);
    int arguments;
} functions[] = {{"eu", eu, 7}, {"us", us, 14}, {"tolerance", tolerance, 3}, {"represented", represented, 4}};

int main(void)
{
    char name[32];
    while (scanf("%31s", name) == 1) {
        double x[ARGUMENTS_MAX];
        size_t f = 0, count = sizeof functions / sizeof *functions;
        while (f < count && strcmp(functions[f].name, name) != 0) {
            f++;
        }
        for (int i = 0; f < count && i < functions[f].arguments; i++) {
            if (scanf("%lf", &x[i]) != 1) {
                return 1;
            }
        }
        if (f == count || printf("%.17g\n", functions[f].call(x)) < 0) {
            return 1;
        }
    }
    return 0;
}
