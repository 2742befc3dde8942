/* Which tests belong to one serial: settled before any thread starts */
#include "batch/batch_plan.h"

#include <stdlib.h>
#include <string.h>

struct named_row {
    const char *serial;
    size_t row;
};

static int compare_rows(const void *a, const void *b)
{
    const struct named_row *p = a, *q = b;
    int order = strcmp(p->serial, q->serial);
    return order != 0 ? order : p->row < q->row ? -1 : p->row > q->row;
}

static int compare_groups(const void *a, const void *b)
{
    const struct batch_group *p = a, *q = b;
    return p->rows[0] < q->rows[0] ? -1 : p->rows[0] > q->rows[0];
}

enum status batch_group_rows(const char *const *serials, size_t count, struct arena *arena, struct batch_group **groups,
                             size_t *group_count)
{
    struct named_row *sorted = arena_alloc(arena, count, sizeof *sorted);
    size_t *rows = arena_alloc(arena, count, sizeof *rows);
    if (sorted == NULL || rows == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        sorted[i] = (struct named_row){serials[i], i};
    }
    qsort(sorted, count, sizeof *sorted, compare_rows);
    *groups = NULL;
    *group_count = 0;
    for (size_t i = 0; i < count; i++) {
        rows[i] = sorted[i].row;
        struct batch_group *group = *group_count > 0 ? &(*groups)[*group_count - 1] : NULL;
        if (group == NULL || strcmp(group->serial, sorted[i].serial) != 0) {
            group = arena_push(arena, groups, group_count, sizeof *group);
            if (group == NULL) {
                return E_MEMORY;
            }
            *group = (struct batch_group){.serial = sorted[i].serial, .rows = &rows[i]};
        }
        group->count++;
    }
    qsort(*groups, *group_count, sizeof **groups, compare_groups);
    return OK;
}
