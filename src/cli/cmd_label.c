/* dutyproof label LOG... | UNITS.csv: where units and their line stand against the classes of their label */
#include "cli/console.h"
#include "cli/session.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"
#include "batch/batch.h"
#include "batch/batch_list.h"
#include "papers/render_label.h"
#include "run/unit.h"

#include <stdlib.h>
#include <string.h>

/* The command under way. */
struct labels {
    const struct options *options;
    const char *out;
    struct arena arena; /* everything that lives as long as the command */
    struct settle_rule settle;
    struct bay *bay; /* that of the log before */
    struct label_batch batch;
    struct drawing drawing;
};

/* --- the request --- */

/* "efficiency=+1.5" or "head=+2": takes it out of text. */
static bool take_change(const char *text, size_t length, struct label_change *change)
{
    double value;
    const char *equals = memchr(text, '=', length);
    size_t name = equals == NULL ? 0 : (size_t)(equals - text);
    bool head = name == strlen("head") && strncmp(text, "head", name) == 0;
    bool efficiency = name == strlen("efficiency") && strncmp(text, "efficiency", name) == 0;
    if ((!head && !efficiency) || !number_parse(equals + 1, length - name - 1, '.', &value) || !(value >= -1000.0) ||
        !(value <= 1000.0)) {
        return false;
    }
    *(head ? &change->head_m : &change->efficiency) = head ? value : value / 100.0;
    return true;
}

static enum status read_change(struct labels *labels, struct faults *faults)
{
    const char *text = labels->options->value[OPTION_WHAT_IF];
    labels->batch.changed = text != NULL;
    while (text != NULL) {
        size_t length = strcspn(text, ",");
        if (!take_change(text, length, &labels->batch.change)) {
            return faults_add(faults, E_USAGE, (struct place){0},
                              "'%.*s' is no change, expected efficiency=+1.5 (percentage points) or head=+2 (m)",
                              (int)(length < 60 ? length : 60), text);
        }
        text = text[length] == ',' ? text + length + 1 : NULL;
    }
    return OK;
}

static enum status read_hours(struct labels *labels, struct faults *faults)
{
    const char *text = labels->options->value[OPTION_HOURS];
    double hours;
    if (text == NULL) {
        return OK;
    }
    if (!number_parse(text, strlen(text), '.', &hours) || !(hours > 0.0) || !(hours <= 8784.0)) {
        return faults_add(faults, E_USAGE, (struct place){0},
                          "'--hours %.40s': expected hours a year, above 0, at most 8784", text);
    }
    labels->batch.hours = quantity_of(hours);
    return OK;
}

static enum status exclude(const struct options *options, enum option_id a, enum option_id b, struct faults *faults)
{
    if (!option_given(options, a) || !option_given(options, b)) {
        return OK;
    }
    return faults_add(faults, E_USAGE, (struct place){0}, "'--%s' and '--%s' exclude each other", option_info(a)->name,
                      option_info(b)->name);
}

static enum status read_request(struct labels *labels, struct faults *faults)
{
    const struct options *options = labels->options;
    if (options->operand_count == 0) {
        return faults_add(faults, E_USAGE, (struct place){0}, "no log and no list of units is named");
    }
    enum status status = exclude(options, OPTION_JSON, OPTION_PLOT, faults);
    status = status == OK ? exclude(options, OPTION_QUIET, OPTION_PLOT, faults) : status;
    status = status == OK ? exclude(options, OPTION_OUT, OPTION_NO_PAPERS, faults) : status;
    status = status == OK ? read_hours(labels, faults) : status;
    status = status == OK ? read_change(labels, faults) : status;
    return status == OK ? options_settle(options, &labels->arena, &labels->settle, faults) : status;
}

/* --- units --- */

static const char *keep(struct labels *labels, const char *text)
{
    return text == NULL ? NULL : arena_text(&labels->arena, text, strlen(text));
}

