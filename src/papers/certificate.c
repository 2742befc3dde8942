#include "papers/certificate.h"

#include "base/files.h"
#include "base/text.h"
#include "papers/batch_words.h"
#include "tables/channel.h"

#include <string.h>

#ifndef DUTYPROOF_VERSION
#define DUTYPROOF_VERSION "unversioned"
#endif

/* The certificate under way. */
struct certificate {
    const struct batch *batch;
    const struct batch_summary *summary;
    struct document *document;
    struct arena *arena;
};

/* True when a test stands on the certificate: of one for passes only, those alone that count and pass. */
static bool is_certified(const struct certificate *certificate, const struct batch_test *test)
{
    return !certificate->batch->passes_only ||
           (!test->unread && !test->superseded && test->verdict == VERDICT_PASS && !test->routine_fails);
}

/* Nothing is green whose calibration was overdue. */
static enum tone test_tone(const struct batch_test *test)
{
    bool doubtful = test->verdict == VERDICT_PASS && test->calibration == CALIBRATION_OVERDUE;
    return doubtful ? TONE_UNSURE : verdict_tone(test->verdict);
}

static size_t count_certified(const struct certificate *certificate)
{
    size_t count = 0;
    for (size_t i = 0; i < certificate->batch->count; i++) {
        count += is_certified(certificate, &certificate->batch->tests[i]);
    }
    return count;
}

/* --- front: the result, what was tested, what was guaranteed --- */

static void put_passes(struct certificate *certificate)
{
    char text[160], why[320];
    size_t certified = count_certified(certificate);
    (void)snprintf(text, sizeof text, say(certificate->document, "%zu UNITS PASS"), certified);
    (void)snprintf(
        why, sizeof why,
        say(certificate->document,
            "the units named here pass all their checks; of the list, %zu others are not certified by this paper"),
        certificate->summary->counts.units - certified);
    add_verdict(certificate->document,
                certified > 0 && certificate->summary->counts.overdue == 0 ? TONE_GOOD : TONE_UNSURE, text, why);
}

static void put_verdict(struct certificate *certificate)
{
    const struct batch_counts *counts = &certificate->summary->counts;
    const struct document *document = certificate->document;
    bool fail = counts->failed > 0 || counts->routine_failed > 0, pass = counts->passed == counts->units && !fail;
    char text[160], why[320];
    (void)snprintf(text, sizeof text, say(document, "%zu OF %zu PASS"), counts->passed, counts->units);
    int used = snprintf(why, sizeof why, say(document, "%zu fail, %zu not judged"), counts->failed, counts->not_judged);
    if (counts->routine_failed > 0 && used > 0) {
        (void)snprintf(why + used, sizeof why - (size_t)used, say(document, ", %zu fail routine tests"),
                       counts->routine_failed);
    }
    add_verdict(certificate->document,
                fail                           ? TONE_BAD
                : pass && counts->overdue == 0 ? TONE_GOOD
                                               : TONE_UNSURE,
                text, pass ? say(document, "every unit passes all its checks") : why);
}

static void put_facts(struct certificate *certificate)
{
    struct document *document = certificate->document;
    const struct batch_summary *summary = certificate->summary;
    struct node *node = add_pairs(document, NODE_FACTS);
    char first[FIGURE_TEXT], last[FIGURE_TEXT];
    add_pair(document, node, TONE_PLAIN, say(document, "batch"), "%s", certificate->batch->list->name);
    add_pair(document, node, TONE_PLAIN, say(document, "holds"), say(document, "%zu serial numbers, %zu tests"),
             summary->counts.units, summary->counts.tests);
    add_pair(document, node, TONE_PLAIN, say(document, "bay"), "%s",
             certificate->batch->bay->rig.name != NULL ? certificate->batch->bay->rig.name
                                                       : say(document, "not stated"));
    if (summary->first_tested.known) {
        add_pair(document, node, TONE_PLAIN, say(document, "tested"), say(document, "%s to %s"),
                 figure_date(&summary->first_tested, first), figure_date(&summary->last_tested, last));
    }
}

