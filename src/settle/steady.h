/* steady.h - the test for steady state, window by window
 */
#ifndef DUTYPROOF_STEADY_H
#define DUTYPROOF_STEADY_H

#include "settle/blocks.h"

/* What matters, as a share of the channel's largest reading: a drift over a window. */
#define DRIFT_THAT_MATTERS 0.005

enum { EDGE_GROUPS = 3, GROUP_MAX = 4, TESTED_MAX = 8 };

/* A channel that tells the set's state. */
struct tested {
    enum channel channel;
    double scale; /* its largest block mean */
};

struct steady {
    const struct blocks *blocks;
    double shortest_s, spacing_s; /* of a steady stretch; from block to block */
    size_t tested_count;
    struct tested tested[TESTED_MAX];
    size_t group;  /* blocks per group: what one mean of the test is taken of */
    bool *marks;   /* one per block */
    double *means; /* of the groups of the length under trial, while marking: one per block for each tested channel */
};

/* Chooses the channels to test: flow, pressure and power follow the valve; currents stand in for a power that was not
 * logged. Voltage, frequency and temperature do not follow it. tested_count 0: there is none. marks stays NULL. */
void steady_init(struct steady *steady, const struct blocks *blocks, double shortest_s);

/* Tests every window and marks the blocks that lie in a steady one, EDGE_GROUPS groups from its ends at least: nearer
 * to an end a step is not yet seen. marks holds one place per block, means, for scratch, tested_count of them. Sets
 * group. */
void steady_mark(struct steady *steady, bool *marks, double *means);

/* The slow part of the variance of count values: c, 0 for steady noise and 1 for a ramp, and the linear drift that it
 * is worth. */
void slow_part(const double *x, size_t count, double *c, double *drift);

/* Beyond this, c of count values is not chance at 1 %. count >= 3. */
double slow_part_limit(size_t count);

#endif
