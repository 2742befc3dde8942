/* Which tests belong to one serial, and where its papers go: settled before any thread starts, so that neither depends
 * on which of them is first
 */
#include "batch/batch_plan.h"

#include "base/files.h"
#include "filing/papers.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

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

/* --- folders --- */

/* A name that is or will be in the folder of the papers. group: whose it will be; NULL: it is there. */
struct taken {
    const char *name;
    size_t order;
    struct batch_group *group;
};

static int compare_taken(const void *a, const void *b)
{
    const struct taken *p = a, *q = b;
    int order = strcasecmp(p->name, q->name);
    return order != 0 ? order : p->order < q->order ? -1 : p->order > q->order;
}

/* Lists what the folder holds; one that is not there holds nothing. */
static enum status list_folder(const char *path, struct arena *arena, struct taken **names, size_t *count)
{
    DIR *folder = opendir(path);
    enum status status = OK;
    for (struct dirent *entry; folder != NULL && status == OK && (entry = readdir(folder)) != NULL;) {
        const char *name = arena_text(arena, entry->d_name, strlen(entry->d_name));
        struct taken *taken = name == NULL ? NULL : arena_push(arena, names, count, sizeof *taken);
        if (taken == NULL) {
            status = E_MEMORY;
        } else {
            *taken = (struct taken){.name = name};
        }
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    return status;
}

/* True when a name before names[at] differs from it by the case of its letters only. */
static bool has_twin(const struct taken *names, size_t at)
{
    for (size_t i = at; i > 0 && strcasecmp(names[i - 1].name, names[at].name) == 0; i--) {
        if (strcmp(names[i - 1].name, names[at].name) != 0) {
            return true;
        }
    }
    return false;
}

/* The batch's own papers lie beside the folders of its units. */
static bool is_batch_paper(const char *name)
{
    return strcasecmp(name, "batch.csv") == 0 || strcasecmp(name, "batch.json") == 0 ||
           strcasecmp(name, "certificate.pdf") == 0;
}

static enum status choose(const char *out, struct batch_group *group, const char *plain, bool twin, struct arena *arena)
{
    const char *marked = name_safe_marked(arena, group->serial);
    const char *marked_path = marked == NULL ? NULL : arena_format(arena, "%s/%s", out, marked);
    if (marked_path == NULL) {
        return E_MEMORY;
    }
    bool use_marked = twin || is_batch_paper(plain) || access(marked_path, F_OK) == 0;
    group->folder = use_marked ? marked_path : arena_format(arena, "%s/%s", out, plain);
    return group->folder == NULL ? E_MEMORY : OK;
}

enum status batch_choose_folders(const char *out, struct batch_group *groups, size_t count, struct arena *arena)
{
    struct arena scratch = {0};
    struct taken *names = NULL;
    size_t name_count = 0;
    enum status status = list_folder(out, &scratch, &names, &name_count);
    for (size_t i = 0; i < count && status == OK; i++) {
        const char *plain = name_safe(&scratch, groups[i].serial);
        struct taken *taken = plain == NULL ? NULL : arena_push(&scratch, &names, &name_count, sizeof *taken);
        status = taken == NULL ? E_MEMORY : OK;
        if (status == OK) {
            *taken = (struct taken){.name = plain, .order = i + 1, .group = &groups[i]};
        }
    }
    if (status == OK && name_count > 1) {
        qsort(names, name_count, sizeof *names, compare_taken);
    }
    for (size_t i = 0; i < name_count && status == OK; i++) {
        if (names[i].group != NULL) {
            status = choose(out, names[i].group, names[i].name, has_twin(names, i), arena);
        }
    }
    arena_release(&scratch);
    return status;
}
