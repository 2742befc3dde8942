#include "causes/learn.h"

#include <gsl/gsl_eigen.h>
#include <gsl/gsl_sort.h>
#include <math.h>
#include <stdlib.h>

enum { NODES = 6, ROWS = CURVES * NODES };

static const double pi = 3.14159265358979323846;

/* What units of ten must cover. */
static const double covered_by = 0.9;

/* Share of the common flows by which a curve is drawn out at an end that it does not quite reach. */
static const double drawn_out = 0.06;

/* One unit's values at the nodes, curve by curve. */
struct unit_row {
    double value[ROWS];
};

struct flow_limits {
    double low, high;
};

static bool known(const struct good_curves *unit, size_t curve)
{
    return unit->of[curve] != NULL && unit->of[curve]->known;
}

/* Lowest and highest flow that enough of the units cover. ends is room for count numbers. */
static struct flow_limits common_flows(const struct good_curves *units, size_t count, double *ends)
{
    struct flow_limits limits;
    size_t beyond = (size_t)((1.0 - covered_by) * (double)count);
    for (size_t i = 0; i < count; i++) {
        ends[i] = units[i].of[GOOD_HEAD]->flow_low_m3s;
    }
    gsl_sort(ends, 1, count);
    limits.low = fmax(0.0, ends[count - 1 - beyond]);
    for (size_t i = 0; i < count; i++) {
        ends[i] = units[i].of[GOOD_HEAD]->flow_high_m3s;
    }
    gsl_sort(ends, 1, count);
    limits.high = ends[beyond];
    return limits;
}

static bool covers(const struct good_curves *unit, const struct flow_limits *limits)
{
    const struct curve *head = unit->of[GOOD_HEAD];
    double beyond = drawn_out * (limits->high - limits->low);
    return head->flow_low_m3s <= limits->low + beyond && head->flow_high_m3s >= limits->high - beyond;
}

/* Nodes close together at both ends, where a polynomial through even ones would swing. */
static void place_nodes(const struct flow_limits *limits, struct reference_curves *learned)
{
    learned->node_count = NODES;
    for (size_t i = 0; i < NODES; i++) {
        double at = 0.5 - 0.5 * cos(pi * (double)i / (double)(NODES - 1));
        learned->flow_m3s[i] = limits->low + at * (limits->high - limits->low);
    }
}

