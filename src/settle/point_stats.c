#include "settle/point_stats.h"

#include <math.h>

/* Fewer block means than this do not show how neighbours depend on each other. */
enum { BLOCKS_FOR_ERROR = 6 };

#define CORRELATION_MAX 0.95

static double middle_s(const struct block *block)
{
    return 0.5 * (block->from_s + block->to_s);
}

static struct tally tally_of(const struct blocks *blocks, const struct run *runs, size_t run_count,
                             enum channel channel)
{
    struct tally sum = {0};
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i < runs[r].end; i++) {
            struct tally tally = blocks_tally(blocks, i, channel);
            tally_add(&sum, &tally);
        }
    }
    return sum;
}

/* Mean product of the deviations of block means lag apart, over all count blocks; pairs within a run only. */
static double autocovariance(const struct blocks *blocks, const struct run *runs, size_t run_count,
                             enum channel channel, double mean, size_t lag, size_t count)
{
    double sum = 0.0;
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i + lag < runs[r].end; i++) {
            struct tally a = blocks_tally(blocks, i, channel), b = blocks_tally(blocks, i + lag, channel);
            sum += a.n > 0 && b.n > 0 ? (a.mean - mean) * (b.mean - mean) : 0.0;
        }
    }
    return sum / (double)count;
}

/* Standard error of the mean of all readings, squared, from count block means. The sum of squares is divided by count
 * less what the correlation costs, for the deviations are taken from the mean of the same blocks. */
static double error_squared(const struct blocks *blocks, const struct run *runs, size_t run_count, enum channel channel,
                            double mean, size_t count)
{
    double n = (double)count;
    double variance = autocovariance(blocks, runs, run_count, channel, mean, 0, count);
    if (!(variance > 0.0)) {
        return 0.0;
    }
    double seen = autocovariance(blocks, runs, run_count, channel, mean, 1, count) / variance;
    double correlation = fmin(fmax((n * seen + 1.0) / (n - 4.0), 0.0), CORRELATION_MAX);
    double inflation = (1.0 + correlation) / (1.0 - correlation);
    return variance * inflation / fmax(n - inflation, 1.0);
}

/* Slope of the block means within the runs x duration of the longest run. */
static double drift_of(const struct blocks *blocks, const struct run *runs, size_t run_count, enum channel channel)
{
    double products = 0.0, squares = 0.0, longest_s = 0.0;
    for (size_t r = 0; r < run_count; r++) {
        double count = 0.0, time_sum = 0.0, mean_sum = 0.0;
        double origin_s = blocks_head(blocks, runs[r].first)->from_s;
        for (size_t i = runs[r].first; i < runs[r].end; i++) {
            struct tally tally = blocks_tally(blocks, i, channel);
            if (tally.n > 0) {
                count += 1.0;
                time_sum += middle_s(blocks_head(blocks, i)) - origin_s;
                mean_sum += tally.mean;
            }
        }
        for (size_t i = runs[r].first; i < runs[r].end && count > 0.0; i++) {
            struct tally tally = blocks_tally(blocks, i, channel);
            double t = middle_s(blocks_head(blocks, i)) - origin_s - time_sum / count;
            if (tally.n > 0) {
                products += t * (tally.mean - mean_sum / count);
                squares += t * t;
            }
        }
        longest_s = fmax(longest_s, blocks_head(blocks, runs[r].end - 1)->to_s - origin_s);
    }
    return squares > 0.0 ? products / squares * longest_s : 0.0;
}

static size_t count_blocks(const struct blocks *blocks, const struct run *runs, size_t run_count, enum channel channel)
{
    size_t count = 0;
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i < runs[r].end; i++) {
            count += blocks_tally(blocks, i, channel).n > 0;
        }
    }
    return count;
}

struct channel_stats channel_stats_of(const struct blocks *blocks, const struct run *runs, size_t run_count,
                                      bool record, enum channel channel)
{
    struct tally all = tally_of(blocks, runs, run_count, channel);
    struct channel_stats stats = {.n = all.n, .mean = all.mean, .low = all.low, .high = all.high, .effective_n = all.n};
    if (all.n < 2) {
        return stats;
    }
    double n = all.n, variance = all.m2 / (n - 1.0), squared = variance / n;
    stats.deviation = sqrt(variance);
    if (record) {
        size_t count = count_blocks(blocks, runs, run_count, channel);
        if (count >= BLOCKS_FOR_ERROR) {
            squared = fmax(squared, error_squared(blocks, runs, run_count, channel, all.mean, count));
        }
        stats.effective_n = squared > 0.0 ? fmax(variance / squared, 1.0) : n;
        stats.drift = drift_of(blocks, runs, run_count, channel);
    }
    stats.standard_error = sqrt(squared);
    return stats;
}

void point_stats_fill(const struct blocks *blocks, const struct run *runs, size_t run_count, bool record,
                      struct settled_point *point)
{
    const struct block *first = blocks_head(blocks, runs[0].first);
    const struct block *last = blocks_head(blocks, runs[run_count - 1].end - 1);
    point->from_s = first->timed ? first->from_s : NAN;
    point->to_s = last->timed ? last->to_s : NAN;
    point->readings = 0;
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i < runs[r].end; i++) {
            point->readings += blocks_head(blocks, i)->rows;
        }
    }
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        if ((blocks->channels >> channel & 1U) != 0) {
            point->channels[channel] = channel_stats_of(blocks, runs, run_count, record, (enum channel)channel);
        }
    }
}
