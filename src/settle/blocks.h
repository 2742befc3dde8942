/* blocks.h - a record cut into short blocks, each with the sums that all statistics are made of, in bounded memory
 *
 * A block is about a second of one point's rows (or one row, where there is no time or the logger is slower). When the
 * record outgrows its room, neighbouring blocks are joined and a block becomes twice as long: the sums stay exact, only
 * the times grow coarser.
 */
#ifndef DUTYPROOF_BLOCKS_H
#define DUTYPROOF_BLOCKS_H

#include "log/log.h"

/* Readings of one channel. m2: sum of squared deviations from the mean. n 0: none, and the rest means nothing. */
struct tally {
    double mean, m2, low, high;
    uint32_t n;
};

struct block {
    double from_s, to_s; /* time of its first and last row, where it is timed */
    bool timed;
    uint32_t rows;
    int point;   /* 0: not recorded */
    size_t line; /* of the log, of its first row */
};

enum { BLOCK_CHUNK = 512, BLOCK_CHUNKS = 128 };

/* The block that rows are being added to: sums about an origin, so that squares do not cancel. */
struct open_block {
    struct block head;
    double until_s; /* a row from this time on belongs to the next block */
    double origin[CHANNEL_COUNT], sum[CHANNEL_COUNT], sum_of_squares[CHANNEL_COUNT], low[CHANNEL_COUNT],
        high[CHANNEL_COUNT];
    uint32_t n[CHANNEL_COUNT];
};

struct blocks {
    size_t count;
    double span_s;      /* a block's length */
    uint32_t span_rows; /* and where rows have no time */
    uint32_t channels;  /* bit CH_x set: read at least once */
    struct block *heads[BLOCK_CHUNKS];
    struct tally *tallies[CHANNEL_COUNT][BLOCK_CHUNKS]; /* a chunk is there once its channel was read in it */
    struct open_block open;
};

/* span_s > 0: length of a block at first. */
void blocks_init(struct blocks *blocks, double span_s);
void blocks_release(struct blocks *blocks);

/* Adds a row. point 0 where none is recorded. Status: E_MEMORY; E_INPUT the point changes too often to be kept. */
enum status blocks_add(struct blocks *blocks, const struct reading *reading, int point);

/* Closes the last block. Status as blocks_add. */
enum status blocks_finish(struct blocks *blocks);

const struct block *blocks_head(const struct blocks *blocks, size_t index);

/* n 0 where the channel was not read. */
struct tally blocks_tally(const struct blocks *blocks, size_t index, enum channel channel);

/* Adds the readings of b to a. Source: Chan, Golub and LeVeque, The American Statistician 37 (1983) 242-247. */
void tally_add(struct tally *a, const struct tally *b);

#endif