/* The labels of a reduced unit; nothing of the result itself is kept. */
static enum status label_unit(struct labels *labels, const struct result *result, struct label_unit *unit)
{
    const struct label_change *change = &labels->batch.change;
    unit->serial = keep(labels, result->serial);
    unit->model = result->model;
    unit->tested = result->tested;
    struct label_test test = result_label_test(result);
    enum status status = label_find(&test, &(struct label_change){0}, &labels->arena, &unit->label);
    if (status == OK && labels->batch.changed) {
        status = label_find(&test, change, &labels->arena, &unit->changed);
    }
    return unit->serial == NULL ? E_MEMORY : status;
}

/* Reduces one log and adds its unit; one that gives no result is added with the reason. Status: that of reducing it. */
static enum status add_unit(struct labels *labels, const struct unit_request *request, struct faults *faults)
{
    struct arena arena = {0};
    struct result result = {0};
    struct label_unit *unit = arena_push(&labels->arena, &labels->batch.units, &labels->batch.unit_count, sizeof *unit);
    if (unit == NULL) {
        return faults_memory(faults);
    }
    unit->file = request->log_path;
    enum status status = unit_reduce(labels->bay, request, &arena, &result, faults);
    if (status == OK) {
        status = label_unit(labels, &result, unit) == OK ? OK : faults_memory(faults);
    } else {
        bool named = request->serial != NULL && request->serial[0] != '\0';
        unit->serial = named ? request->serial : file_base(request->log_path);
        unit->trouble = keep(labels, faults->count > 0 ? faults->text[0] : "gives no result");
        status = unit->trouble == NULL ? faults_memory(faults) : status;
    }
    arena_release(&arena);
    return status;
}

static enum status find_bay(struct labels *labels, const char *file, struct faults *faults)
{
    const char *folder = option_given(labels->options, OPTION_BAY) ? NULL : bay_find(file, &labels->arena);
    if (labels->bay != NULL && (folder == NULL || strcmp(folder, labels->bay->folder) == 0)) {
        return OK;
    }
    struct bay *bay = arena_alloc(&labels->arena, 1, sizeof *bay);
    if (bay == NULL) {
        return faults_memory(faults);
    }
    enum status status = session_bay(labels->options, file, &labels->arena, bay, faults);
    labels->bay = status == OK ? bay : NULL;
    return status;
}

static enum exit_status add_logs(struct labels *labels)
{
    enum exit_status end = EXIT_PASSED;
    for (size_t i = 0; i < labels->options->operand_count; i++) {
        const char *log_path = labels->options->operands[i];
        struct faults faults = {0};
        struct unit_request request = {
            .log_path = log_path, .model = labels->options->value[OPTION_MODEL], .settle = labels->settle};
        enum status status = find_bay(labels, log_path, &faults);
        status = status == OK ? add_unit(labels, &request, &faults) : status;
        if (status != OK) {
            end = console_trouble(&faults, "'%.200s' gives no result", log_path);
        }
    }
    return end;
}

/* A log that cannot be read is a unit without a label. */
static enum exit_status add_list(struct labels *labels, const char *path)
{
    struct batch_list list;
    struct notes notes = {0};
    struct faults faults = {0};
    enum status status = find_bay(labels, path, &faults);
    status = status == OK ? batch_list_read(path, labels->bay, &labels->arena, &list, &notes, &faults) : status;
    for (size_t i = 0; status == OK && i < list.count; i++) {
        const struct batch_row *row = &list.rows[i];
        struct faults own = {0};
        struct unit_request request = {.log_path = row->log_path,
                                       .serial = row->serial,
                                       .model = row->model,
                                       .tester = row->tester,
                                       .remarks = row->remarks,
                                       .tested = row->tested,
                                       .settle = labels->settle};
        if (add_unit(labels, &request, &own) == E_MEMORY) {
            status = faults_memory(&faults);
        }
    }
    return status == OK ? EXIT_PASSED : console_trouble(&faults, "'%.200s' gives no labels", path);
}

