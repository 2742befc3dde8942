/* Page 2 of the sheet: the readings, and what else the verdict rests on. */
#include "base/files.h"
#include "papers/certainty_words.h"
#include "papers/label_words.h"
#include "papers/render.h"
#include "papers/sheet.h"

#include <string.h>

/* --- the points --- */

/* A column of the points tables: a quantity of struct point. */
struct point_column {
    const char *heading;
    enum figure figure;
    size_t at;
};

#define AT(member) offsetof(struct point, member)

static const struct point_column as_tested[] = {
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
static const struct point_column at_rated[] = {
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

enum { POINT_COLUMNS = sizeof as_tested / sizeof as_tested[0] };

static void put_point(struct sheet *sheet, struct node *table, const struct point *point,
                      const struct point_column *columns)
{
    struct document *document = sheet->document;
    add_cell(document, table, TONE_PLAIN, "%d%s", point->settled->number, point->fitted ? "" : "*");
    add_cell(document, table, TONE_PLAIN, "%zu", point->settled->readings);
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        struct quantity q;
        char number[FIGURE_TEXT];
        memcpy(&q, (const char *)point + columns[c].at, sizeof q);
        add_cell(document, table, TONE_PLAIN, "%s", figure_number(columns[c].figure, &sheet->units, q, number));
    }
}

static void put_points(struct sheet *sheet, const char *heading, const struct point_column *columns)
{
    struct document *document = sheet->document;
    struct column printed[POINT_COLUMNS + 2] = {{say(document, "point"), "", true}, {say(document, "n"), "", true}};
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        printed[c + 2] = (struct column){say(document, columns[c].heading),
                                         figure_unit_name(columns[c].figure, &sheet->units), true};
    }
    add_heading(document, "%s", heading);
    struct node *table = add_table(document, printed, POINT_COLUMNS + 2);
    for (size_t i = 0; i < sheet->result->point_count; i++) {
        put_point(sheet, table, &sheet->result->points[i], columns);
    }
}

/* Why a point is not in the curves. */
static void put_unfitted(struct sheet *sheet)
{
    struct document *document = sheet->document;
    struct node *notes = NULL;
    for (size_t i = 0; i < sheet->result->point_count; i++) {
        const struct point *point = &sheet->result->points[i];
        const char *why = !point->settled->steady ? point->settled->why_unsteady : point->why_not_fitted;
        if (!point->fitted) {
            char name[64];
            (void)snprintf(name, sizeof name, say(document, "* point %d is not in the curves"), point->settled->number);
            notes = notes == NULL ? add_pairs(document, NODE_NOTES) : notes;
            add_pair(document, notes, TONE_PLAIN, name, "%s", why != NULL ? why : say(document, "no reason stated"));
        }
    }
}

/* --- on the curves --- */

struct curve_reading {
    const char *name;
    struct quantity flow_m3s, head_m, head_error_m, power_w, set, set_error, pump, current_a;
};

/* A number, and its uncertainty where that is known. */
static void number_cell(struct sheet *sheet, struct node *table, enum figure figure, struct quantity value,
                        struct quantity error)
{
    char number[FIGURE_TEXT], plus[FIGURE_TEXT];
    (void)figure_number(figure, &sheet->units, value, number);
    if (error.known && value.known) {
        add_cell(sheet->document, table, TONE_PLAIN, "%s ± %s", number,
                 figure_number(figure, &sheet->units, error, plus));
    } else {
        add_cell(sheet->document, table, TONE_PLAIN, "%s", number);
    }
}

static void put_reading(struct sheet *sheet, struct node *table, const struct curve_reading *reading)
{
    const struct quantity none = quantity_absent();
    add_cell(sheet->document, table, TONE_PLAIN, "%s", reading->name);
    number_cell(sheet, table, FIGURE_FLOW, reading->flow_m3s, none);
    number_cell(sheet, table, FIGURE_HEAD, reading->head_m, reading->head_error_m);
    number_cell(sheet, table, FIGURE_POWER, reading->power_w, none);
    number_cell(sheet, table, FIGURE_EFFICIENCY, reading->set, reading->set_error);
    number_cell(sheet, table, FIGURE_EFFICIENCY, reading->pump, none);
    number_cell(sheet, table, FIGURE_CURRENT, reading->current_a, none);
}

