#include "dutyproof/files.h"
#include "dutyproof/gnuplot.h"
#include "dutyproof/render.h"
#include "dutyproof/text.h"
#include "paper.h"

#include <ctype.h>
#include <string.h>

#ifndef DUTYPROOF_VERSION
#define DUTYPROOF_VERSION "unversioned"
#endif

/* The grid: margins, the column of charts and the column of facts beside it. */
static const double left_mm = 14.0, right_mm = 196.0, charts_right_mm = 121.0, facts_left_mm = 129.0;
static const double footer_mm = 287.0, charts_tallest_mm = 165.0, gap_mm = 3.0;

enum { NOTE_LINES_MAX = 11, TITLE_PART = 500, IDENTITY_COLUMNS = 3, IDENTITY_ROWS = 5 };

/* --- head of the page --- */

static void put_verdict(struct paper *paper)
{
    const struct result *result = paper->result;
    const char *text = result_verdict_text(result), *comma = strchr(text, ',');
    size_t length = comma == NULL ? strlen(text) : (size_t)(comma - text);
    bool pass = result->verdict == VERDICT_PASS, fail = result->verdict == VERDICT_FAIL;
    enum ink ink = pass ? INK_GREEN : fail ? INK_VERMILLION : INK_BLACK;
    char word[64];
    int mark = snprintf(word, sizeof word, "%s ", pass ? "✔" : fail ? "✘" : "–");
    for (size_t i = 0; i < length && (size_t)mark + 1 < sizeof word; i++, mark++) {
        word[mark] = (char)toupper((unsigned char)text[i]);
        word[mark + 1] = '\0';
    }
    double box_mm = facts_left_mm, middle_mm = (box_mm + right_mm) / 2.0, bottom_mm = 23.0;
    page_box(&paper->page, fail ? PEN_FILL_FAIL : pass ? PEN_PASS : PEN_HEAVY, box_mm, 11.0, right_mm, bottom_mm);
    enum ink letters = fail ? INK_WHITE : ink;
    page_put(&paper->page, TYPE_TITLE, letters, ALIGN_CENTRE, middle_mm, comma == NULL ? 17.0 : 15.6, 0.0, word);
    if (comma != NULL) {
        page_put(&paper->page, TYPE_TEXT, letters, ALIGN_CENTRE, middle_mm, 20.6, 0.0,
                 comma + 1 + strspn(comma + 1, " "));
    }
}

static void put_title(struct paper *paper)
{
    const struct result *result = paper->result;
    double width_mm = facts_left_mm - left_mm - 6.0;
    page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, left_mm, 13.0, width_mm,
             "Performance test of a submersible pump set, against its guaranteed duty");
    const char *model = result->model != NULL ? result->model->name : "model not stated";
    const char *serial = result->serial[0] != '\0' ? result->serial : "serial not stated";
    char title[2 * TITLE_PART + 64];
    (void)snprintf(title, sizeof title, "%.*s  ·  %.*s", TITLE_PART, model, TITLE_PART, serial);
    if (text_width_mm(TYPE_TITLE, title) <= width_mm) {
        page_put(&paper->page, TYPE_TITLE, INK_BLACK, ALIGN_LEFT, left_mm, 19.5, width_mm, title);
    } else {
        (void)snprintf(title, sizeof title, "model %.*s", TITLE_PART, model);
        page_put(&paper->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, left_mm, 17.6, width_mm, title);
        (void)snprintf(title, sizeof title, "serial %.*s", TITLE_PART, serial);
        page_put(&paper->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, left_mm, 21.6, width_mm, title);
    }
    put_verdict(paper);
    page_rule(&paper->page, PEN_HEAVY, left_mm, 26.0, right_mm, 26.0);
}

/* --- identification --- */