/* True when a file's header row has a column `log`: a list of units, not a log. */
static bool is_list(const char *path)
{
    char line[4096];
    bool found = false, header = false;
    int fd;
    FILE *file = file_open(path, &fd, &(struct faults){0}) == OK ? fdopen(fd, "r") : NULL;
    while (file != NULL && !header && fgets(line, sizeof line, file) != NULL) {
        char *rest = NULL, *text = line;
        text += strncmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
        header = text[0] != '#' && text[strspn(text, " \t\r\n,;")] != '\0';
        for (char *cell = header ? strtok_r(text, ",;\t\r\n", &rest) : NULL; cell != NULL && !found;
             cell = strtok_r(NULL, ",;\t\r\n", &rest)) {
            found = name_equal(cell, "log") || name_equal(cell, "\"log\"");
        }
    }
    if (file != NULL) {
        (void)fclose(file); /* only read */
    }
    return found;
}

/* --- what comes of them --- */

static enum status print_json(const struct labels *labels, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    if (render_label_json(&labels->batch, false, &text, &length) != OK) {
        return faults_memory(faults);
    }
    (void)fwrite(text, 1, length, stdout); /* checked at the end, by console_end */
    free(text);
    return OK;
}

static enum status print_labels(const struct labels *labels, struct faults *faults)
{
    enum status status = OK;
    if (option_given(labels->options, OPTION_JSON)) {
        status = print_json(labels, faults);
    } else if (!option_given(labels->options, OPTION_QUIET)) {
        status = render_label_text(&labels->batch, console_colour(), stdout) == OK ? OK : faults_memory(faults);
    }
    (void)fflush(stdout);
    return status;
}

/* The strip of one line in characters, into plot.txt of the scratch folder. */
static enum status run_plot(struct labels *labels, const struct label_line *line, struct faults *faults)
{
    enum { PLOT_COLUMNS = 100, PLOT_ROWS = 24 };
    char *script = NULL;
    size_t length = 0;
    enum status status = drawing_start(&labels->drawing, faults);
    FILE *to = status == OK ? memory_stream_open(&script, &length) : NULL;
    if (status != OK || to == NULL) {
        return status != OK ? status : faults_memory(faults);
    }
    (void)fputs("set output 'plot.txt'\n", to);
    render_label_plot(&labels->batch, line, PLOT_COLUMNS, PLOT_ROWS, to);
    (void)fputs("set output\n", to);
    bool written = ferror(to) == 0;
    written = fclose(to) == 0 && written;
    status = written ? gnuplot_run(labels->drawing.press.gnuplot, script, length, faults) : faults_memory(faults);
    free(script);
    return status;
}

static enum status print_plots(struct labels *labels, struct faults *faults)
{
    enum { LARGEST_PLOT = 1024 * 1024 };
    for (size_t i = 0; i < labels->batch.line_count; i++) {
        char *text = NULL;
        size_t length = 0;
        enum status status = run_plot(labels, &labels->batch.lines[i], faults);
        const char *path =
            status == OK ? arena_format(&labels->arena, "%s/plot.txt", labels->drawing.scratch.path) : NULL;
        if (status == OK) {
            status = path == NULL ? faults_memory(faults)
                                  : file_read(path, LARGEST_PLOT, &labels->arena, &text, &length, faults);
        }
        if (status != OK) {
            return status;
        }
        (void)fwrite(text, 1, length, stdout);
        (void)fputc('\n', stdout);
    }
    (void)fflush(stdout);
    return OK;
}

static enum status write_csv(struct labels *labels, struct faults *faults)
{
    char *text = NULL, *path = arena_format(&labels->arena, "%s/label.csv", labels->out);
    size_t length = 0;
    FILE *to = path == NULL ? NULL : memory_stream_open(&text, &length);
    if (to == NULL) {
        return faults_memory(faults);
    }
    render_label_csv(&labels->batch, to);
    bool written = ferror(to) == 0;
    written = fclose(to) == 0 && written;
    enum status status = written ? folder_make(labels->out, faults) : faults_memory(faults);
    status = status == OK ? file_write(path, text, length, faults) : status;
    free(text);
    return status;
}

static enum status write_one(struct labels *labels, const char *name, const char *bytes, size_t length,
                             struct faults *faults)
{
    const char *path = arena_format(&labels->arena, "%s/%s", labels->out, name);
    return path == NULL ? faults_memory(faults) : file_write(path, bytes, length, faults);
}

