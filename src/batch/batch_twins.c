#include "batch/batch_twins.h"

#include "base/files.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

struct log_bytes {
    size_t row;
    off_t size;
    char sha256[65]; /* "" where it cannot be read */
};

static int compare(const void *a, const void *b)
{
    const struct log_bytes *p = a, *q = b;
    if (p->size != q->size) {
        return p->size < q->size ? -1 : 1;
    }
    int order = strcmp(p->sha256, q->sha256);
    return order != 0 ? order : p->row < q->row ? -1 : p->row > q->row;
}

/* Sorted by size: digests those that share it with another. */
static void digest(const struct batch_list *list, struct log_bytes *logs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        bool shared =
            (i > 0 && logs[i].size == logs[i - 1].size) || (i + 1 < count && logs[i].size == logs[i + 1].size);
        if (shared && logs[i].size > 0) {
            (void)file_sha256(list->rows[logs[i].row].log_path,
                              logs[i].sha256); /* who reads it tells why it cannot be */
        }
    }
}

static bool same_serial(const char *const *serials, const struct log_bytes *a, const struct log_bytes *b)
{
    return strcmp(serials[a->row], serials[b->row]) == 0;
}

/* A run of equal digests: each row's twin is the first of another serial. */
static void tell_run(const struct batch_list *list, const char *const *serials, const struct log_bytes *run,
                     size_t count, const struct batch_row **twins)
{
    size_t other = 1;
    while (other < count && same_serial(serials, &run[0], &run[other])) {
        other++;
    }
    for (size_t i = 0; i < count && other < count; i++) {
        size_t twin = same_serial(serials, &run[0], &run[i]) ? other : 0;
        twins[run[i].row] = &list->rows[run[twin].row];
    }
}

static void tell(const struct batch_list *list, const char *const *serials, const struct log_bytes *logs, size_t count,
                 const struct batch_row **twins)
{
    for (size_t first = 0, end; first < count; first = end) {
        for (end = first + 1; end < count && strcmp(logs[end].sha256, logs[first].sha256) == 0;) {
            end++;
        }
        if (logs[first].sha256[0] != '\0') {
            tell_run(list, serials, &logs[first], end - first, twins);
        }
    }
}

enum status batch_find_twins(const struct batch_list *list, const char *const *serials, const struct batch_row **twins)
{
    struct log_bytes *logs = calloc(list->count, sizeof *logs);
    size_t count = 0;
    if (logs == NULL) {
        return E_MEMORY;
    }
    for (size_t row = 0; row < list->count; row++) {
        struct stat facts;
        if (stat(list->rows[row].log_path, &facts) == 0 && S_ISREG(facts.st_mode)) {
            logs[count++] = (struct log_bytes){.row = row, .size = facts.st_size};
        }
    }
    qsort(logs, count, sizeof *logs, compare);
    digest(list, logs, count);
    qsort(logs, count, sizeof *logs, compare);
    tell(list, serials, logs, count, twins);
    free(logs);
    return OK;
}
