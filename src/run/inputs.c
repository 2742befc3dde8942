#include "run/inputs.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"
#include "run/result.h"
#include "tables/cause_table.h"
#include "tables/reference_curves.h"

#include <stdlib.h>
#include <string.h>

enum { KEYS = 3 };

/* How a table's rows are chosen, and named. */
struct rule {
    const char *name;
    bool (*uses)(const struct result *result, const struct table *table, size_t row);
    const char *keys[KEYS]; /* columns that name a row; rows of one name are counted */
    const char *except;     /* a column that is for people alone */
};

static const char *cell(const struct table *table, size_t row, const char *column)
{
    for (size_t i = 0; column != NULL && i < table->column_count; i++) {
        if (strcmp(table->columns[i].name, column) == 0) {
            return table->rows[row].cells[i];
        }
    }
    return "";
}

/* --- which rows --- */

/* All of it, but for where it is kept what was judged. */
static bool uses_item(const struct result *result, const struct table *table, size_t row)
{
    (void)result;
    return !name_equal(cell(table, row, "item"), "register");
}

static bool uses_all(const struct result *result, const struct table *table, size_t row)
{
    (void)result;
    (void)table;
    (void)row;
    return true;
}

static bool uses_instrument(const struct result *result, const struct table *table, size_t row)
{
    const struct bay *bay = result->bay;
    for (size_t i = 0; i < bay->instrument_count; i++) {
        if (bay->instruments[i].line == table->rows[row].line) {
            return result_uses_instrument(result, &bay->instruments[i]);
        }
    }
    return false;
}

static bool uses_duty(const struct result *result, const struct table *table, size_t row)
{
    for (size_t i = 0; i < result->model->duty_count; i++) {
        if (result->model->duties[i].line == table->rows[row].line) {
            return true;
        }
    }
    return false;
}

static bool uses_motor(const struct result *result, const struct table *table, size_t row)
{
    return result->model->motor != NULL && name_equal(cell(table, row, "motor"), result->model->motor_name);
}

static bool uses_grade(const struct result *result, const struct table *table, size_t row)
{
    for (size_t i = 0; i < result->model->duty_count; i++) {
        const struct grade *grade = result->model->duties[i].grade;
        if (grade != NULL && name_equal(cell(table, row, "grade"), grade->name)) {
            return true;
        }
    }
    return false;
}

static bool uses_scheme(const struct result *result, const struct table *table, size_t row)
{
    return result->model->label_scheme[0] != '\0' &&
           name_equal(cell(table, row, "scheme"), result->model->label_scheme);
}

static bool uses_routine(const struct result *result, const struct table *table, size_t row)
{
    return result->routine.row != NULL && result->routine.row->line == table->rows[row].line;
}

static bool uses_curves(const struct result *result, const struct table *table, size_t row)
{
    return name_equal(cell(table, row, "model"), result->model->name);
}

static const struct rule rules[] = {
    {"causes.csv", uses_all, {"cause"}, NULL},
    {"curves.csv", uses_curves, {"model", "stages", "flow"}, NULL},
    {"grades.csv", uses_grade, {"grade"}, NULL},
    {"instruments.csv", uses_instrument, {"channel"}, NULL},
    {"labels.csv", uses_scheme, {"scheme", "revision", "class"}, NULL},
    {"models.csv", uses_duty, {"model"}, NULL},
    {"motors.csv", uses_motor, {"motor", "input power"}, NULL},
    {"plausible.csv", uses_all, {"quantity", "scope"}, "note"},
    {"rig.csv", uses_item, {"item"}, "note"},
    {"routine.csv", uses_routine, {"serial"}, NULL},
};

/* --- their text --- */

/* A cell of a table as a cell of the rows' text. */
static void say(const char *text, FILE *to)
{
    while (*text != '\0') {
        size_t plain = 0;
        while ((unsigned char)text[plain] >= ' ') {
            plain++;
        }
        (void)fwrite(text, 1, plain, to);
        text += plain;
        for (; *text != '\0' && (unsigned char)*text < ' '; text++) {
            (void)fputc(' ', to);
        }
    }
}

static void say_row_name(const struct rule *rule, const struct table *table, size_t row, size_t number, FILE *to)
{
    for (size_t i = 0; i < KEYS && rule->keys[i] != NULL; i++) {
        const char *key = cell(table, row, rule->keys[i]);
        (void)fputs(i > 0 && *key != '\0' ? ", " : "", to);
        say(key, to);
    }
    if (number > 1) {
        (void)fprintf(to, " (%zu)", number);
    }
}

