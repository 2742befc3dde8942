/* causes_probe - asks the library for the causes of made tests, for the outside check causes.py
 *
 * Reads words from standard input; numbers in SI units, "-" where a quantity was not measured:
 *   learn UNITS, then of each unit POINTS and so many "flow head power current"     the reference from good units
 *   guarantee FLOW HEAD POWER CURRENT                                               the reference from the guarantee
 * alone set STAGES BEST_FLOW NO_LOAD SLIP SPEED_MEASURED                                of the set, after its reference
 *   instruments FLOW HEAD POWER CURRENT OFFSET                                      deviations
 *   case UNITS VOLTAGE POINTS, then "flow deviation head deviation power deviation current deviation" of each point
 *   stand-out CAUSE_NUMBER SEVERITY                                                 of the last case
 *   bench TIMES                                                                     the last case again, processor
 * seconds each A case answers "outcome healthy" and, for each cause found, "cause;probability;severity;twin,twin".
 */
#include "causes/causes.h"
#include "causes/learn.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { POINTS_MAX = 64, WORD = 64 };

static void stop(const char *why)
{
    fprintf(stderr, "causes_probe: %s\n", why);
    exit(EXIT_FAILURE);
}

static struct quantity read_quantity(void)
{
    char word[WORD];
    if (scanf("%63s", word) != 1) {
        stop("a number is missing");
    }
    return strcmp(word, "-") == 0 ? quantity_absent() : quantity_of(strtod(word, NULL));
}

static double read_number(void)
{
    return quantity_or(read_quantity(), 0.0);
}

struct points {
    size_t count;
    double flow[POINTS_MAX], value[CURVES][POINTS_MAX];
    bool read[CURVES];
};

static void read_points(struct points *points)
{
    points->count = (size_t)read_number();
    if (points->count > POINTS_MAX) {
        stop("too many points");
    }
    for (size_t i = 0; i < points->count; i++) {
        points->flow[i] = read_number();
        for (size_t c = 0; c < CURVES; c++) {
            struct quantity q = read_quantity();
            points->value[c][i] = q.value;
            points->read[c] = q.known;
        }
    }
}

static void learn(struct model_reference *reference)
{
    size_t count = (size_t)read_number();
    struct curve *curves = calloc(count * CURVES, sizeof *curves);
    struct good_curves *units = calloc(count, sizeof *units);
    static struct faults faults;
    if (curves == NULL || units == NULL) {
        stop("out of memory");
    }
    for (size_t i = 0; i < count; i++) {
        struct points points;
        read_points(&points);
        for (size_t c = 0; c < CURVES; c++) {
            units[i].of[c] = &curves[i * CURVES + c];
            if (points.read[c]) {
                (void)fit_curve(points.flow, points.value[c], points.count, 0, &curves[i * CURVES + c]);
            }
        }
    }
    if (reference_learn(units, count, &reference->curves, &faults) != OK) {
        stop(faults.text[0]);
    }
    free(units);
    free(curves);
}

static const char *const outcomes[] = {"not-asked", "healthy", "few-units", "named", "none-known"};

static void print_name(const char *name)
{
    for (; *name != '\0'; name++) {
        putchar(*name == ' ' ? '-' : *name);
    }
}

static void print_result(const struct causes_result *result)
{
    printf("%s %.6g", outcomes[result->outcome], result->healthy);
    for (size_t i = 0; i < result->found_count; i++) {
        const struct cause_found *found = &result->found[i];
        printf(" ");
        print_name(found->row->name);
        printf(";%.6g;%.6g;", found->probability, found->severity.value);
        for (size_t k = 0; k < found->twin_count; k++) {
            printf(k > 0 ? "," : "");
            print_name(found->twins[k]->name);
        }
    }
    printf("\n");
}

static struct causes_reading readings[POINTS_MAX];

static void read_case(struct causes_case *of)
{
    of->units = read_number();
    of->voltage = read_quantity();
    of->reading_count = (size_t)read_number();
    if (of->reading_count > POINTS_MAX) {
        stop("too many points");
    }
    for (size_t i = 0; i < of->reading_count; i++) {
        readings[i].flow_m3s = read_number();
        readings[i].flow_deviation_m3s = read_number();
        for (size_t c = 0; c < CURVES; c++) {
            readings[i].of[c] = read_quantity();
            readings[i].deviation[c] = read_number();
        }
    }
}

static double seconds(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static void bench(const struct causes_case *of, const struct cause_table *causes)
{
    size_t times = (size_t)read_number();
    struct causes_result result;
    double from = seconds();
    for (size_t i = 0; i < times; i++) {
        causes_find(of, causes, &result);
    }
    printf("%.3g\n", (seconds() - from) / (double)times);
}

static void read_guarantee(struct model_reference *reference)
{
    struct guarantee guarantee = {.flow_m3s = read_number(), .head_m = read_number()};
    guarantee.input_power_w = read_quantity();
    guarantee.current_a = read_quantity();
    *reference = reference_of_guarantee(&guarantee);
}

static void read_set(struct model_reference *reference)
{
    reference->stages = read_quantity();
    reference->best_flow_m3s = read_number();
    reference->no_load_w = read_number();
    reference->slip = read_number();
    reference->speed_measured = read_number() > 0.0;
}

int main(void)
{
    static struct cause_table causes;
    static struct faults faults;
    struct arena arena = {0};
    struct notes notes = {0};
    struct model_reference reference = {0};
    struct causes_case of = {.reference = &reference, .readings = readings};
    struct causes_result result;
    char word[WORD];
    gsl_set_error_handler_off();
    if (cause_table_read(NULL, &arena, &causes, &notes, &faults) != OK) {
        stop(faults.text[0]);
    }
    while (scanf("%63s", word) == 1) {
        if (strcmp(word, "learn") == 0) {
            learn(&reference);
        } else if (strcmp(word, "guarantee") == 0) {
            read_guarantee(&reference);
        } else if (strcmp(word, "set") == 0) {
            read_set(&reference);
        } else if (strcmp(word, "instruments") == 0) {
            of.instruments.flow = read_number();
            for (size_t c = 0; c < CURVES; c++) {
                of.instruments.of[c] = read_number();
            }
            of.instruments.head_offset_m = read_number();
        } else if (strcmp(word, "case") == 0) {
            read_case(&of);
            causes_find(&of, &causes, &result);
            print_result(&result);
        } else if (strcmp(word, "stand-out") == 0) {
            size_t row = (size_t)read_number();
            printf("%.4g\n", causes_stand_out(&of, &causes.rows[row], read_number()));
        } else if (strcmp(word, "bench") == 0) {
            bench(&of, &causes);
        } else {
            stop("a word that is not known");
        }
    }
    arena_release(&arena);
    return EXIT_SUCCESS;
}
