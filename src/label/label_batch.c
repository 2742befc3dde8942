#include "label/label_batch.h"

#include "base/text.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>
#include <math.h>
#include <string.h>

static const double coverage = 0.95, confidence = 0.95;

/* --- statistics --- */

double label_represented(double mean, double deviation, size_t n, bool less_is_better, double *limit)
{
    double t = gsl_cdf_tdist_Pinv(confidence, (double)n - 1.0);
    double half_width = t * deviation / sqrt((double)n);
    *limit = less_is_better ? mean + half_width : mean - half_width;
    return less_is_better ? fmax(mean, *limit / 1.05) : fmin(mean, *limit / 0.95);
}

/* Density of s / sigma for nu degrees of freedom (chi distribution over sqrt(nu)). */
static double deviation_density(double r, double nu)
{
    if (r <= 0.0) {
        return nu == 1.0 ? sqrt(2.0 / 3.14159265358979323846) : 0.0;
    }
    double half = nu / 2.0;
    return exp(log(2.0) + half * log(half) - gsl_sf_lngamma(half) + (nu - 1.0) * log(r) - half * r * r);
}

/* P(mean - k s <= mu - z sigma), by Simpson's rule over s / sigma. */
static double chance_covered(double k, size_t n, double z)
{
    enum { STEPS = 2000 };
    double nu = (double)n - 1.0, width = 10.0 / sqrt(2.0 * nu);
    double low = fmax(0.0, 1.0 - width), high = 1.0 + width, h = (high - low) / STEPS, sum = 0.0;
    for (int i = 0; i <= STEPS; i++) {
        double r = low + h * i, weight = i == 0 || i == STEPS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;
        sum += weight * deviation_density(r, nu) * gsl_cdf_ugaussian_P(sqrt((double)n) * (k * r - z));
    }
    return sum * h / 3.0;
}

double tolerance_factor(size_t n, double share, double sureness)
{
    double z = gsl_cdf_ugaussian_Pinv(share), low = 0.0, high = 1000.0;
    for (int i = 0; i < 60; i++) {
        double middle = low + (high - low) / 2.0;
        *(chance_covered(middle, n, z) < sureness ? &low : &high) = middle;
    }
    return low + (high - low) / 2.0;
}

/* --- lines --- */

/* Seconds or, for want of a time of day, the day; the later in the list wins a tie. */
static bool later(const struct label_unit *a, const struct label_unit *b)
{
    if (!a->tested.known || !b->tested.known) {
        return true;
    }
    int days = date_compare_days(&a->tested, &b->tested);
    bool timed = days == 0 && a->tested.has_time && b->tested.has_time;
    return timed ? date_seconds(&a->tested) >= date_seconds(&b->tested) : days >= 0;
}

size_t label_batch_supersede(struct label_batch *batch)
{
    size_t superseded = 0;
    for (size_t i = 0; i < batch->unit_count; i++) {
        for (size_t k = 0; k < i && !batch->units[i].superseded; k++) {
            struct label_unit *unit = &batch->units[i], *other = &batch->units[k];
            if (other->superseded || strcmp(unit->serial, other->serial) != 0) {
                continue;
            }
            *(later(unit, other) ? &other->superseded : &unit->superseded) = true;
            superseded++;
        }
    }
    return superseded;
}

static bool counts(const struct label_unit *unit)
{
    return unit->model != NULL && unit->label.known && !unit->superseded;
}

static bool of_line(const struct label_line *line, const struct label_unit *unit)
{
    return line->model == unit->model && strcmp(line->typical->scheme, unit->label.scheme) == 0 &&
           line->typical->ladder.classes == unit->label.ladder.classes;
}

static enum status gather_lines(struct label_batch *batch, struct arena *arena)
{
    for (size_t i = 0; i < batch->unit_count; i++) {
        const struct label_unit *unit = &batch->units[i];
        struct label_line *line = NULL;
        for (size_t k = 0; k < batch->line_count && line == NULL && counts(unit); k++) {
            line = of_line(&batch->lines[k], unit) ? &batch->lines[k] : NULL;
        }
        if (!counts(unit)) {
            continue;
        }
        if (line == NULL) {
            line = arena_push(arena, &batch->lines, &batch->line_count, sizeof *line);
            if (line == NULL) {
                return E_MEMORY;
            }
            *line = (struct label_line){.model = unit->model, .typical = &unit->label};
        }
        size_t *number = arena_push(arena, &line->units, &line->count, sizeof *number);
        if (number == NULL) {
            return E_MEMORY;
        }
        *number = i;
    }
    return OK;
}

