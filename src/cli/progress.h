/* progress.h - how far a batch is: one line that is drawn again on a terminal, else a line a test
 */
#ifndef DUTYPROOF_CLI_PROGRESS_H
#define DUTYPROOF_CLI_PROGRESS_H

#include "batch/batch.h"

#include <time.h>

struct progress {
    FILE *to; /* NULL: nothing is shown */
    bool terminal;
    size_t total, done, passed, failed, not_judged;
    struct timespec begun, drawn;
};

/* Progress of a batch of so many tests on standard error. */
struct progress progress_begin(size_t total, bool quiet);

/* Counts and shows a finished test. */
void progress_take(struct progress *progress, const struct batch_test *test);

/* Clears the line. */
void progress_end(struct progress *progress);

#endif
