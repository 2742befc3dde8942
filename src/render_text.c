#include "dutyproof/figures.h"
#include "dutyproof/files.h"
#include "dutyproof/label_words.h"
#include "dutyproof/layout.h"
#include "dutyproof/render.h"
#include "dutyproof/text.h"

#include <string.h>

/* The sheet under way. Memory that runs out anywhere is told once, at the end. */
struct text_page {
    const struct result *result;
    struct figure_units units;
    struct arena arena; /* shortened texts and cells, gone with the sheet */
    bool colour, failed;
    FILE *to;
};

/* A column of the points tables: a quantity of struct point. */
struct sheet_column {
    const char *heading;
    enum figure figure;
    size_t at;
};

enum style { STYLE_PLAIN, STYLE_STRONG, STYLE_GOOD, STYLE_BAD, STYLE_UNSURE };

static void style(const struct text_page *page, enum style style)
{
    static const char *const codes[] = {"\033[0m", "\033[1m", "\033[1;32m", "\033[1;31m", "\033[1;33m"};
    (void)fputs(page->colour ? codes[style] : "", page->to);
}

static void heading(const struct text_page *page, const char *text)
{
    (void)fputc('\n', page->to);
    style(page, STYLE_STRONG);
    (void)fputs(text, page->to);
    style(page, STYLE_PLAIN);
    (void)fputc('\n', page->to);
}

/* Text of unknown origin, safe to show and no longer than it has room for. */
static const char *shown(struct text_page *page, const char *text, size_t longest)
{
    const char *safe = text_shown(&page->arena, text, longest);
    if (safe == NULL) {
        page->failed = true;
        return "";
    }
    return safe;
}

static void print_grid(struct text_page *page, const struct grid *grid)
{
    if (grid_print(grid, page->colour, page->to) != OK) {
        page->failed = true;
    }
}

static void print_verdict(struct text_page *page)
{
    const struct result *result = page->result;
    char upper[64];
    size_t length = 0;
    for (const char *c = result_verdict_text(result); *c != '\0' && length + 1 < sizeof upper; c++) {
        upper[length++] = (char)(*c >= 'a' && *c <= 'z' ? *c - 'a' + 'A' : *c);
    }
    upper[length] = '\0';
    enum style mark = result->verdict == VERDICT_PASS   ? STYLE_GOOD
                      : result->verdict == VERDICT_FAIL ? STYLE_BAD
                                                        : STYLE_UNSURE;
    style(page, result->verdict == VERDICT_PASS && result->calibration == CALIBRATION_OVERDUE ? STYLE_UNSURE : mark);
    (void)fputs(upper, page->to);
    style(page, STYLE_PLAIN);
    const char *model = result->model != NULL ? result->model->name : "not stated";
    (void)fprintf(page->to, "  unit %s, model %s\n\n", shown(page, result->serial, 30), shown(page, model, 30));
}

static void print_field(struct text_page *page, const char *label, const char *text)
{
    if (text[0] != '\0') {
        char indented[32];
        (void)snprintf(indented, sizeof indented, "  %s", label);
        paragraph_print(indented, shown(page, text, 300), 16, page->to);
    }
}

/* Gravity and density, and where they come from: what is stated is printed as stated. */
static void print_site(struct text_page *page)
{
    const struct site *site = &page->result->site;
    struct quantity density = page->result->bay->rig.water_density_kg_m3;
    char number[FIGURE_TEXT], text[160];
    const char *from = site->gravity_stated    ? "as stated"
                       : site->gravity_assumed ? "standard gravity, the site is not stated"
                                               : "from latitude and altitude";
    (void)snprintf(text, sizeof text, "%s, %s",
                   figure_text(FIGURE_GRAVITY, &page->units, quantity_of(site->gravity_m_s2), number), from);
    print_field(page, "gravity", text);
    if (density.known) {
        (void)snprintf(text, sizeof text, "%s, as stated", figure_text(FIGURE_DENSITY, &page->units, density, number));
        print_field(page, "density", text);
    }
}

