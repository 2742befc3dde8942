#include "dutyproof/label_words.h"
#include "paper.h"

#include <math.h>
#include <string.h>

static const double heading_gap_mm = 1.6;

/* The column under way: it fills from the top and drops what has no room. */
struct column {
    struct paper *paper;
    struct area area;
    double y_mm;
};

static void heading(struct column *column, const char *text)
{
    struct page *page = &column->paper->page;
    column->y_mm += heading_gap_mm;
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, column->area.left_mm, column->y_mm, 0.0, text);
    double rule_mm = column->y_mm + 0.55 * TEXT_LEADING_MM;
    page_rule(page, PEN_THIN, column->area.left_mm, rule_mm, column->area.right_mm, rule_mm);
    column->y_mm += 1.15 * TEXT_LEADING_MM;
}

static bool has_room(const struct column *column, size_t lines)
{
    return column->y_mm + (double)lines * TEXT_LEADING_MM <= column->area.bottom_mm;
}

/* A name at the left, a value at the right. */
static void fact(struct column *column, const char *name, const char *value)
{
    struct page *page = &column->paper->page;
    double width_mm = column->area.right_mm - column->area.left_mm, name_mm = text_width_mm(TYPE_TEXT, name);
    page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, column->area.left_mm, column->y_mm, 0.0, name);
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, column->area.right_mm, column->y_mm, width_mm - name_mm - 2.0,
             value);
    column->y_mm += TEXT_LEADING_MM;
}

static void fact_figure(struct column *column, const char *name, enum figure figure, struct quantity si)
{
    char text[FIGURE_TEXT];
    if (si.known) {
        fact(column, name, figure_text(figure, &column->paper->units, si, text));
    }
}

/* The range that a quantity has over the points of the test; {false} when no point has it. */
struct span {
    bool known;
    double low, high;
};

static void span_add(struct span *span, struct quantity value)
{
    if (value.known) {
        span->low = !span->known || value.value < span->low ? value.value : span->low;
        span->high = !span->known || value.value > span->high ? value.value : span->high;
        span->known = true;
    }
}

static void fact_span(struct column *column, const char *name, enum figure figure, const struct span *span,
                      const char *how)
{
    char low[FIGURE_TEXT], high[FIGURE_TEXT], text[3 * FIGURE_TEXT];
    const struct figure_units *units = &column->paper->units;
    if (!span->known) {
        return;
    }
    (void)figure_number(figure, units, quantity_of(span->low), low);
    (void)figure_text(figure, units, quantity_of(span->high), high);
    bool one = strncmp(low, high, strlen(low)) == 0 && high[strlen(low)] == ' ';
    (void)snprintf(text, sizeof text, "%s%s%s%s", one ? "" : low, one ? "" : " to ", high, how);
    fact(column, name, text);
}

static void put_site(struct column *column)
{
    const struct result *result = column->paper->result;
    const struct site *site = &result->site;
    struct span temperature = {0}, density = {0};
    char number[FIGURE_TEXT], text[2 * FIGURE_TEXT];
    for (size_t i = 0; i < result->point_count; i++) {
        span_add(&temperature, result->points[i].as_tested.water_temperature_c);
        span_add(&density, result->points[i].as_tested.density_kg_m3);
    }
    heading(column, "Water and site");
    fact_span(column, "temperature", FIGURE_TEMPERATURE, &temperature, "");
    fact_span(column, "density", FIGURE_DENSITY, &density,
              result->bay->rig.water_density_kg_m3.known ? " (stated)" : " (computed)");
    (void)snprintf(text, sizeof text, "%s (%s)",
                   figure_text(FIGURE_GRAVITY, &column->paper->units, quantity_of(site->gravity_m_s2), number),
                   site->gravity_stated    ? "stated"
                   : site->gravity_assumed ? "assumed, standard"
                                           : "computed");
    fact(column, "gravity", text);
    (void)snprintf(text, sizeof text, "%s (%s)",
                   figure_text(FIGURE_AIR_PRESSURE, &column->paper->units, quantity_of(site->air_pressure_pa), number),
                   site->air_pressure_stated ? "stated" : "computed");
    fact(column, "air pressure", text);
}

