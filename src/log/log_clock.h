/* log_clock.h - one time that only goes forward, from time stamps that repeat, jump and step back
 */
#ifndef DUTYPROOF_LOG_CLOCK_H
#define DUTYPROOF_LOG_CLOCK_H

#include "log/log.h"

/* {0} is ready to use. */
struct log_clock {
    bool started;
    bool restarted;      /* the logger wrote its header again since the last stamp */
    bool may_repeat;     /* stamps to the minute: several rows share one */
    double first_s;      /* the first stamp */
    double last_s;       /* the last stamp, on the time that goes forward */
    double shift_s;      /* added to a stamp since the clock was set back */
    double step_s;       /* the usual step */
    unsigned even_steps; /* successive steps near the usual one */
};

/* Takes a stamp and counts its defects.
 * Returns: true and *time_s since the first stamp; false when the row is to be left out. */
bool clock_take(struct log_clock *clock, double stamp_s, size_t defects[DEFECT_COUNT], double *time_s);

#endif