static const char *flow_method_text(enum flow_method method)
{
    static const char *const texts[] = {
        [FLOW_METER] = "flow meter",
        [FLOW_ORIFICE] = "orifice plate",
        [FLOW_VENTURI] = "venturi tube",
        [FLOW_VENTURI_NOZZLE] = "venturi nozzle",
        [FLOW_NOZZLE] = "nozzle",
        [FLOW_V_NOTCH] = "V-notch weir",
        [FLOW_RECTANGULAR_NOTCH] = "rectangular notch",
        [FLOW_TANK_VOLUME] = "volumetric tank",
        [FLOW_TANK_MASS] = "weighing tank",
    };
    return texts[method];
}

struct field {
    const char *name;
    char value[256];
};

static const char *stated(const char *text)
{
    return text != NULL && text[0] != '\0' ? text : "not stated";
}

static void fill_text(struct field *field, const char *name, const char *text)
{
    field->name = name;
    (void)snprintf(field->value, sizeof field->value, "%.250s", stated(text));
}

static void fill_figure(struct field *field, const char *name, enum figure figure, const struct figure_units *units,
                        struct quantity si)
{
    field->name = name;
    (void)figure_text(figure, units, si, field->value);
    if (!si.known) {
        (void)text_put(field->value, sizeof field->value, "not stated");
    }
}

/* "415 V, 3-phase, 50 Hz", of what is stated. */
static void fill_supply(struct field *field, const struct model *model)
{
    size_t used = 0;
    fill_text(field, "rated supply", NULL);
    const struct {
        struct quantity value;
        const char *unit;
    } parts[] = {{model->rated_voltage_v, " V"}, {model->phases, "-phase"}, {model->rated_frequency_hz, " Hz"}};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        if (parts[i].value.known) {
            int length = snprintf(field->value + used, sizeof field->value - used, "%s%.0f%s", used > 0 ? ", " : "",
                                  parts[i].value.value, parts[i].unit);
            used += length > 0 ? (size_t)length : 0;
        }
    }
}

static void fill_build(struct field *field, const struct model *model)
{
    int used = 0;
    fill_text(field, "stages, bore", NULL);
    if (model->stages.known) {
        used = snprintf(field->value, sizeof field->value, "%.0f", model->stages.value);
    }
    if (model->nominal_bore_m.known) {
        (void)snprintf(field->value + used, sizeof field->value - (size_t)used, "%s%.0f mm", used > 0 ? ", " : "",
                       model->nominal_bore_m.value * 1000.0);
    }
}

static void fill_grade(struct field *field, const struct result *result)
{
    const struct duty *duty = result->duty_count > 0 ? result->duties[0].duty : NULL;
    const struct grade *grade = duty == NULL ? NULL : duty->grade;
    fill_text(field, "grade", duty == NULL ? NULL : duty->grade_name);
    if (grade != NULL) {
        (void)snprintf(field->value, sizeof field->value, "%.80s, %.120s", grade->name, grade->standard);
    }
}

static void fill_points(struct field *field, const struct result *result)
{
    size_t fitted = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        fitted += result->points[i].fitted;
    }
    field->name = "points";
    (void)snprintf(field->value, sizeof field->value, "%zu, %zu fitted; %s", result->point_count, fitted,
                   log_kind_name(result->kind));
}

static void put_field(struct paper *paper, const struct field *field, size_t column, size_t row)
{
    static const double starts_mm[IDENTITY_COLUMNS] = {14.0, 72.0, 129.0}, name_mm = 19.0, width_mm = 55.0;
    double y_mm = 29.5 + 3.7 * (double)row;
    page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, starts_mm[column], y_mm, 0.0, field->name);
    page_put(&paper->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, starts_mm[column] + name_mm, y_mm,
             column + 1 == IDENTITY_COLUMNS ? right_mm - starts_mm[column] - name_mm : width_mm - name_mm,
             field->value);
}

