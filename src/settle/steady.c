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
#include "settle/steady.h"

#include <math.h>
#include <stdlib.h>

#define C_QUANTILE   2.3263478740408408 /* normal, one-sided 1 % */
#define CHOSEN_SHARE 0.8                /* of the longest steady time that any length of group finds */
#define READ_SHARE   0.9                /* a channel read in fewer blocks is not tested */

enum { WINDOW_GROUPS_MIN = 10, WINDOW_GROUPS_MAX = 64 };

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

static bool add_tested(struct steady *s, enum channel channel)
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

/* Adds the channels that make a quantity and follow the valve. Returns: false when there is none. */
static bool add_making(struct steady *s, enum channel_makes makes)
{
    bool added = false;
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_info *info = channel_info((enum channel)c);
        if (info->makes == makes && info->follows) {
            added = add_tested(s, (enum channel)c) || added;
        }
    }
    return added;
}

static void choose_tested(struct steady *s)
{
    (void)add_making(s, MAKES_FLOW);
    (void)add_making(s, MAKES_HEAD);
    if (!add_making(s, MAKES_POWER)) {
        (void)add_making(s, MAKES_CURRENT);
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

/* The mean of the group of blocks that begins with each block; NaN where none of it was read. Windows overlap, so each
 * mean serves many of them. */
static void fill_group_means(const struct steady *s, size_t group)
{
    for (size_t c = 0; c < s->tested_count; c++) {
        double *means = s->means + c * s->blocks->count;
        for (size_t first = 0; first + group <= s->blocks->count; first++) {
            double sum = 0.0, n = 0.0;
            for (size_t i = first; i < first + group; i++) {
                struct tally tally = blocks_tally(s->blocks, i, s->tested[c].channel);
                sum += tally.mean * tally.n;
                n += tally.n;
            }
            means[first] = n > 0.0 ? sum / n : NAN;
        }
    }
}

void slow_part(const double *x, size_t count, double *c, double *drift)
{
    double n = (double)count, mean = 0.0, squares = 0.0, differences = 0.0;
    for (size_t i = 0; i < count; i++) {
        mean += x[i];
    }
    mean /= n;
    for (size_t i = 0; i < count; i++) {
        squares += (x[i] - mean) * (x[i] - mean);
        differences += i == 0 ? 0.0 : (x[i] - x[i - 1]) * (x[i] - x[i - 1]);
    }
    *c = squares > 0.0 ? 1.0 - differences / (2.0 * squares) : 0.0;
    *drift = *c > 0.0 ? sqrt(12.0 * *c * squares / (n - 1.0)) : 0.0;
}

double slow_part_limit(size_t count)
{
    double n = (double)count;
    return C_QUANTILE * sqrt((n - 2.0) / (n * n - 1.0));
}

/* What the windows of one length of group have in common. */
struct window {
    size_t groups, group; /* groups in it, blocks in a group */
    double limit;         /* of C */
};

static bool window_steady(const struct steady *s, size_t first, const struct window *window)
{
    size_t length = window->groups * window->group;
    const struct block *from = blocks_head(s->blocks, first), *to = blocks_head(s->blocks, first + length - 1);
    if (to->from_s - from->from_s > 1.5 * (double)length * s->spacing_s) {
        return false; /* the blocks do not follow each other */
    }
    for (size_t i = 0; i < s->tested_count; i++) {
        const double *means = s->means + i * s->blocks->count + first;
        double x[WINDOW_GROUPS_MAX], c, drift;
        for (size_t g = 0; g < window->groups; g++) {
            x[g] = means[g * window->group];
            if (isnan(x[g])) {
                return false;
            }
        }
        slow_part(x, window->groups, &c, &drift);
        if (c > window->limit && drift > DRIFT_THAT_MATTERS * s->tested[i].scale) {
            return false;
        }
    }
    return true;
}

/* Groups of a window: at least the shortest stretch, and enough for the test. */
static size_t window_groups(const struct steady *s, size_t group)
{
    double groups = ceil(s->shortest_s / ((double)group * s->spacing_s) - 1e-6);
    return groups < WINDOW_GROUPS_MIN   ? (size_t)WINDOW_GROUPS_MIN
           : groups > WINDOW_GROUPS_MAX ? (size_t)WINDOW_GROUPS_MAX
                                        : (size_t)groups;
}

/* Marks the blocks that lie in a steady window, EDGE_GROUPS from its ends at least: nearer to an end a step is not yet
 * seen. Returns: how many blocks lie in steady windows. */
static size_t mark_steady(const struct steady *s, size_t group)
{
    const struct window window = {window_groups(s, group), group, slow_part_limit(window_groups(s, group))};
    size_t length = window.groups * group, edge = EDGE_GROUPS * group, seen_to = 0, seen = 0;
    fill_group_means(s, group);
    for (size_t i = 0; i < s->blocks->count; i++) {
        s->marks[i] = false;
    }
    for (size_t first = 0; first + length <= s->blocks->count; first++) {
        if (!window_steady(s, first, &window)) {
            continue;
        }
        size_t end = first + length;
        seen += end - (first > seen_to ? first : seen_to);
        seen_to = end;
        for (size_t i = first + edge; i < end - edge; i++) {
            s->marks[i] = true;
        }
    }
    return seen;
}

/* Groups of 1, 2 or 4 blocks: the test takes the means as independent, and noise with a memory of seconds makes them so
 * only in longer groups, at the price of a longer window. The shortest group that finds nearly as much steady time as
 * any is taken. */
static size_t choose_group(const struct steady *s)
{
    size_t seen[GROUP_MAX + 1] = {0}, best = 0, group = 1;
    for (size_t g = GROUP_MAX; g >= 1; g /= 2) { /* the group that is taken most often comes last: its marks stay */
        seen[g] = mark_steady(s, g);
        best = seen[g] > best ? seen[g] : best;
    }
    while (group < GROUP_MAX && (double)seen[group] < CHOSEN_SHARE * (double)best) {
        group *= 2;
    }
    if (group > 1) {
        (void)mark_steady(s, group);
    }
    return group;
}

void steady_init(struct steady *s, const struct blocks *blocks, double shortest_s)
{
    *s = (struct steady){.blocks = blocks, .shortest_s = shortest_s, .spacing_s = usual_spacing_s(blocks)};
    choose_tested(s);
}

void steady_mark(struct steady *s, bool *marks, double *means)
{
    s->marks = marks;
    s->means = means;
    s->group = choose_group(s);
    s->means = NULL;
}
