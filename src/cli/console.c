#include "cli/console.h"

#include <errno.h>
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
        va_list args;
        va_start(args, fmt);
        (void)fputs("dutyproof: ", stderr);
        (void)vfprintf(stderr, fmt, args);
        (void)fputc('\n', stderr);
        va_end(args);
    }
    return EXIT_TROUBLE;
}

enum exit_status console_end(void)
{
    bool failed = ferror(stdout) != 0;
    errno = 0;
    failed = fclose(stdout) != 0 || failed;
    if (failed) {
        (void)fprintf(stderr, "dutyproof: standard output cannot be written%s%s\n", errno != 0 ? ": " : "",
                      errno != 0 ? strerror(errno) : "");
        return EXIT_TROUBLE;
    }
    return EXIT_PASSED;
}
