/* spikes.h - leaves out single samples that lie far from both neighbours
 */
#ifndef DUTYPROOF_SPIKES_H
#define DUTYPROOF_SPIKES_H

#include "log/log.h"

/* A reading is a spike when the step to it is larger than SPIKE_STEPS times the channel's usual step (for noise without
 * memory 9 standard deviations) and than SPIKE_SHARE of the channel's largest reading, and the next reading is back
 * within so many usual steps of the one before. A smaller one moves the mean of a steady stretch by less than a
 * ten-thousandth. A change that stays is no spike. */
#define SPIKE_STEPS 8.0
#define SPIKE_SHARE 0.02

/* {0} is ready to use. */
struct spikes {
    size_t rows, found;
    uint32_t seen, suspects; /* channels with a reading; channels whose newest reading may be a spike */
    double last[CHANNEL_COUNT], usual_step[CHANNEL_COUNT], largest[CHANNEL_COUNT];
    double limit[CHANNEL_COUNT]; /* of the step to the newest reading */
    struct reading held[2];      /* the newest row, and the one handed out before it */
};

/* Takes the next row of a log and gives back the one before it, without its spikes; screen false: learns only (not a
 * record). Returns: NULL for the first row; else a row that lives until the next call. */
const struct reading *spikes_take(struct spikes *spikes, const struct reading *next, bool screen);

/* The newest row, which has no successor. Returns: NULL when there was none. */
const struct reading *spikes_finish(const struct spikes *spikes);

#endif
