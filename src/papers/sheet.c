#include "papers/sheet.h"

#include "base/files.h"
#include "papers/cause_words.h"
#include "papers/check_words.h"
#include "papers/curves.h"
#include "papers/impossible_words.h"

#include <string.h>

#ifndef DUTYPROOF_VERSION
#define DUTYPROOF_VERSION "unversioned"
#endif

size_t source_number(struct sources *sources, const char *source)
{
    if (source == NULL || source[0] == '\0') {
        return 0;
    }
    for (size_t i = 0; i < sources->count; i++) {
        if (strcmp(sources->texts[i], source) == 0) {
            return i + 1;
        }
    }
    if (sources->count == SOURCES_MAX) {
        return 0;
    }
    sources->texts[sources->count] = source;
    return ++sources->count;
}

/* --- the verdict --- */

enum tone sheet_tone(const struct sheet *sheet, enum verdict verdict)
{
    return verdict == VERDICT_PASS && !result_is_clear(sheet->result) ? TONE_PLAIN : verdict_tone(verdict);
}

enum { WHY_TEXT = 2000 };

/* Adds a sentence to those that say why. */
static size_t because(char why[WHY_TEXT], size_t used, const char *name, const char *words)
{
    int length = used + 1 < WHY_TEXT ? snprintf(why + used, WHY_TEXT - used, "%s%s%s%s", used > 0 ? "; " : "", name,
                                                words[0] != '\0' ? ": " : "", words)
                                     : 0;
    return length > 0 && used + (size_t)length < WHY_TEXT ? used + (size_t)length : used;
}

/* Which of the routine results fail. */
static void routine_why(const struct document *document, const struct routine_result *routine, char why[WHY_TEXT],
                        size_t used)
{
    const char *before = ": ";
    for (size_t i = 0; i < routine->check_count && used + 1 < WHY_TEXT; i++) {
        const struct routine_check *check = &routine->checks[i];
        if (check->limited && check->verdict == VERDICT_FAIL) {
            int length = snprintf(why + used, WHY_TEXT - used, "%s%s", before, say(document, check->name));
            used += length > 0 ? (size_t)length : 0;
            before = ", ";
        }
    }
}

/* What failed, else what could not be judged, else that all was passed. */
static void fill_why(struct sheet *sheet, char why[WHY_TEXT])
{
    const struct result *result = sheet->result;
    struct document *document = sheet->document;
    size_t used = 0, checks = 0;
    why[0] = '\0';
    if (result->impossible.count > 0) {
        char words[IMPOSSIBLE_WORDS];
        used = because(why, used, impossible_words(document, result, &sheet->units, words), "");
    }
    for (size_t i = 0; i < result->duty_count && result->impossible.count == 0; i++) {
        const struct duty_result *duty = &result->duties[i];
        for (size_t k = 0; k < duty->check_count; k++, checks++) {
            char words[CHECK_WORDS];
            if (duty->checks[k].verdict == result->performance && result->performance != VERDICT_PASS) {
                (void)check_words(document, &duty->checks[k], duty, &sheet->units, words);
                used = because(why, used, say(document, check_name(&duty->checks[k])), words);
            }
        }
    }
    if (result->duty_count == 0) {
        used = because(why, used, say(document, "no guaranteed duty point: nothing to check"), "");
    } else if (result->performance == VERDICT_PASS) {
        (void)snprintf(why, WHY_TEXT,
                       checks == 1 ? say(document, "the one check is passed")
                                   : say(document, "all %zu checks are passed"),
                       checks);
        used = strlen(why);
    }
    if (result->calibration == CALIBRATION_OVERDUE) {
        used = because(why, used, say(document, "an instrument's calibration was overdue on the day of the test"), "");
    }
    if (result_routine_fails(result)) {
        used = because(why, used, say(document, "routine results fail"), "");
        routine_why(document, &result->routine, why, used);
    }
}

/* "✔ PASS", and what qualifies it. */
static void put_verdict(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    char why[WHY_TEXT], upper[96];
    size_t length = 0;
    for (const char *c = result_verdict_text(result); *c != '\0' && length + 1 < sizeof upper; c++) {
        upper[length++] = (char)(*c >= 'a' && *c <= 'z' ? *c - 'a' + 'A' : *c);
    }
    upper[length] = '\0';
    fill_why(sheet, why);
    add_verdict(sheet->document,
                result_passes(result) && !result_is_clear(result) ? TONE_UNSURE : verdict_tone(result->verdict),
                say(sheet->document, upper), why);
}

