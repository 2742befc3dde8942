/* start_tables.h - the tables of a new bay, to be filled in
 */
#ifndef DUTYPROOF_CLI_START_TABLES_H
#define DUTYPROOF_CLI_START_TABLES_H

#include "tables/rig.h"

enum shop { SHOP_METRIC, SHOP_US, SHOP_INDIAN };

struct start_choice {
    enum flow_method method;
    int phases; /* 1 or 3 */
    enum shop shop;
    enum speed_basis basis;
};

/* A table of a new bay: its path in the bay's folder and what writes it. */
struct start_table {
    const char *path;
    enum status (*write)(const struct start_choice *choice, struct arena *arena, FILE *to);
};

/* All of them; the last has no path. What each heading means comes from the readers' own lists. */
extern const struct start_table start_tables[];

#endif
