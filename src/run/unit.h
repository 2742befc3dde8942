/* unit.h - one unit from its log to its finished result: the stages in their order
 */
#ifndef DUTYPROOF_UNIT_H
#define DUTYPROOF_UNIT_H

#include "run/result.h"

/* What the command line or the batch table says of a unit; NULL (or unknown) where it says nothing. It goes before what
 * the log itself says. */
struct unit_request {
    const char *log_path;
    const char *serial, *model, *tester, *remarks;
    struct date tested;
    bool listed; /* by a list of units: then what the log states too must agree */
    struct settle_rule settle;
    size_t monte_carlo_trials; /* 0: none */
    struct quantity guard;     /* probability asked for; absent: none */
};

/* Reads, settles, reduces, translates, fits, judges and labels one unit.
 * Everything in result lives in the arena or in the bay. Status: E_INPUT, E_FILE, E_MEMORY: nothing in result holds.
 * A unit that cannot be judged is OK, with its verdict "not judged" and the reasons in its notes and checks. */
enum status unit_reduce(const struct bay *bay, const struct unit_request *request, struct arena *arena,
                        struct result *result, struct faults *faults);

#endif
