/* dutyproof inspect LOG | BAY: what was read, judged by nothing */
#include "cli/console.h"
#include "cli/inspect_bay.h"
#include "cli/session.h"

#include "papers/render.h"
#include "papers/render_inspect.h"

#include <stdlib.h>
#include <sys/stat.h>

/* Without a bay a log that maps no column can still be read. */
static enum status inspect(const struct options *options, struct arena *arena, struct bay *bay,
                           struct inspection *inspection, struct faults *faults)
{
    const char *path = options->operands[0];
    struct settle_rule rule;
    enum status status = options_settle(options, arena, &rule, faults);
    bool with_bay = option_given(options, OPTION_BAY) || bay_find(path, arena) != NULL;
    if (status == OK && with_bay) {
        status = session_bay(options, path, arena, bay, faults);
    }
    return status != OK ? status : inspect_log(path, with_bay ? bay : NULL, &rule, arena, inspection, faults);
}

static enum status print_inspection(const struct inspection *inspection, bool json, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    enum status status = json ? render_inspection_json(inspection, false, &text, &length)
                              : render_inspection_text(inspection, console_colour(), stdout);
    if (status != OK) {
        return faults_memory(faults);
    }
    if (json) {
        (void)fwrite(text, 1, length, stdout); /* checked at the end, by console_end */
        free(text);
    }
    return OK;
}

static void record_script(const void *inspection, int columns, int rows, FILE *to)
{
    render_record_script(inspection, columns, rows, to);
}

/* The record in characters, its stretches marked. */
static enum exit_status plot(const struct inspection *inspection)
{
    if (inspection->settled.trace_count == 0) {
        (void)fprintf(stderr, "dutyproof: a %s: there is no record to plot\n", log_kind_name(inspection->settled.kind));
        return EXIT_PASSED;
    }
    struct drawing drawing = {.parent = temporary_folder()};
    const struct plot record = {.script = record_script, .what = inspection, .columns = 100, .rows = 18};
    struct faults faults = {0};
    (void)fputs("\n. record   = steady stretch   ? held, but not steady; each with the number of its point\n", stdout);
    (void)fflush(stdout); /* a failure is told by console_end */
    enum status status = drawing_plot(&drawing, &record, stdout, &faults);
    enum exit_status end = status == OK ? EXIT_PASSED : console_trouble(&faults, "no plot was drawn");
    return drawing_stop(&drawing, &faults) == OK ? end : console_trouble(&faults, NULL);
}

static enum status check_request(const struct options *options, struct faults *faults)
{
    if (options->operand_count != 1) {
        return faults_add(faults, E_USAGE, (struct place){0}, "one log is needed, but %zu are given",
                          options->operand_count);
    }
    if (option_given(options, OPTION_JSON) && option_given(options, OPTION_PLOT)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--json' and '--plot' exclude each other");
    }
    return OK;
}

static bool is_folder(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

enum exit_status cmd_inspect(const struct options *options)
{
    struct arena arena = {0};
    struct bay bay = {0};
    struct inspection inspection = {0};
    struct faults faults = {0};
    if (check_request(options, &faults) != OK) {
        return console_usage(&faults, "inspect");
    }
    if (is_folder(options->operands[0])) {
        return inspect_bay(options->operands[0], option_given(options, OPTION_JSON));
    }
    enum exit_status end = EXIT_PASSED;
    enum status status = inspect(options, &arena, &bay, &inspection, &faults);
    if (status == OK) {
        status = print_inspection(&inspection, option_given(options, OPTION_JSON), &faults);
    }
    if (status == OK && option_given(options, OPTION_PLOT)) {
        end = plot(&inspection);
    }
    arena_release(&arena);
    if (status == E_USAGE) {
        return console_usage(&faults, "inspect");
    }
    return status == OK ? end : console_trouble(&faults, NULL);
}
