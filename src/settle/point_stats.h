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

/* Fills a point's readings, times and the statistics of every channel.
 * record: the rows are samples of a record, so that neighbours are not independent. The standard error is found from
 * the block means as for noise with an exponential memory: variance of the block means / n x (1 + r)/(1 - r) (Bayley
 * and Hammersley, Suppl. J. R. Statist. Soc. 8 (1946) 184-197), r their lag-1 autocorrelation, corrected for its bias
 * in a short series, (n r + 1)/(n - 4) (Kendall, Biometrika 41 (1954) 403-404), 0 to 0.95. It is never less than
 * deviation / sqrt(n). drift is the fitted slope within the runs over the longest of them.
 * Otherwise standard error = deviation / sqrt(n). */
void point_stats_fill(const struct blocks *blocks, const struct run *runs, size_t run_count, bool record,
                      struct settled_point *point);

/* The same for one channel. */
struct channel_stats channel_stats_of(const struct blocks *blocks, const struct run *runs, size_t run_count,
                                      bool record, enum channel channel);

#endif