static void counts_row(struct certificate *certificate, struct node *table, const char *name,
                       const struct batch_counts *counts)
{
    const size_t numbers[] = {counts->units,    counts->passed,  counts->failed,        counts->not_judged,
                              counts->retested, counts->overdue, counts->routine_failed};
    add_cell(certificate->document, table, TONE_PLAIN, "%s", name);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        add_cell(certificate->document, table, TONE_PLAIN, "%zu", numbers[i]);
    }
}

static void put_counts(struct certificate *certificate)
{
    struct document *document = certificate->document;
    const struct batch_summary *summary = certificate->summary;
    const struct column columns[] = {
        {say(document, "model"), "", false},
        {say(document, "tested"), "", true},
        {say(document, "passed"), "", true},
        {say(document, "failed"), "", true},
        {say(document, "not judged"), "", true},
        {say(document, "retested"), "", true},
        {say(document, "calibration overdue"), "", true},
        {say(document, "routine tests failed"), "", true},
    };
    add_heading(document, "%s", say(document, "Units by the test that counts"));
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < summary->section_count; i++) {
        counts_row(certificate, table, summary->sections[i].model->name, &summary->sections[i].counts);
    }
    if (summary->section_count != 1 || summary->stray > 0) {
        counts_row(certificate, table, say(document, "whole batch"), &summary->counts);
    }
    if (summary->stray > 0) {
        add_text(document, TONE_UNSURE, say(document, "Tests of which not even the model is known: %zu."),
                 summary->stray);
    }
}

static void guarantee_row(struct certificate *certificate, struct node *table, const struct model *model, size_t point)
{
    struct document *document = certificate->document;
    const struct duty *duty = &model->duties[point];
    struct figure_units units = figure_units_of(model);
    char text[FIGURE_TEXT];
    add_cell(document, table, TONE_PLAIN, "%s", point == 0 ? model->name : "");
    add_cell(document, table, TONE_PLAIN, "%s", figure_text(FIGURE_FLOW, &units, duty->flow_m3s, text));
    add_cell(document, table, TONE_PLAIN, "%s", figure_text(FIGURE_HEAD, &units, duty->head_m, text));
    add_cell(document, table, TONE_PLAIN, "%s%s", figure_text(FIGURE_EFFICIENCY, &units, duty->efficiency, text),
             !duty->efficiency.known    ? ""
             : duty->efficiency_of_pump ? say(document, " (pump)")
                                        : say(document, " (set)"));
    add_cell(document, table, TONE_PLAIN, "%s", figure_text(FIGURE_POWER, &units, duty->input_power_w, text));
    add_cell(document, table, TONE_PLAIN, "%s", duty->grade != NULL ? duty->grade->name : say(document, "not stated"));
    add_cell(document, table, TONE_PLAIN, "%s", duty->grade != NULL ? duty->grade->source : "-");
}

static void put_guarantees(struct certificate *certificate)
{
    struct document *document = certificate->document;
    const struct column columns[] = {
        {say(document, "model"), "", false},      {say(document, "flow"), "", true},
        {say(document, "head"), "", true},        {say(document, "efficiency"), "", true},
        {say(document, "input power"), "", true}, {say(document, "grade"), "", false},
        {say(document, "limits by"), "", false},
    };
    add_heading(document, "%s", say(document, "Guaranteed duty"));
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < certificate->summary->section_count; i++) {
        for (size_t point = 0; point < certificate->summary->sections[i].duty_count; point++) {
            guarantee_row(certificate, table, certificate->summary->sections[i].model, point);
        }
    }
}

