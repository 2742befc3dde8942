#include "papers/render_label.h"

#include "base/text.h"
#include "papers/label_document.h"
#include "papers/label_words.h"
#include "papers/layout.h"

#include <string.h>

/* What the parts of one page of text share. */
struct label_page {
    const struct label_batch *batch;
    bool colour;
    FILE *to;
    struct arena arena;
    bool failed;
};

static const char *shown(struct label_page *page, const char *text)
{
    const char *safe = text_shown(&page->arena, text, 600);
    page->failed = page->failed || safe == NULL;
    return safe == NULL ? "" : safe;
}

static void put_grid(struct label_page *page, const struct grid *grid)
{
    page->failed = grid_print(grid, page->colour, page->to) != OK || page->failed;
}

static void headings(struct grid *grid, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        grid_add(grid, names[i]);
    }
}

/* --- unit by unit --- */

static char *watts_text(struct quantity power_w, char out[FIGURE_TEXT])
{
    if (!power_w.known) {
        return text_put(out, FIGURE_TEXT, "-");
    }
    return figure_signed(power_w.value, 0, out);
}

static char *energy_text(const struct label_batch *batch, struct quantity power_w, char out[FIGURE_TEXT])
{
    struct quantity energy_kwh = power_w.known && batch->hours.known
                                     ? quantity_of(label_energy_kwh(power_w.value, batch->hours.value))
                                     : quantity_absent();
    return watts_text(energy_kwh, out); /* whole numbers with a sign, too */
}

static void add_margin(const struct label_batch *batch, const struct label_margin *margin, struct grid *grid)
{
    char text[FIGURE_TEXT];
    bool there = margin->class_name != NULL;
    grid_add(grid, there ? points_text(margin->margin, text) : "-");
    grid_add(grid, there ? watts_text(margin->power_w, text) : "-");
    grid_add(grid, there ? energy_text(batch, margin->power_w, text) : "-");
}

static void add_unit(const struct label_batch *batch, const struct label_unit *unit, struct grid *grid)
{
    const struct label_result *label = &unit->label;
    char index[FIGURE_TEXT];
    grid_add(grid, unit->serial);
    grid_addf(grid, "%.2f", label->measured.value * 100.0);
    grid_addf(grid, "%.5f", label->index.value);
    grid_add(grid, figure_index(label->index_printed, index));
    grid_addf(grid, "%s%s%s", label->class_name, label->undecided ? " ?" : "", label->duty_failed ? " !" : "");
    add_margin(batch, &label->here, grid);
    grid_add(grid, label->next.class_name != NULL ? label->next.class_name : "-");
    add_margin(batch, &label->next, grid);
}

/* What a mark beside a class means. */
static void put_marks(struct label_page *page, const struct label_unit *unit)
{
    const struct label_result *label = &unit->label;
    char text[400];
    if (label->undecided) {
        (void)snprintf(
            text, sizeof text, "%.60s is undecided: within its uncertainty the index is %.4f to %.4f, %.60s to %.60s",
            unit->serial, label->index_low.value, label->index_high.value, label->class_low, label->class_high);
        paragraph_print("  ? ", shown(page, text), 4, page->to);
    }
    if (label->duty_failed) {
        (void)snprintf(text, sizeof text, "%.60s fails its guarantee: no claim to the label of its duty", unit->serial);
        paragraph_print("  ! ", shown(page, text), 4, page->to);
    }
}

static void put_units(struct label_page *page, const struct label_line *line)
{
    static const char *const names[] = {"unit", "eff. %", "index", "printed", "class", "points",
                                        "W",    "kWh/yr", "next",  "points",  "W",     "kWh/yr"};
    struct grid grid = {.arena = &page->arena, .columns = "lrrrlrrrlrrr"};
    headings(&grid, names, sizeof names / sizeof *names);
    for (size_t i = 0; i < line->count; i++) {
        add_unit(page->batch, &page->batch->units[line->units[i]], &grid);
    }
    put_grid(page, &grid);
    for (size_t i = 0; i < line->count; i++) {
        put_marks(page, &page->batch->units[line->units[i]]);
    }
    paragraph_print("  ", "points of efficiency and W of input power at the duty point: + to spare, - short", 4,
                    page->to);
}