static void put_duty_readings(struct sheet *sheet, struct node *table, size_t index)
{
    const struct document *document = sheet->document;
    const struct duty_result *duty = &sheet->result->duties[index];
    const struct duty_certainty *certainty = result_duty_certainty(sheet->result, index);
    bool several = sheet->result->duty_count > 1;
    char name[3][96];
    const char *const names[3] = {say(document, "at guaranteed flow"), say(document, "at guaranteed head"),
                                  say(document, "on the duty line")};
    for (size_t i = 0; i < 3; i++) {
        (void)snprintf(name[i], sizeof name[i], several ? "%s (%zu)" : "%s", names[i], index + 1);
    }
    const struct curve_reading readings[] = {
        {name[0], duty->duty->flow_m3s, duty->at_guaranteed_flow.head_m, certainty->head_m,
         duty->at_guaranteed_flow.input_power_w, duty->at_guaranteed_flow.set_efficiency, certainty->set_efficiency,
         duty->at_guaranteed_flow.pump_efficiency, duty->at_guaranteed_flow.current_a},
        {.name = name[1], .flow_m3s = duty->at_guaranteed_head.flow_m3s, .head_m = duty->duty->head_m},
        {.name = name[2],
         .flow_m3s = duty->on_duty_line.flow_m3s,
         .head_m = duty->on_duty_line.head_m,
         .power_w = duty->on_duty_line.input_power_w,
         .set = duty->on_duty_line.set_efficiency,
         .pump = duty->on_duty_line.pump_efficiency},
    };
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        if (readings[i].flow_m3s.known) {
            put_reading(sheet, table, &readings[i]);
        }
    }
}

static void put_best(struct sheet *sheet)
{
    const struct best_efficiency *best = &sheet->result->best;
    char efficiency[FIGURE_TEXT], flow[FIGURE_TEXT], head[FIGURE_TEXT];
    if (sheet->result->best_known) {
        add_text(sheet->document, TONE_PLAIN, say(sheet->document, "Best set efficiency: %s at %s and %s%s"),
                 figure_text(FIGURE_EFFICIENCY, &sheet->units, quantity_of(best->set_efficiency), efficiency),
                 figure_text(FIGURE_FLOW, &sheet->units, quantity_of(best->flow_m3s), flow),
                 figure_text(FIGURE_HEAD, &sheet->units, quantity_of(best->head_m), head),
                 best->at_end ? say(sheet->document, " (at an end of the tested flows: the best may lie beyond)") : "");
    }
}

void sheet_curves(struct sheet *sheet)
{
    struct document *document = sheet->document;
    const struct figure_units *units = &sheet->units;
    const struct column columns[] = {
        {say(document, "on the curves (± 95 %)"), "", false},
        {say(document, "flow"), figure_unit_name(FIGURE_FLOW, units), true},
        {say(document, "head"), figure_unit_name(FIGURE_HEAD, units), true},
        {say(document, "input power"), figure_unit_name(FIGURE_POWER, units), true},
        {say(document, "set eff."), figure_unit_name(FIGURE_EFFICIENCY, units), true},
        {say(document, "pump eff."), figure_unit_name(FIGURE_EFFICIENCY, units), true},
        {say(document, "current"), figure_unit_name(FIGURE_CURRENT, units), true},
    };
    bool any = false;
    for (size_t i = 0; i < sheet->result->duty_count; i++) {
        const struct duty_result *duty = &sheet->result->duties[i];
        any = any || duty->at_guaranteed_flow.head_m.known || duty->on_duty_line.flow_m3s.known;
    }
    if (any) {
        struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
        for (size_t i = 0; i < sheet->result->duty_count; i++) {
            put_duty_readings(sheet, table, i);
        }
    }
    put_best(sheet);
}

/* --- how sure --- */