static void print_identity(struct text_page *page)
{
    const struct result *result = page->result;
    char date[FIGURE_TEXT], text[400];
    print_field(page, "tested", result->tested.known ? figure_date(&result->tested, date) : "not stated");
    print_field(page, "tester", result->tester);
    print_field(page, "bay", result->bay->rig.name != NULL ? result->bay->rig.name : "");
    (void)snprintf(text, sizeof text, "%.200s, %s, %zu rows", file_base(result->log.file), log_kind_name(result->kind),
                   result->log.rows);
    print_field(page, "log", text);
    print_field(page, "SHA-256", result->log.sha256);
    print_site(page);
    print_field(page, "speed by", speed_basis_name(result->basis));
    print_field(page, "calibration", calibration_name(result->calibration));
    print_field(page, "remarks", result->remarks);
}

static void print_guarantee(struct text_page *page, size_t number, const struct duty *duty)
{
    char flow[FIGURE_TEXT], head[FIGURE_TEXT], efficiency[FIGURE_TEXT], power[FIGURE_TEXT], text[400];
    int used = snprintf(text, sizeof text, "flow and head not stated");
    if (duty->flow_m3s.known || duty->head_m.known) {
        used = snprintf(text, sizeof text, "%s at %s", figure_text(FIGURE_FLOW, &page->units, duty->flow_m3s, flow),
                        figure_text(FIGURE_HEAD, &page->units, duty->head_m, head));
    }
    if (duty->efficiency.known) {
        used += snprintf(text + used, sizeof text - (size_t)used, ", %s efficiency %s",
                         duty->efficiency_of_pump ? "pump" : "set",
                         figure_text(FIGURE_EFFICIENCY, &page->units, duty->efficiency, efficiency));
    }
    if (duty->input_power_w.known) {
        used += snprintf(text + used, sizeof text - (size_t)used, ", input power %s",
                         figure_text(FIGURE_POWER, &page->units, duty->input_power_w, power));
    }
    if (duty->grade != NULL) {
        (void)snprintf(text + used, sizeof text - (size_t)used, "; grade %.40s of %.60s", duty->grade->name,
                       duty->grade->standard);
    }
    char label[64];
    (void)snprintf(label, sizeof label, "Guaranteed point %zu: ", number);
    (void)fputc('\n', page->to);
    style(page, STYLE_STRONG);
    paragraph_print(label, text, 2, page->to);
    style(page, STYLE_PLAIN);
}

static void print_check_grid(struct text_page *page, const struct duty_result *duty)
{
    struct grid grid = {.arena = &page->arena, .columns = "llrrlrr"};
    static const char *const headings[] = {"check", "verdict", "measured", "limits", "", "margin", "conformity"};
    bool probable = false;
    char probability[FIGURE_TEXT];
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (size_t i = 0; i < duty->check_count; i++) {
        const struct check *check = &duty->checks[i];
        struct check_figures figures;
        check_figures_of(check, &page->units, &figures);
        grid_add(&grid, check->name);
        grid_add(&grid, verdict_name(check->verdict));
        grid_add(&grid, figures.value);
        grid_add(&grid, figures.limits);
        grid_add(&grid, figures.unit);
        grid_add(&grid, figures.margin);
        grid_add(&grid, figure_text(FIGURE_PROBABILITY, &page->units, check->conformity_probability, probability));
        probable = probable || check->conformity_probability.known;
    }
    print_grid(page, &grid);
    if (probable) {
        paragraph_print("  conformity: ",
                        "probability that the true value conforms (JCGM 106), beside the verdict and not in its place",
                        4, page->to);
    }
}

/* Where a check is read, by which source its limits are, or why it is not judged. */
static void print_check_words(struct text_page *page, const struct check *check)
{
    char label[96], text[1200];
    int used = snprintf(text, sizeof text, "%.200s", check->where != NULL ? check->where : "");
    if (check->reason != NULL) {
        used += snprintf(text + used, sizeof text - (size_t)used, "%snot judged: %.400s", used > 0 ? "; " : "",
                         check->reason);
    }
    if (check->source != NULL && check->source[0] != '\0') {
        (void)snprintf(text + used, sizeof text - (size_t)used, "%slimits by %.400s", used > 0 ? "; " : "",
                       check->source);
    }
    if (text[0] != '\0') {
        (void)snprintf(label, sizeof label, "  %s: ", check->name);
        paragraph_print(label, shown(page, text, sizeof text), 4, page->to);
    }
}