/* The how manieth used row of its name a row is. */
static size_t number_of(const struct rule *rule, const struct result *result, const struct table *table, size_t row)
{
    size_t number = 1;
    for (size_t before = 0; before < row; before++) {
        bool same = rule->uses(result, table, before);
        for (size_t i = 0; i < KEYS && same; i++) {
            same = name_equal(cell(table, before, rule->keys[i]), cell(table, row, rule->keys[i]));
        }
        number += same;
    }
    return number;
}

static void say_row(const struct rule *rule, const struct result *result, const struct kept_table *kept, size_t row,
                    FILE *to)
{
    const struct table *table = &kept->table;
    size_t number = number_of(rule, result, table, row);
    for (size_t i = 0; i < table->column_count; i++) {
        const struct table_column *column = &table->columns[i];
        bool counts = kept->known[i] && (rule->except == NULL || strcmp(rule->except, column->name) != 0);
        if (!counts || table->rows[row].cells[i][0] == '\0') {
            continue;
        }
        say_row_name(rule, table, row, number, to);
        (void)fputc('\t', to);
        say(column->name, to);
        if (column->unit[0] != '\0') {
            (void)fputs(" [", to);
            say(column->unit, to);
            (void)fputc(']', to);
        }
        (void)fputc('\t', to);
        say(table->rows[row].cells[i], to);
        (void)fputc('\n', to);
    }
}

static int compare_lines(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* Sorts the lines of a text. Returns: the text in the arena; NULL when memory is out. */
static const char *sorted(char *text, size_t length, struct arena *arena)
{
    size_t count = 0;
    char **lines = NULL, *all = arena_alloc(arena, length + 1, 1), *end = all;
    for (char *line = text; line != NULL && line < text + length; line += strlen(line) + 1) {
        char **place = arena_push(arena, &lines, &count, sizeof *lines);
        if (place == NULL) {
            return NULL;
        }
        *place = line;
        line[strcspn(line, "\n")] = '\0';
    }
    if (count > 1) {
        qsort(lines, count, sizeof *lines, compare_lines);
    }
    for (size_t i = 0; i < count && all != NULL; i++) {
        size_t bytes = strlen(lines[i]);
        memcpy(end, lines[i], bytes);
        end[bytes] = '\n';
        end += bytes + 1;
    }
    return all;
}

static const char *rows_of(const struct rule *rule, const struct result *result, const struct kept_table *kept,
                           struct arena *arena)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&text, &length);
    if (to == NULL) {
        return NULL;
    }
    for (size_t row = 0; row < kept->table.row_count; row++) {
        if (rule->uses(result, &kept->table, row)) {
            say_row(rule, result, kept, row, to);
        }
    }
    bool good = ferror(to) == 0;
    good = fclose(to) == 0 && good;
    const char *rows = good ? sorted(text, length, arena) : NULL;
    free(text);
    return rows;
}

/* --- all of it --- */

static enum status add(struct inputs *inputs, struct arena *arena, struct input input)
{
    if (input.rows == NULL) {
        return E_MEMORY;
    }
    struct input *item = arena_push(arena, &inputs->items, &inputs->count, sizeof *item);
    if (item == NULL) {
        return E_MEMORY;
    }
    *item = input;
    sha256_hex(item->rows, strlen(item->rows), item->sha256);
    return OK;
}

static const struct kept_table *kept_of(const struct bay *bay, const char *name)
{
    const struct kept_table *kept = kept_table_find(&bay->kept, name);
    kept = kept != NULL ? kept : kept_table_find(&bay->grades.kept, name);
    kept = kept != NULL || bay->causes == NULL ? kept : kept_table_find(&bay->causes->kept, name);
    kept = kept != NULL || bay->references == NULL ? kept : kept_table_find(&bay->references->kept, name);
    kept = kept != NULL ? kept : kept_table_find(&bay->plausible.kept, name);
    return kept != NULL ? kept : kept_table_find(&bay->labels.kept, name);
}

enum status inputs_find(const struct result *result, struct arena *arena, struct inputs *inputs)
{
    *inputs = (struct inputs){0};
    const char *builtin = result->bay->builtin;
    enum status status = builtin == NULL ? OK : add(inputs, arena, (struct input){.name = "built-in", .rows = builtin});
    for (size_t i = 0; i < sizeof rules / sizeof rules[0] && status == OK; i++) {
        const struct kept_table *kept = kept_of(result->bay, rules[i].name);
        if (kept != NULL) {
            status = add(inputs, arena,
                         (struct input){.name = rules[i].name,
                                        .rows = rows_of(&rules[i], result, kept, arena),
                                        .text = kept->table.text,
                                        .length = kept->table.length});
        }
    }
    return status;
}