/* The usual cautions of a test bay (common practice, no source), and lines to sign on. */
static void put_signatures(struct certificate *certificate)
{
    static const char *const roles[] = {"tested by", "checked by", "witness", "approved"};
    struct document *document = certificate->document;
    add_text(document, TONE_FAINT, "%s",
             say(document, "Safety: pipework is under pressure, terminals are live: vent, isolate, lock off, "
                           "prove dead. Never run a set dry. Lift with rated gear only. "
                           "Local codes and licensed persons come first."));
    struct node *node = add_pairs(document, NODE_SIGNATURES);
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        char role[96];
        (void)snprintf(role, sizeof role, say(document, "%s: name, date"), say(document, roles[i]));
        add_pair(document, node, TONE_PLAIN, role, "%s", "");
    }
}

/* --- every test --- */

static bool of_pump(const struct model *model)
{
    for (size_t i = 0; i < model->duty_count; i++) {
        if (model->duties[i].efficiency.known) {
            return model->duties[i].efficiency_of_pump;
        }
    }
    return false;
}

static void number_cell(struct certificate *certificate, struct node *table, const struct batch_test *test,
                        enum figure figure, struct quantity value)
{
    char text[FIGURE_TEXT];
    struct figure_units units = figure_units_of(test->model);
    add_cell(certificate->document, table, test->superseded ? TONE_FAINT : TONE_PLAIN, "%s",
             figure_number(figure, &units, value, text));
}

static void margin_cell(struct certificate *certificate, struct node *table, const struct batch_test *test,
                        enum figure figure, struct quantity value)
{
    char text[FIGURE_TEXT];
    struct figure_units units = figure_units_of(test->model);
    add_cell(certificate->document, table, test->superseded ? TONE_FAINT : TONE_PLAIN, "%s",
             figure_margin(figure, &units, value, text));
}

/* To the nearer side of the tolerance: a curve that lies too high is as far off as one too low. */
static struct quantity head_margin(const struct batch_duty *duty)
{
    struct quantity low_m = duty->head_margin_m, room_m = duty->head_room_m;
    bool high = low_m.known && room_m.known && room_m.value - low_m.value < low_m.value;
    return high && room_m.value - low_m.value < 0.0 ? quantity_of(room_m.value - low_m.value) : low_m;
}

static void duty_cells(struct certificate *certificate, struct node *table, const struct batch_test *test, size_t duty)
{
    static const struct batch_duty nothing = {0};
    const struct batch_duty *read = !test->unread && duty < test->duty_count ? &test->duties[duty] : &nothing;
    number_cell(certificate, table, test, FIGURE_HEAD, read->head_m);
    margin_cell(certificate, table, test, FIGURE_HEAD, head_margin(read));
    number_cell(certificate, table, test, FIGURE_FLOW, read->flow_m3s);
    number_cell(certificate, table, test, FIGURE_EFFICIENCY,
                read->efficiency.known ? read->efficiency
                : of_pump(test->model) ? read->pump_efficiency
                                       : read->set_efficiency);
    margin_cell(certificate, table, test, FIGURE_EFFICIENCY, read->efficiency_margin);
    number_cell(certificate, table, test, FIGURE_POWER, read->input_power_w);
    number_cell(certificate, table, test, FIGURE_PROBABILITY,
                duty == 0 && !test->unread ? test->conformance_probability : quantity_absent());
}

/* A reason that is a story stands below the table. */
static bool is_long(const char *reason)
{
    enum { SHORT = 60 };
    return text_columns(reason) > SHORT;
}

static const char *reason_of(struct certificate *certificate, const struct batch_test *test)
{
    const char *reason = batch_reason_text(test, certificate->arena);
    certificate->document->failed = certificate->document->failed || reason == NULL;
    return reason == NULL ? "" : reason;
}

static void put_reasons(struct certificate *certificate, const struct batch_section *section)
{
    struct node *notes = NULL;
    for (size_t i = 0; i < certificate->batch->count; i++) {
        const struct batch_test *test = &certificate->batch->tests[i];
        const char *reason =
            test->model == section->model && is_certified(certificate, test) ? reason_of(certificate, test) : "";
        if (is_long(reason)) {
            notes = notes == NULL ? add_pairs(certificate->document, NODE_NOTES) : notes;
            add_pair(certificate->document, notes, verdict_tone(test->verdict), test->serial, "%s", reason);
        }
    }
}

