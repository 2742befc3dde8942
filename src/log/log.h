/* log.h - reading a test log, row by row, in constant memory (stage 2: channels)
 *
 * One reader serves a reading sheet (a row per point, or a few rows per point) and a continuous record (a million
 * rows). Each row is converted to SI and corrected (gain and zero of its instrument, then the transformer ratios) and
 * handed to a sink; nothing of it is kept.
 */
#ifndef DUTYPROOF_LOG_H
#define DUTYPROOF_LOG_H

#include "tables/bay.h"

#include <stdint.h>

/* One row of a log, in SI and corrected. time_s counts from the first row that has a time. */
struct reading {
    double value[CHANNEL_COUNT];
    uint32_t present; /* bit CH_x set: value[CH_x] was read */
    size_t line;
};

static inline bool reading_has(const struct reading *reading, enum channel channel)
{
    return (reading->present >> channel & 1U) != 0;
}

/* Where the rows go. take returns OK to go on, anything else ends the reading with that status. */
struct log_sink {
    void *context;
    enum status (*take)(void *context, const struct reading *reading);
};

/* Defects that real records have; each is counted, treated as stated, and shown on the papers. */
enum log_defect {
    DEFECT_DROPPED_SAMPLE, /* a gap in the time stamps: nothing is filled in */
    DEFECT_REPEATED_TIME,  /* the same time stamp again where stamps are not coarse: the first is kept */
    DEFECT_CLOCK_BACK, /* the clock steps back: rows are left out until it has caught up ... or restarts a segment */
    DEFECT_REPEATED_HEADER, /* a logger restart writes its header again, with the lines above it: they are skipped */
    DEFECT_CUT_LAST_LINE,   /* the last line has no line end and fewer cells: it is left out */
    DEFECT_SPIKE,           /* a single sample far from its neighbours: left out of the means (found by settle) */
    DEFECT_STUCK_CHANNEL,   /* a channel that repeats one value while others vary: a caution (found by settle) */
    DEFECT_COUNT
};

/* What was read of a log, beside its rows. */
struct log {
    const char *file;                        /* as named on the command line */
    char sha256[65];                         /* of the file's bytes as stored (of the compressed file for .gz) */
    size_t rows;                             /* data rows read */
    const char *serial, *model, *tester;     /* from `# serial: ...` lines; NULL when not stated */
    struct date tested, first_stamp;         /* as stated; of the first time stamp that is a date */
    uint32_t channels;                       /* bit CH_x set: the log has that column */
    const char *headings[CHANNEL_COUNT];     /* as written, NULL when absent */
    const struct unit *units[CHANNEL_COUNT]; /* that the log is written in; NULL: none stated */
    size_t defects[DEFECT_COUNT];
    size_t below_range[CHANNEL_COUNT], above_range[CHANNEL_COUNT]; /* readings outside the instrument's range */
    double first_time_s, last_time_s; /* absolute (epoch for ISO stamps); NaN when there is no time column */
};

/* Reads a log (plain CSV, or gzip when the name ends in .gz) into a sink.
 * bay may be NULL (inspect without a bay): no mapping, no corrections.
 * Status: E_INPUT with every fault of the file (up to 20, then a count): a cell that is not a number, a row that is
 * short, a unit that is unknown, a heading that is nearly a channel's, two serials, no data rows ...; E_FILE; E_MEMORY;
 * or what the sink returned. notes receives unknown columns. */
enum status log_read(const char *path, const struct bay *bay, struct log_sink sink, struct arena *arena,
                     struct log *log, struct notes *notes, struct faults *faults);

/* Adds a note for each defect that was met: how often, and what was done with it. Status: E_MEMORY. */
enum status log_defects_note(const struct log *log, struct arena *arena, struct notes *notes);

#endif
