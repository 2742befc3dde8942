#include "settle/blocks.h"

#include <math.h>
#include <stdlib.h>

/* Room for all tallies together: with 40 bytes each, 12 MB. */
enum { TALLIES_MAX = 300 * 1000, DOUBLINGS_MAX = 60 };

/* Stamps such as 0.1 + 0.2 lie beside the round number that they mean. */
#define STAMP_ERROR 1e-6

void blocks_init(struct blocks *blocks, double span_s)
{
    *blocks = (struct blocks){.span_s = span_s, .span_rows = 1};
}

void blocks_release(struct blocks *blocks)
{
    for (size_t chunk = 0; chunk < BLOCK_CHUNKS; chunk++) {
        free(blocks->heads[chunk]);
        blocks->heads[chunk] = NULL;
        for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
            free(blocks->tallies[channel][chunk]);
            blocks->tallies[channel][chunk] = NULL;
        }
    }
}

static struct block *head_at(const struct blocks *blocks, size_t index)
{
    return &blocks->heads[index / BLOCK_CHUNK][index % BLOCK_CHUNK];
}

static struct tally *tally_at(const struct blocks *blocks, size_t index, size_t channel)
{
    struct tally *chunk = blocks->tallies[channel][index / BLOCK_CHUNK];
    return chunk == NULL ? NULL : &chunk[index % BLOCK_CHUNK];
}

const struct block *blocks_head(const struct blocks *blocks, size_t index)
{
    return head_at(blocks, index);
}

struct tally blocks_tally(const struct blocks *blocks, size_t index, enum channel channel)
{
    const struct tally *tally = tally_at(blocks, index, channel);
    return tally == NULL ? (struct tally){0} : *tally;
}

void tally_add(struct tally *a, const struct tally *b)
{
    if (b->n == 0) {
        return;
    }
    if (a->n == 0) {
        *a = *b;
        return;
    }
    double n_a = a->n, n_b = b->n, n = n_a + n_b;
    double difference = b->mean - a->mean;
    a->mean += difference * (n_b / n);
    a->m2 += b->m2 + difference * difference * (n_a * n_b / n);
    a->low = fmin(a->low, b->low);
    a->high = fmax(a->high, b->high);
    a->n += b->n;
}

/* --- joining neighbours when there is no more room --- */

static size_t count_channels(const struct blocks *blocks)
{
    size_t count = 0;
    for (uint32_t left = blocks->channels; left != 0; left &= left - 1) {
        count++;
    }
    return count;
}

static size_t most_blocks(const struct blocks *blocks)
{
    size_t channels = count_channels(blocks), largest = (size_t)BLOCK_CHUNK * BLOCK_CHUNKS;
    size_t room = TALLIES_MAX / (channels == 0 ? 1 : channels) / BLOCK_CHUNK * BLOCK_CHUNK;
    return room < largest ? room : largest;
}

static bool belong_together(const struct blocks *blocks, const struct block *a, const struct block *b)
{
    if (a->point != b->point || a->timed != b->timed) {
        return false;
    }
    if (!a->timed) {
        return a->rows + b->rows <= blocks->span_rows;
    }
    return floor(a->from_s / blocks->span_s + STAMP_ERROR) == floor(b->from_s / blocks->span_s + STAMP_ERROR);
}

static void join(struct blocks *blocks, size_t to, size_t from)
{
    struct block *a = head_at(blocks, to);
    const struct block *b = head_at(blocks, from);
    a->to_s = b->to_s;
    a->rows += b->rows;
    for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
        const struct tally *tally = tally_at(blocks, from, channel);
        if (tally != NULL && tally->n > 0) {
            struct tally *sum = tally_at(blocks, to, channel);
            tally_add(sum, tally);
        }
    }
}

static void move(struct blocks *blocks, size_t to, size_t from)
{
    *head_at(blocks, to) = *head_at(blocks, from);
    for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
        struct tally *target = tally_at(blocks, to, channel);
        const struct tally *source = tally_at(blocks, from, channel);
        if (target != NULL) {
            *target = source == NULL ? (struct tally){0} : *source;
        }
    }
}

/* A channel's chunks must be there before blocks move into them. */
static enum status make_chunk(struct blocks *blocks, size_t chunk, uint32_t channels)
{
    if (blocks->heads[chunk] == NULL) {
        blocks->heads[chunk] = calloc(BLOCK_CHUNK, sizeof *blocks->heads[chunk]);
        if (blocks->heads[chunk] == NULL) {
            return E_MEMORY;
        }
    }
    for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
        if ((channels >> channel & 1U) != 0 && blocks->tallies[channel][chunk] == NULL) {
            blocks->tallies[channel][chunk] = calloc(BLOCK_CHUNK, sizeof *blocks->tallies[channel][chunk]);
            if (blocks->tallies[channel][chunk] == NULL) {
                return E_MEMORY;
            }
        }
    }
    return OK;
}

