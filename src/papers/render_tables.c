#include "batch/batch_list.h"
#include "papers/json_document.h"
#include "papers/layout.h"
#include "papers/render.h"
#include "tables/bay.h"
#include "tables/listing.h"
#include "tables/table.h"

#include <stdlib.h>
#include <string.h>

static const char *const form_names[] = {"rig", "log", "models", "motors", "instruments", "units"};

/* Status: E_MEMORY; E_INPUT there is no form of that name. */
static enum status form_find(const char *name, struct arena *arena, struct listing *listing)
{
    static const struct table_form *const forms[] = {&models_form, &motors_form, &instruments_form, &units_form};
    if (strcmp(name, "rig") == 0) {
        return listing_of_rig(arena, listing);
    }
    if (strcmp(name, "log") == 0) {
        return listing_of_log(arena, listing);
    }
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        if (strcmp(name, forms[i]->name) == 0) {
            return listing_of_form(forms[i], arena, listing);
        }
    }
    return E_INPUT;
}

const char *render_form_name(size_t index)
{
    return index < sizeof form_names / sizeof *form_names ? form_names[index] : NULL;
}

/* What a row takes and means, as one text. */
static const char *row_text(const struct listing_row *row, struct arena *arena)
{
    const char *aliases = *row->aliases == '\0' ? "" : arena_format(arena, "; also '%s'", row->aliases);
    const char *otherwise = *row->otherwise == '\0' ? "" : arena_format(arena, "; default: %s", row->otherwise);
    return aliases == NULL || otherwise == NULL
               ? NULL
               : arena_format(arena, "[%s] %s%s%s%s", row->takes, row->about, row->required ? "; must be there" : "",
                              otherwise, aliases);
}

enum status render_form_text(const char *name, FILE *to)
{
    enum { NAME_WIDTH = 26 };
    struct arena arena = {0};
    struct listing listing;
    enum status status = form_find(name, &arena, &listing);
    for (size_t i = 0; i < listing.count && status == OK; i++) {
        const struct listing_row *row = &listing.rows[i];
        const char *text = row_text(row, &arena);
        if (i == 0) {
            paragraph_print("", listing.about, 0, to);
            (void)fputc('\n', to);
        }
        status = text == NULL ? E_MEMORY : OK;
        paragraph_print(row->name, text == NULL ? "" : text, NAME_WIDTH, to);
    }
    arena_release(&arena);
    return status;
}

enum status render_form_json(const char *name, char **text, size_t *length)
{
    struct json_document doc = {0};
    struct listing listing;
    enum status status = form_find(name, &doc.arena, &listing);
    if (status != OK) {
        arena_release(&doc.arena);
        return status;
    }
    json_t *root = json_object(), *rows = json_array();
    put_text(&doc, root, "name", listing.name);
    put_text(&doc, root, "about", listing.about);
    for (size_t i = 0; i < listing.count; i++) {
        const struct listing_row *row = &listing.rows[i];
        json_t *object = json_object();
        put_text(&doc, object, "name", row->name);
        put_text(&doc, object, "takes", row->takes);
        put_value(&doc, object, "required", json_boolean(row->required));
        put_text(&doc, object, "default", row->otherwise);
        put_text(&doc, object, "aliases", row->aliases);
        put_text(&doc, object, "about", row->about);
        append_value(&doc, rows, object);
    }
    put_value(&doc, root, "rows", rows);
    return json_document_end(&doc, root, false, text, length);
}

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
    paragraph_print("measurement units", units_about, 12, to);
    for (size_t i = 0; i < sizeof form_names / sizeof *form_names && !failed; i++) {
        struct listing listing;
        failed = form_find(form_names[i], &arena, &listing) != OK;
        paragraph_print(form_names[i], failed ? "" : listing.about, 12, to);
    }
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
        put_text(&doc, object, "name", units ? "measurement units" : builtin_tables[i].name);
        put_text(&doc, object, "about", holds);
        append_value(&doc, root, object);
    }
    for (size_t i = 0; i < sizeof form_names / sizeof *form_names; i++) {
        struct listing listing = {0};
        json_t *object = json_object();
        doc.failed = form_find(form_names[i], &doc.arena, &listing) != OK || doc.failed;
        put_text(&doc, object, "name", form_names[i]);
        put_text(&doc, object, "about", listing.about);
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
