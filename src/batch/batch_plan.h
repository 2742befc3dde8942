/* batch_plan.h - which tests belong to one serial
 */
#ifndef DUTYPROOF_BATCH_PLAN_H
#define DUTYPROOF_BATCH_PLAN_H

#include "base/arena.h"
#include "base/status.h"

/* The tests of one serial, in the order of the list. */
struct batch_group {
    const char *serial;
    const size_t *rows;
    size_t count;
    const char *folder; /* of the papers; NULL: none were written */
};

/* Groups rows by serial; groups are in the order of their first rows. Status: E_MEMORY. */
enum status batch_group_rows(const char *const *serials, size_t count, struct arena *arena, struct batch_group **groups,
                             size_t *group_count);

#endif
