/* options.h - the options of the command line, read into one struct
 *
 * To add an option, add its row here; a command then takes it by naming it in its row of commands.h.
 */
#ifndef DUTYPROOF_CLI_OPTIONS_H
#define DUTYPROOF_CLI_OPTIONS_H

#include "base/arena.h"
#include "base/status.h"
#include "settle/settle.h"

#include <stdint.h>

/*        name        argument   what --help says of it */
#define OPTION_LIST(X)                                                                                                 \
    X(BAY, "bay", "DIR", "the bay's folder; else the nearest folder above the log with a rig.csv")                     \
    X(MODEL, "model", "NAME", "the model of the unit, whatever the log says")                                          \
    X(SERIAL, "serial", "NUMBER", "the serial of the unit, whatever the log says")                                     \
    X(OUT, "out", "DIR", "where the papers go, a folder a unit (default: reports)")                                    \
    X(JOBS, "jobs", "N", "units at a time (default: as many as there are cores)")                                      \
    X(RESUME, "resume", NULL, "leave papers that are whole and whose inputs are unchanged as they are")                \
    X(PASSES_ONLY, "passes-only", NULL, "certify the units that pass alone, and say how many others the list holds")   \
    X(NO_PAPERS, "no-papers", NULL, "write nothing")                                                                   \
    X(JSON, "json", NULL, "print the result document instead of the sheet")                                            \
    X(CSV, "csv", NULL, "print a CSV table")                                                                           \
    X(LOG, "log", "FILE", "the log of the papers, where it lies elsewhere than the register says")                     \
    X(PLOT, "plot", NULL, "draw the curves (inspect: the record) on the terminal too")                                 \
    X(POINTS, "points", "LIST", "the steady stretches, in seconds: from-to,from-to,...")                               \
    X(MONTE_CARLO, "monte-carlo", "N", "also state the uncertainty by N random trials of the whole test")              \
    X(GUARD, "guard", "P", "also say whether the unit conforms with at least probability P, 0.5 to 1")                 \
    X(HOURS, "hours", "N", "hours of running a year, for the energy in kWh")                                           \
    X(WHAT_IF, "what-if", "CHANGE",                                                                                    \
      "the same units, better: efficiency=+1.5 (points), head=+2 (m), or both with a comma")                           \
    X(FLOW, "flow", "METHOD", "how flow is measured: meter, orifice, v notch, ... ('tables rig' lists them)")          \
    X(PHASES, "phases", "N", "phases of the motors, 1 or 3")                                                           \
    X(UNITS, "units", "SHOP", "units of the shop: metric, us or indian")                                               \
    X(SPEED, "speed", "BASIS", "speed basis: measured, frequency or motor")                                            \
    X(QUIET, "quiet", NULL, "print no sheet and no remarks; the exit status tells")                                    \
    X(HELP, "help", NULL, "print this help")                                                                           \
    X(VERSION, "version", NULL, "print the version")

enum option_id {
#define X(id, name, argument, help) OPTION_##id,
    OPTION_LIST(X)
#undef X
        OPTION_COUNT
};

struct option_info {
    const char *name, *argument, *help; /* argument NULL: takes none */
};

enum { BAYS_MAX = 64 };

/* The command line after the command's name. value: NULL where not given, "" for an option without argument. */
struct options {
    const char *value[OPTION_COUNT];
    const char *bays[BAYS_MAX]; /* each --bay, for commands that take several */
    size_t bay_count;
    char **operands;
    size_t operand_count;
};

/* option 0 .. OPTION_COUNT - 1. Never NULL. */
const struct option_info *option_info(enum option_id option);

static inline bool option_given(const struct options *options, enum option_id option)
{
    return options->value[option] != NULL;
}

/* Reads argv[1] .. argv[argc - 1]; argv[0] is the command's name. allowed: bit OPTION_x set for each that the command
 * takes. several: bits of those that may be given more
 * than once. Operands and options may be mixed; argv is put in order. Status: E_USAGE. */
enum status options_read(int argc, char **argv, uint32_t allowed, uint32_t several, struct options *options,
                         struct faults *faults);

/* The number of an option, absent where it is not given. Status: E_USAGE when it is not a number from low to high. */
enum status options_number(const struct options *options, enum option_id option, double low, double high,
                           struct quantity *number, struct faults *faults);

/* The rule by which points are found: --points, or the default. Status: E_USAGE, E_MEMORY. */
enum status options_settle(const struct options *options, struct arena *arena, struct settle_rule *rule,
                           struct faults *faults);

#endif
