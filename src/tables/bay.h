/* bay.h - what a test bay is: its rig, its instruments, the models it tests, their motors and the grades it judges by
 *
 * A bay is a folder that holds rig.csv, and beside it instruments.csv, models.csv, motors.csv and, if the bay has them,
 * grades.csv, labels.csv, plausible.csv and routine.csv. All text lives in the arena given to bay_read.
 */
#ifndef DUTYPROOF_BAY_H
#define DUTYPROOF_BAY_H

#include "base/notes.h"
#include "tables/grade.h"
#include "tables/instruments.h"
#include "tables/label_book.h"
#include "tables/models.h"
#include "tables/motors.h"
#include "tables/plausible.h"
#include "tables/rig.h"
#include "tables/routines.h"

struct cause_table;
struct reference_book;

struct bay {
    const char *folder;
    struct rig rig;
    size_t instrument_count, model_count, motor_count;
    struct instrument *instruments;
    struct model *models;
    struct motor *motors;
    size_t routine_count;
    struct routine *routines; /* as they stand in routine.csv; routine_of chooses */
    struct grade_book grades;
    struct label_book labels;
    struct plausible_book plausible;
    struct cause_table *causes;        /* the built-in causes and the bay's own; NULL: none looked for */
    struct reference_book *references; /* curves.csv; NULL when it has none */
    const char *labels_path;           /* the bay's labels.csv; NULL when it has none */
    const char *builtin;               /* a line "NAME tab sha256 tab DIGITS" for each table that is built in */
    struct kept_tables kept;           /* its tables, but for those that a book keeps, their books keep */
    bool unfilled_allowed;             /* a row of rig.csv with a blank value is something to fill, not a fault */
    size_t blank_count;
    const char **blanks; /* items of rig.csv that the flow method needs and that are blank */
    struct notes notes;  /* of reading it: columns that are not used, ... */
};

/* The nearest folder at or above the log's that holds rig.csv.
 * Returns: the folder in the arena; NULL when there is none (or memory is out). */
const char *bay_find(const char *log_path, struct arena *arena);

/* Reads a bay. All faults of all its tables are collected in one run.
 * Status: E_INPUT, E_FILE (rig.csv or models.csv cannot be read; the other tables are optional), E_MEMORY. */
enum status bay_read(const char *folder, struct arena *arena, struct bay *bay, struct faults *faults);

/* The same of a bay that is still to be filled in: what the flow method needs may be blank, and is listed in blanks. */
enum status bay_read_unfilled(const char *folder, struct arena *arena, struct bay *bay, struct faults *faults);

/* By name, folded. Returns: NULL when there is none. */
const struct model *bay_model(const struct bay *bay, const char *name);

/* The instrument of a channel; a row for `voltage` or `current` stands for its three phases too, unless they have their
 * own. Returns: NULL when instruments.csv does not list one. */
const struct instrument *bay_instrument(const struct bay *bay, enum channel channel);

#endif
