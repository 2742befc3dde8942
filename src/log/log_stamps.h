/* log_stamps.h - stamps that are coarser than the samples: ten rows a second, each stamped with the whole second
 *
 * The first rows are held until it is plain whether the log is of that kind. If it is, the rows of a stamp are held
 * until the next stamp comes and are spread evenly over the time between; if not, rows pass as they come.
 */
#ifndef DUTYPROOF_LOG_STAMPS_H
#define DUTYPROOF_LOG_STAMPS_H

#include "log/log.h"

/* A row on its way. after_header: the logger wrote its header again since the row before. */
struct stamped_row {
    struct reading reading;
    bool after_header;
};

typedef enum status take_stamped(void *context, struct stamped_row *row);

enum { STAMP_CHANGES = 8 };

/* {.take = ..., .context = ...} is ready to use. */
struct log_stamps {
    take_stamped *take; /* where rows go */
    void *context;
    enum { STAMPS_UNDECIDED, STAMPS_AS_THEY_ARE, STAMPS_COARSE } kind;
    double step_s;    /* of coarse stamps, from one to the next */
    size_t per_stamp; /* rows that usually share one */
    bool under_way;   /* a group of coarse stamps has been passed on */
    size_t held, room;
    struct stamped_row *rows;
    bool stamped; /* a row held has a stamp, newest_s the last one */
    double newest_s;
    size_t sharing;                /* rows held that share the newest stamp */
    size_t changes, rows_before;   /* of stamp while undecided; rows before the last change */
    size_t largest;                /* number of rows that shared one of them */
    double steps_s[STAMP_CHANGES]; /* and what it changed by */
};

/* Passes a row on, or holds it. Status: E_MEMORY, or what take returned. */
enum status stamps_take(struct log_stamps *stamps, struct stamped_row *row);

/* Passes on what is held. */
enum status stamps_finish(struct log_stamps *stamps);

void stamps_release(struct log_stamps *stamps);

#endif