/* --- what was tested --- */

static void fact(struct sheet *sheet, struct node *node, const char *name, const char *value)
{
    if (value != NULL && value[0] != '\0') {
        add_pair(sheet->document, node, TONE_PLAIN, say(sheet->document, name), "%s", value);
    }
}

static void figure_fact(struct sheet *sheet, struct node *node, const char *name, enum figure figure,
                        struct quantity value)
{
    char text[FIGURE_TEXT];
    if (value.known) {
        fact(sheet, node, name, figure_text(figure, &sheet->units, value, text));
    }
}

/* "415 V, 3-phase, 50 Hz", of what is stated. */
static void supply_fact(struct sheet *sheet, struct node *node, const struct model *model)
{
    char text[128] = "";
    size_t used = 0;
    const struct {
        struct quantity value;
        const char *unit;
    } parts[] = {{model->rated_voltage_v, " V"}, {model->phases, "-phase"}, {model->rated_frequency_hz, " Hz"}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (parts[i].value.known && used < sizeof text) {
            int length = snprintf(text + used, sizeof text - used, "%s%.0f%s", used > 0 ? ", " : "",
                                  parts[i].value.value, say(sheet->document, parts[i].unit));
            used += length > 0 ? (size_t)length : 0;
        }
    }
    fact(sheet, node, "rated supply", text);
}

/* The bore as the trade of these units writes it. */
static void build_fact(struct sheet *sheet, struct node *node, const struct model *model)
{
    char text[128] = "";
    size_t used = 0;
    bool inches = strcmp(sheet->units.head->name, "ft") == 0;
    if (model->stages.known) {
        int length = snprintf(text, sizeof text, "%.0f", model->stages.value);
        used = length > 0 ? (size_t)length : 0;
    }
    if (model->nominal_bore_m.known) {
        (void)snprintf(text + used, sizeof text - used, inches ? "%s%.3g in" : "%s%.0f mm", used > 0 ? ", " : "",
                       model->nominal_bore_m.value / (inches ? 0.0254 : 0.001));
    }
    fact(sheet, node, "stages, bore", text);
}

/* Every grade of the order, not the first alone. */
static void grade_fact(struct sheet *sheet, struct node *node)
{
    const struct result *result = sheet->result;
    char text[512] = "";
    size_t used = 0;
    for (size_t i = 0; i < result->duty_count; i++) {
        const struct duty *duty = result->duties[i].duty;
        bool again = false;
        for (size_t k = 0; k < i; k++) {
            again = again || strcmp(result->duties[k].duty->grade_name, duty->grade_name) == 0;
        }
        if (again || used + 1 >= sizeof text) {
            continue;
        }
        int length = duty->grade == NULL
                         ? snprintf(text + used, sizeof text - used, "%s%.80s", used > 0 ? "; " : "", duty->grade_name)
                         : snprintf(text + used, sizeof text - used, "%s%.80s, %.120s", used > 0 ? "; " : "",
                                    duty->grade->name, duty->grade->standard);
        used += length > 0 ? (size_t)length : 0;
    }
    fact(sheet, node, "grade", used > 0 ? text : say(sheet->document, "not stated"));
}

static void model_facts(struct sheet *sheet, struct node *node)
{
    static const struct model no_model = {0};
    const struct model *model = sheet->result->model != NULL ? sheet->result->model : &no_model;
    build_fact(sheet, node, model);
    figure_fact(sheet, node, "rated power", FIGURE_RATED_POWER, model->rated_power_w);
    supply_fact(sheet, node, model);
    figure_fact(sheet, node, "rated current", FIGURE_CURRENT, model->rated_current_a);
    figure_fact(sheet, node, "rated speed", FIGURE_SPEED, model->rated_speed_rpm);
    fact(sheet, node, "motor", model->motor_name);
}

static enum tone calibration_tone(enum calibration calibration)
{
    return calibration == CALIBRATION_OVERDUE || calibration == CALIBRATION_AFTER_TEST ? TONE_BAD : TONE_PLAIN;
}

