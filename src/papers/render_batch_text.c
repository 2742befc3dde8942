#include "base/text.h"
#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "papers/batch_words.h"
#include "papers/figures.h"
#include "papers/layout.h"
#include "papers/render_batch.h"

#include <string.h>

enum { REASON_SHOWN = 38 };

static const struct check *find(const struct batch_test *test, enum check_item item)
{
    for (size_t d = 0; d < test->duty_count; d++) {
        for (size_t i = 0; i < test->duties[d].check_count; i++) {
            if (test->duties[d].checks[i].item == item) {
                return &test->duties[d].checks[i];
            }
        }
    }
    return NULL;
}

static void margin_cell(struct grid *grid, const struct check *check, const struct figure_units *units)
{
    struct check_figures figures;
    if (check == NULL) {
        grid_add(grid, "-");
        return;
    }
    check_figures_of(check, units, &figures);
    bool known = strcmp(figures.margin, "-") != 0;
    grid_addf(grid, "%s%s%s", figures.margin, known && figures.margin_unit[0] != '\0' ? " " : "",
              known ? figures.margin_unit : "");
}

static void test_row(struct grid *grid, const struct batch_test *test)
{
    char date[FIGURE_TEXT];
    struct figure_units units = figure_units_of(test->model);
    grid_add(grid, test->serial);
    grid_add(grid, test->model_name);
    grid_add(grid, figure_date(&test->tested, date));
    margin_cell(grid, find(test, CHECK_FLOW_AND_HEAD), &units);
    margin_cell(grid, find(test, CHECK_EFFICIENCY), &units);
    grid_addf(grid, "%s%s", batch_verdict_text(test), test->superseded ? " (superseded)" : "");
    const char *reason = batch_reason_text(test, grid->arena);
    const char *shown = reason == NULL ? NULL : text_shown(grid->arena, reason, REASON_SHOWN);
    grid_add(grid, shown == NULL ? "" : shown);
}

static void print_counts(const struct batch_summary *summary, FILE *to)
{
    const struct batch_counts *counts = &summary->counts;
    (void)fprintf(to, "\n%zu %s: %zu pass, %zu fail, %zu not judged", counts->units,
                  counts->units == 1 ? "unit" : "units", counts->passed, counts->failed, counts->not_judged);
    if (counts->retested > 0) {
        (void)fprintf(to, "; %zu retested (%zu earlier %s superseded)", counts->retested, counts->superseded,
                      counts->superseded == 1 ? "test is" : "tests are");
    }
    if (counts->overdue > 0) {
        (void)fprintf(to, "; %zu with calibration overdue", counts->overdue);
    }
    if (counts->routine_failed > 0) {
        (void)fprintf(to, "; %zu with routine results that fail", counts->routine_failed);
    }
    (void)fputs("\n", to);
}

/* "+0.62 m" or "+1.2 %" */
static const char *shown(const struct batch_series *series, const struct figure_units *units, double value,
                         char out[FIGURE_TEXT])
{
    return figure_text(series->head ? FIGURE_HEAD : FIGURE_EFFICIENCY, units, quantity_of(value), out);
}

static const char *name_shown(struct arena *arena, const char *name)
{
    enum { NAME_SHOWN = 40 };
    const char *text = text_shown(arena, name, NAME_SHOWN);
    return text == NULL ? "" : text;
}

static void print_series(const struct batch_section *section, size_t duty, const struct batch_series *series,
                         struct arena *arena, FILE *to)
{
    struct figure_units units = figure_units_of(section->model);
    char mean[FIGURE_TEXT], deviation[FIGURE_TEXT], cpk[FIGURE_TEXT], ppk[FIGURE_TEXT];
    if (series->count < SERIES_SPREAD_MIN) {
        return;
    }
    (void)fprintf(to, "  %s", name_shown(arena, section->model->name));
    if (section->duty_count > 1) {
        (void)fprintf(to, ", point %zu", duty + 1);
    }
    (void)fprintf(to, ": %s of %zu: mean %s, standard deviation %s, Cpk %s, Ppk %s\n", series->name, series->count,
                  shown(series, &units, series->mean, mean), shown(series, &units, series->deviation.value, deviation),
                  figure_index(series->cpk, cpk), figure_index(series->ppk, ppk));
    for (size_t i = 0; i < series->count; i++) {
        if (series->out_value[i] || series->out_range[i] || series->run[i]) {
            (void)fprintf(to, "    out of control: %s%s%s%s\n", name_shown(arena, series->tests[i]->serial),
                          series->out_value[i] ? ", outside the limits" : "",
                          series->out_range[i] ? ", step from the unit before too great" : "",
                          series->run[i] ? ", nine in a row on one side of the mean" : "");
        }
    }
}

enum status render_batch_text(const struct batch *batch, const struct batch_summary *summary, bool colour, FILE *to)
{
    struct arena arena = {0};
    struct grid grid = {.arena = &arena, .columns = "lllrrll"};
    static const char *const headings[] = {"serial",     "model",   "tested", "flow and head",
                                           "efficiency", "verdict", "reason"};
    const char *name = text_shown(&arena, batch->list->name, LAYOUT_WIDTH / 2);
    const char *bay = text_shown(&arena, batch->bay->rig.name, LAYOUT_WIDTH / 2);
    (void)fprintf(to, "Batch %s, %s\n\n", name == NULL ? "" : name, bay == NULL ? "" : bay);
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (size_t i = 0; i < batch->count; i++) {
        test_row(&grid, &batch->tests[i]);
    }
    enum status status = name == NULL || bay == NULL ? E_MEMORY : grid_print(&grid, colour, to);
    print_counts(summary, to);
    for (size_t i = 0; i < summary->section_count; i++) {
        const struct batch_section *section = &summary->sections[i];
        for (size_t duty = 0; duty < section->duty_count; duty++) {
            print_series(section, duty, &section->head[duty], &arena, to);
            print_series(section, duty, &section->efficiency[duty], &arena, to);
        }
    }
    arena_release(&arena);
    return status;
}
