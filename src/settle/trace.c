#include "settle/trace.h"

/* The first channel that the log has of those that make a quantity; CHANNEL_COUNT: none. */
static enum channel first_making(const struct blocks *blocks, enum channel_makes makes)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_info *info = channel_info((enum channel)c);
        bool shown = info->follows || info->dimension == DIM_PRESSURE;
        if (info->makes == makes && shown && (blocks->channels >> c & 1U) != 0) {
            return (enum channel)c;
        }
    }
    return CHANNEL_COUNT;
}

static enum channel choose(const struct blocks *blocks, enum trace_line line)
{
    enum channel power = first_making(blocks, MAKES_POWER);
    switch (line) {
    case TRACE_FLOW: return first_making(blocks, MAKES_FLOW);
    case TRACE_PRESSURE: return first_making(blocks, MAKES_HEAD);
    case TRACE_POWER: return power != CHANNEL_COUNT ? power : first_making(blocks, MAKES_CURRENT);
    case TRACE_LINES: break;
    }
    return CHANNEL_COUNT;
}

static struct trace_range range_of(const struct blocks *blocks, size_t first, size_t end, enum channel channel)
{
    struct tally sum = {0};
    for (size_t i = first; i < end && channel < CHANNEL_COUNT; i++) {
        struct tally tally = blocks_tally(blocks, i, channel);
        tally_add(&sum, &tally);
    }
    return (struct trace_range){.low = sum.low, .mean = sum.mean, .high = sum.high, .known = sum.n > 0};
}

enum status trace_make(const struct blocks *blocks, struct arena *arena, struct settled *out)
{
    size_t bins = blocks->count < TRACE_BINS_MAX ? blocks->count : (size_t)TRACE_BINS_MAX;
    out->trace = arena_alloc(arena, bins, sizeof *out->trace);
    if (out->trace == NULL) {
        return E_MEMORY;
    }
    for (size_t line = 0; line < TRACE_LINES; line++) {
        out->trace_channels[line] = choose(blocks, (enum trace_line)line);
    }
    for (size_t bin = 0; bin < bins; bin++) {
        size_t first = bin * blocks->count / bins, end = (bin + 1) * blocks->count / bins;
        out->trace[bin].from_s = blocks_head(blocks, first)->from_s;
        out->trace[bin].to_s = blocks_head(blocks, end - 1)->to_s;
        for (size_t line = 0; line < TRACE_LINES; line++) {
            out->trace[bin].lines[line] = range_of(blocks, first, end, out->trace_channels[line]);
        }
    }
    out->trace_count = bins;
    return OK;
}
