#include "cli/progress.h"

#include "base/text.h"
#include "papers/batch_words.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { BAR = 24, REDRAWS_A_SECOND = 10 };

static double seconds_between(const struct timespec *from, const struct timespec *to)
{
    return (double)(to->tv_sec - from->tv_sec) + 1e-9 * (double)(to->tv_nsec - from->tv_nsec);
}

static struct timespec now(void)
{
    struct timespec time = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return time;
}

struct progress progress_begin(size_t total, bool quiet)
{
    const char *term = getenv("TERM");
    bool terminal = isatty(STDERR_FILENO) == 1 && (term == NULL || strcmp(term, "dumb") != 0);
    return (struct progress){.to = quiet ? NULL : stderr, .terminal = terminal, .total = total, .begun = now()};
}

static void write_time(double seconds, FILE *to)
{
    if (seconds < 90.0) {
        (void)fprintf(to, "%.0f s left", seconds);
    } else if (seconds < 90.0 * 60.0) {
        (void)fprintf(to, "%.0f min left", seconds / 60.0);
    } else {
        (void)fprintf(to, "%.1f h left", seconds / 3600.0);
    }
}

static void draw(struct progress *progress)
{
    struct timespec time = now();
    bool last = progress->done == progress->total;
    if (progress->done > 1 && !last && seconds_between(&progress->drawn, &time) < 1.0 / REDRAWS_A_SECOND) {
        return;
    }
    progress->drawn = time;
    size_t filled = progress->total == 0 ? 0 : BAR * progress->done / progress->total;
    (void)fputs("\r\033[K[", progress->to);
    for (size_t i = 0; i < BAR; i++) {
        (void)fputc(i < filled ? '=' : ' ', progress->to);
    }
    (void)fprintf(progress->to, "] %zu/%zu  %zu pass  %zu fail", progress->done, progress->total, progress->passed,
                  progress->failed);
    if (progress->not_judged > 0) {
        (void)fprintf(progress->to, "  %zu not judged", progress->not_judged);
    }
    if (!last) {
        double spent = seconds_between(&progress->begun, &time);
        (void)fputs("  ", progress->to);
        write_time(spent / (double)progress->done * (double)(progress->total - progress->done), progress->to);
    }
    (void)fflush(progress->to);
}

static void write_line(struct progress *progress, const struct batch_test *test)
{
    enum { LONGEST = 400 };
    struct arena arena = {0};
    const char *serial = text_shown(&arena, test->serial, 80), *reason = batch_reason_text(test, &arena);
    reason = reason == NULL ? NULL : text_shown(&arena, reason, LONGEST);
    if (serial != NULL && reason != NULL) {
        (void)fprintf(progress->to, "%s%zu/%zu %s: %s%s%s%s\n", progress->terminal ? "\r\033[K" : "", progress->done,
                      progress->total, serial, batch_verdict_text(test), test->superseded ? " (superseded)" : "",
                      reason[0] != '\0' ? ": " : "", reason);
    }
    arena_release(&arena);
}

void progress_take(struct progress *progress, const struct batch_test *test)
{
    progress->done++;
    progress->passed += test->verdict == VERDICT_PASS && !test->superseded;
    progress->failed += test->verdict == VERDICT_FAIL && !test->superseded;
    progress->not_judged += test->verdict == VERDICT_NOT_JUDGED && !test->superseded;
    if (progress->to == NULL) {
        return;
    }
    if (!progress->terminal || test->unread) { /* a log that could not be read is told of at once */
        write_line(progress, test);
    }
    if (progress->terminal) {
        draw(progress);
    }
}

void progress_end(struct progress *progress)
{
    if (progress->to != NULL && progress->terminal) {
        (void)fputs("\r\033[K", progress->to);
        (void)fflush(progress->to);
    }
}
