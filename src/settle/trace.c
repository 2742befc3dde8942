#include "settle/trace.h"

/* What a line of the trace may show, the first that the log has. */
static const struct choice {
    size_t count;
    enum channel channels[8];
} choices[TRACE_LINES] = {
    [TRACE_FLOW] = {3, {CH_FLOW, CH_DIFFERENTIAL_PRESSURE, CH_WEIR_HEAD}},
    [TRACE_PRESSURE] = {2, {CH_GAUGE_PRESSURE, CH_SUCTION_PRESSURE}},
    [TRACE_POWER] = {6, {CH_INPUT_POWER, CH_WATTMETER_1, CH_CURRENT, CH_CURRENT_R, CH_CURRENT_Y, CH_CURRENT_B}},
};

static enum channel choose(const struct blocks *blocks, const struct choice *choice)
{
    for (size_t i = 0; i < choice->count; i++) {
        if ((blocks->channels >> choice->channels[i] & 1U) != 0) {
            return choice->channels[i];
        }
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
        out->trace_channels[line] = choose(blocks, &choices[line]);
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
