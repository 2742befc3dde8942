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

/* The papers that are plain text, but for the result document. */
static const struct {
    const char *name;
    enum status (*render)(const struct result *, FILE *);
} texts[] = {{"points.csv", points_csv},
             {"curves.dat", render_curves_data},
             {"curves.gp", render_curves_script},
             {"sheet.txt", sheet_text}};
enum { TEXTS = sizeof texts / sizeof texts[0] };

/* The result document, and by it which revision the papers are: the result says nothing of that. *json is freed by the
 * caller. */
static enum status look_up(struct work *work, struct result *issued, struct ledger_entry *entry, char **json,
                           size_t *length)
{
    const struct papers_order *order = work->order;
    *entry = (struct ledger_entry){0};
    *issued = *order->result;
    work->result = issued;
    if (render_json(issued, false, json, length) != OK) {
        *json = NULL;
        return faults_memory(work->faults);
    }
    if (order->ledger == NULL) {
        return OK;
    }
    enum status status =
        ledger_look(order->ledger, issued, *json, *length, work->unit, work->arena, entry, work->faults);
    issued->issue = entry->issue;
    return status;
}

static enum status stage_all(struct work *work, struct ledger_entry *entry)
{
    struct result issued;
    char *json = NULL;
    size_t length = 0;
    enum status status = look_up(work, &issued, entry, &json, &length);
    status = status == OK ? stage(work, json_name, json, length) : status;
    free(json);
    for (size_t i = 0; i < TEXTS && status == OK; i++) {
        status = stage_text(work, texts[i].name, texts[i].render);
    }
    bool drawn = work->order->press != NULL && work->order->press->gnuplot != NULL;
    return status == OK && drawn ? stage_drawn(work) : status;
}

/* The texts of the test are those of the order, and the unit's. */
static enum status test_of(const struct papers_order *order, const struct unit_folder *unit, struct unit_test *test,
                           struct faults *faults)
{
    *test = (struct unit_test){
        .log_sha256 = order->result->log.sha256, .tested = order->result->tested, .superseded = order->superseded};
    return order->ledger == NULL ? OK : ledger_bay(order->ledger, unit->out->path, unit->arena, &test->bay, faults);
}

enum status papers_stage(const struct papers_order *order, struct unit_folder *unit, struct ledger_entry *entry,
                         struct faults *faults)
{
    struct work work = {.order = order, .result = order->result, .unit = unit, .arena = unit->arena, .faults = faults};
    struct unit_test test;
    enum status status = test_of(order, unit, &test, faults);
    status = status == OK ? unit_folder_begin(unit, &test, faults) : status;
    return status == OK ? stage_all(&work, entry) : status;
}

/* --- papers that stand --- */

static enum status add_text(const struct work *work, size_t i, struct seal *seal)
{
    char *text = NULL, hex[65];
    size_t length = 0;
    enum status status = rendered(work, texts[i].render, &text, &length);
    if (status == OK) {
        sha256_hex(text, length, hex);
        status = seal_add(seal, work->arena, texts[i].name, hex) == OK ? OK : faults_memory(work->faults);
    }
    free(text);
    return status;
}

enum status papers_texts(const struct result *result, struct arena *arena, struct seal *seal)
{
    struct faults faults = {0};
    const struct work work = {.result = result, .arena = arena, .faults = &faults};
    enum status status = OK;
    for (size_t i = 0; i < TEXTS && status == OK; i++) {
        status = add_text(&work, i, seal);
    }
    return status;
}

/* What is drawn costs too much to be drawn for comparing alone: the register knows it. */
static enum status add_drawn(const struct work *work, long long known, struct seal *seal, bool *all)
{
    static const char *const drawn[] = {pdf_name, html_name};
    char hex[65];
    for (size_t i = 0; i < sizeof drawn / sizeof drawn[0]; i++) {
        bool found = false;
        enum status status = ledger_digest(work->order->ledger, known, drawn[i], hex, &found, work->faults);
        status = status == OK && found ? seal_add(seal, work->arena, drawn[i], hex) : status;
        if (status != OK) {
            return status;
        }
        *all = *all && found;
    }
    return OK;
}

enum status papers_stand(const struct papers_order *order, const struct unit_folder *unit, struct ledger_entry *entry,
                         bool *stand, struct faults *faults)
{
    struct work work = {.order = order, .unit = (struct unit_folder *)unit, .arena = unit->arena, .faults = faults};
    struct seal seal = {0};
    struct result issued;
    char *json = NULL, hex[65];
    size_t length = 0;
    enum status status = look_up(&work, &issued, entry, &json, &length);
    *stand = status == OK && entry->known != 0;
    if (*stand) {
        sha256_hex(json, length, hex);
        status = seal_add(&seal, unit->arena, json_name, hex);
    }
    free(json);
    for (size_t i = 0; i < TEXTS && *stand && status == OK; i++) {
        status = add_text(&work, i, &seal);
    }
    if (*stand && status == OK) {
        status = add_drawn(&work, entry->known, &seal, stand);
    }
    struct unit_test test;
    if (*stand && status == OK && (status = test_of(order, unit, &test, faults)) == OK) {
        *stand = unit_folder_holds(unit, &test, &seal);
    }
    return status;
}

/* --- all of it for one test --- */

static void tell(const struct unit_folder *unit, const struct ledger_entry *entry, struct papers *papers)
{
    *papers = (struct papers){.folder = unit->sets[0].folder,
                              .kept = unit->kept,
                              .later_in_front = unit->later_in_front,
                              .issue = entry->issue};
}

/* Enters what is new, places the papers, and enters that they stand. */
static enum status place(struct ledger *ledger, struct unit_folder *unit, struct ledger_entry *entry,
                         struct faults *faults)
{
    enum status status = ledger == NULL ? OK : ledger_enter(ledger, &entry, 1, faults);
    status = status == OK ? unit_folders_place(unit, 1, faults) : status;
    if (status == OK && ledger != NULL) {
        const struct ledger_placed placed[] = {{unit->kept, &unit->before.actual},
                                               {unit->sets[0].folder, &unit->sets[0].seal}};
        bool kept = unit->kept != NULL;
        status = ledger_papers(ledger, kept ? placed : placed + 1, kept ? 2 : 1, faults);
    }
    return status;
}

enum status papers_write(const struct papers_order *order, struct out *out, struct arena *arena, struct papers *papers,
                         struct faults *faults)
{
    struct unit_folder unit;
    struct ledger_entry entry = {0};
    *papers = (struct papers){0};
    enum status status = unit_folder_open(out, order->result->serial, NULL, arena, &unit, faults), drawn = OK;
    if (status == OK) {
        status = papers_stage(order, &unit, &entry, faults);
        drawn = status == E_CHILD ? status : OK;
        status = drawn == OK ? status : OK;
    }
    status = status == OK ? unit_folder_settle(&unit, faults) : status;
    status = status == OK ? place(order->ledger, &unit, &entry, faults) : status;
    if (status == OK) {
        tell(&unit, &entry, papers);
    }
    unit_folder_close(&unit);
    return status != OK ? status : drawn;
}