static void put_best(struct column *column)
{
    const struct best_efficiency *best = &column->paper->result->best;
    if (column->paper->result->best_known && has_room(column, 3)) {
        heading(column, "Best point");
        char efficiency[FIGURE_TEXT], flow[FIGURE_TEXT], head[FIGURE_TEXT], text[4 * FIGURE_TEXT];
        const struct figure_units *units = &column->paper->units;
        (void)snprintf(text, sizeof text, "%s at %s, %s",
                       figure_text(FIGURE_EFFICIENCY, units, quantity_of(best->set_efficiency), efficiency),
                       figure_text(FIGURE_FLOW, units, quantity_of(best->flow_m3s), flow),
                       figure_text(FIGURE_HEAD, units, quantity_of(best->head_m), head));
        fact(column, best->at_end ? "at end of range" : "set efficiency", text);
    }
}

static void put_uncertainty(struct column *column)
{
    const struct result *result = column->paper->result;
    const struct duty_result *duty = result->duty_count > 0 ? &result->duties[0] : NULL;
    bool any = duty != NULL && (duty->uncertainty.head_m.known || duty->uncertainty.set_efficiency.known);
    if (!has_room(column, 5)) {
        return;
    }
    heading(column, "Uncertainty (95 %), at duty point 1's flow");
    if (any) {
        char number[FIGURE_TEXT], text[2 * FIGURE_TEXT];
        (void)snprintf(text, sizeof text, "± %s",
                       figure_text(FIGURE_HEAD, &column->paper->units, duty->uncertainty.head_m, number));
        fact(column, "head", duty->uncertainty.head_m.known ? text : "not known");
        (void)snprintf(text, sizeof text, "± %s points",
                       figure_text(FIGURE_EFFICIENCY, &column->paper->units, duty->uncertainty.set_efficiency, number));
        fact(column, "set efficiency", duty->uncertainty.set_efficiency.known ? text : "not known");
    } else {
        fact(column, "not known", "accuracies not stated");
    }
    fact_figure(column, "P(unit conforms)", FIGURE_PROBABILITY, result->conformity_probability);
}

static void put_label(struct column *column)
{
    const struct label_result *label = &column->paper->result->label;
    char index[FIGURE_TEXT], text[LABEL_TEXT];
    if (label->scheme == NULL || !has_room(column, 7)) {
        return;
    }
    heading(column, "Efficiency label");
    fact(column, "scheme", label->scheme);
    const char *word = label->known ? label_class_text(label, text) : label->why != NULL ? label->why : "not known";
    size_t lines = page_wrap(&column->paper->page, label->known ? INK_BLACK : INK_GREY, column->area.left_mm,
                             column->y_mm, column->area.right_mm - column->area.left_mm, 2, word);
    column->y_mm += (double)lines * TEXT_LEADING_MM;
    if (!label->known) {
        return;
    }
    fact(column, "index", label_index_text(label, index));
    fact_figure(column, "measured", FIGURE_EFFICIENCY, label->measured);
    fact_figure(column, "to the next class", FIGURE_EFFICIENCY, label->to_next);
}

static bool is_overdue(const struct result *result, const struct instrument *instrument)
{
    return instrument->due.known && result->tested.known && date_compare_days(&result->tested, &instrument->due) > 0;
}

/* One instrument's channels of one accuracy share an entry. */
static bool same_entry(const struct instrument *a, const struct instrument *b)
{
    return strcmp(a->serial, b->serial) == 0 && a->accuracy.known == b->accuracy.known &&
           (!a->accuracy.known || (a->accuracy.value == b->accuracy.value && a->basis == b->basis)) &&
           a->due.known == b->due.known && (!a->due.known || date_compare_days(&a->due, &b->due) == 0);
}

static bool is_listed(const struct bay *bay, size_t number)
{
    for (size_t i = 0; i < number; i++) {
        if (same_entry(&bay->instruments[i], &bay->instruments[number])) {
            return true;
        }
    }
    return false;
}

/* "TB2-104, 0.50 %, due 2025-03-31: voltage, current"; OVERDUE where the test is later than that. */
static void instrument_text(const struct column *column, size_t number, bool overdue, char *text, size_t size)
{
    const struct bay *bay = column->paper->result->bay;
    const struct instrument *instrument = &bay->instruments[number];
    char accuracy[FIGURE_TEXT], due[FIGURE_TEXT];
    (void)figure_text(FIGURE_UNCERTAINTY, &column->paper->units, instrument->accuracy, accuracy);
    int used = snprintf(text, size, "%s%.200s, %s%s, due %s:", overdue ? "✘ OVERDUE " : "",
                        instrument->serial[0] != '\0' ? instrument->serial : "no serial",
                        instrument->accuracy.known ? accuracy : "accuracy not stated",
                        instrument->accuracy.known && instrument->basis == ACCURACY_OF_RANGE ? " of range" : "",
                        instrument->due.known ? figure_date(&instrument->due, due) : "not stated");
    const char *before = " ";
    for (size_t i = number; i < bay->instrument_count && used > 0 && (size_t)used < size; i++) {
        if (same_entry(instrument, &bay->instruments[i])) {
            used += snprintf(text + used, size - (size_t)used, "%s%s", before,
                             channel_info(bay->instruments[i].channel)->name);
            before = ", ";
        }
    }
}

