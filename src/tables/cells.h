/* cells.h - a table that is matched to its fields, with the faults that its reader finds (private to the readers of
 * tables)
 *
 * A reader states its columns as an array of table_field and reads cells by the field's number. Every fault goes to the
 * caller's faults and marks the table; a blank or faulty cell is absent, and reading goes on.
 */
#ifndef DUTYPROOF_CELLS_H
#define DUTYPROOF_CELLS_H

#include "base/notes.h"
#include "tables/table.h"

enum { CELLS_FIELDS_MAX = 48 };

struct cells {
    struct table table;
    const struct table_field *fields;
    size_t field_count;
    const struct unit *units[CELLS_FIELDS_MAX]; /* NULL: no unit, or no such column */
    int at[CELLS_FIELDS_MAX];                   /* -1: no such column, or its unit is wrong */
    const char *unknown;                        /* columns that are not used, "" when none */
    struct arena *arena;
    struct faults *faults;
    enum status status; /* OK, or that of the first fault; E_MEMORY goes before all */
};

/* What a number may be, in SI. */
struct range {
    double low, high;
    bool above_low; /* low itself is excluded */
    bool whole;     /* a whole number */
};
#define RANGE_FROM(lowest, highest)                                                                                    \
    {                                                                                                                  \
        .low = (lowest), .high = (highest)                                                                             \
    }
#define RANGE_ABOVE(limit, highest)                                                                                    \
    {                                                                                                                  \
        .low = (limit), .high = (highest), .above_low = true                                                           \
    }
#define RANGE_WHOLE(lowest, highest)                                                                                   \
    {                                                                                                                  \
        .low = (lowest), .high = (highest), .whole = true                                                              \
    }

/* A word that a cell may hold, folded. A list ends with {0}; names after the first of one value are aliases. */
struct word {
    const char *name;
    int value;
};

/* Reads the table of a path, or (text not NULL) a table in memory. What could be read can be used, whatever the status.
 */
void cells_read(struct cells *cells, const char *path, const struct table_field *fields, size_t count,
                struct arena *arena, struct faults *faults);
void cells_parse(struct cells *cells, const char *file, const char *text, size_t length,
                 const struct table_field *fields, size_t count, struct arena *arena, struct faults *faults);

/* Keeps the table, whose cells stay as they are, in the arena. */
void cells_keep(struct cells *cells, struct kept_tables *kept);

/* Notes the columns that are not used. */
void cells_note_unknown(struct cells *cells, struct notes *notes);

/* Adds a fault at a cell. */
void cells_fault(struct cells *cells, size_t row, int field, const char *fmt, ...) PRINTF_LIKE(4, 5);

/* Adds "out of memory". */
void cells_no_memory(struct cells *cells);

const char *cells_text(const struct cells *cells, size_t row, int field);

/* The text of a cell that must not be blank; "" with a fault where it is (or where the column is missing: then
 * without). */
const char *cells_required(struct cells *cells, size_t row, int field);

/* The number of a cell in SI; absent when blank, or with a fault when it is no number or outside the range. */
struct quantity cells_quantity(struct cells *cells, size_t row, int field, const struct range *range);

/* Faults a value (already in SI, shown in unit) outside a range. Returns: true when it is inside. */
bool cells_in_range(struct cells *cells, size_t row, int field, const char *name, double value_si,
                    const struct unit *unit, const struct range *range);

/* The word of a cell (name: its subject for the message); otherwise when blank, or with a fault when it is none of the
 * words. */
int cells_word(struct cells *cells, size_t row, int field, const char *name, const struct word *words, int otherwise);

#endif
