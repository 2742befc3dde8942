#include "sheet.h"

#include "dutyproof/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { FAULT_BUFFER = FAULT_TEXT, NAME_BUFFER = 128 };

static void mark(struct sheet *sheet, enum status status)
{
    if (sheet->status == OK || status == E_MEMORY) {
        sheet->status = status;
    }
}

static void match(struct sheet *sheet, enum status status, const struct table_field *fields, size_t count)
{
    mark(sheet, status);
    sheet->fields = fields;
    sheet->unknown = "";
    if (sheet->table.column_count > 0) {
        mark(sheet, table_match(&sheet->table, fields, count, sheet->at, sheet->units, &sheet->unknown, sheet->arena,
                                sheet->faults));
    }
    if (sheet->status == E_MEMORY) {
        sheet->table.row_count = 0;
    }
}

void sheet_read(struct sheet *sheet, const char *path, const struct table_field *fields, size_t count,
                struct arena *arena, struct faults *faults)
{
    *sheet = (struct sheet){.arena = arena, .faults = faults};
    match(sheet, table_read(path, 0, arena, &sheet->table, faults), fields, count);
}

void sheet_parse(struct sheet *sheet, const char *file, const char *text, size_t length,
                 const struct table_field *fields, size_t count, struct arena *arena, struct faults *faults)
{
    *sheet = (struct sheet){.arena = arena, .faults = faults};
    match(sheet, table_parse(file, text, length, 0, arena, &sheet->table, faults), fields, count);
}

void sheet_note_unknown(struct sheet *sheet, struct notes *notes)
{
    if (sheet->unknown != NULL && *sheet->unknown != '\0') {
        const char *slash = strrchr(sheet->table.file, '/');
        const char *name = slash == NULL ? sheet->table.file : slash + 1;
        if (note_add(notes, sheet->arena, NOTE_INPUT, "%s: columns that are not used: %s", name, sheet->unknown) !=
            OK) {
            sheet_no_memory(sheet);
        }
    }
}

void sheet_fault(struct sheet *sheet, size_t row, int field, const char *fmt, ...)
{
    char text[FAULT_BUFFER];
    va_list args;
    va_start(args, fmt);
    (void)vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    mark(sheet, faults_add(sheet->faults, E_INPUT, table_place(&sheet->table, row, sheet->at[field]), "%s", text));
}

void sheet_no_memory(struct sheet *sheet)
{
    mark(sheet, faults_memory(sheet->faults));
}

const char *sheet_text(const struct sheet *sheet, size_t row, int field)
{
    return table_text(&sheet->table, row, sheet->at[field]);
}

const char *sheet_required(struct sheet *sheet, size_t row, int field)
{
    const char *text = sheet_text(sheet, row, field);
    if (*text == '\0' && sheet->at[field] >= 0) {
        sheet_fault(sheet, row, field, "'%s' is blank, expected it to be stated", sheet->fields[field].name);
    }
    return text;
}

bool sheet_in_range(struct sheet *sheet, size_t row, int field, const char *name, double value_si,
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
    sheet_fault(sheet, row, field, "'%s' is %.6g%s%s, expected %s%s %.6g, at most %.6g%s%s", name, value, space,
                unit_name, range->whole ? "a whole number, " : "", range->above_low ? "above" : "at least", low, high,
                space, unit_name);
    return false;
}

struct quantity sheet_quantity(struct sheet *sheet, size_t row, int field, const struct range *range)
{
    size_t faults_before = sheet->faults->count;
    const struct unit *unit = sheet->units[field];
    struct quantity q = table_quantity(&sheet->table, row, sheet->at[field], unit, sheet->faults);
    if (sheet->faults->count > faults_before) {
        mark(sheet, E_INPUT);
    }
    if (q.known && !sheet_in_range(sheet, row, field, sheet->fields[field].name, q.value, unit, range)) {
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

int sheet_word(struct sheet *sheet, size_t row, int field, const char *name, const struct word *words, int otherwise)
{
    char folded[NAME_BUFFER], expected[FAULT_BUFFER / 2];
    const char *text = sheet_text(sheet, row, field);
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
    sheet_fault(sheet, row, field, "'%s' is '%.*s', expected %s", name, cell_shown(text), text, expected);
    return otherwise;
}
