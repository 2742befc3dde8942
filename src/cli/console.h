/* console.h - what the program says, and where: results to standard output, all else to standard error
 */
#ifndef DUTYPROOF_CLI_CONSOLE_H
#define DUTYPROOF_CLI_CONSOLE_H

#include "cli/commands.h"

/* True when standard output may be coloured: a terminal that is not dumb, and NO_COLOR is not set. */
bool console_colour(void);

/* Prints the faults of a bad command line and where to read on. command may be NULL. Returns: EXIT_TROUBLE. */
enum exit_status console_usage(const struct faults *faults, const char *command);

/* Prints the faults and then, unless NULL, what came of them or what to do, formatted as printf does. Returns:
 * EXIT_TROUBLE. */
enum exit_status console_trouble(const struct faults *faults, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* Checks that all of standard output was written and closes it. Returns: EXIT_PASSED, or EXIT_TROUBLE and says so. */
enum exit_status console_end(void);

#endif