/* What the uncertainty of the set efficiency is made of: which instrument to buy next. */
static void put_shares(struct sheet *sheet)
{
    const struct duty_certainty *uncertainty = result_duty_certainty(sheet->result, 0);
    char list[SHARES_KEPT * (SHARE_TEXT + 16)] = "", name[SHARE_TEXT], share[FIGURE_TEXT];
    size_t used = 0;
    for (size_t i = 0; i < uncertainty->share_count && uncertainty->shares[i].share >= 0.005; i++) {
        struct quantity part = quantity_of(uncertainty->shares[i].share);
        int length = snprintf(list + used, sizeof list - used, "%s%s %s", used > 0 ? "; " : "",
                              share_text(&uncertainty->shares[i], name),
                              figure_text(FIGURE_PROBABILITY, &sheet->units, part, share));
        used += length > 0 ? (size_t)length : 0;
    }
    if (used > 0) {
        add_text(sheet->document, TONE_PLAIN,
                 say(sheet->document, "Uncertainty of set efficiency is made of (variance): %s."), list);
    }
}

static void put_guard(struct sheet *sheet)
{
    const struct guard *guard = &sheet->result->certainty.guard;
    char asked[FIGURE_TEXT];
    if (guard->asked.known) {
        const char *fmt =
            !guard->answered
                ? say(sheet->document, "Guarded acceptance: cannot be told whether it conforms with at least %s")
            : guard->conforms ? say(sheet->document, "Guarded acceptance: conforms with at least %s")
                              : say(sheet->document, "Guarded acceptance: does not conform with at least %s");
        add_text(sheet->document, TONE_PLAIN, fmt, figure_text(FIGURE_PROBABILITY, &sheet->units, guard->asked, asked));
    }
}

static void put_monte_carlo(struct sheet *sheet)
{
    const struct monte_carlo *drawn = &sheet->result->certainty.monte_carlo;
    char head[FIGURE_TEXT], efficiency[FIGURE_TEXT], p[FIGURE_TEXT];
    if (drawn->trials > 0) {
        add_text(sheet->document, TONE_PLAIN,
                 say(sheet->document,
                     "Monte Carlo (JCGM 101): %zu trials: head ± %s, set efficiency ± %s points, pass in %s of them"),
                 drawn->trials, figure_text(FIGURE_HEAD, &sheet->units, drawn->head_m, head),
                 figure_text(FIGURE_UNCERTAINTY, &sheet->units, drawn->set_efficiency, efficiency),
                 figure_text(FIGURE_PROBABILITY, &sheet->units, drawn->conformance_probability, p));
    }
}

static void put_sureness(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    struct document *document = sheet->document;
    char p[FIGURE_TEXT];
    struct quantity conforms = result->certainty.conformance_probability;
    if (result->duty_count == 0 || !result_duty_certainty(result, 0)->known[NUMBER_HEAD]) {
        return;
    }
    if (conforms.known) {
        add_heading(document, say(document, "How sure: the unit conforms to every check with a probability of %s"),
                    figure_conformance(conforms, result->certainty.conformance_drawn, p));
    } else {
        add_heading(document, "%s", say(document, "How sure"));
    }
    put_shares(sheet);
    put_guard(sheet);
    put_monte_carlo(sheet);
}

/* --- label --- */

/* Adds a sentence to a paragraph. */
static void sentence(char *text, size_t size, const char *more)
{
    size_t used = strlen(text);
    if (more != NULL && more[0] != '\0' && used + 1 < size) {
        (void)snprintf(text + used, size - used, "%s%s", used > 0 ? "; " : "", more);
    }
}

static void put_label(struct sheet *sheet)
{
    const struct label_result *label = &sheet->result->label;
    struct document *document = sheet->document;
    char text[LABEL_TEXT], index[FIGURE_TEXT], efficiency[FIGURE_TEXT], notes[4 * LABEL_TEXT] = "";
    if (label->scheme == NULL) {
        return;
    }
    add_heading(document, say(document, "Label by %.80s: %s"), label->scheme, label_class_text(label, text));
    if (!label->known) {
        return;
    }
    struct node *node = add_pairs(document, NODE_NOTES);
    add_pair(document, node, TONE_PLAIN, say(document, "index"), say(document, "%s from %.200s, %s"),
             label_index_text(label, index), label->efficiency_name,
             figure_text(FIGURE_UNCERTAINTY, &sheet->units, label->measured, efficiency));
    sentence(notes, sizeof notes, label_margin_text(&label->here, quantity_absent(), text));
    sentence(notes, sizeof notes, label_margin_text(&label->next, quantity_absent(), text));
    add_pair(document, node, TONE_PLAIN, say(document, "classes"), "%s", notes);
    notes[0] = '\0';
    sentence(notes, sizeof notes, label->period);
    for (size_t i = 0; i < label->note_count; i++) {
        sentence(notes, sizeof notes, label->notes[i]);
    }
    size_t number = source_number(sheet->sources, label->source);
    add_pair(document, node, TONE_PLAIN, say(document, "notes"), number > 0 ? "%s [%zu]" : "%s", notes, number);
}

