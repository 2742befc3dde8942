#include "tables/builtin.h"

#include <string.h>

const struct builtin_table *builtin_find(const char *name)
{
    for (size_t i = 0; i < builtin_table_count; i++) {
        if (strcmp(builtin_tables[i].name, name) == 0) {
            return &builtin_tables[i];
        }
    }
    return NULL;
}
