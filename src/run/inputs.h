/* inputs.h - what of the tables a result was made from: the rows that it used, table by table
 *
 * The rows of a table are written in a form of their own, a line a cell: ROW tab COLUMN tab CELL, sorted. ROW names the
 * row as its table does (an item, a channel, a model, a motor's load point), COLUMN is the heading folded, with its
 * unit. What does not bear on the result is not in it: other rows, the order of rows and columns, blanks, comments,
 * columns that are not understood. So an edit that touches nothing that was used leaves the text, and its digest, as
 * they are.
 */
#ifndef DUTYPROOF_INPUTS_H
#define DUTYPROOF_INPUTS_H

#include "base/arena.h"
#include "base/status.h"

struct input {
    const char *name; /* "models.csv"; "built-in": the digests of the tables that the program was built with */
    const char *rows; /* as above */
    char sha256[65];  /* of rows */
    const char *text; /* the whole file; NULL for "built-in" */
    size_t length;
};

/* Everything lives in the arena or in the bay. */
struct inputs {
    size_t count;
    struct input *items; /* one a table of the bay, and those that are built in; rows is "" where none was used */
};

struct result;

/* Finds the rows that a result used; of it, the bay, the model, the log's channels, the duties and the routine results
 * must stand. Status: E_MEMORY. */
enum status inputs_find(const struct result *result, struct arena *arena, struct inputs *inputs);

#endif
