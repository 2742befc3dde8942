#include "tables/cells.h"

#include "base/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { FAULT_BUFFER = FAULT_TEXT, NAME_BUFFER = 128 };

static void mark(struct cells *cells, enum status status)
{
    if (cells->status == OK || status == E_MEMORY) {
        cells->status = status;
    }
}

static void match(struct cells *cells, enum status status, const struct table_field *fields, size_t count)
{
    mark(cells, status);
    cells->fields = fields;
    cells->field_count = count;
    cells->unknown = "";
    for (size_t i = 0; i < count; i++) {
        cells->at[i] = -1;
    }
    if (cells->table.column_count > 0 && cells->status != E_MEMORY) { /* else a heading may lack its name */
        mark(cells, table_match(&cells->table, fields, count, cells->at, cells->units, &cells->unknown, cells->arena,
                                cells->faults));
    }
    if (cells->status == E_MEMORY) {
        cells->table.row_count = 0;
    }
}

void cells_read(struct cells *cells, const char *path, const struct table_field *fields, size_t count,
                struct arena *arena, struct faults *faults)
{
    *cells = (struct cells){.arena = arena, .faults = faults};
    match(cells, table_read(path, 0, arena, &cells->table, faults), fields, count);
}

void cells_parse(struct cells *cells, const char *file, const char *text, size_t length,
                 const struct table_field *fields, size_t count, struct arena *arena, struct faults *faults)
{
    *cells = (struct cells){.arena = arena, .faults = faults};
    match(cells, table_parse(file, text, length, 0, arena, &cells->table, faults), fields, count);
}

void cells_keep(struct cells *cells, struct kept_tables *kept)
{
    const struct table *table = &cells->table;
    if (table->text == NULL) {
        return; /* it could not be read */
    }
    const char *slash = strrchr(table->file, '/');
    bool *known = arena_alloc(cells->arena, table->column_count, sizeof *known);
    struct kept_table *item = known == NULL ? NULL : arena_push(cells->arena, &kept->items, &kept->count, sizeof *item);
    if (item == NULL) {
        cells_no_memory(cells);
        return;
    }
    for (size_t i = 0; i < cells->field_count; i++) {
        if (cells->at[i] >= 0) {
            known[cells->at[i]] = true;
        }
    }
    *item = (struct kept_table){.name = slash == NULL ? table->file : slash + 1, .table = *table, .known = known};
}

void cells_note_unknown(struct cells *cells, struct notes *notes)
{
    if (cells->unknown != NULL && *cells->unknown != '\0') {
        const char *slash = strrchr(cells->table.file, '/');
        const char *name = slash == NULL ? cells->table.file : slash + 1;
        if (note_add(notes, cells->arena, NOTE_INPUT, "%s: columns that are not used: %s", name, cells->unknown) !=
            OK) {
            cells_no_memory(cells);
        }
    }
}

void cells_fault(struct cells *cells, size_t row, int field, const char *fmt, ...)
{
    char text[FAULT_BUFFER];
    va_list args;
    va_start(args, fmt);
    (void)vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    mark(cells, faults_add(cells->faults, E_INPUT, table_place(&cells->table, row, cells->at[field]), "%s", text));
}

void cells_no_memory(struct cells *cells)
{
    mark(cells, faults_memory(cells->faults));
}

const char *cells_text(const struct cells *cells, size_t row, int field)
{
    return table_text(&cells->table, row, cells->at[field]);
}

const char *cells_required(struct cells *cells, size_t row, int field)
{
    const char *text = cells_text(cells, row, field);
    if (*text == '\0' && cells->at[field] >= 0) {
        cells_fault(cells, row, field, "'%s' is blank, expected it to be stated", cells->fields[field].name);
    }
    return text;
}

bool cells_in_range(struct cells *cells, size_t row, int field, const char *name, double value_si,
                    const struct unit *unit, const struct range *range)
{
    bool above = range->above_low ? value_si > range->low : value_si >= range->low;
    if (above && value_si <= range->high && (!range->whole || value_si == floor(value_si))) {
        return true;
    }
    double value = unit == NULL ? value_si : unit_from_si(unit, value_si);
    double low = unit == NULL ? range->low : unit_from_si(unit, range->low);
    double high = unit == NULL ? range->high : unit_from_si(unit, range->high);
    const char *space = unit == NULL ? "" : " ", *unit_name = unit == NULL ? "" : unit->name;
    cells_fault(cells, row, field, "'%s' is %.6g%s%s, expected %s%s %.6g, at most %.6g%s%s", name, value, space,
                unit_name, range->whole ? "a whole number, " : "", range->above_low ? "above" : "at least", low, high,
                space, unit_name);
    return false;
}

struct quantity cells_quantity(struct cells *cells, size_t row, int field, const struct range *range)
{
    size_t faults_before = cells->faults->count;
    const struct unit *unit = cells->units[field];
    struct quantity q = table_quantity(&cells->table, row, cells->at[field], unit, cells->faults);
    if (cells->faults->count > faults_before) {
        mark(cells, E_INPUT);
    }
    if (q.known && !cells_in_range(cells, row, field, cells->fields[field].name, q.value, unit, range)) {
        return quantity_absent();
    }
    return q;
}

/* "meter, orifice, venturi": the first name of each value. */
static void list_words(const struct word *words, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (const struct word *word = words; word->name != NULL && used < size; word++) {
        if (word == words || word->value != word[-1].value) {
            int n = snprintf(out + used, size - used, "%s%s", used == 0 ? "" : ", ", word->name);
            used += n > 0 ? (size_t)n : 0;
        }
    }
}

int cells_word(struct cells *cells, size_t row, int field, const char *name, const struct word *words, int otherwise)
{
    char folded[NAME_BUFFER], expected[FAULT_BUFFER / 2];
    const char *text = cells_text(cells, row, field);
    if (*text == '\0') {
        return otherwise;
    }
    name_fold(text, folded, sizeof folded);
    for (const struct word *word = words; word->name != NULL; word++) {
        if (strcmp(folded, word->name) == 0) {
            return word->value;
        }
    }
    list_words(words, expected, sizeof expected);
    cells_fault(cells, row, field, "'%s' is '%.*s', expected %s", name, cell_shown(text), text, expected);
    return otherwise;
}
