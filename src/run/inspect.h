/* inspect.h - what a log holds, judged by nothing
 */
#ifndef DUTYPROOF_INSPECT_H
#define DUTYPROOF_INSPECT_H

#include "log/log.h"
#include "settle/settle.h"

/* What was read of a log and the points found in it. Everything lives in the arena given to inspect_log. */
struct inspection {
    const struct bay *bay; /* NULL: read without one, so nothing was mapped and no instrument corrected */
    struct log log;
    struct settled settled;
    struct notes notes;
};

/* Reads a log and finds its points. bay may be NULL. Status: E_INPUT, E_FILE, E_MEMORY: nothing in inspection holds. */
enum status inspect_log(const char *path, const struct bay *bay, const struct settle_rule *rule, struct arena *arena,
                        struct inspection *inspection, struct faults *faults);

#endif