static void remark_cell(struct certificate *certificate, struct node *table, const struct batch_test *test)
{
    const struct document *document = certificate->document;
    char text[1200] = "";
    const char *parts[4] = {"", "", "", ""};
    size_t count = 0;
    char attempt[80];
    if (test->superseded) {
        (void)snprintf(attempt, sizeof attempt, say(document, "test %zu of %zu, superseded"), test->attempt,
                       test->tests);
        parts[count++] = attempt;
    } else if (test->tests > 1) {
        parts[count++] = say(document, "retest, counts");
    }
    if (test->calibration == CALIBRATION_OVERDUE) {
        parts[count++] = say(document, "calibration overdue");
    }
    const char *reason = reason_of(certificate, test);
    parts[count] = is_long(reason) ? say(document, "see below") : reason;
    for (size_t i = 0, used = 0; i <= count && used < sizeof text; i++) {
        int length = snprintf(text + used, sizeof text - used, "%s%.800s", used > 0 && parts[i][0] != '\0' ? "; " : "",
                              parts[i]);
        used += length > 0 ? (size_t)length : 0;
    }
    add_cell(certificate->document, table, test->superseded ? TONE_FAINT : TONE_PLAIN, "%s", text);
}

static void test_rows(struct certificate *certificate, struct node *table, const struct batch_test *test, size_t number)
{
    struct document *document = certificate->document;
    size_t rows = test->unread || test->duty_count == 0 ? 1 : test->duty_count;
    char date[FIGURE_TEXT];
    for (size_t duty = 0; duty < rows; duty++) {
        bool first = duty == 0;
        enum tone tone = test->superseded ? TONE_FAINT : TONE_PLAIN;
        add_cell(document, table, TONE_FAINT, first ? "%zu" : "%.0zu", first ? number : 0);
        add_cell(document, table, tone, "%s", first ? test->serial : "");
        if (first && test->folder != NULL && test->folder[0] != '\0' && !test->unread && !test->superseded) {
            const char *link = arena_format(certificate->arena, "%s/sheet.html", file_base(test->folder));
            link_cell(document, table, link == NULL ? "" : link);
            document->failed = document->failed || link == NULL;
        }
        add_cell(document, table, tone, "%s", first ? figure_date(&test->tested, date) : "");
        add_cell(document, table, test->superseded ? TONE_FAINT : test_tone(test), "%s",
                 first ? say(document, verdict_name(test->verdict)) : "");
        duty_cells(certificate, table, test, duty);
        if (first) {
            remark_cell(certificate, table, test);
        } else {
            add_cell(document, table, TONE_PLAIN, "%s", "");
        }
    }
}

static void put_tests(struct certificate *certificate, const struct batch_section *section)
{
    struct document *document = certificate->document;
    struct figure_units units = figure_units_of(section->model);
    const struct column columns[] = {
        {"", "", true},
        {say(document, "serial"), "", false},
        {say(document, "tested"), "", false},
        {say(document, "verdict"), "", false},
        {say(document, "H at Q"), units.head->name, true},
        {say(document, "margin"), units.head->name, true},
        {say(document, "Q at H"), units.flow->name, true},
        {of_pump(section->model) ? say(document, "η pump") : say(document, "η set"), "%", true},
        {say(document, "margin"), "%", true},
        {say(document, "P₁ at Q"), units.power->name, true},
        {say(document, "conforms"), "%", true},
        {say(document, "remark"), "", false},
    };
    size_t number = 0;
    add_heading(document, say(document, "Model %.180s: every test"), section->model->name);
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < certificate->batch->count; i++) {
        const struct batch_test *test = &certificate->batch->tests[i];
        if (test->model == section->model && is_certified(certificate, test)) {
            test_rows(certificate, table, test, ++number);
        }
    }
    put_reasons(certificate, section);
}