/* Unit by unit after the change. */
static void put_changed_units(struct label_page *page, const struct label_line *line)
{
    static const char *const names[] = {"what if", "eff. %", "index", "printed", "class", "was", "next", "points"};
    struct grid grid = {.arena = &page->arena, .columns = "lrrrlllr"};
    char text[FIGURE_TEXT];
    headings(&grid, names, sizeof names / sizeof *names);
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &page->batch->units[line->units[i]];
        const struct label_result *changed = &unit->changed;
        bool next = changed->next.class_name != NULL;
        grid_add(&grid, unit->serial);
        grid_addf(&grid, "%.2f", changed->measured.value * 100.0);
        grid_addf(&grid, "%.5f", changed->index.value);
        grid_add(&grid, figure_index(changed->index_printed, text));
        grid_addf(&grid, "%s%s", changed->class_name, changed->undecided ? " ?" : "");
        grid_add(&grid, unit->label.class_name);
        grid_add(&grid, next ? changed->next.class_name : "-");
        grid_add(&grid, next ? points_text(changed->next.margin, text) : "-");
    }
    put_grid(page, &grid);
}

/* --- against the classes --- */

static void put_tallies(struct label_page *page, const struct label_line *line)
{
    static const char *const names[] = {"class", "index", "units", "this or better", "%", "after the change"};
    struct grid grid = {.arena = &page->arena, .columns = "lrrrrr"};
    headings(&grid, names, sizeof names / sizeof *names);
    for (size_t c = line->tally_count; c > 0; c--) {
        const struct label_tally *tally = &line->tallies[c - 1];
        grid_add(&grid, tally->class_name);
        grid_addf(&grid, "%s %.2f", line->typical->less_is_better ? "≤" : "≥", tally->edge);
        grid_addf(&grid, "%zu", tally->earn);
        grid_addf(&grid, "%zu", tally->hold);
        grid_addf(&grid, "%.0f", 100.0 * (double)tally->hold / (double)line->count);
        if (page->batch->changed) {
            grid_addf(&grid, "%zu", tally->changed_hold);
        } else {
            grid_add(&grid, "-");
        }
    }
    grid_add(&grid, "none");
    grid_add(&grid, "");
    grid_addf(&grid, "%zu", line->none);
    for (int i = 0; i < 3; i++) {
        grid_add(&grid, "");
    }
    put_grid(page, &grid);
}

static void put_change(struct label_page *page, const struct label_line *line)
{
    char text[300] = "";
    const struct label_change *change = &page->batch->change;
    int used = 0;
    if (!page->batch->changed || !line->changed_mean.known) {
        return;
    }
    if (change->efficiency != 0.0) {
        used = snprintf(text, sizeof text, "set efficiency %+.2f points at the same flow and head, ",
                        change->efficiency * 100.0);
    }
    if (change->head_m != 0.0) {
        used += snprintf(text + used, sizeof text - (size_t)used, "head %+.2f m at the same flow and power, ",
                         change->head_m);
    }
    (void)snprintf(text + used, sizeof text - (size_t)used, "gives a mean index of %.4f, was %.4f",
                   line->changed_mean.value, line->mean.value);
    paragraph_print("  what if: ", text, 4, page->to);
    put_changed_units(page, line);
}

static void put_line_needs(struct label_page *page, const struct label_line *line)
{
    char text[400];
    if (line->next_class == NULL || !line->line_efficiency.known) {
        return;
    }
    (void)snprintf(text, sizeof text,
                   "for 95 %% of the line's units to hold %.60s, with 95 %% confidence, "
                   "its mean index must be %.4f: a mean efficiency of %.2f %%, %+.2f points from now, "
                   "if the spread stays (k = %.3f for %zu units; ISO 16269-6, one-sided, unknown variance, "
                   "normal distribution, from memory, confirm)",
                   line->next_class, line->line_index.value, line->line_efficiency.value * 100.0,
                   line->line_missing.value * 100.0, line->tolerance_factor.value, line->count);
    paragraph_print("  next class: ", text, 4, page->to);
    if (line->line_efficiency.value >= 1.0) {
        paragraph_print("  ", "no set reaches that: with so few units the spread says little, test more", 4, page->to);
    }
}

static void put_figures(struct label_page *page, const struct label_line *line)
{
    char text[400];
    bool less = line->typical->less_is_better;
    (void)snprintf(text, sizeof text, "index %.4f (%.60s), efficiency %.2f %%", line->mean.value, line->mean_class,
                   line->mean_efficiency.value * 100.0);
    int used = (int)strlen(text);
    if (line->deviation.known) {
        (void)snprintf(text + used, sizeof text - (size_t)used, ", standard deviation of the index %.4f",
                       line->deviation.value);
    }
    paragraph_print("  plain mean: ", text, 4, page->to);
    if (line->represented.known) {
        (void)snprintf(text, sizeof text,
                       "%.4f (%.60s), the %s of the mean and the %s 95 %% confidence limit %.4f / %s%s",
                       line->represented.value, line->represented_class, less ? "greater" : "lesser",
                       less ? "upper" : "lower", line->confidence_limit.value, less ? "1.05" : "0.95",
                       less ? " (sampling rule of 10 CFR 429.59)"
                            : " (the US sampling rule mirrored, since more is better; no rule of this scheme)");
    } else {
        (void)snprintf(text, sizeof text, "not stated: the US sampling rule needs at least 2 units");
    }
    paragraph_print("  represented value: ", text, 4, page->to);
    put_line_needs(page, line);
    put_change(page, line);
}