/* --- routine tests --- */

/* How it was measured, why it fails where the numbers do not say, and by which source. */
static void put_routine_words(struct sheet *sheet, struct node *table, const struct routine_check *check, size_t number)
{
    const char *reason = check->reason != NULL ? check->reason : "";
    char source[32] = "";
    if (number > 0) {
        (void)snprintf(source, sizeof source, "%s[%zu]", check->detail[0] != '\0' || reason[0] != '\0' ? " " : "",
                       number);
    }
    add_cell(sheet->document, table, TONE_PLAIN, "%s%s%s%s", check->detail,
             check->detail[0] != '\0' && reason[0] != '\0' ? "; " : "", reason, source);
}

static void put_routine(struct sheet *sheet)
{
    const struct routine_result *routine = &sheet->result->routine;
    struct document *document = sheet->document;
    char date[FIGURE_TEXT];
    if (routine->row == NULL) {
        return;
    }
    const struct column columns[] = {
        {say(document, "check"), "", false},
        {say(document, "verdict"), "", false},
        {say(document, "result"), "", true},
        {say(document, "limits"), "", true},
        {"", "", false},
        {say(document, "how"), "", false},
    };
    add_heading(document, say(document, "Routine results, %s: %s"),
                routine->row->tested.known ? figure_date(&routine->row->tested, date) : say(document, "not dated"),
                say(document, verdict_name(routine->verdict)));
    struct node *table = add_table(document, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < routine->check_count; i++) {
        const struct routine_check *check = &routine->checks[i];
        struct routine_figures figures;
        routine_figures_of(check, &figures);
        add_cell(document, table, TONE_PLAIN, "%s", say(document, check->name));
        add_cell(document, table, check->limited ? sheet_tone(sheet, check->verdict) : TONE_FAINT, "%s",
                 check->limited || check->verdict == VERDICT_FAIL ? say(document, verdict_name(check->verdict))
                                                                  : say(document, "no limit"));
        add_cell(document, table, TONE_PLAIN, "%s", figures.value);
        add_cell(document, table, TONE_PLAIN, "%s", figures.limits);
        add_cell(document, table, TONE_PLAIN, "%s", figures.unit);
        put_routine_words(sheet, table, check, source_number(sheet->sources, check->source));
    }
}

/* --- instruments --- */

static bool overdue(const struct result *result, const struct instrument *instrument)
{
    return instrument->due.known && result->tested.known && date_compare_days(&result->tested, &instrument->due) > 0;
}

/* Channels of one instrument share a row. */
static bool same_row(const struct instrument *a, const struct instrument *b)
{
    return strcmp(a->serial, b->serial) == 0 && strcmp(a->certificate, b->certificate) == 0 &&
           a->due.known == b->due.known && (!a->due.known || date_compare_days(&a->due, &b->due) == 0);
}

static bool same_accuracy(const struct instrument *a, const struct instrument *b)
{
    return a->accuracy.known == b->accuracy.known &&
           (!a->accuracy.known || (a->accuracy.value == b->accuracy.value && a->basis == b->basis));
}

static bool used_before(const struct result *result, size_t number, bool accuracy_too)
{
    const struct instrument *all = result->bay->instruments;
    for (size_t i = 0; i < number; i++) {
        if (result_uses_instrument(result, &all[i]) && same_row(&all[i], &all[number]) &&
            (!accuracy_too || same_accuracy(&all[i], &all[number]))) {
            return true;
        }
    }
    return false;
}

