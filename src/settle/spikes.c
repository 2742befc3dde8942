#include "settle/spikes.h"

#include <math.h>

/* The usual step is known after so many rows; it is a running mean over STEP_MEMORY rows. */
enum { ROWS_TO_LEARN = 10, STEP_MEMORY = 32 };

static const uint32_t not_measured = UINT32_C(1) << CH_TIME | UINT32_C(1) << CH_POINT;

/* Learns a reading's step. Returns: true if the step is suspiciously large. */
static bool learn(struct spikes *spikes, unsigned channel, double value, bool screen)
{
    bool suspect = false;
    double size = fabs(value);
    if (size > spikes->largest[channel]) {
        spikes->largest[channel] = size;
    }
    if ((spikes->seen >> channel & 1U) != 0) {
        double *usual = &spikes->usual_step[channel];
        double step = fabs(value - spikes->last[channel]), limit = SPIKE_STEPS * *usual;
        if (spikes->rows >= ROWS_TO_LEARN && step > limit) {
            spikes->limit[channel] = limit;
            suspect = screen && step > SPIKE_SHARE * spikes->largest[channel];
            step = *usual > 0.0 ? limit : step; /* so that one spike does not hide the next */
        }
        *usual += (step - *usual) / (double)(spikes->rows < STEP_MEMORY ? spikes->rows : (size_t)STEP_MEMORY);
    }
    spikes->seen |= UINT32_C(1) << channel;
    return suspect;
}

static void judge_held(struct spikes *spikes, struct reading *held, const struct reading *next)
{
    for (unsigned channel = 0; spikes->suspects >> channel != 0; channel++) {
        if ((spikes->suspects >> channel & 1U) == 0) {
            continue;
        }
        double before = spikes->last[channel], step = fabs(held->value[channel] - before);
        double back = fabs(next->value[channel] - before);
        if (reading_has(next, (enum channel)channel) && back <= spikes->limit[channel] && back < 0.5 * step) {
            held->present &= ~(UINT32_C(1) << channel);
            spikes->found++;
        } else { /* a change that stays: the channel has become livelier */
            spikes->last[channel] = held->value[channel];
            spikes->usual_step[channel] = fmax(spikes->usual_step[channel], step);
        }
    }
    spikes->suspects = 0;
}

const struct reading *spikes_take(struct spikes *spikes, const struct reading *next, bool screen)
{
    struct reading *ready = &spikes->held[(spikes->rows + 1) % 2], *newest = &spikes->held[spikes->rows % 2];
    bool first = spikes->rows == 0;
    if (spikes->suspects != 0) {
        judge_held(spikes, ready, next);
    }
    uint32_t left = next->present & ~not_measured;
    for (unsigned channel = 0; left >> channel != 0; channel++) {
        if ((left >> channel & 1U) == 0) {
            continue;
        }
        if (learn(spikes, channel, next->value[channel], screen)) {
            spikes->suspects |= UINT32_C(1) << channel;
        } else {
            spikes->last[channel] = next->value[channel];
        }
    }
    *newest = *next;
    spikes->rows++;
    return first ? NULL : ready;
}

const struct reading *spikes_finish(const struct spikes *spikes)
{
    return spikes->rows == 0 ? NULL : &spikes->held[(spikes->rows + 1) % 2];
}