/* What the curves say at the guaranteed flow and head, with its uncertainty. */
static void print_readings(struct text_page *page, const struct duty_result *duty)
{
    struct grid grid = {.arena = &page->arena, .columns = "lrrrrrr"};
    const struct figure_units *units = &page->units;
    char text[FIGURE_TEXT];
    static const char *const headings[] = {"on the curves", "flow",      "head",   "input power",
                                           "set eff.",      "pump eff.", "current"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    grid_add(&grid, "at guaranteed flow");
    grid_add(&grid, figure_text(FIGURE_FLOW, units, duty->duty->flow_m3s, text));
    grid_add(&grid, figure_text(FIGURE_HEAD, units, duty->at_guaranteed_flow.head_m, text));
    grid_add(&grid, figure_text(FIGURE_POWER, units, duty->at_guaranteed_flow.input_power_w, text));
    grid_add(&grid, figure_text(FIGURE_EFFICIENCY, units, duty->at_guaranteed_flow.set_efficiency, text));
    grid_add(&grid, figure_text(FIGURE_EFFICIENCY, units, duty->at_guaranteed_flow.pump_efficiency, text));
    grid_add(&grid, figure_text(FIGURE_CURRENT, units, duty->at_guaranteed_flow.current_a, text));
    grid_add(&grid, "uncertainty, 95 %, ±");
    grid_add(&grid, "");
    grid_add(&grid, figure_text(FIGURE_HEAD, units, duty->uncertainty.head_m, text));
    grid_add(&grid, "");
    grid_add(&grid, figure_text(FIGURE_UNCERTAINTY, units, duty->uncertainty.set_efficiency, text));
    grid_add(&grid, "");
    grid_add(&grid, "");
    grid_add(&grid, "at guaranteed head");
    grid_add(&grid, figure_text(FIGURE_FLOW, units, duty->at_guaranteed_head.flow_m3s, text));
    grid_add(&grid, figure_text(FIGURE_HEAD, units, duty->duty->head_m, text));
    for (int i = 0; i < 4; i++) {
        grid_add(&grid, "");
    }
    grid_add(&grid, "on the duty line");
    grid_add(&grid, figure_text(FIGURE_FLOW, units, duty->on_duty_line.flow_m3s, text));
    grid_add(&grid, figure_text(FIGURE_HEAD, units, duty->on_duty_line.head_m, text));
    grid_add(&grid, figure_text(FIGURE_POWER, units, duty->on_duty_line.input_power_w, text));
    grid_add(&grid, figure_text(FIGURE_EFFICIENCY, units, duty->on_duty_line.set_efficiency, text));
    grid_add(&grid, figure_text(FIGURE_EFFICIENCY, units, duty->on_duty_line.pump_efficiency, text));
    grid_add(&grid, "");
    print_grid(page, &grid);
}

static void print_duty(struct text_page *page, size_t number, const struct duty_result *duty)
{
    print_guarantee(page, number, duty->duty);
    if (duty->check_count > 0) {
        print_check_grid(page, duty);
    }
    if (duty->at_guaranteed_flow.head_m.known || duty->on_duty_line.flow_m3s.known) {
        (void)fputc('\n', page->to);
        print_readings(page, duty);
        (void)fputc('\n', page->to);
    }
    for (size_t i = 0; i < duty->check_count; i++) {
        print_check_words(page, &duty->checks[i]);
    }
    if (duty->not_stated != NULL && duty->not_stated[0] != '\0') {
        paragraph_print("  not stated, so not checked: ", shown(page, duty->not_stated, 200), 4, page->to);
    }
}

#define AT(member) offsetof(struct point, member)

static const struct sheet_column as_tested_columns[] = {
    {"flow", FIGURE_FLOW, AT(as_tested.flow_m3s)},
    {"head", FIGURE_HEAD, AT(as_tested.head_m)},
    {"input", FIGURE_POWER, AT(as_tested.input_power_w)},
    {"set eff.", FIGURE_EFFICIENCY, AT(as_tested.set_efficiency)},
    {"voltage", FIGURE_VOLTAGE, AT(as_tested.voltage_v)},
    {"current", FIGURE_CURRENT, AT(as_tested.current_a)},
    {"pf", FIGURE_POWER_FACTOR, AT(as_tested.power_factor)},
    {"freq.", FIGURE_FREQUENCY, AT(as_tested.frequency_hz)},
    {"speed", FIGURE_SPEED, AT(as_tested.speed_rpm)},
    {"water", FIGURE_TEMPERATURE, AT(as_tested.water_temperature_c)},
};
static const struct sheet_column at_rated_columns[] = {
    {"flow", FIGURE_FLOW, AT(at_rated.flow_m3s)},
    {"head", FIGURE_HEAD, AT(at_rated.head_m)},
    {"input", FIGURE_POWER, AT(at_rated.input_power_w)},
    {"shaft", FIGURE_POWER, AT(at_rated.shaft_power_w)},
    {"set eff.", FIGURE_EFFICIENCY, AT(at_rated.set_efficiency)},
    {"pump eff.", FIGURE_EFFICIENCY, AT(at_rated.pump_efficiency)},
    {"flow ±", FIGURE_UNCERTAINTY, AT(uncertainty.flow)},
    {"head ±", FIGURE_UNCERTAINTY, AT(uncertainty.head)},
    {"input ±", FIGURE_UNCERTAINTY, AT(uncertainty.input_power)},
    {"eff. ±", FIGURE_UNCERTAINTY, AT(uncertainty.set_efficiency)},
};

/* "1", with a mark where the point is not in the curves. */
static void add_point_number(struct grid *grid, const struct point *point)
{
    grid_addf(grid, "%d%s", point->settled->number, point->fitted ? "" : "*");
}

static void print_points(struct text_page *page, const char *title, const struct sheet_column *columns, size_t count)
{
    const struct result *result = page->result;
    struct grid grid = {.arena = &page->arena, .columns = "rrrrrrrrrrrr", .heading_rows = 2};
    grid.columns += strlen(grid.columns) - (count + 2);
    heading(page, title);
    grid_add(&grid, "point");
    grid_add(&grid, "n");
    for (size_t c = 0; c < count; c++) {
        grid_add(&grid, columns[c].heading);
    }
    grid_add(&grid, "");
    grid_add(&grid, "");
    for (size_t c = 0; c < count; c++) {
        grid_add(&grid, figure_unit_name(columns[c].figure, &page->units));
    }
    for (size_t i = 0; i < result->point_count; i++) {
        const struct point *point = &result->points[i];
        add_point_number(&grid, point);
        grid_addf(&grid, "%zu", point->settled->readings);
        for (size_t c = 0; c < count; c++) {
            struct quantity q;
            char number[FIGURE_TEXT];
            memcpy(&q, (const char *)point + columns[c].at, sizeof q);
            grid_add(&grid, figure_number(columns[c].figure, &page->units, q, number));
        }
    }
    print_grid(page, &grid);
}

/* Why a point is not in the curves. */
static void print_point_marks(struct text_page *page)
{
    for (size_t i = 0; i < page->result->point_count; i++) {
        const struct point *point = &page->result->points[i];
        const char *why = !point->settled->steady ? point->settled->why_unsteady : point->why_not_fitted;
        if (!point->fitted) {
            char label[64];
            (void)snprintf(label, sizeof label, "  * point %d is not in the curves: ", point->settled->number);
            paragraph_print(label, shown(page, why != NULL ? why : "no reason stated", 300), 4, page->to);
        }
    }
}

static void print_best(struct text_page *page)
{
    const struct best_efficiency *best = &page->result->best;
    if (!page->result->best_known) {
        return;
    }
    char efficiency[FIGURE_TEXT], flow[FIGURE_TEXT], head[FIGURE_TEXT], text[400];
    (void)snprintf(text, sizeof text, "%s at %s and %s%s",
                   figure_text(FIGURE_EFFICIENCY, &page->units, quantity_of(best->set_efficiency), efficiency),
                   figure_text(FIGURE_FLOW, &page->units, quantity_of(best->flow_m3s), flow),
                   figure_text(FIGURE_HEAD, &page->units, quantity_of(best->head_m), head),
                   best->at_end ? " (at an end of the tested flows: the best may lie beyond)" : "");
    (void)fputc('\n', page->to);
    paragraph_print("Best set efficiency: ", text, 2, page->to);
}

/* What the uncertainty of the set efficiency is made of: which instrument to buy next. */
static void print_shares(struct text_page *page)
{
    const struct duty_uncertainty *uncertainty = &page->result->uncertainties[0];
    char list[SHARES_KEPT * (SHARE_TEXT + 16)] = "", name[SHARE_TEXT], share[FIGURE_TEXT];
    size_t used = 0;
    for (size_t i = 0; i < uncertainty->share_count && uncertainty->shares[i].share >= 0.005; i++) {
        struct quantity part = quantity_of(uncertainty->shares[i].share);
        int length = snprintf(list + used, sizeof list - used, "%s%s %s", used > 0 ? "; " : "",
                              share_text(&uncertainty->shares[i], name),
                              figure_text(FIGURE_PROBABILITY, &page->units, part, share));
        used += length > 0 ? (size_t)length : 0;
    }
    if (used > 0) {
        paragraph_print("  uncertainty of set efficiency is made of (variance): ", list, 4, page->to);
    }
}

static void print_conformity(struct text_page *page)
{
    const struct result *result = page->result;
    char p[FIGURE_TEXT], asked[FIGURE_TEXT], head[FIGURE_TEXT], efficiency[FIGURE_TEXT], text[400];
    if (result->uncertainties == NULL || result->duty_count == 0 || !result->uncertainties[0].known[NUMBER_HEAD]) {
        return;
    }
    (void)fputc('\n', page->to);
    heading(page, "How sure, at the first guaranteed point");
    print_shares(page);
    if (result->conformity_probability.known) {
        (void)snprintf(text, sizeof text, "%s",
                       figure_text(FIGURE_PROBABILITY, &page->units, result->conformity_probability, p));
        paragraph_print("  probability that the unit conforms to every check: ", text, 4, page->to);
    }
    if (result->guard.asked.known) {
        (void)snprintf(text, sizeof text, "%s with at least %s",
                       !result->guard.answered ? "cannot be told whether it conforms"
                                               : (result->guard.conforms ? "conforms" : "does not conform"),
                       figure_text(FIGURE_PROBABILITY, &page->units, result->guard.asked, asked));
        paragraph_print("  guarded acceptance: ", text, 4, page->to);
    }
    if (result->monte_carlo.trials > 0) {
        (void)snprintf(text, sizeof text, "%zu trials: head ± %s, set efficiency ± %s points, pass in %s of them",
                       result->monte_carlo.trials,
                       figure_text(FIGURE_HEAD, &page->units, result->monte_carlo.head_m, head),
                       figure_text(FIGURE_UNCERTAINTY, &page->units, result->monte_carlo.set_efficiency, efficiency),
                       figure_text(FIGURE_PROBABILITY, &page->units, result->monte_carlo.conformity_probability, p));
        paragraph_print("  Monte Carlo (JCGM 101): ", text, 4, page->to);
    }
}

/* One line of the label's block. */
static void print_label_line(struct text_page *page, const char *text)
{
    if (text != NULL && text[0] != '\0') {
        paragraph_print("  ", shown(page, text, 600), 4, page->to);
    }
}

static void print_label(struct text_page *page)
{
    const struct label_result *label = &page->result->label;
    char title[128], text[LABEL_TEXT], index[FIGURE_TEXT];
    if (label->scheme == NULL) {
        return;
    }
    (void)snprintf(title, sizeof title, "Label by %.80s: ", label->scheme);
    (void)fputc('\n', page->to);
    paragraph_print(shown(page, title, 90), shown(page, label_class_text(label, text), 500), 2, page->to);
    if (!label->known) {
        return;
    }
    (void)snprintf(text, sizeof text, "index %s from %.200s, %.2f %%", label_index_text(label, index),
                   label->efficiency_name, label->measured.value * 100.0);
    print_label_line(page, text);
    print_label_line(page, label_margin_text(&label->here, quantity_absent(), text));
    print_label_line(page, label_margin_text(&label->next, quantity_absent(), text));
    print_label_line(page, label->period);
    for (size_t i = 0; i < label->note_count; i++) {
        print_label_line(page, label->notes[i]);
    }
    (void)snprintf(text, sizeof text, "source: %.400s", label->source);
    print_label_line(page, text);
}

/* The verdict of the routine results is their own: that of the unit is of its performance. */
static void print_routine(struct text_page *page)
{
    const struct routine_result *routine = &page->result->routine;
    struct grid grid = {.arena = &page->arena, .columns = "llrrl"};
    static const char *const headings[] = {"check", "verdict", "result", "limits", ""};
    char title[128], date[FIGURE_TEXT];
    if (routine->row == NULL) {
        return;
    }
    (void)snprintf(title, sizeof title, "Routine results, %s: %s",
                   routine->row->tested.known ? figure_date(&routine->row->tested, date) : "not dated",
                   verdict_name(routine->verdict));
    heading(page, title);
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (size_t i = 0; i < routine->check_count; i++) {
        struct routine_figures figures;
        routine_figures_of(&routine->checks[i], &figures);
        grid_add(&grid, routine->checks[i].name);
        grid_add(&grid, verdict_name(routine->checks[i].verdict));
        grid_add(&grid, figures.value);
        grid_add(&grid, figures.limits);
        grid_add(&grid, figures.unit);
    }
    print_grid(page, &grid);
    for (size_t i = 0; i < routine->check_count; i++) {
        const struct routine_check *check = &routine->checks[i];
        char label[96], text[800];
        (void)snprintf(text, sizeof text, "%.400s%s%.200s%s%.100s", check->detail,
                       check->detail[0] != '\0' && check->reason != NULL ? "; " : "",
                       check->reason != NULL ? check->reason : "", check->source[0] != '\0' ? "; by " : "",
                       check->source);
        (void)snprintf(label, sizeof label, "  %s: ", check->name);
        if (text[0] != '\0') {
            paragraph_print(label, shown(page, text, sizeof text), 4, page->to);
        }
    }
}

static void print_notes(struct text_page *page, enum note_kind kind, const char *title)
{
    const struct notes *notes = &page->result->notes;
    bool titled = false;
    for (size_t i = 0; i < notes->count; i++) {
        if (notes->items[i].kind != kind) {
            continue;
        }
        if (!titled) {
            heading(page, title);
            titled = true;
        }
        paragraph_print("  - ", shown(page, notes->items[i].text, 1000), 4, page->to);
    }
}

static void add_text(struct grid *grid, const char *text)
{
    grid_add(grid, text != NULL && text[0] != '\0' ? text : "-");
}

/* Only those that this log's readings come from. */
static void print_instruments(struct text_page *page)
{
    const struct result *result = page->result;
    struct grid grid = {.arena = &page->arena, .columns = "llrlllll"};
    static const char *const headings[] = {"channel", "instrument", "accuracy", "of",
                                           "",        "calibrated", "due",      "certificate"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        const struct instrument *instrument = &result->bay->instruments[i];
        char text[FIGURE_TEXT];
        if (!result_uses_instrument(result, instrument)) {
            continue;
        }
        grid_add(&grid, channel_info(instrument->channel)->name);
        add_text(&grid, instrument->serial);
        grid_add(&grid, figure_text(FIGURE_UNCERTAINTY, &page->units, instrument->accuracy, text));
        grid_add(&grid, !instrument->accuracy.known              ? "-"
                        : instrument->basis == ACCURACY_OF_RANGE ? "range"
                                                                 : "reading");
        grid_add(&grid, "");
        grid_add(&grid, figure_date(&instrument->calibrated, text));
        grid_add(&grid, figure_date(&instrument->due, text));
        add_text(&grid, instrument->certificate);
    }
    if (grid.count > sizeof headings / sizeof headings[0]) {
        heading(page, "Instruments");
        print_grid(page, &grid);
    }
}

enum status render_sheet_text(const struct result *result, bool colour, FILE *to)
{
    struct text_page page = {.result = result, .units = figure_units_of(result->model), .colour = colour, .to = to};
    print_verdict(&page);
    print_identity(&page);
    for (size_t i = 0; i < result->duty_count; i++) {
        print_duty(&page, i + 1, &result->duties[i]);
    }
    print_points(&page, "As tested", as_tested_columns, sizeof as_tested_columns / sizeof as_tested_columns[0]);
    print_points(&page, "At rated speed, with relative uncertainty (95 %)", at_rated_columns,
                 sizeof at_rated_columns / sizeof at_rated_columns[0]);
    print_point_marks(&page);
    print_best(&page);
    print_conformity(&page);
    print_label(&page);
    print_routine(&page);
    print_notes(&page, NOTE_CAUTION, "Cautions");
    print_notes(&page, NOTE_LOOK_HERE, "Look here (rules of thumb)");
    print_notes(&page, NOTE_INPUT, "Remarks on the input");
    print_instruments(&page);
    bool failed = page.failed;
    arena_release(&page.arena);
    return failed ? E_MEMORY : OK;
}
