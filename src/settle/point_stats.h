/* point_stats.h - the statistics of a point from the blocks that it is made of
 */
#ifndef DUTYPROOF_POINT_STATS_H
#define DUTYPROOF_POINT_STATS_H

#include "settle/blocks.h"
#include "settle/settle.h"

/* Blocks first .. end - 1, next to each other in time. */
struct run {
    size_t first, end;
};

/* What the block means of a channel show of the memory of its noise, about the means of their points: added up over the
 * points of a test, since one point alone tells little. {0} to begin with. */
struct memory_sums {
    double products, squares; /* of deviations of neighbours, and of each */
    double blocks, points;
};

/* Adds the blocks of one point. */
void memory_add(struct memory_sums *sums, const struct blocks *blocks, const struct run *runs, size_t run_count,
                enum channel channel);

/* The correlation of the noise over the length of a block, 0 (none) to 0.98, from means over blocks of noise whose
 * memory falls off exponentially. Their lag-1 ratio is that of a series of finite length about its own mean, solved for
 * the correlation, not its value for an infinite series (expectations: Anderson, The Statistical Analysis of Time
 * Series, 1971, 8.2, from memory). */
double memory_of(const struct memory_sums *sums);

/* Fills a point's readings, times and the statistics of every channel.
 * record: the rows are samples of a record, so that neighbours are not independent, and memory[channel] says how they
 * depend: the standard error is that of the mean of a stretch of noise with this memory, from the scatter of its block
 * means about their mean. It is never less than deviation / sqrt(n). drift is the fitted slope within the runs over the
 * longest of them. Otherwise standard error = deviation / sqrt(n), and memory may be NULL. */
void point_stats_fill(const struct blocks *blocks, const struct run *runs, size_t run_count, bool record,
                      const double memory[CHANNEL_COUNT], struct settled_point *point);

/* The same for one channel. */
struct channel_stats channel_stats_of(const struct blocks *blocks, const struct run *runs, size_t run_count,
                                      bool record, double memory, enum channel channel);

#endif
