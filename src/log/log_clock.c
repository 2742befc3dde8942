#include "log/log_clock.h"

#include <math.h>

/* A clock that is corrected goes back a little: its rows are left out until it has caught up. One that goes back
 * further was set anew (summer time, a logger that starts at 0 again): the record goes on one usual step after its last
 * row. */
#define CORRECTION_MAX_S 5.0

/* The usual step is known after so many steps that differ from it by less than half. */
enum { EVEN_STEPS = 8 };

#define UNEVEN      0.5
#define STEP_MEMORY 16.0
#define DROPPED_MAX 1e12 /* keeps the count within range after a wild stamp */

static void learn_step(struct log_clock *clock, double step_s)
{
    if (fabs(step_s - clock->step_s) <= UNEVEN * clock->step_s) {
        clock->even_steps++;
        clock->step_s += (step_s - clock->step_s) / STEP_MEMORY;
    } else if (clock->even_steps < EVEN_STEPS) {
        clock->even_steps = 0;
        clock->step_s = step_s;
    }
}

/* Samples that are missing in a step; none while the usual step is not known. */
static size_t dropped_in(const struct log_clock *clock, double step_s)
{
    if (clock->restarted || clock->even_steps < EVEN_STEPS || !(step_s > (1.0 + UNEVEN) * clock->step_s)) {
        return 0;
    }
    return (size_t)fmin(round(step_s / clock->step_s) - 1.0, DROPPED_MAX);
}

bool clock_take(struct log_clock *clock, double stamp_s, size_t defects[DEFECT_COUNT], double *time_s)
{
    if (!clock->started) {
        clock->started = true;
        clock->first_s = clock->last_s = stamp_s;
        *time_s = 0.0;
        return true;
    }
    double now_s = stamp_s + clock->shift_s;
    double step_s = now_s - clock->last_s;
    if (step_s < 0.0 && (clock->restarted || -step_s > CORRECTION_MAX_S)) {
        defects[DEFECT_CLOCK_BACK] += !clock->restarted;
        clock->shift_s += clock->step_s - step_s;
        now_s = clock->last_s + clock->step_s;
    } else if (step_s < 0.0) {
        defects[DEFECT_CLOCK_BACK]++;
        return false;
    } else if (step_s == 0.0 && !clock->may_repeat) {
        defects[DEFECT_REPEATED_TIME]++;
        return false;
    } else {
        defects[DEFECT_DROPPED_SAMPLE] += dropped_in(clock, step_s);
        learn_step(clock, step_s);
    }
    clock->restarted = false;
    clock->last_s = now_s;
    *time_s = now_s - clock->first_s;
    return true;
}