static void put_all_tests(struct certificate *certificate)
{
    struct document *document = certificate->document;
    for (size_t i = 0; i < certificate->summary->section_count; i++) {
        put_tests(certificate, &certificate->summary->sections[i]);
    }
    add_text(
        document, TONE_FAINT, "%s",
        say(document,
            "Q and H: the guaranteed flow and head, a line for each guaranteed point. Margin: "
            "how far the curve clears the lower side of its tolerance, as head at Q (where it lies too high: how far), "
            "and how far the efficiency, where its grade reads it, lies above the least permitted. Conforms: "
            "probability that the true values meet every check (JCGM 106), beside the verdict, never in its place. "
            "At rated speed. Each unit has a sheet of its own."));
}

/* --- statistics --- */

static bool has_charts(const struct batch_series *series)
{
    return series->count >= CERTIFICATE_CHART_MIN;
}

static void statistics_row(struct certificate *certificate, struct node *table, const struct batch_section *section,
                           size_t point, const struct batch_series *series)
{
    struct document *document = certificate->document;
    struct figure_units units = figure_units_of(section->model);
    enum figure figure = series->head ? FIGURE_HEAD : FIGURE_EFFICIENCY;
    char text[FIGURE_TEXT];
    add_cell(document, table, TONE_PLAIN, section->duty_count > 1 ? say(document, "%.80s, point %zu") : "%.80s",
             section->model->name, point + 1);
    add_cell(document, table, TONE_PLAIN, "%s", say(document, series->name));
    add_cell(document, table, TONE_PLAIN, "%zu", series->count);
    const struct quantity values[] = {quantity_of(series->mean), series->deviation, quantity_of(series->least),
                                      quantity_of(series->greatest)};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        add_cell(document, table, TONE_PLAIN, "%s", figure_text(figure, &units, values[i], text));
    }
    add_cell(document, table, TONE_PLAIN, "%s", figure_index(series->cpk, text));
    add_cell(document, table, TONE_PLAIN, "%s", figure_index(series->ppk, text));
    add_cell(document, table, series->out_count > 0 ? TONE_BAD : TONE_PLAIN, series->low.known ? "%zu" : "-",
             series->out_count);
}

static const char *pattern(const struct document *document, const struct batch_series *series, size_t i)
{
    return series->out_value[i]   ? say(document, "outside the limits")
           : series->out_range[i] ? say(document, "step")
                                  : say(document, "nine on one side");
}

/* Which units are out of control, by serial; nothing where none is. */
static void name_units(struct certificate *certificate, struct node *notes, const struct batch_section *section,
                       const struct batch_series *series)
{
    for (size_t i = 0; i < series->count; i++) {
        if (series->out_value[i] || series->out_range[i] || series->run[i]) {
            add_pair(certificate->document, notes, TONE_BAD, series->tests[i]->serial,
                     say(certificate->document, "%s: %s of model %.80s, unit %zu in test order"),
                     pattern(certificate->document, series, i), say(certificate->document, series->name),
                     section->model->name, i + 1);
        }
    }
}

static void put_plot(struct certificate *certificate, struct plot *plot)
{
    certificate->document->failed = certificate->document->failed || plot == NULL;
    if (plot != NULL) {
        add_plot(certificate->document, plot);
    }
}

static void put_section_charts(struct certificate *certificate, const struct batch_section *section)
{
    struct document *document = certificate->document;
    bool headed = false;
    for (size_t duty = 0; duty < section->duty_count; duty++) {
        if (!has_charts(&section->head[duty])) {
            continue;
        }
        if (!headed) {
            add_heading(document, say(document, "Model %.150s: curves, margins and drift"), section->model->name);
            put_plot(certificate, certificate_curves(document, certificate->batch, section, certificate->arena));
            headed = true;
        }
        if (section->duty_count > 1) {
            add_text(document, TONE_STRONG, say(document, "Guaranteed point %zu"), duty + 1);
        }
        put_plot(certificate, certificate_charts(document, section, duty, certificate->arena));
    }
}

