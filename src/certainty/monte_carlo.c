/* Monte Carlo of a whole test (JCGM 101:2008, clause 7): every trial draws each instrument's error once and the scatter
 * of each point's readings by itself, and goes through reduction, translation, fit and judgement. */
#include "certainty/monte_carlo.h"

#include "certainty/sensitivity.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <gsl/gsl_sort.h>
#include <math.h>

/* The trial under way: a chain of its own, and what was seen so far. */
struct trials {
    const struct chain *measured;
    bool scatter_by_residual;
    struct sensitivity sensitivity; /* for limits, standard errors and degrees of freedom */
    struct chain chain;
    gsl_rng *rng;
    double *head_m, *efficiency; /* seen, at the first duty's guaranteed flow */
    size_t seen, judged, passed;
};

/* One instrument's error in units of its limit: the same at all points. */
static double draw_limit(gsl_rng *rng, const struct instrument *instrument)
{
    return instrument->distribution == DISTRIBUTION_NORMAL ? 0.5 * gsl_ran_gaussian_ziggurat(rng, 1.0)
                                                           : gsl_ran_flat(rng, -1.0, 1.0);
}

static void move_readings(struct trials *trials)
{
    struct chain *chain = &trials->chain;
    for (size_t i = 0; i < chain->count; i++) {
        chain->means[i] = trials->measured->means[i];
    }
    double common[CHANNEL_COUNT] = {0};
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct reading_effect *effects = trials->sensitivity.effect[c];
        const struct instrument *instrument = trials->sensitivity.instrument[c];
        if (effects == NULL) {
            continue;
        }
        enum channel first = trials->sensitivity.first[c];
        common[c] = (int)first < c ? common[first] : instrument != NULL ? draw_limit(trials->rng, instrument) : 0.0;
        for (size_t i = 0; i < chain->count; i++) {
            double own = 0.0;
            if (!trials->scatter_by_residual && effects[i].standard_error > 0.0) {
                own = gsl_ran_tdist(trials->rng, effects[i].freedom) * effects[i].standard_error;
            }
            chain->means[i].value[c] += common[c] * effects[i].limit + own;
        }
    }
}

/* Scatter of the points about the measured curves, where the readings do not explain it. */
static enum status move_points(struct trials *trials)
{
    struct chain *chain = &trials->chain;
    const struct curves *curves = &trials->measured->curves;
    for (size_t i = 0; i < chain->count; i++) {
        struct rated_point *rated = &chain->at_rated[i];
        struct quantity *const values[] = {&rated->head_m, &rated->input_power_w, &rated->current_a,
                                           &rated->shaft_power_w, &chain->as_tested[i].density_kg_m3};
        for (int k = 0; k < CURVE_COUNT; k++) {
            if (curves->of[k].known && values[k]->known) {
                values[k]->value += curves->of[k].residual * gsl_ran_tdist(trials->rng, (double)curves->of[k].freedom);
            }
        }
    }
    return chain_fit(chain);
}

static enum status run_one(struct trials *trials)
{
    const struct model *model = trials->measured->model;
    move_readings(trials);
    if (chain_run(&trials->chain) != OK || (trials->scatter_by_residual && move_points(trials) != OK)) {
        return E_MEMORY;
    }
    enum verdict verdict = VERDICT_PASS;
    for (size_t d = 0; d < model->duty_count; d++) {
        struct duty_result duty = judge_duty(model, &model->duties[d], &trials->chain.curves, NULL);
        verdict = verdict_worse(verdict, duty.verdict);
        if (d == 0 && duty.at_guaranteed_flow.head_m.known && duty.at_guaranteed_flow.set_efficiency.known) {
            trials->head_m[trials->seen] = duty.at_guaranteed_flow.head_m.value;
            trials->efficiency[trials->seen] = duty.at_guaranteed_flow.set_efficiency.value;
            trials->seen++;
        }
    }
    trials->judged += verdict != VERDICT_NOT_JUDGED ? 1 : 0;
    trials->passed += verdict == VERDICT_PASS ? 1 : 0;
    return OK;
}

/* Half the width of the shortest interval that holds 95 % of the values (JCGM 101:2008, 5.3.4). Sorts them. */
static struct quantity shortest_interval(double *value, size_t count)
{
    size_t inside = (size_t)(0.95 * (double)count + 0.5);
    if (count < 20) {
        return quantity_absent();
    }
    gsl_sort(value, 1, count);
    double shortest = INFINITY;
    for (size_t i = 0; i + inside < count; i++) {
        shortest = fmin(shortest, value[i + inside] - value[i]);
    }
    return quantity_of(0.5 * shortest);
}

static enum status run_all(struct trials *trials, size_t count)
{
    enum status status = OK;
    for (size_t t = 0; t < count && status == OK; t++) {
        status = run_one(trials);
    }
    return status;
}

/* A chain like the measured one, whose degrees stay as they were chosen. */
static enum status copy_chain(const struct chain *chain, struct arena *arena, struct chain *moved)
{
    if (chain_init(moved, arena, chain->count) != OK) {
        return E_MEMORY;
    }
    moved->bay = chain->bay;
    moved->model = chain->model;
    moved->site = chain->site;
    moved->basis = chain->basis;
    for (int k = 0; k < CURVE_COUNT; k++) {
        moved->degree[k] = chain->curves.of[k].degree;
    }
    for (size_t i = 0; i < chain->count; i++) {
        moved->usable[i] = chain->usable[i];
    }
    return OK;
}

enum status monte_carlo_run(const struct certainty_input *input, bool scatter_by_residual, size_t count,
                            struct arena *arena, struct monte_carlo *out)
{
    struct trials trials = {.measured = input->chain, .scatter_by_residual = scatter_by_residual};
    if (copy_chain(input->chain, arena, &trials.chain) != OK ||
        sensitivity_find(input->chain, input->settled, &trials.sensitivity, arena) != OK) {
        return E_MEMORY;
    }
    trials.head_m = arena_alloc(arena, count, sizeof *trials.head_m);
    trials.efficiency = arena_alloc(arena, count, sizeof *trials.efficiency);
    trials.rng = gsl_rng_alloc(gsl_rng_mt19937);
    enum status status = trials.head_m != NULL && trials.efficiency != NULL && trials.rng != NULL ? OK : E_MEMORY;
    if (status == OK) {
        gsl_rng_set(trials.rng, input->seed);
        status = run_all(&trials, count);
    }
    gsl_rng_free(trials.rng);
    if (status == OK) {
        *out = (struct monte_carlo){.trials = count,
                                    .head_m = shortest_interval(trials.head_m, trials.seen),
                                    .set_efficiency = shortest_interval(trials.efficiency, trials.seen)};
        if (trials.judged > 0) {
            out->conformance_probability = quantity_of((double)trials.passed / (double)trials.judged);
        }
    }
    return status;
}
