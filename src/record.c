/* The test for steady state
 *
 * Within a window of n block means x of one channel, with
 *     s^2     = sum (x - mean)^2 / (n - 1)              the variance about the mean
 *     delta^2 = sum (x[i+1] - x[i])^2 / (n - 1)          the mean square successive difference
 * noise without memory has E(delta^2) = 2 s^2, whatever its size, while anything slow (a ramp, a step, a tail) adds to
 * s^2 far more than to delta^2. So C = 1 - delta^2 / (2 s^2) is the slow part of the variance, near 0 when the channel
 * is steady and 1 on a ramp. J. von Neumann, Annals of Mathematical Statistics 12 (1941) 367-395. For steady noise C
 * has mean 0 and variance (n - 2) / (n^2 - 1) and is nearly normal (L. C. Young, same journal, 293-300). The identifier
 * of S. Cao and R. R. Rhinehart (Journal of Process Control 5 (1995) 363-374) is the same ratio with exponential
 * filters in place of the window; the window is taken here because the whole record is at hand and a stretch shall
 * begin and end sharply.
 *
 * A window is moving when C is beyond its 1 % point AND the slow part is worth a linear drift, sqrt(12 C s^2), of more
 * than DRIFT_THAT_MATTERS of the channel's largest reading: without the second, a quiet instrument would never be
 * steady. reference/steady-state.md holds the whole method.
 */
#include "record.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>

/* Shares are of the channel's largest reading. */
#define C_QUANTILE         2.3263478740408408 /* normal, one-sided 1 % */
#define SLOPE_LEVEL        0.995              /* Student t, two-sided 1 % */
#define DRIFT_THAT_MATTERS 0.005              /* over a window */
#define DRIFT_OF_STRETCH   0.01               /* over a whole stretch */
/* The slow part of a stretch, as a drift: a hunting of +-3.3 %; ISO 9906:2012 grade 2 permits flow +-3 % (from memory).
 */
#define SWING_OF_STRETCH   0.08
#define SAME_SETTING       0.01 /* two stretches nearer than this are one setting */
#define NEAR_SETTING       0.04 /* an unsteady stretch so near a steady one is its settling */
#define DWELL_BAND         0.15 /* a setting that does not settle stays within this band ... */
#define DWELL_TIMES        1.5  /* ... for so many times the shortest stretch, and */
#define DWELL_RAMP         0.8  /* does not cross so much of the band from end to end, for then it is a ramp */
#define RUNNING_SHARE      0.10 /* of the largest power: below it the set is off */
#define EDGE_DEVIATIONS    2.5  /* a block at an edge further off than this belongs to the ramp */
#define CHOSEN_SHARE       0.8  /* of the longest steady time that any length of group finds */
#define CHANCE_ERRORS      2.6  /* a difference of so many standard errors is chance (normal, two-sided 1 %) */
#define READ_SHARE         0.9  /* a channel read in fewer blocks is not tested */

enum {
    WINDOW_GROUPS_MIN = 10,
    GROUP_MAX = 4,
    WINDOW_GROUPS_MAX = 64,
    EDGE_GROUPS = 3,
    TESTED_MAX = 8,
    SERIES_MAX = 512,
    SERIES_MIN = 4
};

/* A channel that tells the set's state. */
struct tested {
    enum channel channel;
    double scale; /* its largest block mean */
};

struct search {
    const struct blocks *blocks;
    double shortest_s, spacing_s; /* between blocks */
    size_t tested_count;
    struct tested tested[TESTED_MAX];
    size_t group; /* blocks per group */
    bool *steady; /* one per block: lies in a steady window */
    struct arena *arena;
    struct findings *out;
};

/* --- what is tested --- */

static double largest_mean(const struct blocks *blocks, enum channel channel, size_t *read)
{
    double largest = 0.0;
    *read = 0;
    for (size_t i = 0; i < blocks->count; i++) {
        struct tally tally = blocks_tally(blocks, i, channel);
        if (tally.n > 0) {
            (*read)++;
            largest = fmax(largest, fabs(tally.mean));
        }
    }
    return largest;
}

