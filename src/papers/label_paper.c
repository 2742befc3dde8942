#include "papers/label_paper.h"

#include "papers/label_words.h"

#include <string.h>

#ifndef DUTYPROOF_VERSION
#define DUTYPROOF_VERSION "unversioned"
#endif

/* The paper under way. */
struct label_paper {
    const struct label_batch *batch;
    struct document *document;
    struct arena *arena;
};

/* --- unit by unit --- */

static void signed_cell(struct label_paper *paper, struct node *table, struct quantity value)
{
    add_cell(paper->document, table, TONE_PLAIN, value.known ? "%+.0f" : "-", value.value);
}

/* How far an edge lies, in points, watts and energy a year. */
static void margin_cells(struct label_paper *paper, struct node *table, const struct label_margin *margin)
{
    const struct label_batch *batch = paper->batch;
    char text[FIGURE_TEXT];
    bool there = margin->class_name != NULL;
    struct quantity power_w = there ? margin->power_w : quantity_absent();
    add_cell(paper->document, table, TONE_PLAIN, "%s", there ? points_text(margin->margin, text) : "-");
    signed_cell(paper, table, power_w);
    signed_cell(paper, table,
                power_w.known && batch->hours.known ? quantity_of(label_energy_kwh(power_w.value, batch->hours.value))
                                                    : quantity_absent());
}

static void unit_row(struct label_paper *paper, struct node *table, const struct label_unit *unit)
{
    struct document *document = paper->document;
    const struct label_result *label = &unit->label;
    char index[FIGURE_TEXT];
    add_cell(document, table, TONE_PLAIN, "%s", unit->serial);
    add_cell(document, table, TONE_PLAIN, "%.2f", label->measured.value * 100.0);
    add_cell(document, table, TONE_PLAIN, "%s", label_index_text(label, index));
    add_cell(document, table, label->duty_failed ? TONE_BAD : TONE_STRONG, "%s%s%s", label->class_name,
             label->undecided ? " ?" : "", label->duty_failed ? " !" : "");
    margin_cells(paper, table, &label->here);
    add_cell(document, table, TONE_PLAIN, "%s", label->next.class_name != NULL ? label->next.class_name : "-");
    margin_cells(paper, table, &label->next);
}

/* What a mark beside a class means. */
static void put_marks(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    struct node *notes = NULL;
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &paper->batch->units[line->units[i]];
        const struct label_result *label = &unit->label;
        notes = notes == NULL && (label->undecided || label->duty_failed) ? add_pairs(document, NODE_NOTES) : notes;
        if (label->undecided) {
            add_pair(document, notes, TONE_UNSURE, unit->serial,
                     say(document, "? undecided: within its uncertainty the index is %.4f to %.4f, %.60s to %.60s"),
                     label->index_low.value, label->index_high.value, label->class_low, label->class_high);
        }
        if (label->duty_failed) {
            add_pair(document, notes, TONE_BAD, unit->serial, "%s",
                     say(document, "! fails its guarantee: no claim to the label of its duty"));
        }
    }
}

static void put_units(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    const struct column columns[] = {
        {say(document, "unit"), "", false},
        {say(document, "efficiency"), "%", true},
        {say(document, "index"), "", true},
        {say(document, "class"), "", false},
        {say(document, "spare"), say(document, "points"), true},
        {"", "W", true},
        {"", "kWh/yr", true},
        {say(document, "next"), "", false},
        {say(document, "missing"), say(document, "points"), true},
        {"", "W", true},
        {"", "kWh/yr", true},
    };
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < line->count; i++) {
        unit_row(paper, table, &paper->batch->units[line->units[i]]);
    }
    put_marks(paper, line);
}

