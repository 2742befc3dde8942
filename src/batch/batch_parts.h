/* batch_parts.h - what the files of the batch engine share (private to src/batch*.c) */
#ifndef DUTYPROOF_BATCH_PARTS_H
#define DUTYPROOF_BATCH_PARTS_H

#include "batch/batch.h"

/* Records a finished test. The texts of the result that are not the bay's or the list's are copied into the arena.
 * Status: E_MEMORY. */
enum status batch_record(const struct result *result, struct arena *arena, struct batch_test *test);

/* Records a test that gave no result, with the first of its faults. Status: E_MEMORY. */
enum status batch_record_unread(const struct faults *faults, struct arena *arena, struct batch_test *test);

/* The tests of one serial, in the order of the list. */
struct batch_group {
    const char *serial;
    const size_t *rows;
    size_t count;
    const char *folder; /* of the papers */
};

/* Groups rows by serial; groups are in the order of their first rows. Status: E_MEMORY. */
enum status batch_group_rows(const char *const *serials, size_t count, struct arena *arena, struct batch_group **groups,
                             size_t *group_count);

/* Chooses the folder of each group under out, by the rule of papers_folder. Status: E_MEMORY. */
enum status batch_choose_folders(const char *out, struct batch_group *groups, size_t count, struct arena *arena);

#endif