static void put_facts(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    struct document *document = sheet->document;
    struct node *node = add_pairs(document, NODE_FACTS);
    char date[FIGURE_TEXT];
    fact(sheet, node, "tested",
         result->tested.known ? figure_date(&result->tested, date) : say(document, "not stated"));
    fact(sheet, node, "tester", result->tester[0] != '\0' ? result->tester : say(document, "not stated"));
    fact(sheet, node, "bay", result->bay->rig.name);
    grade_fact(sheet, node);
    model_facts(sheet, node);
    add_pair(document, node, calibration_tone(result->calibration), say(document, "calibration"), "%s",
             say(document, calibration_name(result->calibration)));
    fact(sheet, node, "flow by", flow_method_words(document, result->bay->rig.flow_method));
    fact(sheet, node, "speed by", say(document, speed_basis_name(result->basis)));
    fact(sheet, node, "remarks", result->remarks);
    if (result->issue.revision > 0) {
        add_pair(document, node, TONE_PLAIN, say(document, "revision"), "%lld", result->issue.revision);
    }
}

/* What these papers replace, and why: a line a change, of which some are shown. */
static void put_issue(struct sheet *sheet)
{
    enum { CHANGES_SHOWN = 6 };
    const struct issue *issue = &sheet->result->issue;
    struct document *document = sheet->document;
    if (issue->replaced_at == NULL) {
        return;
    }
    add_text(document, TONE_STRONG, say(document, "Revision %lld, in place of the papers of %s (%s):"), issue->revision,
             issue->replaced_at, say(document, issue->replaced));
    size_t count = 0;
    for (const char *line = issue->changes; *line != '\0'; count++) {
        size_t length = strcspn(line, "\n");
        if (count < CHANGES_SHOWN) {
            add_text(document, TONE_PLAIN, "%.*s", (int)length, line);
        }
        line += length + (line[length] == '\n');
    }
    if (count > CHANGES_SHOWN) {
        add_text(document, TONE_PLAIN, say(document, "and %zu more"), count - CHANGES_SHOWN);
    }
}

/* --- the checks --- */

/* The words of check k of a duty point; "" where memory ran out, which fails the document. */
static struct check_words words_of(struct sheet *sheet, const struct duty_result *duty, size_t k)
{
    struct check_words words;
    struct document *document = sheet->document;
    bool made = check_words_of(&duty->checks[k], duty->duty, document->arena, &words) == OK;
    document->failed = document->failed || !made;
    return words;
}

static void put_check_row(struct sheet *sheet, struct node *table, size_t duty, size_t k)
{
    struct document *document = sheet->document;
    const struct check *check = &sheet->result->duties[duty].checks[k];
    struct quantity conforms = result_duty_certainty(sheet->result, duty)->conformance_probability[k];
    struct check_figures figures;
    char probability[FIGURE_TEXT], name[160];
    size_t number = source_number(sheet->sources, words_of(sheet, &sheet->result->duties[duty], k).source);
    check_figures_of(check, &sheet->units, &figures);
    (void)snprintf(name, sizeof name, number > 0 ? "%.100s [%zu]" : "%.100s", say(document, check_name(check)), number);
    bool ellipse = check->dimension == DIM_NONE && check->limit_low.known;
    add_cell(document, table, TONE_PLAIN, "%s", name);
    add_cell(document, table, sheet_tone(sheet, check->verdict), "%s", say(document, verdict_name(check->verdict)));
    add_cell(document, table, TONE_PLAIN, "%s", ellipse ? "-" : figures.value);
    add_cell(document, table, TONE_PLAIN, "%s", ellipse ? "-" : figures.guaranteed);
    add_cell(document, table, TONE_PLAIN, "%s", ellipse ? "-" : figures.limits);
    add_cell(document, table, TONE_PLAIN, "%s", ellipse ? "" : figures.unit);
    add_cell(document, table, TONE_PLAIN, "%s%s%s", figures.margin, ellipse ? " " : "",
             ellipse ? figures.margin_unit : "");
    add_cell(document, table, TONE_PLAIN, "%s", figure_text(FIGURE_PROBABILITY, &sheet->units, conforms, probability));
}