static enum status tally(const struct label_batch *batch, struct label_line *line, struct arena *arena)
{
    const struct label_ladder *ladder = &line->typical->ladder;
    line->tallies = arena_alloc(arena, ladder->count, sizeof *line->tallies);
    if (line->tallies == NULL) {
        return E_MEMORY;
    }
    line->tally_count = ladder->count;
    for (size_t c = 0; c < ladder->count; c++) {
        line->tallies[c].class_name = ladder->classes[c].name;
        line->tallies[c].edge = label_edge(&ladder->classes[c]);
    }
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &batch->units[line->units[i]];
        size_t held = label_rungs_held(ladder, unit->label.index.value);
        size_t changed = unit->changed.known ? label_rungs_held(ladder, unit->changed.index.value) : 0;
        for (size_t c = 0; c < ladder->count; c++) {
            line->tallies[c].earn += c + 1 == held;
            line->tallies[c].hold += c < held;
            line->tallies[c].changed_hold += c < changed;
        }
        line->none += held == 0;
        line->changed_none += changed == 0;
        line->undecided += unit->label.undecided;
    }
    return OK;
}

static void find_mean(const struct label_batch *batch, struct label_line *line)
{
    double sum = 0.0, efficiency = 0.0, changed = 0.0, squares = 0.0, n = (double)line->count;
    size_t changed_count = 0;
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &batch->units[line->units[i]];
        sum += unit->label.index.value;
        efficiency += unit->label.measured.value;
        changed += unit->changed.known ? unit->changed.index.value : 0.0;
        changed_count += unit->changed.known;
    }
    for (size_t i = 0; i < line->count; i++) {
        double off = batch->units[line->units[i]].label.index.value - sum / n;
        squares += off * off;
    }
    line->mean = quantity_of(sum / n);
    line->mean_efficiency = quantity_of(efficiency / n);
    line->deviation = line->count >= 2 ? quantity_of(sqrt(squares / (n - 1.0))) : quantity_absent();
    line->changed_mean = changed_count == line->count ? quantity_of(changed / n) : quantity_absent();
}

/* Efficiency per index, on the average of the units: exact where the two are proportional or linear. */
static double mean_slope(const struct label_batch *batch, const struct label_line *line)
{
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < line->count; i++) {
        const struct label_result *label = &batch->units[line->units[i]].label;
        const struct label_margin *to = label->next.class_name != NULL ? &label->next : &label->here;
        double index = to->index.value - label->index.value;
        if (fabs(index) > 1e-9) {
            sum += (to->efficiency.value - label->measured.value) / index;
            n += 1.0;
        }
    }
    return sum / n; /* NaN, so absent, where no unit tells */
}

static void find_line(const struct label_batch *batch, struct label_line *line)
{
    const struct label_ladder *ladder = &line->typical->ladder;
    size_t held = label_rungs_held(ladder, line->mean.value);
    line->mean_class = held == 0 ? "none" : ladder->classes[held - 1].name;
    line->next_class = held < ladder->count ? ladder->classes[held].name : NULL;
    if (!line->deviation.known) {
        return;
    }
    bool less = line->typical->less_is_better;
    double limit, value = label_represented(line->mean.value, line->deviation.value, line->count, less, &limit);
    size_t represented = label_rungs_held(ladder, value);
    line->represented = quantity_of(value);
    line->confidence_limit = quantity_of(limit);
    line->represented_class = represented == 0 ? "none" : ladder->classes[represented - 1].name;
    if (line->next_class == NULL) {
        return;
    }
    double k = tolerance_factor(line->count, coverage, confidence), margin = k * line->deviation.value;
    double edge = label_edge(&ladder->classes[held]);
    line->tolerance_factor = quantity_of(k);
    line->line_index = quantity_of(less ? edge - margin : edge + margin);
    line->line_missing = quantity_of((line->line_index.value - line->mean.value) * mean_slope(batch, line));
    line->line_efficiency = line->line_missing.known
                                ? quantity_of(line->mean_efficiency.value + line->line_missing.value)
                                : quantity_absent();
}

enum status label_batch_find(struct label_batch *batch, struct arena *arena)
{
    batch->line_count = 0;
    batch->lines = NULL;
    if (gather_lines(batch, arena) != OK) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < batch->line_count; i++) {
        if (tally(batch, &batch->lines[i], arena) != OK) {
            return E_MEMORY;
        }
        find_mean(batch, &batch->lines[i]);
        find_line(batch, &batch->lines[i]);
    }
    return OK;
}
