#include "certainty/sensitivity.h"

#include <math.h>
#include <string.h>

double limit_deviation(const struct instrument *instrument, double limit)
{
    return instrument->distribution == DISTRIBUTION_NORMAL ? limit / 2.0 : limit / sqrt(3.0);
}

/* Degrees of freedom of a standard error. A record's is found from many block means, though they may be worth few
 * independent readings: it is never as poorly known as that of two or three. */
static double freedom_of(const struct channel_stats *stats)
{
    static const double record_least = 4.0;
    double readings = (double)stats->n - 1.0;
    return fmax(1.0, fmax(stats->effective_n - 1.0, fmin(readings, record_least)));
}

static double change(struct quantity moved, struct quantity before, double step)
{
    return moved.known && before.known ? (moved.value - before.value) / step : 0.0;
}

static double relative_change(struct quantity moved, struct quantity before, double step)
{
    return before.known && before.value != 0.0 ? change(moved, before, step) / before.value : 0.0;
}

/* Step of the difference quotient: the reading's own uncertainty, so that a root near zero is seen at its true size. */
static double step_of(const struct instrument *instrument, const struct reading_effect *effect, double reading)
{
    double step = instrument != NULL ? limit_deviation(instrument, fabs(effect->limit)) : 0.0;
    step = fmax(step, effect->standard_error);
    return step > 0.0 ? step : 1e-3 * fmax(fabs(reading), 1e-3);
}

static void move_reading(const struct chain *chain, size_t i, enum channel channel, double step,
                         struct reading_effect *effect)
{
    struct means means = chain->means[i];
    struct operating_point moved;
    means.value[channel] += step;
    reduce_point(chain->bay, chain->model, chain->site, &means, &moved, NULL);
    struct rated_point rated = translate_point(&moved, chain->model, chain->basis);
    const struct operating_point *point = &chain->as_tested[i];
    const struct rated_point *at_rated = &chain->at_rated[i];
    effect->density = change(moved.density_kg_m3, point->density_kg_m3, step);
    effect->relative[0] = relative_change(moved.flow_m3s, point->flow_m3s, step);
    effect->relative[1] = relative_change(moved.head_m, point->head_m, step);
    effect->relative[2] = relative_change(moved.input_power_w, point->input_power_w, step);
    effect->relative[3] = relative_change(moved.set_efficiency, point->set_efficiency, step);
    if (rated.translated && at_rated->translated) {
        effect->flow = change(rated.flow_m3s, at_rated->flow_m3s, step);
        effect->value[CURVE_HEAD] = change(rated.head_m, at_rated->head_m, step);
        effect->value[CURVE_INPUT_POWER] = change(rated.input_power_w, at_rated->input_power_w, step);
        effect->value[CURVE_CURRENT] = change(rated.current_a, at_rated->current_a, step);
        effect->value[CURVE_SHAFT_POWER] = change(rated.shaft_power_w, at_rated->shaft_power_w, step);
        effect->value[CURVE_DENSITY] = effect->density;
    }
}

static bool moves_something(const struct reading_effect *effect)
{
    bool moves = effect->flow != 0.0 || effect->density != 0.0;
    for (int k = 0; k < 4; k++) {
        moves = moves || effect->relative[k] != 0.0;
    }
    for (int k = 0; k < CURVE_COUNT; k++) {
        moves = moves || effect->value[k] != 0.0;
    }
    return moves;
}

static bool err_together(const struct instrument *a, const struct instrument *b, enum channel x, enum channel y)
{
    return a != NULL && b != NULL && a->serial[0] != '\0' && strcmp(a->serial, b->serial) == 0 &&
           channel_info(x)->dimension == channel_info(y)->dimension && a->distribution == b->distribution;
}

static void find_groups(struct sensitivity *sensitivity)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        enum channel first = (enum channel)c;
        for (int other = c - 1; other >= 0; other--) {
            if (sensitivity->used[other] && err_together(sensitivity->instrument[other], sensitivity->instrument[c],
                                                         (enum channel)other, (enum channel)c)) {
                first = (enum channel)other;
            }
        }
        sensitivity->first[c] = first;
    }
}

enum status sensitivity_find(const struct chain *chain, const struct settled *settled, struct sensitivity *sensitivity,
                             struct arena *scratch)
{
    *sensitivity = (struct sensitivity){.count = chain->count};
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        enum channel channel = (enum channel)c;
        if (channel == CH_TIME || channel == CH_POINT) {
            continue;
        }
        const struct instrument *instrument = bay_instrument(chain->bay, channel);
        double ratio = channel_ratio(&chain->bay->rig, channel);
        for (size_t i = 0; i < chain->count; i++) {
            if ((chain->means[i].present >> channel & 1U) == 0) {
                continue;
            }
            if (sensitivity->effect[c] == NULL) {
                sensitivity->effect[c] = arena_alloc(scratch, chain->count, sizeof *sensitivity->effect[c]);
                if (sensitivity->effect[c] == NULL) {
                    return E_MEMORY;
                }
            }
            struct reading_effect *effect = &sensitivity->effect[c][i];
            const struct channel_stats *stats = &settled->points[i].channels[c];
            double reading = chain->means[i].value[c];
            struct quantity limit = instrument_limit(instrument, reading, ratio);
            sensitivity->instrument[c] = limit.known ? instrument : NULL;
            bool turns = limit.known && instrument->basis == ACCURACY_OF_READING && reading < 0.0;
            effect->limit = turns ? -limit.value : quantity_or(limit, 0.0);
            effect->standard_error = stats->n > 1 ? stats->standard_error : 0.0;
            effect->freedom = freedom_of(stats);
            move_reading(chain, i, channel, step_of(sensitivity->instrument[c], effect, reading), effect);
            sensitivity->used[c] = sensitivity->used[c] || moves_something(effect);
        }
    }
    find_groups(sensitivity);
    return OK;
}