static bool add_tested(struct search *s, enum channel channel)
{
    size_t read;
    if (s->tested_count == TESTED_MAX || (s->blocks->channels >> channel & 1U) == 0) {
        return false;
    }
    double scale = largest_mean(s->blocks, channel, &read);
    if (!(scale > 0.0) || (double)read < READ_SHARE * (double)s->blocks->count) {
        return false;
    }
    s->tested[s->tested_count++] = (struct tested){channel, scale};
    return true;
}

/* Flow, pressure and power follow the valve; currents stand in for a power that was not logged. Voltage, frequency and
 * temperature do not. */
static void choose_tested(struct search *s)
{
    static const enum channel always[] = {CH_FLOW, CH_DIFFERENTIAL_PRESSURE, CH_WEIR_HEAD, CH_GAUGE_PRESSURE};
    static const enum channel power[] = {CH_INPUT_POWER, CH_WATTMETER_1, CH_WATTMETER_2, CH_WATTMETER_3};
    static const enum channel current[] = {CH_CURRENT, CH_CURRENT_R, CH_CURRENT_Y, CH_CURRENT_B};
    bool has_power = false;
    for (size_t i = 0; i < sizeof always / sizeof always[0]; i++) {
        (void)add_tested(s, always[i]);
    }
    for (size_t i = 0; i < sizeof power / sizeof power[0]; i++) {
        has_power = add_tested(s, power[i]) || has_power;
    }
    for (size_t i = 0; i < sizeof current / sizeof current[0] && !has_power; i++) {
        (void)add_tested(s, current[i]);
    }
}

