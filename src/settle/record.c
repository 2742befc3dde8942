/* From the blocks that pass the test for steady state to points: stretches are extended to the ramps, checked as a
 * whole, and joined where they are one setting; settings that were held without settling are told from ramps.
 * reference/steady-state.md holds the method.
 */
#include "settle/record.h"

#include "settle/steady.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

/* Shares are of the channel's largest reading. */
#define SLOPE_LEVEL      0.995 /* Student t, two-sided 1 % */
#define DRIFT_OF_STRETCH 0.01  /* over a whole stretch */
/* The slow part of a stretch, as a drift: a hunting of +-3.3 %; ISO 9906:2012 grade 2 permits flow +-3 % (from memory).
 */
#define SWING_OF_STRETCH 0.08
#define SAME_SETTING     0.01 /* two stretches nearer than this are one setting */
#define NEAR_SETTING     0.04 /* an unsteady stretch so near a steady one is its settling */
#define DWELL_BAND       0.15 /* a setting that does not settle stays within this band ... */
#define DWELL_TIMES      1.5  /* ... for so many times the shortest stretch, and */
#define DWELL_RAMP       0.8  /* does not cross so much of the band from end to end, for then it is a ramp */
#define RUNNING_SHARE    0.10 /* of the largest power: below it the set is off */
#define EDGE_DEVIATIONS  2.5  /* a block at an edge further off than this belongs to the ramp */
#define CHANCE_ERRORS                                                                                                  \
    3.3 /* a difference of so many standard errors is chance (normal, two-sided 1 % over a dozen stretches) */

enum { SERIES_MAX = 512, SERIES_MIN = 4 };

struct search {
    struct steady test;
    struct arena *arena;
    struct findings *out;
};

/* --- stretches --- */

static double duration_s(const struct search *s, struct run run)
{
    const struct block *from = blocks_head(s->test.blocks, run.first), *to = blocks_head(s->test.blocks, run.end - 1);
    return fmax(to->to_s - from->from_s, to->from_s - from->from_s + s->test.spacing_s);
}

static bool long_enough(const struct search *s, struct run run, double least_s)
{
    return run.end > run.first && duration_s(s, run) >= least_s * (1.0 - 1e-6) - s->test.spacing_s;
}

/* A tested channel's level over a run, and how far a block of it may lie off. */
struct level {
    double mean, limit;
};

/* Mean and deviation of a channel's block means. */
static void level_of(const struct blocks *blocks, struct run run, enum channel channel, double *mean, double *deviation)
{
    struct tally all = {0};
    for (size_t i = run.first; i < run.end; i++) {
        struct tally tally = blocks_tally(blocks, i, channel);
        struct tally one = {.mean = tally.mean, .low = tally.mean, .high = tally.mean, .n = 1};
        if (tally.n > 0) {
            tally_add(&all, &one);
        }
    }
    *mean = all.mean;
    *deviation = all.n > 1 ? sqrt(all.m2 / (all.n - 1.0)) : 0.0;
}

/* Whether a block is at the level of a run. */
static bool is_at_level(const struct search *s, size_t index, const struct level *levels)
{
    for (size_t c = 0; c < s->test.tested_count; c++) {
        struct tally tally = blocks_tally(s->test.blocks, index, s->test.tested[c].channel);
        if (tally.n == 0 || !(fabs(tally.mean - levels[c].mean) <= levels[c].limit)) {
            return false;
        }
    }
    return true;
}

/* Extends a run by up to most blocks at either end, as long as they are at its level. */
static struct run extend(const struct search *s, struct run core, size_t most)
{
    struct level levels[TESTED_MAX];
    for (size_t c = 0; c < s->test.tested_count; c++) {
        double deviation;
        level_of(s->test.blocks, core, s->test.tested[c].channel, &levels[c].mean, &deviation);
        levels[c].limit = fmax(EDGE_DEVIATIONS * deviation, 0.5 * DRIFT_THAT_MATTERS * s->test.tested[c].scale);
    }
    struct run run = core;
    while (run.first > 0 && core.first - run.first < most && is_at_level(s, run.first - 1, levels)) {
        run.first--;
    }
    while (run.end < s->test.blocks->count && run.end - core.end < most && is_at_level(s, run.end, levels)) {
        run.end++;
    }
    return run;
}

/* Group means of a run with their times, at most SERIES_MAX of them. */
struct series {
    size_t count;
    double time_s[SERIES_MAX], mean[SERIES_MAX];
};

