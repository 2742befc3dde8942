#include "run/inspect.h"

enum status inspect_log(const char *path, const struct bay *bay, const struct settle_rule *rule, struct arena *arena,
                        struct inspection *inspection, struct faults *faults)
{
    *inspection = (struct inspection){.bay = bay};
    struct settler *settler = settle_new(rule, arena);
    if (settler == NULL) {
        return faults_memory(faults);
    }
    struct log_sink sink = {.context = settler, .take = settle_take};
    enum status status = log_read(path, bay, sink, arena, &inspection->log, &inspection->notes, faults);
    if (status == OK) {
        status = settle_finish(settler, &inspection->log, &inspection->settled, &inspection->notes, faults);
    }
    settle_release(settler);
    if (status == OK && log_defects_note(&inspection->log, arena, &inspection->notes) != OK) {
        status = faults_memory(faults);
    }
    return status;
}