/* Returns: the y below the block, mm. */
static double put_identity(struct paper *paper)
{
    static const struct model no_model = {0};
    const struct result *result = paper->result;
    const struct model *model = result->model != NULL ? result->model : &no_model;
    struct field fields[IDENTITY_COLUMNS][IDENTITY_ROWS];
    fields[0][0].name = "tested";
    (void)figure_date(&result->tested, fields[0][0].value);
    fill_text(&fields[0][1], "tested by", result->tester);
    fill_text(&fields[0][2], "test bay", result->bay->rig.name);
    fill_text(&fields[0][3], "calibration", calibration_name(result->calibration));
    fill_text(&fields[0][4], "remarks", result->remarks[0] != '\0' ? result->remarks : "none");
    fill_build(&fields[1][0], model);
    fill_figure(&fields[1][1], "rated power", FIGURE_RATED_POWER, &paper->units, model->rated_power_w);
    fill_supply(&fields[1][2], model);
    fill_figure(&fields[1][3], "rated current", FIGURE_CURRENT, &paper->units, model->rated_current_a);
    fill_figure(&fields[1][4], "rated speed", FIGURE_SPEED, &paper->units, model->rated_speed_rpm);
    fill_grade(&fields[2][0], result);
    fill_text(&fields[2][1], "motor", model->motor_name);
    fill_text(&fields[2][2], "speed basis", speed_basis_name(result->basis));
    fill_text(&fields[2][3], "flow by", flow_method_text(result->bay->rig.flow_method));
    fill_points(&fields[2][4], result);
    for (size_t column = 0; column < IDENTITY_COLUMNS; column++) {
        for (size_t row = 0; row < IDENTITY_ROWS; row++) {
            put_field(paper, &fields[column][row], column, row);
        }
    }
    return 29.5 + 3.7 * IDENTITY_ROWS;
}

/* --- foot of the page --- */

static void put_footer(struct paper *paper)
{
    const struct result *result = paper->result;
    char text[512];
    page_rule(&paper->page, PEN_PALE, left_mm, footer_mm - 2.4, right_mm, footer_mm - 2.4);
    (void)snprintf(text, sizeof text, "SHA-256 %s of log %.200s", result->log.sha256, file_base(result->log.file));
    page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, left_mm, footer_mm, 143.0, text);
    page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_RIGHT, right_mm, footer_mm, 0.0,
             "dutyproof " DUTYPROOF_VERSION " · page 1 of 1");
}

/* Returns: the y above the lines, mm. */
static double put_signatures(struct paper *paper)
{
    static const char *const roles[] = {"tested by", "checked by", "approved"};
    double line_mm = footer_mm - 9.0, width_mm = 54.0;
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        double x_mm = left_mm + (double)i * 64.0;
        char text[96];
        page_rule(&paper->page, PEN_THIN, x_mm, line_mm, x_mm + width_mm, line_mm);
        (void)snprintf(text, sizeof text, "%s: name, signature, date", roles[i]);
        page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, x_mm, line_mm + 2.2, 0.0, text);
    }
    return line_mm - 11.0;
}

/* The usual cautions of a test bay (common practice, no source). Returns: the y above them, mm. */
static double put_safety(struct paper *paper, double bottom_mm)
{
    static const char text[] =
        "Safety: pipework is under pressure, terminals are live: vent, isolate, lock off, prove dead. "
        "Never run the set dry. Lift with rated gear only. Local codes and licensed persons come first.";
    size_t lines = page_wrap_lines(&paper->page, right_mm - left_mm, 3, text);
    double top_mm = bottom_mm - (double)lines * TEXT_LEADING_MM;
    (void)page_wrap(&paper->page, INK_GREY, left_mm, top_mm + 0.5 * TEXT_LEADING_MM, right_mm - left_mm, lines, text);
    return top_mm;
}

/* --- notes --- */

static const double note_mm = 18.0;

static size_t note_lines(struct paper *paper, const struct note *note, size_t lines)
{
    return page_wrap_lines(&paper->page, right_mm - left_mm - note_mm, lines, note->text);
}

