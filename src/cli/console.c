#include "cli/console.h"

#include <errno.h>
#include <poll.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

bool console_colour(void)
{
    const char *no_color = getenv("NO_COLOR"), *term = getenv("TERM");
    return isatty(STDOUT_FILENO) == 1 && (no_color == NULL || no_color[0] == '\0') &&
           (term == NULL || strcmp(term, "dumb") != 0);
}

/* Writes to standard error are not checked: there is nowhere left to say that they failed. */
enum exit_status console_usage(const struct faults *faults, const char *command)
{
    (void)fputs("dutyproof: ", stderr);
    (void)faults_print(faults, stderr);
    (void)fprintf(stderr, "Try 'dutyproof%s%s --help'.\n", command != NULL ? " " : "", command != NULL ? command : "");
    return EXIT_TROUBLE;
}

enum exit_status console_trouble(const struct faults *faults, const char *fmt, ...)
{
    (void)fflush(stdout); /* in order, where both streams are one terminal; a failure shows at the end */
    (void)faults_print(faults, stderr);
    if (fmt != NULL) {
        char text[FAULT_TEXT];
        va_list args;
        va_start(args, fmt);
        int length = vsnprintf(text, sizeof text, fmt, args);
        va_end(args);
        text_tidy(text, length >= (int)sizeof text);
        (void)fprintf(stderr, "dutyproof: %s\n", text);
    }
    return EXIT_TROUBLE;
}

/* The reader of a pipe has gone. */
static bool reader_is_gone(void)
{
    struct pollfd out = {.fd = STDOUT_FILENO, .events = POLLOUT};
    return poll(&out, 1, 0) == 1 && (out.revents & POLLERR) != 0;
}

enum exit_status console_end(void)
{
    bool gone = reader_is_gone();
    bool failed = ferror(stdout) != 0;
    errno = 0;
    failed = fclose(stdout) != 0 || failed;
    if (failed && gone) {
        return EXIT_PASSED; /* `| head` has seen enough: no fault of the results or of the papers */
    }
    if (failed) {
        (void)fprintf(stderr, "dutyproof: standard output cannot be written%s%s\n", errno != 0 ? ": " : "",
                      errno != 0 ? strerror(errno) : "");
        return EXIT_TROUBLE;
    }
    return EXIT_PASSED;
}
