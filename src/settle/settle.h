/* settle.h - the steady points of a log (stage 3)
 *
 * With a `point` column the rows of one number are one point (blank or 0: not recording). Without one, a short table is
 * a row per point, and a longer record is searched for steady stretches.
 */
#ifndef DUTYPROOF_SETTLE_H
#define DUTYPROOF_SETTLE_H

#include "log/log.h"

/* Statistics of one channel over one point. n 0: the channel was not read there, and the rest means nothing. */
struct channel_stats {
    size_t n;
    double mean, deviation; /* sample standard deviation; 0 for n < 2 */
    double low, high;       /* extreme readings */
    double standard_error;  /* of the mean, allowing for autocorrelation; 0 for n < 2 */
    double effective_n;     /* independent readings that the n are worth, 1 to n; n for a reading sheet */
    double drift;           /* fitted change over the stretch; 0 where not a record */
};

struct settled_point {
    int number; /* as the log numbers it, or 1, 2, ... in time order */
    size_t readings;
    bool steady;              /* false: reduced and shown, but not fitted */
    const char *why_unsteady; /* NULL when steady */
    double from_s, to_s;      /* NaN without a time column */
    size_t line;              /* of the log, where its first reading stands */
    struct channel_stats channels[CHANNEL_COUNT];
};

enum log_kind { LOG_READING_SHEET, LOG_CONTINUOUS_RECORD };

/* A stretch of time chosen by hand (--points), seconds from the first row. */
struct stretch {
    double from_s, to_s;
};

struct settle_rule {
    double shortest_s;               /* a steady stretch lasts at least this long; 0: the default, 15 s */
    const struct stretch *stretches; /* NULL: found by the test for steady state */
    size_t stretch_count;
};

/* A stretch of the record that a point is made of, seconds from the first row. */
struct settled_stretch {
    double from_s, to_s;
    int number; /* of its point */
    bool steady;
};

/* The record made small enough to draw: each bin spans the same part of it. */
struct trace_range {
    double low, mean, high;
    bool known;
};

enum trace_line { TRACE_FLOW, TRACE_PRESSURE, TRACE_POWER, TRACE_LINES };

struct trace_bin {
    double from_s, to_s;
    struct trace_range lines[TRACE_LINES];
};

enum { TRACE_BINS_MAX = 600 };

struct settled {
    enum log_kind kind;
    size_t count;
    struct settled_point *points;      /* in the arena, in order of number (or of time) */
    size_t stretch_count;              /* of a continuous record; 0 for a reading sheet */
    struct settled_stretch *stretches; /* in order of time */
    size_t trace_count;                /* at most TRACE_BINS_MAX; 0 for a reading sheet */
    struct trace_bin *trace;
    enum channel trace_channels[TRACE_LINES]; /* what each line shows (flow may be a differential pressure, power a
                                                 current); CHANNEL_COUNT where there is nothing to show */
};

struct settler; /* the state of a search under way */

/* Starts. What is found lives in the arena, the settler itself until settle_release. Returns: NULL when memory is out.
 */
struct settler *settle_new(const struct settle_rule *rule, struct arena *arena);

/* The sink for log_read; context is the settler. Status: E_MEMORY. */
enum status settle_take(void *context, const struct reading *reading);

/* Ends: fills out, and adds what it found (spikes, stuck channels) to log->defects and notes.
 * Status: E_INPUT no point found (the faults say why); E_MEMORY. */
enum status settle_finish(struct settler *settler, struct log *log, struct settled *out, struct notes *notes,
                          struct faults *faults);

/* Frees what the settler holds outside the arena; NULL is allowed. */
void settle_release(struct settler *settler);

#endif