static struct node *statistics_table(struct certificate *certificate)
{
    const struct document *document = certificate->document;
    const struct column columns[] = {
        {say(document, "model"), "", false},
        {say(document, "margin"), "", false},
        {say(document, "units"), "", true},
        {say(document, "mean"), "", true},
        {say(document, "std deviation"), "", true},
        {say(document, "least"), "", true},
        {say(document, "greatest"), "", true},
        {"Cpk", "", true},
        {"Ppk", "", true},
        {say(document, "out of control"), "", true},
    };
    add_heading(certificate->document, "%s", say(document, "Margins above the least that is permitted"));
    return add_table(certificate->document, columns, sizeof columns / sizeof columns[0]);
}

static void put_statistics_notes(struct certificate *certificate, size_t fewest)
{
    struct document *document = certificate->document;
    add_text(document, TONE_FAINT, "%s",
             say(document, "Cpk by the mean moving range / 1.128, Ppk by the standard deviation of the whole batch: "
                           "the nearer limit, in units of three standard deviations (ISO 22514, from memory). "
                           "Control limits: mean ∓ 2.66 and 3.267 times the mean moving range (ISO 7870-2:2013); "
                           "a run of nine on one side of the mean: ISO 8258:1991, from memory. "
                           "A drift is the bay's or the line's: "
                           "compare with a reference set before blaming either (common practice, no source). "
                           "Superseded tests are left out."));
    if (fewest < CERTIFICATE_SURE) {
        add_text(document, TONE_UNSURE,
                 say(document, "Fewer than %d units: capability figures are rough, "
                               "and may be far from what the line does (ISO 22514-2, from memory)."),
                 (int)CERTIFICATE_SURE);
    }
}

static void put_statistics(struct certificate *certificate)
{
    const struct batch_summary *summary = certificate->summary;
    struct node *table = NULL, *notes = NULL;
    size_t fewest = SIZE_MAX;
    for (size_t i = 0; i < summary->section_count; i++) {
        const struct batch_section *section = &summary->sections[i];
        for (size_t point = 0; point < section->duty_count; point++) {
            const struct batch_series *both[] = {&section->head[point], &section->efficiency[point]};
            for (size_t k = 0; k < 2; k++) {
                if (has_charts(both[k])) {
                    table = table == NULL ? statistics_table(certificate) : table;
                    statistics_row(certificate, table, section, point, both[k]);
                    fewest = both[k]->count < fewest ? both[k]->count : fewest;
                }
            }
        }
    }
    if (table == NULL) {
        add_text(certificate->document, TONE_FAINT,
                 say(certificate->document, "Statistics and charts are shown from %d units of a model on; "
                                            "batch.json has the figures from two on."),
                 (int)CERTIFICATE_CHART_MIN);
        return;
    }
    put_statistics_notes(certificate, fewest);
    for (size_t i = 0; i < summary->section_count; i++) {
        const struct batch_section *section = &summary->sections[i];
        for (size_t point = 0; point < section->duty_count; point++) {
            const struct batch_series *both[] = {&section->head[point], &section->efficiency[point]};
            for (size_t k = 0; k < 2; k++) {
                if (has_charts(both[k]) && both[k]->out_count > 0) {
                    notes = notes == NULL ? add_pairs(certificate->document, NODE_NOTES) : notes;
                    name_units(certificate, notes, section, both[k]);
                }
            }
        }
        put_section_charts(certificate, section);
        notes = NULL;
    }
}

/* --- instruments --- */

