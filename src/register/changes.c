#include "register/changes.h"

#include <stdbool.h>
#include <string.h>

enum { LONGEST = 120 }; /* bytes shown of a name or a cell */

/* One line: what it names (row and column), and the cell. */
struct line {
    const char *text;
    size_t name, length; /* bytes of ROW tab COLUMN; of the line */
};

static struct line line_at(const char *text)
{
    struct line line = {.text = text, .length = strcspn(text, "\n")};
    size_t row = strcspn(text, "\t\n");
    line.name = row < line.length ? row + 1 + strcspn(text + row + 1, "\t\n") : line.length;
    return line;
}

static const char *next(struct line line)
{
    return line.text + line.length + (line.text[line.length] == '\n');
}

/* In the order in which the lines are sorted. */
static int compare_names(struct line a, struct line b)
{
    size_t shorter = a.name < b.name ? a.name : b.name;
    int order = memcmp(a.text, b.text, shorter);
    return order != 0 ? order : (a.name > b.name) - (a.name < b.name);
}

static int shown(size_t length)
{
    return (int)(length < LONGEST ? length : LONGEST);
}

/* The cell's place in its line and length. */
static const char *cell(struct line line, int *length)
{
    size_t at = line.name < line.length ? line.name + 1 : line.length;
    *length = shown(line.length - at);
    return line.text + at;
}

/* Adds a change; before or after may be {0}. */
static const char *tell(const char *so_far, const char *table, const struct line *before, const struct line *after,
                        struct arena *arena)
{
    const struct line *line = after != NULL ? after : before;
    size_t row = strcspn(line->text, "\t\n"), column = row < line->name ? row + 1 : row;
    int old_length = 0, new_length = 0;
    const char *old = before != NULL ? cell(*before, &old_length) : "",
               *new = after != NULL ? cell(*after, &new_length) : "";
    const char *of = before == NULL ? "is new: '" : after == NULL ? "is gone, was '" : "from '";
    const char *to = before != NULL && after != NULL ? "' to '" : "";
    return arena_format(arena, "%s%s, %.*s: %.*s %s%.*s%s%.*s'\n", so_far, table, shown(row), line->text,
                        shown(line->name - column), line->text + column, of, old_length, old, to, new_length, new);
}

const char *changes_between(const char *before, const char *after, const char *name, struct arena *arena)
{
    const char *changes = "";
    while (changes != NULL && (*before != '\0' || *after != '\0')) {
        struct line a = line_at(before), b = line_at(after);
        int order = *before == '\0' ? 1 : *after == '\0' ? -1 : compare_names(a, b);
        bool same = order == 0 && a.length == b.length && memcmp(a.text, b.text, a.length) == 0;
        if (!same) {
            changes = tell(changes, name, order <= 0 ? &a : NULL, order >= 0 ? &b : NULL, arena);
        }
        before = order <= 0 ? next(a) : before;
        after = order >= 0 ? next(b) : after;
    }
    return changes;
}
