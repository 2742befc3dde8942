/* commands.h - the commands of the program
 *
 * To add a command, add its row here and its function cmd_NAME in a file of its own.
 */
#ifndef DUTYPROOF_CLI_COMMANDS_H
#define DUTYPROOF_CLI_COMMANDS_H

#include "cli/options.h"

/* The exit statuses; of several the largest counts. */
enum exit_status {
    EXIT_PASSED = 0,     /* every unit passes (or: the command did what it was asked) */
    EXIT_NOT_PASSED = 1, /* at least one unit fails or could not be judged */
    EXIT_TROUBLE = 2,    /* bad usage, bad input or a failed write; standard error says what, where and what to do */
};

#define USES(id) (UINT32_C(1) << OPTION_##id)

/*        name     operands      options
 *        what it does, in one line
 *        an example */
#define COMMAND_LIST(X)                                                                                                \
    X(reduce, "LOG...",                                                                                                \
      USES(BAY) | USES(MODEL) | USES(SERIAL) | USES(OUT) | USES(NO_PAPERS) | USES(JSON) | USES(PLOT) | USES(POINTS) |  \
          USES(MONTE_CARLO) | USES(GUARD) | USES(QUIET),                                                               \
      "reduce each log, print the unit's sheet and write its papers",                                                  \
      "dutyproof reduce --out reports logs/BW-0117.csv")                                                               \
    X(certify, "UNITS.csv",                                                                                            \
      USES(BAY) | USES(OUT) | USES(JOBS) | USES(RESUME) | USES(PASSES_ONLY) | USES(NO_PAPERS) | USES(JSON) |           \
          USES(QUIET),                                                                                                 \
      "reduce a batch, write the papers of each unit, the batch table and the certificate",                            \
      "dutyproof certify --out reports units.csv")                                                                     \
    X(label, "LOG... | UNITS.csv",                                                                                     \
      USES(BAY) | USES(MODEL) | USES(OUT) | USES(NO_PAPERS) | USES(JSON) | USES(PLOT) | USES(POINTS) | USES(HOURS) |   \
          USES(WHAT_IF) | USES(QUIET),                                                                                 \
      "efficiency against the thresholds of the label, by unit and over the batch",                                    \
      "dutyproof label --hours 1500 --what-if efficiency=+1.5 units.csv")                                              \
    X(watch, "FOLDER", USES(BAY) | USES(MODEL) | USES(OUT) | USES(NO_PAPERS) | USES(JSON) | USES(QUIET),               \
      "reduce each log that the logger finishes in a folder, and show its verdict large",                              \
      "dutyproof watch --out reports logs")                                                                            \
    X(start, "FOLDER", USES(FLOW) | USES(PHASES) | USES(UNITS) | USES(SPEED),                                          \
      "write the tables of a new bay, to be filled in, and say what is to fill",                                       \
      "dutyproof start --flow meter --phases 3 --units metric --speed frequency bay")                                  \
    X(inspect, "LOG | BAY", USES(BAY) | USES(JSON) | USES(PLOT) | USES(POINTS),                                        \
      "show what was read of a log, or of a bay's tables and what is still to fill; judge nothing",                    \
      "dutyproof inspect logs/BW-0117.csv")                                                                            \
    X(find, "[WORD...]", USES(BAY) | USES(JSON) | USES(CSV),                                                           \
      "what the bay's register holds of a serial, an order, a model, a day or a verdict", "dutyproof find BW-0117")    \
    X(verify, "PAPER...", USES(BAY) | USES(LOG) | USES(QUIET),                                                         \
      "hold papers, folders, a bay or a register against log and tables, and say what differs and since when",         \
      "dutyproof verify reports/BW-0117")                                                                              \
    X(tables, "[NAME]", USES(JSON), "list the built-in reference tables, or print one with its sources",               \
      "dutyproof tables grades")

struct command {
    const char *name, *operands;
    uint32_t options; /* beside --help, which each takes; find and verify take --bay several times */
    const char *summary, *example;
    enum exit_status (*run)(const struct options *options);
};

#define X(word, takes, uses, does, shows) enum exit_status cmd_##word(const struct options *options);
COMMAND_LIST(X)
#undef X

/* All of them; the last has no name. */
extern const struct command commands[];

/* Returns: NULL when there is none of that name. */
const struct command *command_find(const char *name);

/* The worse of two. */
enum exit_status exit_worse(enum exit_status a, enum exit_status b);

#endif