/* "voltage ry, voltage yb 0.20 % of reading; input power 0.50 % of reading" */
static void channels_text(struct sheet *sheet, size_t number, char *text, size_t size)
{
    const struct result *result = sheet->result;
    const struct instrument *all = result->bay->instruments;
    size_t used = 0;
    for (size_t i = number; i < result->bay->instrument_count && used < size; i++) {
        if (!same_row(&all[number], &all[i]) || !result_uses_instrument(result, &all[i]) ||
            used_before(result, i, true)) {
            continue;
        }
        const char *before = used > 0 ? "; " : "";
        for (size_t k = i; k < result->bay->instrument_count && used < size; k++) {
            if (same_row(&all[i], &all[k]) && same_accuracy(&all[i], &all[k]) &&
                result_uses_instrument(result, &all[k])) {
                int length = snprintf(text + used, size - used, "%s%s", before,
                                      say(sheet->document, channel_info(all[k].channel)->name));
                used += length > 0 ? (size_t)length : 0;
                before = ", ";
            }
        }
        char accuracy[FIGURE_TEXT];
        (void)figure_text(FIGURE_UNCERTAINTY, &sheet->units, all[i].accuracy, accuracy);
        const char *fmt = !all[i].accuracy.known              ? say(sheet->document, " accuracy not stated%.0s")
                          : all[i].basis == ACCURACY_OF_RANGE ? say(sheet->document, " %s of range")
                                                              : say(sheet->document, " %s of reading");
        int length = used < size ? snprintf(text + used, size - used, fmt, accuracy) : 0;
        used += length > 0 ? (size_t)length : 0;
    }
}

static void put_instrument(struct sheet *sheet, struct node *table, size_t number)
{
    const struct instrument *instrument = &sheet->result->bay->instruments[number];
    struct document *document = sheet->document;
    char channels[1024] = "", text[FIGURE_TEXT];
    bool late = overdue(sheet->result, instrument);
    channels_text(sheet, number, channels, sizeof channels);
    add_cell(document, table, TONE_PLAIN, "%s", instrument->serial[0] != '\0' ? instrument->serial : "-");
    add_cell(document, table, TONE_PLAIN, "%s", channels);
    add_cell(document, table, TONE_PLAIN, "%s", figure_date(&instrument->calibrated, text));
    add_cell(document, table, late ? TONE_BAD : TONE_PLAIN, "%s%s", figure_date(&instrument->due, text),
             late ? say(document, " OVERDUE") : "");
    add_cell(document, table, TONE_PLAIN, "%s", instrument->certificate[0] != '\0' ? instrument->certificate : "-");
}

/* Only those that this log's readings come from. */
static void put_instruments(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    struct document *document = sheet->document;
    const struct column columns[] = {
        {say(document, "instrument"), "", false},  {say(document, "channels, accuracy"), "", false},
        {say(document, "calibrated"), "", false},  {say(document, "due"), "", false},
        {say(document, "certificate"), "", false},
    };
    struct node *table = NULL;
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        if (result_uses_instrument(result, &result->bay->instruments[i]) && !used_before(result, i, false)) {
            if (table == NULL) {
                add_heading(document, "%s", say(document, "Instruments"));
                table = add_table(document, columns, sizeof columns / sizeof columns[0]);
            }
            put_instrument(sheet, table, i);
        }
    }
}

/* --- water and site, method, sources --- */

/* The range that a quantity has over the points of the test. */
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

static void span_fact(struct sheet *sheet, struct node *node, const char *name, enum figure figure,
                      const struct span *span, const char *how)
{
    char low[FIGURE_TEXT], high[FIGURE_TEXT];
    if (span->known) {
        (void)figure_number(figure, &sheet->units, quantity_of(span->low), low);
        (void)figure_text(figure, &sheet->units, quantity_of(span->high), high);
        bool one = strncmp(low, high, strlen(low)) == 0 && high[strlen(low)] == ' ';
        add_pair(sheet->document, node, TONE_PLAIN, say(sheet->document, name), "%s%s%s%s", one ? "" : low,
                 one ? "" : say(sheet->document, " to "), high, how);
    }
}

