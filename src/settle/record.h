/* record.h - the steady stretches of a continuous record, found by a test for steady state
 */
#ifndef DUTYPROOF_RECORD_H
#define DUTYPROOF_RECORD_H

#include "settle/point_stats.h"

/* A stretch of the record and the point that it belongs to. */
struct found {
    struct run run;
    int point;
    bool steady;
    const char *why_unsteady; /* NULL when steady */
};

struct findings {
    size_t count;
    struct found *items; /* in the arena, in order of time; points are numbered from 1 in that order */
};

/* Searches a record. shortest_s > 0: a steady stretch lasts at least so long.
 * Status: E_MEMORY; E_INPUT no channel of the log tells the set's state. No stretch found is OK with count 0. */
enum status record_search(const struct blocks *blocks, double shortest_s, const char *file, struct arena *arena,
                          struct findings *findings, struct faults *faults);

#endif
