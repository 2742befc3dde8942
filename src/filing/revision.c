#include "filing/revision.h"

#include "filing/judged.h"
#include "register/changes.h"

#include <string.h>

/* What changed in the rows of one table. */
static enum status compare_table(struct bay_register *book, const struct judgement *before, const struct input *input,
                                 struct arena *arena, const char **changes, struct faults *faults)
{
    char rows[65] = "", text[65];
    char *old = NULL;
    size_t length = 0;
    bool found = false;
    enum status status = OK;
    if (register_table_of(before, input->name, rows, text) && strcmp(rows, input->sha256) == 0) {
        return OK;
    }
    if (rows[0] != '\0') {
        status = register_text(book, rows, arena, &old, &length, &found, faults);
    }
    const char *lines = status == OK ? changes_between(found ? old : "", input->rows, input->name, arena) : "";
    const char *all = lines == NULL ? NULL : arena_format(arena, "%s%s", *changes, lines);
    if (all == NULL) {
        return faults_memory(faults);
    }
    *changes = all;
    return status;
}

/* A table that took part before and does not now. */
static enum status compare_gone(struct bay_register *book, const struct judgement *before, const struct inputs *inputs,
                                struct arena *arena, const char **changes, struct faults *faults)
{
    enum status status = OK;
    for (const char *line = before->tables; *line != '\0' && status == OK;) {
        size_t end = strcspn(line, "\n"), first = strcspn(line, " "),
               second = first + 1 + strcspn(line + first + 1, " ");
        const char *name = second < end ? arena_text(arena, line + second + 1, end - second - 1) : "asked";
        if (name == NULL) {
            return faults_memory(faults);
        }
        bool there = strcmp(name, "asked") == 0;
        for (size_t i = 0; i < inputs->count; i++) {
            there = there || strcmp(inputs->items[i].name, name) == 0;
        }
        if (!there) {
            const struct input nothing = {.name = name, .rows = ""};
            status = compare_table(book, before, &nothing, arena, changes, faults);
        }
        line += end + (line[end] == '\n');
    }
    return status;
}

enum status revision_changes(struct bay_register *book, const struct judgement *before, const struct result *result,
                             const char *document, size_t document_length, struct arena *arena, const char **changes,
                             struct faults *faults)
{
    char *old = NULL;
    size_t length = 0;
    bool found = false;
    enum status status = register_text(book, before->result_sha256, arena, &old, &length, &found, faults);
    *changes = status != OK ? NULL : judged_changes(found ? old : "", length, document, document_length, arena);
    if (*changes == NULL) {
        return status != OK ? status : faults_memory(faults);
    }
    if (before->tables[0] == '\0') {
        *changes =
            arena_format(arena, "%swhat else changed is not known: the row before is %s\n", *changes, before->origin);
        return *changes == NULL ? faults_memory(faults) : OK;
    }
    for (size_t i = 0; i < result->inputs.count && status == OK; i++) {
        status = compare_table(book, before, &result->inputs.items[i], arena, changes, faults);
    }
    status = status == OK ? compare_gone(book, before, &result->inputs, arena, changes, faults) : status;
    if (status == OK && (*changes)[0] == '\0') {
        *changes = "nothing in log or tables: the program or a library gives another result\n";
    }
    return status;
}