static void put_site(struct sheet *sheet)
{
    const struct result *result = sheet->result;
    const struct site *site = &result->site;
    struct document *document = sheet->document;
    struct span temperature = {0}, density = {0};
    char number[FIGURE_TEXT];
    for (size_t i = 0; i < result->point_count; i++) {
        span_add(&temperature, result->points[i].as_tested.water_temperature_c);
        span_add(&density, result->points[i].as_tested.density_kg_m3);
    }
    add_heading(document, "%s", say(document, "Water, site and record"));
    struct node *node = add_pairs(document, NODE_FACTS);
    span_fact(sheet, node, "temperature", FIGURE_TEMPERATURE, &temperature, "");
    span_fact(sheet, node, "density", FIGURE_DENSITY, &density,
              result->bay->rig.water_density_kg_m3.known ? say(document, ", as stated") : say(document, ", computed"));
    add_pair(document, node, TONE_PLAIN, say(document, "gravity"), "%s, %s",
             figure_text(FIGURE_GRAVITY, &sheet->units, quantity_of(site->gravity_m_s2), number),
             site->gravity_stated    ? say(document, "as stated")
             : site->gravity_assumed ? say(document, "standard gravity, the site is not stated")
                                     : say(document, "from latitude and altitude"));
    add_pair(document, node, TONE_PLAIN, say(document, "air pressure"), "%s, %s",
             figure_text(FIGURE_AIR_PRESSURE, &sheet->units, quantity_of(site->air_pressure_pa), number),
             site->air_pressure_stated ? say(document, "as stated") : say(document, "computed"));
    add_pair(document, node, TONE_PLAIN, say(document, "log"), say(document, "%s, %s, %zu rows, SHA-256 %s"),
             file_base(result->log.file), say(document, log_kind_name(result->kind)), result->log.rows,
             result->log.sha256);
}

/* How the verdict follows from tolerance and uncertainty. */
static void put_method(struct sheet *sheet)
{
    struct document *document = sheet->document;
    add_heading(document, "%s", say(document, "Method, decision rule, sources"));
    add_text(
        document, TONE_PLAIN,
        say(document,
            "Readings are averaged by point, "
            "reduced with the water's density at the set's mean pressure and brought to rated speed by the affinity laws (speed by %s); "
            "curves are fitted by least squares, and nothing is judged outside the tested flows. "
            "The duty line runs from the origin through the guarantee; "
            "where the head curve meets it the grade reads efficiency and power."),
        say(document, speed_basis_name(sheet->result->basis)));
    add_text(document, TONE_PLAIN, "%s",
             say(document, "The grade's tolerances alone decide: they already allow for the uncertainty of the test, "
                           "and a value on its limit passes. "
                           "Conformity is the probability that the true value conforms (JCGM 106), "
                           "beside the verdict and never in its place. Uncertainties are expanded, 95 %."));
}

static void put_sources(struct sheet *sheet)
{
    struct document *document = sheet->document;
    char text[SOURCES_MAX * 40 + 4000] = "";
    size_t used = 0;
    for (size_t i = 0; i < sheet->sources->count && used < sizeof text; i++) {
        int length = snprintf(text + used, sizeof text - used, "%s[%zu] %s", used > 0 ? "; " : "", i + 1,
                              sheet->sources->texts[i]);
        used += length > 0 ? (size_t)length : 0;
    }
    if (used > 0) {
        add_text(document, TONE_PLAIN, say(document, "Sources of the limits: %s."), text);
    }
}

static void put_input_notes(struct sheet *sheet)
{
    struct document *document = sheet->document;
    struct node *node = NULL;
    for (size_t i = 0; i < sheet->result->notes.count; i++) {
        if (sheet->result->notes.items[i].kind == NOTE_INPUT) {
            if (node == NULL) {
                add_heading(document, "%s", say(document, "Remarks on the input"));
                node = add_pairs(document, NODE_NOTES);
            }
            add_pair(document, node, TONE_PLAIN, "·", "%s", sheet->result->notes.items[i].text);
        }
    }
}

void sheet_readings(struct sheet *sheet)
{
    const struct document *document = sheet->document;
    put_points(sheet, say(document, "As tested"), as_tested);
    put_points(sheet, say(document, "At rated speed, with relative uncertainty (95 %)"), at_rated);
    put_unfitted(sheet);
    put_sureness(sheet);
    put_label(sheet);
    put_routine(sheet);
    put_instruments(sheet);
    put_site(sheet);
    put_input_notes(sheet);
    put_method(sheet);
    put_sources(sheet);
}