static int compare_doubles(const void *left, const void *right)
{
    double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

/* The usual time from block to block: the median over some of them. */
static double usual_spacing_s(const struct blocks *blocks)
{
    enum { SAMPLE_MAX = 501 };
    double spacing_s[SAMPLE_MAX];
    size_t count = 0, stride = blocks->count / SAMPLE_MAX + 1;
    for (size_t i = 1; i < blocks->count && count < SAMPLE_MAX; i += stride) {
        spacing_s[count++] = blocks_head(blocks, i)->from_s - blocks_head(blocks, i - 1)->from_s;
    }
    if (count == 0) {
        return blocks->span_s;
    }
    qsort(spacing_s, count, sizeof *spacing_s, compare_doubles);
    return fmax(spacing_s[count / 2], blocks->span_s);
}

/* --- the window --- */

/* Means of groups of blocks from first on. Returns: false when one was not read or the blocks do not follow each other.
 */
static bool group_means(const struct search *s, size_t first, size_t groups, size_t group, enum channel channel,
                        double *means)
{
    for (size_t g = 0; g < groups; g++) {
        double sum = 0.0, n = 0.0;
        for (size_t i = first + g * group; i < first + (g + 1) * group; i++) {
            struct tally tally = blocks_tally(s->blocks, i, channel);
            sum += tally.mean * tally.n;
            n += tally.n;
        }
        if (!(n > 0.0)) {
            return false;
        }
        means[g] = sum / n;
    }
    return true;
}

/* The slow part of the variance of count means: C, and the linear drift that it is worth. */
static void slow_part(const double *x, size_t count, double *c, double *drift)
{
    double n = (double)count, mean = 0.0, squares = 0.0, differences = 0.0;
    for (size_t i = 0; i < count; i++) {
        mean += x[i] / n;
    }
    for (size_t i = 0; i < count; i++) {
        squares += (x[i] - mean) * (x[i] - mean);
        differences += i == 0 ? 0.0 : (x[i] - x[i - 1]) * (x[i] - x[i - 1]);
    }
    *c = squares > 0.0 ? 1.0 - differences / (2.0 * squares) : 0.0;
    *drift = *c > 0.0 ? sqrt(12.0 * *c * squares / (n - 1.0)) : 0.0;
}

static double c_limit(size_t count)
{
    double n = (double)count;
    return C_QUANTILE * sqrt((n - 2.0) / (n * n - 1.0));
}

static bool window_steady(const struct search *s, size_t first, size_t groups, size_t group)
{
    double means[WINDOW_GROUPS_MAX], c, drift;
    const struct block *from = blocks_head(s->blocks, first), *to = blocks_head(s->blocks, first + groups * group - 1);
    if (to->from_s - from->from_s > 1.5 * (double)(groups * group) * s->spacing_s) {
        return false;
    }
    for (size_t i = 0; i < s->tested_count; i++) {
        const struct tested *tested = &s->tested[i];
        if (!group_means(s, first, groups, group, tested->channel, means)) {
            return false;
        }
        slow_part(means, groups, &c, &drift);
        if (c > c_limit(groups) && drift > DRIFT_THAT_MATTERS * tested->scale) {
            return false;
        }
    }
    return true;
}

/* Groups of a window: at least the shortest stretch, and enough for the test. */
static size_t window_groups(const struct search *s, size_t group)
{
    double groups = ceil(s->shortest_s / ((double)group * s->spacing_s) - 1e-6);
    return groups < WINDOW_GROUPS_MIN   ? (size_t)WINDOW_GROUPS_MIN
           : groups > WINDOW_GROUPS_MAX ? (size_t)WINDOW_GROUPS_MAX
                                        : (size_t)groups;
}

/* Marks the blocks that lie in a steady window, EDGE_GROUPS from its ends at least: nearer to an end a step is not yet
 * seen. Returns: how many blocks lie in steady windows. */
static size_t mark_steady(const struct search *s, size_t group)
{
    size_t window = window_groups(s, group) * group, edge = EDGE_GROUPS * group, seen_to = 0, seen = 0;
    for (size_t i = 0; i < s->blocks->count; i++) {
        s->steady[i] = false;
    }
    for (size_t first = 0; first + window <= s->blocks->count; first++) {
        if (!window_steady(s, first, window / group, group)) {
            continue;
        }
        size_t end = first + window;
        seen += end - (first > seen_to ? first : seen_to);
        seen_to = end;
        for (size_t i = first + edge; i < end - edge; i++) {
            s->steady[i] = true;
        }
    }
    return seen;
}

/* Groups of 1, 2 or 4 blocks: the test takes the means as independent, and noise with a memory of seconds makes them so
 * only in longer groups, at the price of a longer window. The shortest group that finds nearly as much steady time as
 * any is taken. */
static size_t choose_group(const struct search *s)
{
    size_t seen[GROUP_MAX + 1] = {0}, best = 0, group = 1;
    for (size_t g = 1; g <= GROUP_MAX; g *= 2) {
        seen[g] = mark_steady(s, g);
        best = seen[g] > best ? seen[g] : best;
    }
    while (group < GROUP_MAX && (double)seen[group] < CHOSEN_SHARE * (double)best) {
        group *= 2;
    }
    (void)mark_steady(s, group);
    return group;
}

/* --- stretches --- */

static double duration_s(const struct search *s, struct run run)
{
    const struct block *from = blocks_head(s->blocks, run.first), *to = blocks_head(s->blocks, run.end - 1);
    return fmax(to->to_s - from->from_s, to->from_s - from->from_s + s->spacing_s);
}

static bool long_enough(const struct search *s, struct run run, double least_s)
{
    return run.end > run.first && duration_s(s, run) >= least_s * (1.0 - 1e-6) - s->spacing_s;
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
    for (size_t c = 0; c < s->tested_count; c++) {
        struct tally tally = blocks_tally(s->blocks, index, s->tested[c].channel);
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
    for (size_t c = 0; c < s->tested_count; c++) {
        double deviation;
        level_of(s->blocks, core, s->tested[c].channel, &levels[c].mean, &deviation);
        levels[c].limit = fmax(EDGE_DEVIATIONS * deviation, 0.5 * DRIFT_THAT_MATTERS * s->tested[c].scale);
    }
    struct run run = core;
    while (run.first > 0 && core.first - run.first < most && is_at_level(s, run.first - 1, levels)) {
        run.first--;
    }
    while (run.end < s->blocks->count && run.end - core.end < most && is_at_level(s, run.end, levels)) {
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

double run_drift(const struct blocks *blocks, struct run run, size_t group, enum channel channel)
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
    for (size_t i = 0; i < s->tested_count; i++) {
        double share =
            fabs(run_drift(s->blocks, run, group, s->tested[i].channel)) / (DRIFT_OF_STRETCH * s->tested[i].scale);
        if (share > worst) {
            worst = share;
            *channel = s->tested[i].channel;
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
    for (size_t i = 0; i < s->tested_count; i++) {
        const struct tested *tested = &s->tested[i];
        double mean, deviation;
        level_of(s->blocks, run, tested->channel, &mean, &deviation);
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
    for (size_t i = 0; i < s->tested_count; i++) {
        const struct tested *tested = &s->tested[i];
        struct channel_stats of_a = channel_stats_of(s->blocks, &a, 1, true, tested->channel);
        struct channel_stats of_b = channel_stats_of(s->blocks, &b, 1, true, tested->channel);
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
    for (size_t i = 0; i < s->tested_count; i++) {
        struct series series;
        double c, swing;
        series_of(s->blocks, run, 1, s->tested[i].channel, &series);
        slow_part(series.mean, series.count, &c, &swing);
        if (swing / (SWING_OF_STRETCH * s->tested[i].scale) > worst) {
            worst = swing / (SWING_OF_STRETCH * s->tested[i].scale);
            *channel = s->tested[i].channel;
        }
    }
    return worst;
}

/* Shortens a stretch from its front, where it may still settle, until nothing drifts or swings. Returns: false when too
 * little is left. */
static bool settle_run(const struct search *s, struct run *run)
{
    enum channel channel;
    while (long_enough(s, *run, s->shortest_s)) {
        if (worst_drift(s, *run, s->group, &channel) <= 1.0 && worst_swing(s, *run, &channel) <= 1.0) {
            return true;
        }
        run->first += (run->end - run->first) / 4 + 1;
    }
    return false;
}

/* The stretches of marked blocks, trimmed, long enough, with the set running. */
static enum status find_steady(struct search *s)
{
    for (size_t first = 0, end; first < s->blocks->count; first = end) {
        end = first + 1;
        if (!s->steady[first]) {
            continue;
        }
        while (end < s->blocks->count && s->steady[end]) {
            end++;
        }
        struct run run = extend(s, (struct run){first, end}, EDGE_GROUPS * s->group);
        struct run inner = {run.first + 1, run.end - 1}; /* a ramp may begin within a block */
        if (run.end - run.first > 2 && long_enough(s, inner, s->shortest_s)) {
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
    for (size_t c = 0; c < s->tested_count; c++) {
        double low = INFINITY, high = -INFINITY;
        for (size_t i = first; i < end; i++) {
            double mean = blocks_tally(s->blocks, i, s->tested[c].channel).mean;
            low = fmin(low, mean);
            high = fmax(high, mean);
            if (!(high - low <= DWELL_BAND * s->tested[c].scale)) {
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
    for (size_t c = 0; c < s->tested_count; c++) {
        if (fabs(run_drift(s->blocks, run, s->group, s->tested[c].channel)) >
            DWELL_RAMP * DWELL_BAND * s->tested[c].scale) {
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
    if (worst_drift(s, run, s->group, &channel) > 1.0) {
        level_of(s->blocks, run, channel, &mean, &deviation);
        double drift = fabs(run_drift(s->blocks, run, s->group, channel) / mean);
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
    double least_s = DWELL_TIMES * s->shortest_s;
    for (size_t first = gap.first, end; first < gap.end; first = end) {
        end = dwell_end(s, first, gap.end);
        struct run run = {first, end};
        if (end == first || !long_enough(s, run, least_s)) {
            end = first + 1;
            continue;
        }
        size_t edge = EDGE_GROUPS * s->group; /* the ends of the band may lie on ramps */
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
        size_t end = i < found_count ? s->out->items[i].run.first : s->blocks->count;
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
    struct search s = {.blocks = blocks,
                       .shortest_s = shortest_s,
                       .spacing_s = usual_spacing_s(blocks),
                       .arena = arena,
                       .out = findings};
    choose_tested(&s);
    if (s.tested_count == 0) {
        return faults_add(faults, E_INPUT, (struct place){file, 0, 0},
                          "no column of flow, pressure or power, expected one to find steady points by");
    }
    s.steady = malloc(blocks->count * sizeof *s.steady);
    enum status status = s.steady == NULL ? E_MEMORY : OK;
    if (status == OK) {
        s.group = choose_group(&s);
        status = find_steady(&s);
    }
    if (status == OK) {
        status = find_all_unsettled(&s);
    }
    if (status == OK && findings->count > 0) {
        qsort(findings->items, findings->count, sizeof *findings->items, compare_runs);
        number_points(&s);
    }
    free(s.steady);
    return status == OK ? OK : faults_memory(faults);
}
