/* table.h - reading a CSV table that a spreadsheet made (stage 1: cells)
 *
 * UTF-8 with or without BOM, LF or CRLF, quoted cells, '#' comment lines and blank lines skipped. The delimiter (comma,
 * semicolon or tab) is told from the header line; with semicolon or tab a decimal comma is accepted. A heading is
 * `name [unit]` or `name (unit)`. Cells are split by libcsv, one physical line a call so that line numbers are true;
 * a quoted cell that spans lines is a fault.
 */
#ifndef DUTYPROOF_TABLE_H
#define DUTYPROOF_TABLE_H

#include "base/arena.h"
#include "base/quantity.h"
#include "base/status.h"
#include "base/units.h"

struct table_column {
    const char *heading; /* as written */
    const char *name;    /* folded: lower case, single spaces, without the unit */
    const char *unit;    /* as written between the brackets; "" when there is none */
};

struct table_row {
    size_t line;        /* physical line in the file, from 1 */
    const char **cells; /* one per column, trimmed, never NULL, "" when blank */
};

/* A `# key: value` comment line whose key is serial, model, tested, tester or batch: logs and lists carry their
 * identity so. */
struct table_remark {
    const char *key, *value; /* key folded, value trimmed */
    size_t line;
};

struct table {
    const char *file; /* as it is named in messages */
    char delimiter;
    bool mixed_signs; /* some numbers are written with a decimal comma, others with a point */
    size_t header_line;
    size_t column_count, row_count, remark_count;
    struct table_column *columns;
    struct table_row *rows;
    struct table_remark *remarks;
    const char *text; /* the file as it is */
    size_t length;
};

/* A table of the bay that stays at hand, so that a result can tell which of its rows it used. */
struct kept_table {
    const char *name; /* "models.csv" */
    struct table table;
    const bool *known; /* one a column: it is understood */
};

/* {0} is ready to use; all of it lives in the arena. */
struct kept_tables {
    size_t count;
    struct kept_table *items;
};

/* Returns: NULL when there is none of that name. */
const struct kept_table *kept_table_find(const struct kept_tables *kept, const char *name);

/* Splits a heading `name [unit]` or `name (unit)`: the last bracketed group at its end is the unit. The texts live in
 * the arena. Returns: false when memory is out. */
bool heading_split(const char *heading, struct arena *arena, struct table_column *column);

/* True when a file that begins so is a spreadsheet's workbook (.xlsx, .ods, .xls), which is no table of text. Source:
 * the signatures of ZIP (APPNOTE 4.3.7) and of compound files ([MS-CFB] 2.2). */
bool table_is_workbook(const char *text, size_t length);

#define TABLE_WORKBOOK_FAULT                                                                                            \
    "is a spreadsheet's workbook, expected a table of text: open it in the spreadsheet, choose 'Save as' and the type " \
    "'CSV UTF-8', and name that file"

/* What a comment line states. value is borrowed from the line. */
struct remark {
    const char *key, *value;
    size_t length; /* of value */
};

/* Returns: false when the line is no such comment, or its value is not UTF-8. */
bool remark_split(const char *line, size_t length, struct remark *remark);

/* Reads a whole table. Everything that table points at lives in the arena.
 * skip_lines: physical lines before the header row that are not part of the table (a logger's own preamble); 0
 * normally. Status: E_FILE it cannot be read; E_INPUT bad CSV, no header or one of more than 1000 columns, a row with
 * more or fewer cells than the header, two columns of one name; E_MEMORY. */
enum status table_read(const char *path, size_t skip_lines, struct arena *arena, struct table *table,
                       struct faults *faults);

/* The same from memory; file is the name for messages. */
enum status table_parse(const char *file, const char *text, size_t length, size_t skip_lines, struct arena *arena,
                        struct table *table, struct faults *faults);

/* What one column of a table may be: the reader of a table states its columns as an array of these. */
struct table_field {
    const char *name;         /* folded */
    enum dimension dimension; /* DIM_NONE: text or a plain number */
    bool required;            /* the column must be there */
};

/* Matches a table's columns to fields. at[i] becomes the column of field i, or -1. A required field without a column
 * and a column whose unit is missing, unknown or of another dimension (then at[i] is -1) are faults; columns that match
 * no field are faults where a field that has no column is spelt nearly so; else they are listed (in the arena) in
 * unknown_text as "'a', 'b'", to be reported once; it is "" when there are none. A dimension other than DIM_NONE needs
 * a unit, except DIM_RATIO, where a heading without a unit is a fraction. units[i] becomes the unit of field i (NULL
 * for DIM_NONE or an absent column). */
enum status table_match(const struct table *table, const struct table_field *fields, size_t count, int *at,
                        const struct unit **units, const char **unknown_text, struct arena *arena,
                        struct faults *faults);

/* The candidate that a heading was most likely meant to be: spelt nearly so, or followed by a word that says no more
 * (`due date`). One that differs by a phase, a number or a word more is another quantity. Returns: NULL when there is
 * none. */
const char *heading_near(const char *name, const char *const *candidates, size_t count);

/* A column that no one knows: a fault where it is near a candidate, else it is added to the list "'a', 'b'". Status:
 * E_INPUT, E_MEMORY. */
enum status heading_unknown(const struct table *table, size_t at, const char *const *candidates, size_t count,
                            const char **list, struct arena *arena, struct faults *faults);

/* The text of a cell; "" when the column is absent (at < 0). */
const char *table_text(const struct table *table, size_t row, int at);

/* The number in a cell in SI (unit may be NULL: as written); absent when the cell is blank or the column absent. A cell
 * that is not a number is a fault and absent. */
struct quantity table_quantity(const struct table *table, size_t row, int at, const struct unit *unit,
                               struct faults *faults);

/* Parses one cell's number with the decimal sign that the table's delimiter allows. Never guessed: a number that could
 * hold a thousands separator ("1.234" in a table that writes decimal commas elsewhere, "1.234,5") is refused. */
bool table_number(const struct table *table, const char *text, double *value);

/* What a number must look like in this table, for the message on text that table_number refused. */
const char *table_number_expected(const struct table *table, const char *text);

/* Where a cell lies, for a message. */
struct place table_place(const struct table *table, size_t row, int at);

/* Bytes of a cell that a message shows, for "%.*s": all, or at most 60 with no character split. */
int cell_shown(const char *text);

#endif