static const char *note_word(enum note_kind kind)
{
    return kind == NOTE_CAUTION ? "▲ caution" : kind == NOTE_LOOK_HERE ? "▶ look here" : "· input";
}

/* Which notes there is room for: at most two lines each, cautions first, then where to look, then remarks on the input.
 */
struct chosen {
    size_t count, lines, left_out;
    const struct note *notes[NOTE_LINES_MAX];
    size_t note_lines[NOTE_LINES_MAX];
};

static void choose_notes(struct paper *paper, struct chosen *chosen)
{
    const struct notes *notes = &paper->result->notes;
    for (int kind = NOTE_CAUTION; kind <= NOTE_INPUT; kind++) {
        for (size_t i = 0; i < notes->count; i++) {
            if ((int)notes->items[i].kind != kind) {
                continue;
            }
            size_t room = NOTE_LINES_MAX - 1 - chosen->lines, lines = note_lines(paper, &notes->items[i], 2);
            if (lines > room) {
                chosen->left_out++;
                continue;
            }
            chosen->notes[chosen->count] = &notes->items[i];
            chosen->note_lines[chosen->count++] = lines;
            chosen->lines += lines;
        }
    }
}

/* Puts the notes with their last line at bottom_mm. Returns: the y above them, mm. */
static double put_notes(struct paper *paper, double bottom_mm)
{
    struct chosen chosen = {0};
    struct page *page = &paper->page;
    double leading_mm = TEXT_LEADING_MM;
    choose_notes(paper, &chosen);
    size_t lines = chosen.lines + (chosen.left_out > 0);
    if (lines == 0) {
        return bottom_mm;
    }
    double top_mm = bottom_mm - (double)lines * leading_mm, y_mm = top_mm + 0.5 * leading_mm;
    page_rule(page, PEN_PALE, left_mm, top_mm - 0.8, right_mm, top_mm - 0.8);
    for (size_t i = 0; i < chosen.count; i++) {
        page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, left_mm, y_mm, 0.0, note_word(chosen.notes[i]->kind));
        (void)page_wrap(page, INK_BLACK, left_mm + note_mm, y_mm, right_mm - left_mm - note_mm, chosen.note_lines[i],
                        chosen.notes[i]->text);
        y_mm += (double)chosen.note_lines[i] * leading_mm;
    }
    if (chosen.left_out > 0) {
        char text[96];
        (void)snprintf(text, sizeof text, "... and %zu more, see result.json", chosen.left_out);
        page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, left_mm + note_mm, y_mm, 0.0, text);
    }
    return top_mm - 0.8;
}

/* --- the sheet --- */

void render_sheet_script(const struct result *result, const char *pdf_name, FILE *to)
{
    struct paper paper = {.result = result, .units = figure_units_of(result->model)};
    put_title(&paper);
    double top_mm = paper_checks(&paper, left_mm, right_mm, put_identity(&paper) + 1.0) + 1.0;
    put_footer(&paper);
    double bottom_mm = put_notes(&paper, put_safety(&paper, put_signatures(&paper)) - 1.5) - gap_mm;
    double charts_mm = bottom_mm - top_mm > charts_tallest_mm ? top_mm + charts_tallest_mm : bottom_mm;
    paper_facts(&paper, (struct area){facts_left_mm, top_mm, right_mm, charts_mm});
    paper_charts(&paper, (struct area){left_mm, top_mm, charts_right_mm, charts_mm});
    page_write_terminal(to);
    (void)fputs("set output ", to);
    script_text(to, pdf_name);
    (void)fputc('\n', to);
    page_write(&paper.page, to);
    (void)fputs(paper.page.failed ? "exit error 'out of memory while the sheet was laid out'\n" : "", to);
    (void)fputs("unset output\n", to);
    page_release(&paper.page);
}