static void put_notes(struct label_page *page, const struct label_line *line)
{
    const struct label_result *typical = line->typical;
    paragraph_print("  period: ", shown(page, typical->period), 4, page->to);
    paragraph_print("  source: ", shown(page, typical->source), 4, page->to);
    for (size_t i = 0; i < typical->note_count; i++) {
        paragraph_print("  - ", shown(page, typical->notes[i]), 4, page->to);
    }
}

static void put_title(struct label_page *page, const struct label_line *line)
{
    (void)fputs(page->colour ? "\033[1m" : "", page->to);
    char *title = arena_format(&page->arena, "Label by %.80s, model %.80s, %zu unit%s", line->typical->scheme,
                               line->model->name, line->count, line->count == 1 ? "" : "s");
    page->failed = page->failed || title == NULL;
    paragraph_print("", title == NULL ? "" : shown(page, title), 0, page->to);
    (void)fputs(page->colour ? "\033[0m" : "", page->to);
    paragraph_print("  efficiency: ", shown(page, line->typical->efficiency_name), 4, page->to);
}

static void put_unlabelled(struct label_page *page)
{
    bool titled = false;
    for (size_t i = 0; i < page->batch->unit_count; i++) {
        const struct label_unit *unit = &page->batch->units[i];
        const char *why = unit->trouble != NULL        ? unit->trouble
                          : unit->superseded           ? "a later test of this serial counts"
                          : unit->label.scheme == NULL ? "its model names no label"
                          : unit->label.known          ? NULL
                          : unit->label.why != NULL    ? unit->label.why
                                                       : "not known";
        if (why == NULL) {
            continue;
        }
        (void)fputs(titled ? "" : "Without a label here\n", page->to);
        titled = true;
        char *text = arena_format(&page->arena, "%.80s: %.500s", unit->serial, why);
        page->failed = page->failed || text == NULL;
        paragraph_print("  - ", text == NULL ? "" : shown(page, text), 4, page->to);
    }
}

enum status render_label_text(const struct label_batch *batch, bool colour, FILE *to)
{
    struct label_page page = {.batch = batch, .colour = colour, .to = to};
    for (size_t i = 0; i < batch->line_count; i++) {
        const struct label_line *line = &batch->lines[i];
        put_title(&page, line);
        put_units(&page, line);
        put_tallies(&page, line);
        put_figures(&page, line);
        put_notes(&page, line);
        (void)fputc('\n', to);
    }
    put_unlabelled(&page);
    arena_release(&page.arena);
    return page.failed ? E_MEMORY : OK;
}

/* --- CSV --- */

static void csv_number(struct quantity q, double factor, int decimals, FILE *to)
{
    (void)fputc(',', to);
    if (q.known) {
        (void)fprintf(to, "%.*f", decimals, q.value * factor);
    }
}

static void csv_margin(const struct label_batch *batch, const struct label_margin *margin, FILE *to)
{
    (void)fputc(',', to);
    text_quote_csv(margin->class_name, to);
    csv_number(margin->index, 1.0, 4, to);
    csv_number(margin->efficiency, 100.0, 3, to);
    csv_number(margin->margin, 100.0, 3, to);
    csv_number(margin->power_w, 1.0, 1, to);
    if (batch->hours.known) {
        csv_number(margin->power_w, batch->hours.value / 1000.0, 1, to);
    }
}

static void csv_unit(const struct label_batch *batch, const struct label_unit *unit, FILE *to)
{
    const struct label_result *label = &unit->label;
    char class[LABEL_TEXT], date[FIGURE_TEXT];
    text_quote_csv(unit->serial, to);
    (void)fputc(',', to);
    text_quote_csv(unit->model != NULL ? unit->model->name : "", to);
    (void)fprintf(to, ",%s,%s,", unit->tested.known ? figure_date(&unit->tested, date) : "",
                  unit->superseded ? "superseded" : "counts");
    text_quote_csv(label->scheme, to);
    (void)fputc(',', to);
    text_quote_csv(label->efficiency_name, to);
    csv_number(label->measured, 100.0, 3, to);
    csv_number(label->index, 1.0, 6, to);
    csv_number(label->index_printed, 1.0, 2, to);
    csv_number(label->index_low, 1.0, 5, to);
    csv_number(label->index_high, 1.0, 5, to);
    (void)fputc(',', to);
    text_quote_csv(unit->trouble != NULL ? unit->trouble : label_class_text(label, class), to);
    csv_margin(batch, &label->here, to);
    csv_margin(batch, &label->next, to);
    if (batch->changed) {
        csv_number(unit->changed.index, 1.0, 6, to);
        (void)fputc(',', to);
        text_quote_csv(label_class_text(&unit->changed, class), to);
    }
    (void)fputc('\n', to);
}