/* What the table cannot say: how far a check is missed, and why one is not judged. */
static void put_check_notes(struct sheet *sheet, const struct duty_result *duty)
{
    struct document *document = sheet->document;
    struct node *notes = NULL;
    for (size_t k = 0; k < duty->check_count; k++) {
        const struct check *check = &duty->checks[k];
        char words[CHECK_WORDS];
        if (check_words(document, check, duty, &sheet->units, words)[0] != '\0') {
            notes = notes == NULL ? add_pairs(document, NODE_NOTES) : notes;
            add_pair(document, notes, check->verdict == VERDICT_PASS ? TONE_PLAIN : verdict_tone(check->verdict),
                     say(document, check_name(check)), "%s", words);
        }
    }
}

/* Where each check is read, and what is not checked for want of a guarantee. */
static void put_check_places(struct sheet *sheet, const struct duty_result *duty)
{
    struct document *document = sheet->document;
    char text[2000];
    size_t used = 0;
    text[0] = '\0';
    for (size_t k = 0; k < duty->check_count; k++) {
        const struct check *check = &duty->checks[k];
        const char *where = words_of(sheet, duty, k).where;
        if (where[0] != '\0' && used < sizeof text) {
            bool place = strncmp(where, "at ", 3) == 0 || strncmp(where, "on ", 3) == 0;
            int length = snprintf(text + used, sizeof text - used, "%s%s%s%s", used > 0 ? "; " : "",
                                  say(document, check_name(check)), place ? " " : ": ", say(document, where));
            used += length > 0 ? (size_t)length : 0;
        }
    }
    const char *not_stated = not_stated_text(duty->not_stated, document->arena);
    document->failed = document->failed || not_stated == NULL;
    if (not_stated != NULL && not_stated[0] != '\0' && used < sizeof text) {
        (void)snprintf(text + used, sizeof text - used, say(document, "%snot stated, so not checked: %s"),
                       used > 0 ? "; " : "", not_stated);
    }
    if (text[0] != '\0') {
        add_text(document, TONE_FAINT, say(document, "Read: %s."), text);
    }
}

static void put_duty(struct sheet *sheet, size_t index)
{
    struct document *document = sheet->document;
    const struct duty_result *duty = &sheet->result->duties[index];
    char flow[FIGURE_TEXT], head[FIGURE_TEXT];
    const struct column columns[] = {
        {say(document, "check"), "", false},   {say(document, "verdict"), "", false},
        {say(document, "measured"), "", true}, {say(document, "guaranteed"), "", true},
        {say(document, "limits"), "", true},   {"", "", false},
        {say(document, "margin"), "", true},   {say(document, "conformity"), "", true},
    };
    add_heading(document, say(document, "Guaranteed point %zu: %s at %s, grade %.60s: %s"), index + 1,
                figure_text(FIGURE_FLOW, &sheet->units, duty->duty->flow_m3s, flow),
                figure_text(FIGURE_HEAD, &sheet->units, duty->duty->head_m, head),
                duty->duty->grade == NULL ? say(document, "not known") : duty->duty->grade->name,
                say(document, verdict_name(duty->verdict)));
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t k = 0; k < duty->check_count; k++) {
        put_check_row(sheet, table, index, k);
    }
    put_check_notes(sheet, duty);
    put_check_places(sheet, duty);
}

/* --- where to look, cautions, signatures --- */

static void put_notes(struct sheet *sheet, enum note_kind kind, const char *heading)
{
    struct document *document = sheet->document;
    const struct notes *notes = &sheet->result->notes;
    struct node *node = NULL;
    for (size_t i = 0; i < notes->count; i++) {
        if (notes->items[i].kind == kind) {
            if (node == NULL) {
                add_heading(document, "%s", say(document, heading));
                node = add_pairs(document, NODE_NOTES);
            }
            add_pair(document, node, kind == NOTE_CAUTION ? TONE_BAD : TONE_PLAIN, kind == NOTE_CAUTION ? "▲" : "▶",
                     "%s", notes->items[i].text);
        }
    }
}

static void put_cause(struct sheet *sheet, struct node *node, const char *text)
{
    sheet->document->failed = sheet->document->failed || text == NULL;
    if (text != NULL) {
        add_pair(sheet->document, node, TONE_PLAIN, "▶", "%s", text);
    }
}

/* A cause that would be looked for and that this test cannot show is named as such. */
static void put_unseen(struct sheet *sheet, const struct unit_causes *causes)
{
    if (sheet->result->verdict == VERDICT_FAIL && causes->stage_asked && !causes->stage_stands_out) {
        add_text(sheet->document, TONE_FAINT,
                 say(sheet->document,
                     "One missing stage of %.0f would not stand out of the spread of good units in this test."),
                 sheet->result->model->stages.value);
    }
}