static void series_of(const struct blocks *blocks, struct run run, size_t group, enum channel channel,
                      struct series *series)
{
    size_t length = run.end - run.first;
    if (length > group * SERIES_MAX) {
        group = (length + SERIES_MAX - 1) / SERIES_MAX;
    }
    series->count = 0;
    for (size_t first = run.first; first + group <= run.end; first += group) {
        struct tally sum = {0};
        for (size_t i = first; i < first + group; i++) {
            struct tally tally = blocks_tally(blocks, i, channel);
            tally_add(&sum, &tally);
        }
        if (sum.n > 0) {
            series->time_s[series->count] = blocks_head(blocks, first)->from_s;
            series->mean[series->count++] = sum.mean;
        }
    }
}

static double mean_of_doubles(const double *x, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += x[i];
    }
    return count == 0 ? 0.0 : sum / (double)count;
}

/* What a channel drifts over a run, beyond doubt: the fitted change when a t-test of the slope, its freedom reduced for
 * the residuals' autocorrelation, rejects a constant level at 1 %; else 0. */
static double run_drift(const struct blocks *blocks, struct run run, size_t group, enum channel channel)
{
    struct series series;
    series_of(blocks, run, group, channel, &series);
    double t_mean = mean_of_doubles(series.time_s, series.count), x_mean = mean_of_doubles(series.mean, series.count);
    double t_squares = 0.0, products = 0.0, squares = 0.0, neighbours = 0.0, last = 0.0;
    for (size_t i = 0; i < series.count; i++) {
        t_squares += (series.time_s[i] - t_mean) * (series.time_s[i] - t_mean);
        products += (series.time_s[i] - t_mean) * (series.mean[i] - x_mean);
    }
    if (series.count < SERIES_MIN || !(t_squares > 0.0)) {
        return 0.0;
    }
    double slope = products / t_squares;
    for (size_t i = 0; i < series.count; i++) {
        double residual = series.mean[i] - x_mean - slope * (series.time_s[i] - t_mean);
        squares += residual * residual;
        neighbours += residual * last;
        last = residual;
    }
    /* residuals that follow their neighbours are worth fewer: n (1 - r) / (1 + r), Santer et al., J. Geophys. Res. 105
     * (2000) 7337 */
    double r = squares > 0.0 ? fmin(fmax(neighbours / squares, 0.0), 1.0) : 0.0;
    double freedom = fmax((double)series.count * (1.0 - r) / (1.0 + r) - 2.0, 1.0);
    double error = sqrt(squares / freedom / t_squares);
    double length_s = blocks_head(blocks, run.end - 1)->to_s - blocks_head(blocks, run.first)->from_s;
    return fabs(slope) > gsl_cdf_tdist_Pinv(SLOPE_LEVEL, freedom) * error ? slope * length_s : 0.0;
}

/* The tested channel that drifts most over a run, as a share of what is allowed. */
static double worst_drift(const struct search *s, struct run run, size_t group, enum channel *channel)
{
    double worst = 0.0;
    for (size_t i = 0; i < s->test.tested_count; i++) {
        double share = fabs(run_drift(s->test.blocks, run, group, s->test.tested[i].channel)) /
                       (DRIFT_OF_STRETCH * s->test.tested[i].scale);
        if (share > worst) {
            worst = share;
            *channel = s->test.tested[i].channel;
        }
    }
    return worst;
}

/* Whether the set runs: its power (anything, where no power was logged) is no small part of the largest of the record.
 */
static bool is_running(const struct search *s, struct run run)
{
    double power = 0.0, scale = 0.0;
    bool alive = false;
    for (size_t i = 0; i < s->test.tested_count; i++) {
        const struct tested *tested = &s->test.tested[i];
        double mean, deviation;
        level_of(s->test.blocks, run, tested->channel, &mean, &deviation);
        alive = alive || fabs(mean) > RUNNING_SHARE * tested->scale;
        if (tested->channel >= CH_CURRENT) { /* of two wattmeters one may read near 0 */
            power += fabs(mean);
            scale = fmax(scale, tested->scale);
        }
    }
    return scale > 0.0 ? power > RUNNING_SHARE * scale : alive;
}

/* Whether two runs lie within share of each other in every tested channel, or within so many standard errors. */
static bool same_level(const struct search *s, struct run a, struct run b, double share, double errors)
{
    for (size_t i = 0; i < s->test.tested_count; i++) {
        const struct tested *tested = &s->test.tested[i];
        struct memory_sums sums = {0};
        memory_add(&sums, s->test.blocks, &a, 1, tested->channel);
        memory_add(&sums, s->test.blocks, &b, 1, tested->channel);
        double memory = memory_of(&sums);
        struct channel_stats of_a = channel_stats_of(s->test.blocks, &a, 1, true, memory, tested->channel);
        struct channel_stats of_b = channel_stats_of(s->test.blocks, &b, 1, true, memory, tested->channel);
        double chance = errors * hypot(of_a.standard_error, of_b.standard_error);
        if (!(fabs(of_a.mean - of_b.mean) <= fmax(share * tested->scale, chance))) {
            return false;
        }
    }
    return true;
}

