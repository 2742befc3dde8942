/* builtin.h - the reference tables (reference/NAME.csv) as they are built into the library
 */
#ifndef DUTYPROOF_BUILTIN_H
#define DUTYPROOF_BUILTIN_H

#include <stddef.h>

struct builtin_table {
    const char *name; /* "grades" */
    const char *text; /* the CSV file as it is */
    size_t length;
};

/* All of them; the last is {0}. */
extern const struct builtin_table builtin_tables[];
extern const size_t builtin_table_count;

/* The table of a name ("grades"). Returns: NULL when there is none. */
const struct builtin_table *builtin_find(const char *name);

#endif