/* Takes the units that cover the limits. Returns: how many. */
static size_t take_units(const struct good_curves *units, size_t count, const struct flow_limits *limits,
                         struct reference_curves *learned, struct unit_row *rows)
{
    size_t taken = 0;
    for (size_t c = 0; c < CURVES; c++) {
        learned->known[c] = true;
    }
    for (size_t i = 0; i < count; i++) {
        for (size_t c = 0; c < CURVES && covers(&units[i], limits); c++) {
            learned->known[c] = learned->known[c] && known(&units[i], c);
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (covers(&units[i], limits)) {
            for (size_t k = 0; k < ROWS; k++) {
                size_t c = k / NODES;
                rows[taken].value[k] = learned->known[c] ? curve_at(units[i].of[c], learned->flow_m3s[k % NODES]) : 0.0;
            }
            taken++;
        }
    }
    return taken;
}

static void take_mean(const struct unit_row *rows, size_t count, struct reference_curves *learned)
{
    for (size_t k = 0; k < ROWS; k++) {
        double sum = 0.0;
        for (size_t i = 0; i < count; i++) {
            sum += rows[i].value[k];
        }
        learned->mean.of[k / NODES][k % NODES] = sum / (double)count;
    }
    learned->units = (double)count;
}

/* Greatest mean of a curve: components are of shares of it, so that watts do not outweigh metres. */
static double size_of(const struct reference_curves *learned, size_t curve)
{
    double greatest = 0.0;
    for (size_t i = 0; i < NODES; i++) {
        greatest = fmax(greatest, fabs(learned->mean.of[curve][i]));
    }
    return greatest > 0.0 ? greatest : 1.0;
}

static void fill_covariance(const struct unit_row *rows, size_t count, const struct reference_curves *learned,
                            gsl_matrix *covariance)
{
    for (size_t a = 0; a < ROWS; a++) {
        for (size_t b = 0; b < ROWS; b++) {
            double sum = 0.0, mean_a = learned->mean.of[a / NODES][a % NODES],
                   mean_b = learned->mean.of[b / NODES][b % NODES];
            for (size_t i = 0; i < count; i++) {
                sum += (rows[i].value[a] - mean_a) * (rows[i].value[b] - mean_b);
            }
            double scale = size_of(learned, a / NODES) * size_of(learned, b / NODES);
            gsl_matrix_set(covariance, a, b, sum / (double)(count - 1) / scale);
        }
    }
}

static void take_components(const gsl_vector *values, const gsl_matrix *vectors, struct reference_curves *learned)
{
    size_t freedom = (size_t)learned->units - 1;
    learned->spread_count = freedom < REFERENCE_SPREADS_MAX ? freedom : REFERENCE_SPREADS_MAX;
    for (size_t s = 0; s < learned->spread_count; s++) {
        double deviation = sqrt(fmax(gsl_vector_get(values, s), 0.0));
        double sign = gsl_matrix_get(vectors, 0, s) < 0.0 ? -1.0 : 1.0; /* the same file from the same units */
        for (size_t k = 0; k < ROWS; k++) {
            learned->spread[s].of[k / NODES][k % NODES] =
                sign * deviation * gsl_matrix_get(vectors, k, s) * size_of(learned, k / NODES);
        }
    }
}

static bool find_components(const struct unit_row *rows, size_t count, struct reference_curves *learned)
{
    gsl_matrix *covariance = gsl_matrix_alloc(ROWS, ROWS), *vectors = gsl_matrix_alloc(ROWS, ROWS);
    gsl_vector *values = gsl_vector_alloc(ROWS);
    gsl_eigen_symmv_workspace *work = gsl_eigen_symmv_alloc(ROWS);
    bool good = covariance != NULL && vectors != NULL && values != NULL && work != NULL;
    if (good) {
        fill_covariance(rows, count, learned, covariance);
        good = gsl_eigen_symmv(covariance, values, vectors, work) == 0 &&
               gsl_eigen_symmv_sort(values, vectors, GSL_EIGEN_SORT_VAL_DESC) == 0;
    }
    if (good) {
        take_components(values, vectors, learned);
    }
    gsl_eigen_symmv_free(work);
    gsl_vector_free(values);
    gsl_matrix_free(vectors);
    gsl_matrix_free(covariance);
    return good;
}

static enum status learn(const struct good_curves *units, size_t count, struct unit_row *rows, double *ends,
                         struct reference_curves *learned, struct faults *faults)
{
    struct flow_limits limits = common_flows(units, count, ends);
    size_t taken = 0;
    if (limits.low < limits.high) {
        place_nodes(&limits, learned);
        taken = take_units(units, count, &limits, learned, rows);
    }
    if (taken < 2) {
        return faults_add(
            faults, E_INPUT, (struct place){0},
            "the flows of %zu units have too little in common, expected at least two units over one range", count);
    }
    take_mean(rows, taken, learned);
    return find_components(rows, taken, learned) ? OK : faults_memory(faults);
}

enum status reference_learn(const struct good_curves *units, size_t count, struct reference_curves *learned,
                            struct faults *faults)
{
    *learned = (struct reference_curves){.model = ""};
    for (size_t i = 0; i < count; i++) {
        if (!known(&units[i], GOOD_HEAD)) {
            return faults_add(faults, E_INPUT, (struct place){0}, "a unit has no head curve, expected one of each");
        }
    }
    if (count < 2) {
        return faults_add(faults, E_INPUT, (struct place){0}, "%zu good unit%s, expected at least two", count,
                          count == 1 ? "" : "s");
    }
    struct unit_row *rows = calloc(count, sizeof *rows);
    double *ends = calloc(count, sizeof *ends);
    enum status status =
        rows == NULL || ends == NULL ? faults_memory(faults) : learn(units, count, rows, ends, learned, faults);
    free(ends);
    free(rows);
    return status;
}
