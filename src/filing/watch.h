/* watch.h - a folder in which a logger writes: tells which logs are complete
 *
 * A log is taken when it is quiet (its size has not changed for a second) and its last line is ended. A log that is
 * written again later is taken again. Files that were there at the start are left alone.
 */
#ifndef DUTYPROOF_WATCH_H
#define DUTYPROOF_WATCH_H

#include "base/status.h"

struct watch;

enum watch_event {
    WATCH_NOTHING, /* the time is up */
    WATCH_LOG,     /* a log is complete */
    WATCH_STALLED, /* a file is quiet but its last line is not ended: told once, taken when it is */
    WATCH_GONE,    /* the folder has vanished: told once */
    WATCH_BACK,    /* it is there again */
};

/* Starts watching. polling: look at the folder every second and never ask for notices; *polled then says so, as it does
 * where the system gives no notices: it has none left, or the folder lies on a network. Status: E_FILE (the folder
 * cannot be read), E_MEMORY. */
enum status watch_start(const char *folder, bool polling, struct watch **watch, bool *polled, struct faults *faults);

/* Waits for the next event, at most a quarter of a second. path: of the file, valid until the next call; NULL where the
 * event has none. Status: E_MEMORY. */
enum status watch_next(struct watch *watch, enum watch_event *event, const char **path, struct faults *faults);

/* NULL is allowed. */
void watch_stop(struct watch *watch);

#endif
