/* trade_names.h - other names that the trade gives to columns
 *
 * One list serves the logs and the tables: a name stands for each of its columns that the table at hand knows.
 */
#ifndef DUTYPROOF_TRADE_NAMES_H
#define DUTYPROOF_TRADE_NAMES_H

#include <stddef.h>

/* All texts folded. unit: what the name itself says of it ("amps"), else NULL. */
struct trade_name {
    const char *alias, *name, *unit;
};

/* The entry that gives a column's name to an alias. Returns: NULL when there is none. */
const struct trade_name *trade_name_find(const char *alias, const char *name);

/* The entry number index. Returns: NULL past the last. */
const struct trade_name *trade_name_at(size_t index);

#endif
