#include "papers/json_document.h"
#include "papers/layout.h"
#include "papers/render.h"
#include "tables/table.h"

#include <stdlib.h>
#include <string.h>

static const char units_about[] = "Units that a heading may state: SI = factor x reading + offset.";

/* The first comment line of a table says what it holds. */
static const char *about(const struct builtin_table *table, struct arena *arena)
{
    const char *text = table->text;
    size_t length = text[0] == '#' ? strcspn(text, "\r\n") : 0;
    size_t start = length > 0 ? 1 + strspn(text + 1, " ") : 0;
    return arena_text(arena, text + start, length > start ? length - start : 0);
}

enum status render_tables_text(FILE *to)
{
    struct arena arena = {0};
    bool failed = false;
    for (size_t i = 0; i < builtin_table_count; i++) {
        const char *text = about(&builtin_tables[i], &arena);
        failed = failed || text == NULL;
        paragraph_print(builtin_tables[i].name, text != NULL ? text : "", 12, to);
    }
    paragraph_print("units", units_about, 12, to);
    arena_release(&arena);
    return failed ? E_MEMORY : OK;
}

enum status render_tables_json(char **text, size_t *length)
{
    struct json_document doc = {0};
    json_t *root = json_array();
    for (size_t i = 0; i <= builtin_table_count; i++) {
        bool units = i == builtin_table_count;
        const char *holds = units ? units_about : about(&builtin_tables[i], &doc.arena);
        json_t *object = json_object();
        doc.failed = doc.failed || holds == NULL;
        put_text(&doc, object, "name", units ? "units" : builtin_tables[i].name);
        put_text(&doc, object, "about", holds);
        append_value(&doc, root, object);
    }
    return json_document_end(&doc, root, false, text, length);
}

static void put_comments(struct json_document *doc, json_t *root, const struct builtin_table *table)
{
    json_t *array = json_array();
    for (const char *line = table->text; line[0] == '#';) {
        size_t length = strcspn(line, "\r\n"), start = 1 + strspn(line + 1, " ");
        const char *comment = length > start ? arena_text(&doc->arena, line + start, length - start) : "";
        append_value(doc, array, comment == NULL ? NULL : text_value(doc, comment));
        line += length + strspn(line + length, "\r\n");
    }
    put_value(doc, root, "about", array);
}

enum status render_table_json(const struct builtin_table *table, char **text, size_t *length)
{
    struct json_document doc = {0};
    struct table parsed;
    struct faults *faults = arena_alloc(&doc.arena, 1, sizeof *faults);
    enum status status = faults == NULL
                             ? E_MEMORY
                             : table_parse(table->name, table->text, table->length, 0, &doc.arena, &parsed, faults);
    if (status != OK) {
        arena_release(&doc.arena);
        return status;
    }
    json_t *root = json_object(), *rows = json_array();
    put_text(&doc, root, "name", table->name);
    put_comments(&doc, root, table);
    for (size_t r = 0; r < parsed.row_count; r++) {
        json_t *row = json_object();
        for (size_t c = 0; c < parsed.column_count; c++) {
            put_value(&doc, row, parsed.columns[c].heading, text_value(&doc, parsed.rows[r].cells[c]));
        }
        append_value(&doc, rows, row);
    }
    put_value(&doc, root, "rows", rows);
    return json_document_end(&doc, root, false, text, length);
}

void render_units_csv(FILE *to)
{
    (void)fprintf(to, "# %s\nunit,what it measures,factor,offset\n", units_about);
    const struct unit *unit;
    for (size_t i = 0; (unit = unit_at(i)) != NULL; i++) {
        (void)fprintf(to, "\"%s\",%s,%.12g,%.12g\n", unit->name, dimension_name(unit->dimension), unit->factor,
                      unit->offset);
    }
}