static enum status add_found(struct search *s, struct run run, const char *why)
{
    struct found *found = arena_push(s->arena, &s->out->items, &s->out->count, sizeof *found);
    if (found == NULL) {
        return E_MEMORY;
    }
    *found = (struct found){.run = run, .steady = why == NULL, .why_unsteady = why};
    return OK;
}

/* The tested channel that swings most over a run, faster than a drift and slower than a block, as a share of what is
 * allowed. */
static double worst_swing(const struct search *s, struct run run, enum channel *channel)
{
    double worst = 0.0;
    for (size_t i = 0; i < s->test.tested_count; i++) {
        struct series series;
        double c, swing;
        series_of(s->test.blocks, run, 1, s->test.tested[i].channel, &series);
        slow_part(series.mean, series.count, &c, &swing);
        if (swing / (SWING_OF_STRETCH * s->test.tested[i].scale) > worst) {
            worst = swing / (SWING_OF_STRETCH * s->test.tested[i].scale);
            *channel = s->test.tested[i].channel;
        }
    }
    return worst;
}

/* Whether a run lasts as long as a steady stretch must, in groups enough to show a drift. */
static bool is_testable(const struct search *s, struct run run)
{
    return run.end - run.first >= SERIES_MIN * s->test.group && long_enough(s, run, s->test.shortest_s);
}

/* Shortens a stretch from its front, where it may still settle, until nothing drifts or swings. Returns: false when too
 * little is left. */
static bool settle_run(const struct search *s, struct run *run)
{
    enum channel channel;
    while (is_testable(s, *run)) {
        if (worst_drift(s, *run, s->test.group, &channel) <= 1.0 && worst_swing(s, *run, &channel) <= 1.0) {
            return true;
        }
        run->first += (run->end - run->first) / 4 + 1;
    }
    return false;
}