static void put_causes(struct sheet *sheet)
{
    const struct unit_causes *causes = sheet->result->causes;
    if (causes != NULL) {
        put_unseen(sheet, causes);
    }
    if (causes == NULL || causes->found.found_count == 0) {
        return;
    }
    add_heading(sheet->document, "%s",
                say(sheet->document, "Likely causes (common practice, an opinion: it decides nothing)"));
    struct node *node = add_pairs(sheet->document, NODE_NOTES);
    for (size_t i = 0; i < causes->found.found_count; i++) {
        put_cause(sheet, node, cause_text(sheet->document, &causes->found.found[i], sheet->arena));
    }
}

static void put_steps(struct sheet *sheet)
{
    const struct unit_causes *causes = sheet->result->causes;
    if (causes == NULL || causes->step_count == 0) {
        return;
    }
    add_heading(sheet->document, "%s", say(sheet->document, "Next step"));
    struct node *node = add_pairs(sheet->document, NODE_NOTES);
    for (size_t i = 0; i < causes->step_count; i++) {
        put_cause(sheet, node, step_text(sheet->document, &causes->steps[i], &sheet->units, sheet->arena));
    }
}

static void put_safety(struct sheet *sheet)
{
    add_text(sheet->document, TONE_FAINT, "%s", safety_words(sheet->document));
}

static void put_signatures(struct sheet *sheet)
{
    static const char *const roles[] = {"tested by", "checked by", "witness", "approved"};
    struct document *document = sheet->document;
    struct node *node = add_pairs(document, NODE_SIGNATURES);
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        char role[96];
        (void)snprintf(role, sizeof role, say(document, "%s: name, date"), say(document, roles[i]));
        add_pair(document, node, TONE_PLAIN, role, "%s", "");
    }
}

/* --- the sheet --- */

static void put_title(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    const char *serial = result->serial[0] != '\0' ? result->serial : say(sheet->document, "not stated");
    const char *model = result->model != NULL ? result->model->name : say(sheet->document, "not stated");
    const char *of_what = arena_format(sheet->arena, say(sheet->document, "unit %s, model %s"), serial, model);
    sheet->document->failed = sheet->document->failed || of_what == NULL;
    add_title(sheet->document,
              say(sheet->document, "Performance test of a submersible pump set, against its guaranteed duty"), of_what);
}

static void put_plot(struct sheet *sheet)
{
    struct plot *plot = curves_plot(sheet->document, sheet->result, &sheet->units, sheet->arena);
    sheet->document->failed = sheet->document->failed || plot == NULL;
    if (plot != NULL) {
        add_plot(sheet->document, plot);
    }
}

static void put_page_one(struct sheet *sheet)
{
    put_title(sheet);
    put_verdict(sheet);
    put_facts(sheet);
    put_issue(sheet);
    for (size_t i = 0; i < sheet->result->duty_count; i++) {
        put_duty(sheet, i);
    }
    sheet_curves(sheet);
    put_plot(sheet);
    put_causes(sheet);
    put_steps(sheet);
    put_notes(sheet, NOTE_CAUTION, "Cautions");
    put_safety(sheet);
    put_signatures(sheet);
}

enum status sheet_document(const struct result *result, struct arena *arena, struct document *document)
{
    char title[256];
    struct sources sources = {0};
    struct sheet sheet = {.result = result,
                          .units = figure_units_of(result->model),
                          .document = document,
                          .arena = arena,
                          .sources = &sources};
    (void)snprintf(title, sizeof title, "%.120s: %.100s", result->serial, result_verdict_text(result));
    document_init(document, arena, title);
    document->date = result->tested;
    document->paper = strcmp(sheet.units.head->name, "ft") == 0 ? PAPER_LETTER : PAPER_A4;
    put_page_one(&sheet);
    add_page_break(document);
    sheet_readings(&sheet);
    const char *foot = arena_format(
        arena, say(document, "%.60s · %.60s, SHA-256 %.16s… · relates only to the unit named · dutyproof %s"),
        result->serial, file_base(result->log.file), result->log.sha256, DUTYPROOF_VERSION);
    document->foot = foot == NULL ? "" : document_shown(document, foot);
    document->failed = document->failed || foot == NULL;
    return document->failed ? E_MEMORY : OK;
}
