#include "log/log.h"

enum status log_defects_note(const struct log *log, struct arena *arena, struct notes *notes)
{
    static const char *const what[DEFECT_COUNT][2] = {
        [DEFECT_DROPPED_SAMPLE] = {"samples missing from the record", "nothing is filled in"},
        [DEFECT_REPEATED_TIME] = {"samples with the time stamp of the one before", "left out"},
        [DEFECT_CLOCK_BACK] = {"samples at which the clock stepped back",
                               "left out until it has caught up; where it was set anew the record goes on"},
        [DEFECT_REPEATED_HEADER] = {"header rows again within the log (logger restart)", "skipped"},
        [DEFECT_CUT_LAST_LINE] = {"last line cut off", "left out"},
        [DEFECT_SPIKE] = {"spikes of a single sample", "left out of the means"},
        [DEFECT_STUCK_CHANNEL] = {"channels that repeat one value while others vary", "kept, look at the instrument"},
    };
    for (int d = 0; d < DEFECT_COUNT; d++) {
        if (log->defects[d] > 0 &&
            note_add(notes, arena, NOTE_INPUT, "%s: %zu, %s", what[d][0], log->defects[d], what[d][1]) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}