/* The stretches of marked blocks, trimmed, long enough, with the set running. */
static enum status find_steady(struct search *s)
{
    for (size_t first = 0, end; first < s->test.blocks->count; first = end) {
        end = first + 1;
        if (!s->test.marks[first]) {
            continue;
        }
        while (end < s->test.blocks->count && s->test.marks[end]) {
            end++;
        }
        struct run run = extend(s, (struct run){first, end}, EDGE_GROUPS * s->test.group);
        struct run inner = {run.first + 1, run.end - 1}; /* a ramp may begin within a block */
        if (is_testable(s, inner)) {
            run = inner;
        }
        if (is_running(s, run) && settle_run(s, &run) && add_found(s, run, NULL) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

/* --- settings that never settle --- */

/* How far from first the tested channels stay within the band. */
static size_t dwell_end(const struct search *s, size_t first, size_t limit)
{
    size_t end = limit;
    for (size_t c = 0; c < s->test.tested_count; c++) {
        double low = INFINITY, high = -INFINITY;
        for (size_t i = first; i < end; i++) {
            double mean = blocks_tally(s->test.blocks, i, s->test.tested[c].channel).mean;
            low = fmin(low, mean);
            high = fmax(high, mean);
            if (!(high - low <= DWELL_BAND * s->test.tested[c].scale)) {
                end = i;
                break;
            }
        }
    }
    return end;
}

/* A slow ramp crosses the whole band. */
static bool is_ramp(const struct search *s, struct run run)
{
    for (size_t c = 0; c < s->test.tested_count; c++) {
        if (fabs(run_drift(s->test.blocks, run, s->test.group, s->test.tested[c].channel)) >
            DWELL_RAMP * DWELL_BAND * s->test.tested[c].scale) {
            return true;
        }
    }
    return false;
}

/* Whether a steady stretch of the same setting was found. */
static bool is_settling(const struct search *s, struct run run, size_t found_count)
{
    for (size_t i = 0; i < found_count; i++) {
        if (same_level(s, run, s->out->items[i].run, NEAR_SETTING, 0.0)) {
            return true;
        }
    }
    return false;
}

/* Whether a run leads from the level of the stretch before it to that of the stretch after it. */
static bool is_passage(const struct search *s, struct run run, size_t next, size_t found_count)
{
    size_t quarter = (run.end - run.first) / 4;
    if (next == 0 || next == found_count || quarter == 0) {
        return false;
    }
    struct run head = {run.first, run.first + quarter}, tail = {run.end - quarter, run.end};
    return same_level(s, head, s->out->items[next - 1].run, NEAR_SETTING, 0.0) &&
           same_level(s, tail, s->out->items[next].run, NEAR_SETTING, 0.0);
}

/* What keeps a held setting from being steady. Returns: NULL when memory is out. */
static const char *why_unsteady(const struct search *s, struct run run)
{
    enum channel channel = CH_FLOW;
    double mean, deviation;
    if (worst_drift(s, run, s->test.group, &channel) > 1.0) {
        level_of(s->test.blocks, run, channel, &mean, &deviation);
        double drift = fabs(run_drift(s->test.blocks, run, s->test.group, channel) / mean);
        return arena_format(s->arena, "%s drifts by %.2g %% of its mean while the setting is held",
                            channel_info(channel)->name, 100.0 * drift);
    }
    if (worst_swing(s, run, &channel) > 1.0) {
        return arena_format(s->arena, "%s swings slowly while the setting is held", channel_info(channel)->name);
    }
    return "the setting is held, but no stretch of it passes the test for steady state";
}

/* Searches the blocks between two stretches (next: the later of them) for a setting that was held, but did not settle.
 */
static enum status find_unsettled(struct search *s, struct run gap, size_t next, size_t found_count)
{
    double least_s = DWELL_TIMES * s->test.shortest_s;
    for (size_t first = gap.first, end; first < gap.end; first = end) {
        end = dwell_end(s, first, gap.end);
        struct run run = {first, end};
        size_t edge = EDGE_GROUPS * s->test.group; /* the ends of the band may lie on ramps */
        if (end - first <= 2 * edge || !long_enough(s, run, least_s)) {
            end = first + 1;
            continue;
        }
        run = extend(s, (struct run){first + edge, end - edge}, edge);
        if (!long_enough(s, run, least_s) || !is_running(s, run) || is_ramp(s, run) ||
            is_settling(s, run, found_count) || is_passage(s, run, next, found_count)) {
            continue;
        }
        const char *why = why_unsteady(s, run);
        if (why == NULL || add_found(s, run, why) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static int compare_runs(const void *left, const void *right)
{
    const struct found *a = left, *b = right;
    return (a->run.first > b->run.first) - (a->run.first < b->run.first);
}

static enum status find_all_unsettled(struct search *s)
{
    size_t found_count = s->out->count, first = 0;
    for (size_t i = 0; i <= found_count; i++) {
        size_t end = i < found_count ? s->out->items[i].run.first : s->test.blocks->count;
        if (end > first && find_unsettled(s, (struct run){first, end}, i, found_count) != OK) {
            return E_MEMORY;
        }
        first = i < found_count ? s->out->items[i].run.end : end;
    }
    return OK;
}

/* Numbers the stretches in order of time; steady stretches of one setting share a number. */
static void number_points(struct search *s)
{
    int points = 0;
    for (size_t i = 0; i < s->out->count; i++) {
        struct found *found = &s->out->items[i];
        for (size_t j = 0; j < i && found->point == 0; j++) {
            const struct found *earlier = &s->out->items[j];
            if (found->steady == earlier->steady &&
                same_level(s, found->run, earlier->run, SAME_SETTING, CHANCE_ERRORS)) {
                found->point = earlier->point;
            }
        }
        found->point = found->point == 0 ? ++points : found->point;
    }
}

enum status record_search(const struct blocks *blocks, double shortest_s, const char *file, struct arena *arena,
                          struct findings *findings, struct faults *faults)
{
    *findings = (struct findings){0};
    struct search s = {.arena = arena, .out = findings};
    steady_init(&s.test, blocks, shortest_s);
    if (s.test.tested_count == 0) {
        return faults_add(faults, E_INPUT, (struct place){file, 0, 0},
                          "no column of flow, pressure or power, expected one to find steady points by");
    }
    bool *marks = malloc(blocks->count * sizeof *marks);
    double *means = malloc(blocks->count * s.test.tested_count * sizeof *means);
    enum status status = marks == NULL || means == NULL ? E_MEMORY : OK;
    if (status == OK) {
        steady_mark(&s.test, marks, means);
    }
    free(means);
    status = status == OK ? find_steady(&s) : status;
    free(marks);
    s.test.marks = NULL;
    if (status == OK) {
        status = find_all_unsettled(&s);
    }
    if (status == OK && findings->count > 0) {
        qsort(findings->items, findings->count, sizeof *findings->items, compare_runs);
        number_points(&s);
    }
    return status == OK ? OK : faults_memory(faults);
}
