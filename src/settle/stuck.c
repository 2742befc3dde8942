#include "settle/stuck.h"

/* Channels that follow the set's state and carry its noise. */
static const enum channel lively[] = {
    CH_FLOW,        CH_DIFFERENTIAL_PRESSURE, CH_WEIR_HEAD, CH_GAUGE_PRESSURE, CH_INPUT_POWER, CH_WATTMETER_1,
    CH_WATTMETER_2, CH_WATTMETER_3,           CH_CURRENT,   CH_CURRENT_R,      CH_CURRENT_Y,   CH_CURRENT_B};

enum { LIVELY = sizeof lively / sizeof lively[0] };

static bool varies(const struct tally *tally)
{
    return tally->n > 1 && tally->high > tally->low;
}

/* Whether another channel varies in a block. */
static bool another_varies(const struct blocks *blocks, size_t index, enum channel channel)
{
    for (size_t i = 0; i < LIVELY; i++) {
        struct tally tally = blocks_tally(blocks, index, lively[i]);
        if (lively[i] != channel && varies(&tally)) {
            return true;
        }
    }
    return false;
}

/* The channel's usual way: it varies in most blocks. */
static bool usually_varies(const struct blocks *blocks, enum channel channel)
{
    size_t count = 0, varying = 0;
    for (size_t i = 0; i < blocks->count; i++) {
        struct tally tally = blocks_tally(blocks, i, channel);
        count += tally.n > 1;
        varying += varies(&tally);
    }
    return 2 * varying > count;
}

/* Where a stretch that repeats the value of block first ends; rows is its number of readings. */
static size_t repeats_until(const struct blocks *blocks, size_t first, enum channel channel, size_t *rows)
{
    struct tally value = blocks_tally(blocks, first, channel);
    size_t i = first;
    *rows = 0;
    for (; i < blocks->count; i++) {
        struct tally tally = blocks_tally(blocks, i, channel);
        bool same = tally.n > 0 && value.low != 0.0 && tally.low == value.low && tally.high == value.low &&
                    value.low == value.high;
        if (!same || !another_varies(blocks, i, channel)) {
            break;
        }
        *rows += tally.n;
    }
    return i;
}

static enum status find_in(const struct blocks *blocks, enum channel channel, struct arena *arena, struct log *log,
                           struct notes *notes)
{
    bool lives = usually_varies(blocks, channel);
    for (size_t first = 0, end; first < blocks->count; first = end) {
        size_t rows;
        end = repeats_until(blocks, first, channel, &rows);
        if (end == first) {
            end++;
            continue;
        }
        double from_s = blocks_head(blocks, first)->from_s, to_s = blocks_head(blocks, end - 1)->to_s;
        bool throughout = end - first == blocks->count;
        bool long_enough = rows >= STUCK_ROWS && to_s - from_s >= STUCK_S;
        if (!long_enough || !(lives || throughout)) {
            continue;
        }
        log->defects[DEFECT_STUCK_CHANNEL]++;
        enum status status = note_add(
            notes, arena, NOTE_CAUTION,
            "%s repeats one value from %.0f s to %.0f s of the record while other channels vary: a stuck channel?",
            channel_info(channel)->name, from_s, to_s);
        if (status != OK) {
            return status;
        }
    }
    return OK;
}

enum status stuck_find(const struct blocks *blocks, struct arena *arena, struct log *log, struct notes *notes)
{
    for (size_t i = 0; i < LIVELY; i++) {
        if ((blocks->channels >> lively[i] & 1U) == 0) {
            continue;
        }
        enum status status = find_in(blocks, lively[i], arena, log, notes);
        if (status != OK) {
            return status;
        }
    }
    return OK;
}
