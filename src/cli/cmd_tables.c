/* dutyproof tables [NAME]: the built-in reference tables, with their sources, and what the tables of a bay may hold */
#include "cli/console.h"

#include "base/memory_stream.h"
#include "base/text.h"
#include "papers/render.h"

#include <stdlib.h>
#include <string.h>

static enum status list_tables(bool json, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    enum status status = json ? render_tables_json(&text, &length) : render_tables_text(stdout);
    if (status == OK && json) {
        (void)fwrite(text, 1, length, stdout); /* checked at the end, by console_end */
        free(text);
    }
    return status == OK ? OK : faults_memory(faults);
}

static enum status print_table(const struct builtin_table *table, bool json, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    if (!json) {
        (void)fwrite(table->text, 1, table->length, stdout);
        return OK;
    }
    enum status status = render_table_json(table, &text, &length);
    if (status != OK) {
        return status == E_MEMORY ? faults_memory(faults)
                                  : faults_add(faults, status, (struct place){.file = table->name}, "is not a table");
    }
    (void)fwrite(text, 1, length, stdout);
    free(text);
    return OK;
}

/* The units are no file of reference/ but the library's own table, made into the same form. */
static enum status print_units(bool json, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&text, &length);
    if (to == NULL) {
        return faults_memory(faults);
    }
    render_units_csv(to);
    bool written = ferror(to) == 0;
    written = fclose(to) == 0 && written;
    struct builtin_table table = {.name = "measurement units", .text = text, .length = length};
    enum status status = written ? print_table(&table, json, faults) : faults_memory(faults);
    free(text);
    return status;
}

static bool is_form(const char *name)
{
    const char *form;
    for (size_t i = 0; (form = render_form_name(i)) != NULL; i++) {
        if (strcmp(form, name) == 0) {
            return true;
        }
    }
    return false;
}

static enum status print_form(const char *name, bool json, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    enum status status = json ? render_form_json(name, &text, &length) : render_form_text(name, stdout);
    if (status == OK && json) {
        (void)fwrite(text, 1, length, stdout);
        free(text);
    }
    return status == OK ? OK : faults_memory(faults);
}

static enum exit_status unknown_table(const char *name, struct faults *faults)
{
    const char *names[64];
    size_t count = 0;
    const char *form;
    names[count++] = "measurement units";
    for (size_t i = 0; (form = render_form_name(i)) != NULL; i++) {
        names[count++] = form;
    }
    for (size_t i = 0; i < builtin_table_count && count < sizeof names / sizeof names[0]; i++) {
        names[count++] = builtin_tables[i].name;
    }
    const char *near = name_nearest(name, names, count);
    (void)(near != NULL
               ? faults_add(faults, E_USAGE, (struct place){0}, "no table '%.80s', did you mean '%s'?", name, near)
               : faults_add(faults, E_USAGE, (struct place){0}, "no table '%.80s', 'dutyproof tables' lists them",
                            name));
    return console_usage(faults, "tables");
}

enum exit_status cmd_tables(const struct options *options)
{
    struct faults faults = {0};
    bool json = option_given(options, OPTION_JSON);
    bool two_words = options->operand_count == 2 && strcmp(options->operands[0], "measurement") == 0 &&
                     strcmp(options->operands[1], "units") == 0;
    if (options->operand_count > 1 && !two_words) {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "one table at a time, but %zu are named",
                         options->operand_count);
        return console_usage(&faults, "tables");
    }
    const char *name = two_words ? "measurement units" : options->operand_count == 1 ? options->operands[0] : NULL;
    const struct builtin_table *table = name != NULL ? builtin_find(name) : NULL;
    enum status status = OK;
    if (name == NULL) {
        status = list_tables(json, &faults);
    } else if (name_equal(name, "measurement units")) {
        status = print_units(json, &faults);
    } else if (is_form(name)) {
        status = print_form(name, json, &faults);
    } else if (table != NULL) {
        status = print_table(table, json, &faults);
    } else {
        return unknown_table(name, &faults);
    }
    return status == OK ? EXIT_PASSED : console_trouble(&faults, NULL);
}
