/* batch_list.h - the list of a batch: units.csv
 */
#ifndef DUTYPROOF_BATCH_LIST_H
#define DUTYPROOF_BATCH_LIST_H

#include "base/notes.h"
#include "tables/bay.h"
#include "tables/listing.h"

/* One row of units.csv: one test. Texts are "" when blank. */
struct batch_row {
    const char *serial, *model, *log, *tester, *remarks; /* log: as written */
    const char *log_path;                                /* from where the program was started */
    struct date tested;
    size_t line;
};

struct batch_list {
    const char *file, *folder;
    const char *name; /* `# batch: NAME`, else the file's name without its ending */
    char sha256[65];
    size_t count;
    struct batch_row *rows;
};

/* Reads units.csv. All its faults are collected in one run, among them a model that the bay does not have. A log path
 * is relative to the folder of the list, and is only ever opened. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status batch_list_read(const char *path, const struct bay *bay, struct arena *arena, struct batch_list *list,
                            struct notes *notes, struct faults *faults);

/* The columns of units.csv. */
extern const struct table_form units_form;

#endif