/* Those that are overdue (or, overdue false, those that are not) while there is room. Returns: how many were left out.
 */
static size_t put_instruments_that(struct column *column, bool overdue)
{
    enum { LINES = 4 };
    const struct result *result = column->paper->result;
    double width_mm = column->area.right_mm - column->area.left_mm;
    size_t left_out = 0;
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        char text[1024];
        if (is_overdue(result, &result->bay->instruments[i]) != overdue || is_listed(result->bay, i)) {
            continue;
        }
        instrument_text(column, i, overdue, text, sizeof text);
        size_t lines = page_wrap_lines(&column->paper->page, width_mm, LINES, text);
        if (has_room(column, lines + 1)) {
            (void)page_wrap(&column->paper->page, overdue ? INK_VERMILLION : INK_BLACK, column->area.left_mm,
                            column->y_mm, width_mm, lines, text);
            column->y_mm += (double)lines * TEXT_LEADING_MM;
        } else {
            left_out++;
        }
    }
    return left_out;
}

static void put_instruments(struct column *column)
{
    if (!has_room(column, 4)) {
        return;
    }
    heading(column, "Instruments");
    if (column->paper->result->bay->instrument_count == 0) {
        fact(column, "not stated", "");
    }
    size_t left_out = put_instruments_that(column, true);
    left_out += put_instruments_that(column, false);
    if (left_out > 0) {
        char text[96];
        (void)snprintf(text, sizeof text, "... and %zu more, see result.json", left_out);
        page_put(&column->paper->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, column->area.left_mm, column->y_mm, 0.0, text);
    }
}

static void put_routine_check(struct column *column, const struct routine_check *check)
{
    static const double gap_mm = 1.5;
    struct page *page = &column->paper->page;
    struct routine_figures figures;
    char text[256];
    double left_mm = column->area.left_mm, right_mm = column->area.right_mm;
    bool pass = check->verdict == VERDICT_PASS, fail = check->verdict == VERDICT_FAIL;
    const char *verdict = pass ? "✔ pass" : fail ? "✘ FAIL" : check->limited ? "– not judged" : "– no limit";
    double verdict_mm = fmax(text_width_mm(TYPE_TEXT, verdict), text_width_mm(TYPE_TEXT, "– no limit")) + gap_mm;
    routine_figures_of(check, &figures);
    bool limits = check->limit_low.known || check->limit_high.known;
    (void)snprintf(text, sizeof text, "%s %s%s%s%s", figures.value, check->value.known ? figures.unit : "",
                   limits ? " (" : "", limits ? figures.limits : "", limits ? ")" : "");
    page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, left_mm, column->y_mm, 0.0, check->name);
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, right_mm - verdict_mm, column->y_mm,
             right_mm - left_mm - text_width_mm(TYPE_TEXT, check->name) - gap_mm - verdict_mm, text);
    page_put(page, TYPE_TEXT, fail ? INK_VERMILLION : INK_BLACK, ALIGN_RIGHT, right_mm, column->y_mm, 0.0, verdict);
    column->y_mm += TEXT_LEADING_MM;
}

/* A block of its own, with a verdict of its own: that of the unit is of its performance. */
static void put_routine(struct column *column)
{
    const struct routine_result *routine = &column->paper->result->routine;
    char date[FIGURE_TEXT], text[2 * FIGURE_TEXT];
    if (routine->row == NULL || !has_room(column, 4)) {
        return;
    }
    (void)snprintf(text, sizeof text, "Routine results, %s: %s",
                   routine->row->tested.known ? figure_date(&routine->row->tested, date) : "not dated",
                   verdict_name(routine->verdict));
    heading(column, text);
    for (size_t i = 0; i < routine->check_count && has_room(column, 1); i++) {
        put_routine_check(column, &routine->checks[i]);
    }
}

void paper_facts(struct paper *paper, struct area area)
{
    struct column column = {.paper = paper, .area = area, .y_mm = area.top_mm};
    put_uncertainty(&column);
    put_label(&column);
    put_best(&column);
    put_site(&column);
    put_routine(&column);
    put_instruments(&column);
}