static void join_neighbours(struct blocks *blocks)
{
    size_t kept = 0;
    blocks->span_s *= 2.0;
    blocks->span_rows = blocks->span_rows > UINT32_MAX / 2 ? blocks->span_rows : blocks->span_rows * 2;
    for (size_t i = 1; i < blocks->count; i++) {
        if (belong_together(blocks, head_at(blocks, kept), head_at(blocks, i))) {
            join(blocks, kept, i);
        } else if (++kept != i) {
            move(blocks, kept, i);
        }
    }
    blocks->count = kept + 1;
}

static enum status make_room(struct blocks *blocks)
{
    size_t most = most_blocks(blocks);
    if (blocks->count < most) {
        return OK;
    }
    for (size_t chunk = 0; chunk * BLOCK_CHUNK < blocks->count; chunk++) {
        enum status status = make_chunk(blocks, chunk, blocks->channels);
        if (status != OK) {
            return status;
        }
    }
    for (int doublings = 0; blocks->count > most / 4 * 3; doublings++) {
        if (doublings == DOUBLINGS_MAX) {
            return E_INPUT;
        }
        join_neighbours(blocks);
    }
    return OK;
}

/* --- adding rows --- */

static enum status close_block(struct blocks *blocks)
{
    struct open_block *open = &blocks->open;
    if (open->head.rows == 0) {
        return OK;
    }
    enum status status = make_room(blocks);
    uint32_t read = 0;
    for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
        read |= (uint32_t)(open->n[channel] > 0) << channel;
    }
    blocks->channels |= read;
    if (status == OK) {
        status = make_chunk(blocks, blocks->count / BLOCK_CHUNK, read);
    }
    if (status != OK) {
        return status;
    }
    *head_at(blocks, blocks->count) = open->head;
    for (size_t channel = 0; channel < CHANNEL_COUNT; channel++) {
        struct tally *tally = tally_at(blocks, blocks->count, channel);
        if (tally == NULL) {
            continue;
        }
        double n = open->n[channel];
        *tally = open->n[channel] == 0
                     ? (struct tally){0}
                     : (struct tally){
                           .mean = open->origin[channel] + open->sum[channel] / n,
                           .m2 = fmax(0.0, open->sum_of_squares[channel] - open->sum[channel] * open->sum[channel] / n),
                           .low = open->low[channel],
                           .high = open->high[channel],
                           .n = open->n[channel],
                       };
        open->n[channel] = 0;
    }
    blocks->count++;
    open->head.rows = 0;
    return OK;
}

static void open_new(struct blocks *blocks, double time_s, bool timed, int point)
{
    struct open_block *open = &blocks->open;
    open->head = (struct block){.from_s = time_s, .to_s = time_s, .timed = timed, .point = point};
    open->until_s = (floor(time_s / blocks->span_s + STAMP_ERROR) + 1.0 - STAMP_ERROR) * blocks->span_s;
}

static bool fits(const struct blocks *blocks, double time_s, bool timed, int point)
{
    const struct open_block *open = &blocks->open;
    if (open->head.point != point || open->head.timed != timed) {
        return false;
    }
    return timed ? time_s < open->until_s : open->head.rows < blocks->span_rows;
}

static void add_number(struct open_block *open, unsigned channel, double value)
{
    if (open->n[channel]++ == 0) {
        open->origin[channel] = open->low[channel] = open->high[channel] = value;
        open->sum[channel] = open->sum_of_squares[channel] = 0.0;
        return;
    }
    double d = value - open->origin[channel];
    open->sum[channel] += d;
    open->sum_of_squares[channel] += d * d;
    open->low[channel] = value < open->low[channel] ? value : open->low[channel];
    open->high[channel] = value > open->high[channel] ? value : open->high[channel];
}

enum status blocks_add(struct blocks *blocks, const struct reading *reading, int point)
{
    struct open_block *open = &blocks->open;
    /* a blank time in a timed record goes with the row before it */
    bool has_time = reading_has(reading, CH_TIME), timed = has_time || open->head.timed;
    double time_s = has_time ? reading->value[CH_TIME] : open->head.to_s;
    if (open->head.rows > 0 && !fits(blocks, time_s, timed, point)) {
        enum status status = close_block(blocks);
        if (status != OK) {
            return status;
        }
    }
    if (open->head.rows == 0) {
        open_new(blocks, time_s, timed, point);
        open->head.line = reading->line;
    }
    open->head.rows++;
    open->head.to_s = time_s;
    const uint32_t not_measured = UINT32_C(1) << CH_TIME | UINT32_C(1) << CH_POINT;
    uint32_t left = reading->present & ~not_measured;
    for (unsigned channel = 0; left >> channel != 0; channel++) {
        if ((left >> channel & 1U) != 0) {
            add_number(open, channel, reading->value[channel]);
        }
    }
    return OK;
}

enum status blocks_finish(struct blocks *blocks)
{
    return close_block(blocks);
}