/* How many tests read this instrument, and how many of them after it was due. */
static void count_uses(const struct batch *batch, const struct instrument *instrument, size_t *used, size_t *late)
{
    *used = *late = 0;
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        if (!test->unread && (test->channels >> instrument->channel & 1U) != 0) {
            *used += 1;
            *late +=
                instrument->due.known && test->tested.known && date_compare_days(&test->tested, &instrument->due) > 0;
        }
    }
}

static bool same_date(const struct date *a, const struct date *b)
{
    return a->known == b->known && (!a->known || date_compare_days(a, b) == 0);
}

/* One instrument often serves several channels. */
static bool same_instrument(const struct instrument *a, const struct instrument *b)
{
    return strcmp(a->serial, b->serial) == 0 && strcmp(a->certificate, b->certificate) == 0 &&
           a->accuracy.known == b->accuracy.known && a->accuracy.value == b->accuracy.value && a->basis == b->basis &&
           same_date(&a->calibrated, &b->calibrated) && same_date(&a->due, &b->due);
}

/* The rows from `first` on that are one instrument: their channels, and how often it was used and was late. Returns:
 * false when nothing reads it, or an earlier row has told of it. */
static bool gather_instrument(const struct certificate *certificate, size_t first, char *channels, size_t size,
                              size_t *used, size_t *late)
{
    const struct batch *batch = certificate->batch;
    const struct instrument *items = batch->bay->instruments;
    size_t length = 0;
    *used = *late = 0;
    for (size_t i = 0; i < batch->bay->instrument_count; i++) {
        size_t used_here, late_here;
        if (!same_instrument(&items[i], &items[first])) {
            continue;
        }
        count_uses(batch, &items[i], &used_here, &late_here);
        if (used_here > 0 && i < first) {
            return false;
        }
        if (used_here > 0 && length < size) {
            int more = snprintf(channels + length, size - length, "%s%s", length > 0 ? ", " : "",
                                say(certificate->document, channel_info(items[i].channel)->name));
            length += more > 0 ? (size_t)more : 0;
        }
        *used = used_here > *used ? used_here : *used;
        *late = late_here > *late ? late_here : *late;
    }
    return *used > 0;
}

static void instrument_row(struct certificate *certificate, struct node *table, const struct instrument *instrument,
                           const char *channels, size_t used, size_t late)
{
    struct document *document = certificate->document;
    struct figure_units units = figure_units_of(NULL);
    char text[FIGURE_TEXT];
    add_cell(document, table, TONE_PLAIN, "%s", instrument->serial[0] != '\0' ? instrument->serial : "-");
    add_cell(document, table, TONE_PLAIN, "%s", channels);
    add_cell(document, table, TONE_PLAIN, "%s%s", figure_text(FIGURE_UNCERTAINTY, &units, instrument->accuracy, text),
             !instrument->accuracy.known                ? ""
             : instrument->basis == ACCURACY_OF_READING ? say(document, " of reading")
                                                        : say(document, " of range"));
    add_cell(document, table, TONE_PLAIN, "%s", figure_date(&instrument->calibrated, text));
    add_cell(document, table, TONE_PLAIN, "%s", figure_date(&instrument->due, text));
    add_cell(document, table, TONE_PLAIN, "%s", instrument->certificate);
    if (late > 0) {
        add_cell(document, table, TONE_BAD, say(document, "overdue: %zu of %zu tests"), late, used);
    } else {
        add_cell(document, table, TONE_PLAIN, "%s",
                 instrument->due.known ? say(document, "valid") : say(document, "due date not stated"));
    }
}