static void put_changed(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    const struct label_change *change = &paper->batch->change;
    const struct column columns[] = {
        {say(document, "what if"), "", false},
        {say(document, "efficiency"), "%", true},
        {say(document, "index"), "", true},
        {say(document, "class"), "", false},
        {say(document, "was"), "", false},
        {say(document, "next"), "", false},
        {say(document, "missing"), say(document, "points"), true},
    };
    if (!paper->batch->changed || !line->changed_mean.known) {
        return;
    }
    add_text(document, TONE_PLAIN,
             say(document, "What if set efficiency were %+.2f points at the same flow and head, "
                           "and head %+.2f m at the same flow and power: a mean index of %.4f, was %.4f."),
             change->efficiency * 100.0, change->head_m, line->changed_mean.value, line->mean.value);
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &paper->batch->units[line->units[i]];
        const struct label_result *changed = &unit->changed;
        bool next = changed->next.class_name != NULL;
        char text[FIGURE_TEXT];
        add_cell(document, table, TONE_PLAIN, "%s", unit->serial);
        add_cell(document, table, TONE_PLAIN, "%.2f", changed->measured.value * 100.0);
        add_cell(document, table, TONE_PLAIN, "%s", label_index_text(changed, text));
        add_cell(document, table, TONE_PLAIN, "%s%s", changed->class_name, changed->undecided ? " ?" : "");
        add_cell(document, table, TONE_PLAIN, "%s", unit->label.class_name);
        add_cell(document, table, TONE_PLAIN, "%s", next ? changed->next.class_name : "-");
        add_cell(document, table, TONE_PLAIN, "%s", next ? points_text(changed->next.margin, text) : "-");
    }
}

/* --- against the classes --- */

static void put_tallies(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    const struct column columns[] = {
        {say(document, "class"), "", false},
        {say(document, "index"), "", true},
        {say(document, "units"), "", true},
        {say(document, "this or better"), "", true},
        {"", "%", true},
        {say(document, "after the change"), "", true},
    };
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t c = line->tally_count; c > 0; c--) {
        const struct label_tally *tally = &line->tallies[c - 1];
        add_cell(document, table, TONE_PLAIN, "%s", tally->class_name);
        add_cell(document, table, TONE_PLAIN, "%s %.2f", line->typical->less_is_better ? "≤" : "≥", tally->edge);
        add_cell(document, table, TONE_PLAIN, "%zu", tally->earn);
        add_cell(document, table, TONE_PLAIN, "%zu", tally->hold);
        add_cell(document, table, TONE_PLAIN, "%.0f", 100.0 * (double)tally->hold / (double)line->count);
        add_cell(document, table, TONE_PLAIN, paper->batch->changed ? "%zu" : "-", tally->changed_hold);
    }
    add_cell(document, table, TONE_PLAIN, "%s", say(document, "none"));
    add_cell(document, table, TONE_PLAIN, "%s", "");
    add_cell(document, table, TONE_PLAIN, "%zu", line->none);
    for (int i = 0; i < 3; i++) {
        add_cell(document, table, TONE_PLAIN, "%s", "");
    }
}

static void put_represented(struct label_paper *paper, struct node *notes, const struct label_line *line)
{
    struct document *document = paper->document;
    bool less = line->typical->less_is_better;
    const char *name = say(document, "represented value");
    if (!line->represented.known) {
        add_pair(document, notes, TONE_PLAIN, name, "%s",
                 say(document, "not stated: the US sampling rule needs at least 2 units"));
        return;
    }
    const char *fmt =
        less
            ? say(document,
                  "%.4f (%.60s), "
                  "the greater of the mean and the upper 95 %% confidence limit %.4f / 1.05 (sampling rule of 10 CFR 429.59)")
            : say(document,
                  "%.4f (%.60s), "
                  "the lesser of the mean and the lower 95 %% confidence limit %.4f / 0.95 (the US sampling rule mirrored, "
                  "since more is better; no rule of this scheme)");
    add_pair(document, notes, TONE_PLAIN, name, fmt, line->represented.value, line->represented_class,
             line->confidence_limit.value);
}

static void put_needs(struct label_paper *paper, struct node *notes, const struct label_line *line)
{
    struct document *document = paper->document;
    if (line->next_class == NULL || !line->line_efficiency.known) {
        return;
    }
    add_pair(document, notes, TONE_PLAIN, say(document, "next class"),
             say(document, "for 95 %% of the line's units to hold %.60s, with 95 %% confidence, "
                           "its mean index must be %.4f: a mean efficiency of %.2f %%, %+.2f points from now, "
                           "if the spread stays (k = %.3f for %zu units; ISO 16269-6, one-sided, unknown variance, "
                           "normal distribution, from memory, confirm)%s"),
             line->next_class, line->line_index.value, line->line_efficiency.value * 100.0,
             line->line_missing.value * 100.0, line->tolerance_factor.value, line->count,
             line->line_efficiency.value >= 1.0
                 ? say(document, "; no set reaches that: with so few units the spread says little, test more")
                 : "");
}

