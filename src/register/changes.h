/* changes.h - what changed between the rows that two judgements used
 */
#ifndef DUTYPROOF_REGISTER_CHANGES_H
#define DUTYPROOF_REGISTER_CHANGES_H

#include "base/arena.h"

/* Compares two texts of rows, a line a cell: ROW tab COLUMN tab CELL, sorted (register_table.rows). Gives a line a
 * change: "models.csv, KV-6: guaranteed head [m] from '40.0' to '41.0'", "... COLUMN '41.0' is new", "... was '40.0'".
 * name: of the table. Either text may be "". Returns: the lines in the arena, "" when they say the same; NULL when
 * memory is out. */
const char *changes_between(const char *before, const char *after, const char *name, struct arena *arena);

#endif