static void put_instruments(struct certificate *certificate)
{
    struct document *document = certificate->document;
    const struct batch *batch = certificate->batch;
    const struct column columns[] = {
        {say(document, "instrument"), "", false},  {say(document, "channels"), "", false},
        {say(document, "accuracy"), "", false},    {say(document, "calibrated"), "", false},
        {say(document, "due"), "", false},         {say(document, "certificate"), "", false},
        {say(document, "calibration"), "", false},
    };
    add_heading(document, "%s", say(document, "Instruments"));
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < batch->bay->instrument_count; i++) {
        size_t used, late;
        char channels[512];
        if (gather_instrument(certificate, i, channels, sizeof channels, &used, &late)) {
            instrument_row(certificate, table, &batch->bay->instruments[i], channels, used, late);
        }
    }
    if (table != NULL && table->table.cell_count == 0) {
        add_text(document, TONE_PLAIN, "%s", say(document, "none is stated in instruments.csv"));
    }
}

/* --- cautions --- */

static bool is_certified_serial(const struct certificate *certificate, const char *serial)
{
    for (size_t i = 0; i < certificate->batch->count; i++) {
        const struct batch_test *test = &certificate->batch->tests[i];
        if (strcmp(test->serial, serial) == 0 && is_certified(certificate, test)) {
            return true;
        }
    }
    return false;
}

static void put_cautions(struct certificate *certificate)
{
    struct document *document = certificate->document;
    const struct batch *batch = certificate->batch;
    struct node *node = NULL;
    add_heading(document, "%s", say(document, "Cautions"));
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        if (test->undated && test->tests > 1 && test->attempt == test->tests) {
            node = node == NULL ? add_pairs(document, NODE_NOTES) : node;
            add_pair(
                document, node, TONE_BAD, test->serial, "%s",
                say(document, "not every test of this serial states its date: the one that is listed last counts"));
        }
    }
    for (size_t i = 0; i < batch->caution_count; i++) {
        const struct batch_caution *caution = &batch->cautions[i];
        char who[160];
        if (!is_certified_serial(certificate, caution->first_serial) && certificate->batch->passes_only) {
            continue;
        }
        (void)snprintf(who, sizeof who, caution->tests == 1 ? "%.80s" : say(document, "%.80s and %zu more"),
                       caution->first_serial, caution->tests - 1);
        node = node == NULL ? add_pairs(document, NODE_NOTES) : node;
        add_pair(document, node, TONE_PLAIN, who, "%s", caution->text);
    }
    if (batch->further_cautions > 0) {
        add_text(document, TONE_PLAIN, say(document, "%zu more: see batch.json and the sheets of the units"),
                 batch->further_cautions);
    } else if (node == NULL) {
        add_text(document, TONE_PLAIN, "%s", say(document, "none"));
    }
}

/* --- the certificate --- */

enum status certificate_document(const struct batch *batch, const struct batch_summary *summary, const char *digest,
                                 const char *digest_of, struct arena *arena, struct document *document)
{
    char title[256];
    struct certificate certificate = {.batch = batch, .summary = summary, .document = document, .arena = arena};
    (void)snprintf(title, sizeof title, "batch %.200s", batch->list->name);
    document_init(document, arena, title);
    document->date = summary->last_tested;
    add_title(document, say(document, "Certificate of a batch of submersible pump sets, against their guaranteed duty"),
              title);
    (batch->passes_only ? put_passes : put_verdict)(&certificate);
    put_facts(&certificate);
    if (!batch->passes_only) {
        put_counts(&certificate);
    }
    put_guarantees(&certificate);
    put_cautions(&certificate);
    if (digest[0] != '\0') {
        add_code(document, digest, digest_of);
    }
    put_signatures(&certificate);
    add_page_break(document);
    put_all_tests(&certificate);
    put_instruments(&certificate);
    if (!batch->passes_only) { /* statistics of what is shipped alone would say little of the line */
        put_statistics(&certificate);
    }
    const char *foot = arena_format(
        arena, say(document, "batch %.80s · %.100s, SHA-256 %.16s… · relates only to the units named · dutyproof %s"),
        batch->list->name, file_base(batch->list->file), batch->list->sha256, DUTYPROOF_VERSION);
    document->foot = foot == NULL ? "" : document_shown(document, foot);
    document->failed = document->failed || foot == NULL;
    return document->failed ? E_MEMORY : OK;
}