void render_label_csv(const struct label_batch *batch, FILE *to)
{
    const char *energy = batch->hours.known ? ",energy [kWh/year]" : "",
               *next_energy = batch->hours.known ? ",next energy [kWh/year]" : "";
    (void)fprintf(to,
                  "serial,model,tested,counts,scheme,efficiency used,efficiency [%%],index,index printed,index low,"
                  "index high,class,this class,this index,this efficiency [%%],margin [points],margin [W]%s,"
                  "next class,next index,next efficiency [%%],next margin [points],next margin [W]%s%s\n",
                  energy, next_energy, batch->changed ? ",what if index,what if class" : "");
    for (size_t i = 0; i < batch->unit_count; i++) {
        csv_unit(batch, &batch->units[i], to);
    }
}

/* --- JSON --- */

static json_t *unit_value(struct json_document *doc, const struct label_batch *batch, const struct label_unit *unit)
{
    json_t *object = json_object();
    put_value(doc, object, "serial", text_value(doc, unit->serial));
    put_text(doc, object, "model", unit->model != NULL ? unit->model->name : NULL);
    put_date(doc, object, "tested", &unit->tested);
    put_value(doc, object, "superseded", json_boolean(unit->superseded));
    put_text(doc, object, "trouble", unit->trouble);
    if (unit->label.scheme != NULL) {
        put_value(doc, object, "label", label_value(doc, &unit->label, batch->hours));
    }
    if (unit->changed.scheme != NULL) {
        put_value(doc, object, "what_if", label_value(doc, &unit->changed, batch->hours));
    }
    return object;
}

static json_t *tallies_value(struct json_document *doc, const struct label_batch *batch, const struct label_line *line)
{
    json_t *array = json_array();
    for (size_t c = 0; c < line->tally_count; c++) {
        const struct label_tally *tally = &line->tallies[c];
        json_t *object = json_object();
        put_text(doc, object, "class", tally->class_name);
        put_quantity(doc, object, "index", quantity_of(tally->edge));
        put_count(doc, object, "earn", tally->earn);
        put_count(doc, object, "hold", tally->hold);
        if (batch->changed) {
            put_count(doc, object, "hold_what_if", tally->changed_hold);
        }
        append_value(doc, array, object);
    }
    return array;
}

static json_t *line_value(struct json_document *doc, const struct label_batch *batch, const struct label_line *line)
{
    json_t *object = json_object();
    put_text(doc, object, "model", line->model->name);
    put_text(doc, object, "scheme", line->typical->scheme);
    put_text(doc, object, "period", line->typical->period);
    put_text(doc, object, "efficiency_used", line->typical->efficiency_name);
    put_count(doc, object, "units", line->count);
    put_count(doc, object, "none", line->none);
    put_count(doc, object, "undecided", line->undecided);
    put_value(doc, object, "classes", tallies_value(doc, batch, line));
    put_quantity(doc, object, "mean_index", line->mean);
    put_text(doc, object, "mean_class", line->mean_class);
    put_quantity(doc, object, "mean_efficiency", line->mean_efficiency);
    put_quantity(doc, object, "deviation", line->deviation);
    put_quantity(doc, object, "confidence_limit", line->confidence_limit);
    put_quantity(doc, object, "represented_index", line->represented);
    put_text(doc, object, "represented_class", line->represented_class);
    put_text(doc, object, "next_class", line->next_class);
    put_quantity(doc, object, "tolerance_factor", line->tolerance_factor);
    put_quantity(doc, object, "mean_index_needed", line->line_index);
    put_quantity(doc, object, "mean_efficiency_needed", line->line_efficiency);
    put_quantity(doc, object, "mean_efficiency_missing", line->line_missing);
    put_quantity(doc, object, "mean_index_what_if", line->changed_mean);
    return object;
}

enum status render_label_json(const struct label_batch *batch, bool compact, char **text, size_t *length)
{
    struct json_document doc = {0};
    json_t *root = json_object(), *units = json_array(), *lines = json_array();
    put_text(&doc, root, "dutyproof", DUTYPROOF_VERSION);
    put_quantity(&doc, root, "hours_a_year", batch->hours);
    for (size_t i = 0; i < batch->unit_count; i++) {
        append_value(&doc, units, unit_value(&doc, batch, &batch->units[i]));
    }
    for (size_t i = 0; i < batch->line_count; i++) {
        append_value(&doc, lines, line_value(&doc, batch, &batch->lines[i]));
    }
    put_value(&doc, root, "units", units);
    put_value(&doc, root, "lines", lines);
    return json_document_end(&doc, root, compact, text, length);
}