static void put_figures(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    const struct label_result *typical = line->typical;
    struct node *notes = add_pairs(document, NODE_NOTES);
    if (line->deviation.known) {
        add_pair(document, notes, TONE_PLAIN, say(document, "plain mean"),
                 say(document, "index %.4f (%.60s), efficiency %.2f %%, standard deviation of the index %.4f"),
                 line->mean.value, line->mean_class, line->mean_efficiency.value * 100.0, line->deviation.value);
    } else {
        add_pair(document, notes, TONE_PLAIN, say(document, "plain mean"),
                 say(document, "index %.4f (%.60s), efficiency %.2f %%"), line->mean.value, line->mean_class,
                 line->mean_efficiency.value * 100.0);
    }
    put_represented(paper, notes, line);
    put_needs(paper, notes, line);
    add_pair(document, notes, TONE_PLAIN, say(document, "efficiency"), "%s", typical->efficiency_name);
    add_pair(document, notes, TONE_PLAIN, say(document, "period"), "%s", typical->period);
    add_pair(document, notes, TONE_PLAIN, say(document, "source"), "%s", typical->source);
    for (size_t i = 0; i < typical->note_count; i++) {
        add_pair(document, notes, TONE_PLAIN, say(document, "note"), "%s", typical->notes[i]);
    }
}

static void put_line(struct label_paper *paper, const struct label_line *line)
{
    struct document *document = paper->document;
    add_heading(document, say(document, "%.80s, model %.80s: %zu units"), line->typical->scheme, line->model->name,
                line->count);
    struct plot *plot = label_strip(document, paper->batch, line, paper->arena);
    document->failed = document->failed || plot == NULL;
    if (plot != NULL) {
        add_plot(document, plot);
    }
    put_units(paper, line);
    put_changed(paper, line);
    put_tallies(paper, line);
    put_figures(paper, line);
}

/* --- what has no label --- */

static const char *why_unlabelled(const struct document *document, const struct label_unit *unit)
{
    return unit->trouble != NULL        ? unit->trouble
           : unit->superseded           ? say(document, "a later test of this serial counts")
           : unit->label.scheme == NULL ? say(document, "its model names no label")
           : unit->label.known          ? NULL
           : unit->label.why != NULL    ? unit->label.why
                                        : say(document, "not known");
}

static void put_unlabelled(struct label_paper *paper)
{
    struct document *document = paper->document;
    struct node *notes = NULL;
    for (size_t i = 0; i < paper->batch->unit_count; i++) {
        const struct label_unit *unit = &paper->batch->units[i];
        const char *why = why_unlabelled(document, unit);
        if (why != NULL && notes == NULL) {
            add_heading(document, "%s", say(document, "Without a label here"));
            notes = add_pairs(document, NODE_NOTES);
        }
        if (why != NULL) {
            add_pair(document, notes, TONE_PLAIN, unit->serial, "%s", why);
        }
    }
}

static struct date last_tested(const struct label_batch *batch)
{
    struct date last = {0};
    for (size_t i = 0; i < batch->unit_count; i++) {
        const struct date *tested = &batch->units[i].tested;
        if (tested->known && (!last.known || date_compare_days(tested, &last) > 0)) {
            last = *tested;
        }
    }
    return last;
}

enum status label_document(const struct label_batch *batch, struct arena *arena, struct document *document)
{
    struct label_paper paper = {.batch = batch, .document = document, .arena = arena};
    document_init(document, arena, "efficiency against label thresholds");
    document->date = last_tested(batch);
    const char *of_what =
        arena_format(arena, say(document, "%zu tests, %zu models with a label"), batch->unit_count, batch->line_count);
    add_title(document, say(document, "Efficiency of submersible pump sets, against the thresholds of their label"),
              of_what == NULL ? "" : of_what);
    for (size_t i = 0; i < batch->line_count; i++) {
        put_line(&paper, &batch->lines[i]);
    }
    put_unlabelled(&paper);
    add_text(document, TONE_FAINT, "%s",
             say(document, "Points of efficiency and W of input power at the duty point: + to spare, - short."));
    document->foot = "dutyproof " DUTYPROOF_VERSION;
    document->failed = document->failed || of_what == NULL;
    return document->failed ? E_MEMORY : OK;
}
