#include "settle/point_stats.h"

#include <math.h>

/* Fewer block means than this show no scatter of their own. */
enum { BLOCKS_FOR_ERROR = 3 };

#define MEMORY_MAX 0.98

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

/* Sum of the products of deviations of block means lag apart; pairs within a run only. */
static double products_of(const struct blocks *blocks, const struct run *runs, size_t run_count, enum channel channel,
                          double mean, size_t lag)
{
    double sum = 0.0;
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i + lag < runs[r].end; i++) {
            struct tally a = blocks_tally(blocks, i, channel), b = blocks_tally(blocks, i + lag, channel);
            sum += a.n > 0 && b.n > 0 ? (a.mean - mean) * (b.mean - mean) : 0.0;
        }
    }
    return sum;
}

/* --- noise with a memory --- */

/* What a series of n block means of unit variance is to expect. Noise whose correlation falls to phi over a block has,
 * between the means of blocks k apart, the correlation neighbour x phi^(k - 1). */
struct expected {
    double mean;    /* variance of the mean of the series */
    double square;  /* mean square of the deviations from it */
    double product; /* mean product of neighbouring deviations, over n */
};

static struct expected expect(double phi, double n)
{
    if (!(phi > 1e-6)) {
        return (struct expected){1.0 / n, 1.0 - 1.0 / n, -(n - 1.0) / (n * n)};
    }
    double length = -1.0 / log(phi); /* of the memory, in blocks */
    double gap = 1.0 - phi, power = pow(phi, n - 1.0);
    double neighbour = gap * gap / (2.0 * (1.0 / length - gap));
    double mean = (1.0 + 2.0 * neighbour * (1.0 / gap - (1.0 - power * phi) / (n * gap * gap))) / n;
    double with_first = (1.0 + neighbour * (1.0 - power) / gap) / n; /* covariance of the first with the mean */
    return (struct expected){mean, 1.0 - mean, ((n - 1.0) * neighbour - (n + 1.0) * mean + 2.0 * with_first) / n};
}

void memory_add(struct memory_sums *sums, const struct blocks *blocks, const struct run *runs, size_t run_count,
                enum channel channel)
{
    struct tally all = tally_of(blocks, runs, run_count, channel);
    size_t count = count_blocks(blocks, runs, run_count, channel);
    if (count < BLOCKS_FOR_ERROR) {
        return;
    }
    sums->products += products_of(blocks, runs, run_count, channel, all.mean, 1);
    sums->squares += products_of(blocks, runs, run_count, channel, all.mean, 0);
    sums->blocks += (double)count;
    sums->points += 1.0;
}

double memory_of(const struct memory_sums *sums)
{
    if (!(sums->squares > 0.0)) {
        return 0.0;
    }
    double seen = sums->products / sums->squares, n = sums->blocks / sums->points;
    double low = 0.0, high = MEMORY_MAX;
    for (int i = 0; i < 40; i++) { /* the ratio rises with the memory */
        double middle = 0.5 * (low + high);
        struct expected expected = expect(middle, n);
        *(expected.product < seen * expected.square ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}

/* Standard error of the mean of all readings, squared, from the scatter of count block means about it. */
static double error_squared(const struct blocks *blocks, const struct run *runs, size_t run_count, enum channel channel,
                            double mean, size_t count, double memory)
{
    double n = (double)count, square = products_of(blocks, runs, run_count, channel, mean, 0) / n;
    struct expected expected = expect(memory, n);
    return square * expected.mean / expected.square;
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

struct channel_stats channel_stats_of(const struct blocks *blocks, const struct run *runs, size_t run_count,
                                      bool record, double memory, enum channel channel)
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
            squared = fmax(squared, error_squared(blocks, runs, run_count, channel, all.mean, count, memory));
        }
        stats.effective_n = squared > 0.0 ? fmax(variance / squared, 1.0) : n;
        stats.drift = drift_of(blocks, runs, run_count, channel);
    }
    stats.standard_error = sqrt(squared);
    return stats;
}

void point_stats_fill(const struct blocks *blocks, const struct run *runs, size_t run_count, bool record,
                      const double memory[CHANNEL_COUNT], struct settled_point *point)
{
    const struct block *first = blocks_head(blocks, runs[0].first);
    const struct block *last = blocks_head(blocks, runs[run_count - 1].end - 1);
    point->from_s = first->timed ? first->from_s : NAN;
    point->to_s = last->timed ? last->to_s : NAN;
    point->line = first->line;
    point->readings = 0;
    for (size_t r = 0; r < run_count; r++) {
        for (size_t i = runs[r].first; i < runs[r].end; i++) {
            point->readings += blocks_head(blocks, i)->rows;
        }
    }
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        if ((blocks->channels >> channel & 1U) != 0) {
            point->channels[channel] = channel_stats_of(blocks, runs, run_count, record, record ? memory[channel] : 0.0,
                                                        (enum channel)channel);
        }
    }
}