/* Without a unit that has an index there is nothing to draw. */
static enum status remove_drawn(struct labels *labels, struct faults *faults)
{
    static const char *const names[] = {"label.pdf", "label.html"};
    enum status status = OK;
    for (size_t i = 0; i < sizeof names / sizeof names[0] && status == OK; i++) {
        const char *path = arena_format(&labels->arena, "%s/%s", labels->out, names[i]);
        status = path == NULL ? faults_memory(faults) : file_remove(path, faults);
    }
    return status;
}

static enum status write_drawn(struct labels *labels, struct faults *faults)
{
    struct rendered_label rendered = {0};
    if (labels->batch.line_count == 0) {
        return remove_drawn(labels, faults);
    }
    enum status status = drawing_start(&labels->drawing, faults);
    status = status == OK ? render_label_drawn(&labels->batch, &labels->drawing.press, &rendered, faults) : status;
    status = status == OK ? write_one(labels, "label.html", rendered.html, rendered.html_length, faults) : status;
    status = status == OK ? write_one(labels, "label.pdf", rendered.pdf, rendered.pdf_length, faults) : status;
    free(rendered.pdf);
    free(rendered.html);
    return status;
}

static enum exit_status write_papers(struct labels *labels)
{
    struct faults faults = {0};
    if (write_csv(labels, &faults) != OK) {
        return console_trouble(&faults, "no papers were written to '%.200s', try another folder with --out",
                               labels->out);
    }
    if (write_drawn(labels, &faults) != OK) {
        return console_trouble(&faults, "label.pdf and label.html are missing, label.csv is written");
    }
    if (!option_given(labels->options, OPTION_QUIET)) {
        (void)fprintf(stderr, "papers: %s/label.csv%s\n", labels->out,
                      labels->batch.line_count > 0 ? ", label.pdf and label.html" : "");
    }
    return EXIT_PASSED;
}

/* Every unit whose model names a label must hold a class. */
static enum exit_status judge_units(const struct label_batch *batch)
{
    for (size_t i = 0; i < batch->unit_count; i++) {
        const struct label_unit *unit = &batch->units[i];
        bool asked = unit->trouble != NULL || (unit->label.scheme != NULL && !unit->superseded);
        if (asked && (unit->trouble != NULL || !unit->label.known || unit->label.here.class_name == NULL)) {
            return EXIT_NOT_PASSED;
        }
    }
    return EXIT_PASSED;
}

static enum exit_status give(struct labels *labels)
{
    struct faults faults = {0};
    (void)label_batch_supersede(&labels->batch);
    enum status status = label_batch_find(&labels->batch, &labels->arena) == OK ? OK : faults_memory(&faults);
    status = status == OK ? print_labels(labels, &faults) : status;
    if (status == OK && option_given(labels->options, OPTION_PLOT)) {
        status = print_plots(labels, &faults);
    }
    enum exit_status end = status == OK ? judge_units(&labels->batch) : console_trouble(&faults, NULL);
    if (!option_given(labels->options, OPTION_NO_PAPERS)) {
        end = exit_worse(end, write_papers(labels));
    }
    return end;
}

enum exit_status cmd_label(const struct options *options)
{
    struct labels labels = {.options = options,
                            .out = option_given(options, OPTION_OUT) ? options->value[OPTION_OUT] : "reports"};
    struct faults faults = {0};
    if (read_request(&labels, &faults) != OK) {
        arena_release(&labels.arena);
        return console_usage(&faults, "label");
    }
    labels.drawing.parent = option_given(options, OPTION_NO_PAPERS) ? temporary_folder() : labels.out;
    bool list = options->operand_count == 1 && is_list(options->operands[0]);
    enum exit_status end = list ? add_list(&labels, options->operands[0]) : add_logs(&labels);
    if (labels.batch.unit_count > 0) {
        end = exit_worse(end, give(&labels));
    }
    if (drawing_stop(&labels.drawing, &faults) != OK) {
        end = console_trouble(&faults, NULL);
    }
    arena_release(&labels.arena);
    return end;
}
