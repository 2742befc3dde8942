#include "filing/unit_papers.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "papers/render.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What the steps of making one unit's papers share. */
struct work {
    const struct papers_order *order;
    const struct result *result;
    struct unit_folder *unit;
    struct arena *arena;
    struct faults *faults;
};

enum { LARGEST_PAPER = 256 * 1024 * 1024 };

static const char pdf_name[] = "sheet.pdf", html_name[] = "sheet.html", json_name[] = "result.json";

static enum status sheet_text(const struct result *result, FILE *to)
{
    return render_sheet_text(result, false, to);
}

static enum status points_csv(const struct result *result, FILE *to)
{
    render_points_csv(result, to);
    return OK;
}

/* Renders into memory. *text is freed by the caller, also upon failure. */
static enum status rendered(const struct work *work, enum status (*render)(const struct result *, FILE *), char **text,
                            size_t *length)
{
    FILE *to = memory_stream_open(text, length);
    if (to == NULL) {
        return faults_memory(work->faults);
    }
    bool good = render(work->result, to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    return good ? OK : faults_memory(work->faults);
}

static enum status stage(const struct work *work, const char *name, const char *bytes, size_t length)
{
    return unit_folder_stage(work->unit, name, bytes, length, work->faults);
}

static enum status stage_text(const struct work *work, const char *name,
                              enum status (*render)(const struct result *, FILE *))
{
    char *text = NULL;
    size_t length = 0;
    enum status status = rendered(work, render, &text, &length);
    if (status == OK) {
        status = stage(work, name, text, length);
    }
    free(text);
    return status;
}

static enum status stage_json(const struct work *work)
{
    char *text = NULL;
    size_t length = 0;
    if (render_json(work->result, false, &text, &length) != OK) {
        return faults_memory(work->faults);
    }
    enum status status = stage(work, json_name, text, length);
    free(text);
    return status;
}

/* The sheet's drawn papers: its plot is drawn once for both. */
static enum status stage_drawn(const struct work *work)
{
    char *pdf = NULL, *html = NULL;
    size_t pdf_length = 0, html_length = 0;
    enum status status =
        render_sheet_drawn(work->result, work->order->press, &pdf, &pdf_length, &html, &html_length, work->faults);
    if (status == OK) {
        status = stage(work, pdf_name, pdf, pdf_length);
    }
    if (status == OK) {
        status = stage(work, html_name, html, html_length);
    }
    free(pdf);
    free(html);
    return status;
}

static enum status stage_all(struct work *work)
{
    static const struct {
        const char *name;
        enum status (*render)(const struct result *, FILE *);
    } texts[] = {{"points.csv", points_csv},
                 {"curves.dat", render_curves_data},
                 {"curves.gp", render_curves_script},
                 {"sheet.txt", sheet_text}};
    enum status status = OK;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0] && status == OK; i++) {
        status = stage_text(work, texts[i].name, texts[i].render);
    }
    if (status == OK) {
        status = stage_json(work);
    }
    bool drawn = work->order->press != NULL && work->order->press->gnuplot != NULL;
    return status == OK && drawn ? stage_drawn(work) : status;
}

struct unit_test papers_test(const struct papers_order *order)
{
    return (struct unit_test){.log_sha256 = order->result->log.sha256,
                              .tested = order->result->tested,
                              .inputs = order->inputs,
                              .superseded = order->superseded};
}

enum status papers_stage(const struct papers_order *order, struct unit_folder *unit, struct faults *faults)
{
    struct work work = {.order = order, .result = order->result, .unit = unit, .arena = unit->arena, .faults = faults};
    const struct unit_test test = papers_test(order);
    enum status status = unit_folder_begin(unit, &test, faults);
    return status == OK ? stage_all(&work) : status;
}

static void tell(const struct unit_folder *unit, struct papers *papers)
{
    *papers =
        (struct papers){.folder = unit->sets[0].folder, .kept = unit->kept, .later_in_front = unit->later_in_front};
}

enum status papers_write(const struct papers_order *order, struct out *out, struct arena *arena, struct papers *papers,
                         struct faults *faults)
{
    struct unit_folder unit;
    *papers = (struct papers){0};
    enum status status = unit_folder_open(out, order->result->serial, NULL, arena, &unit, faults), drawn = OK;
    if (status == OK) {
        status = papers_stage(order, &unit, faults);
        drawn = status == E_CHILD ? status : OK;
        status = drawn == OK ? status : OK;
    }
    status = status == OK ? unit_folder_settle(&unit, faults) : status;
    status = status == OK ? unit_folders_place(&unit, 1, faults) : status;
    if (status == OK) {
        tell(&unit, papers);
    }
    unit_folder_close(&unit);
    return status != OK ? status : drawn;
}
