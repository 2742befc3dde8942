#include "label/label.h"

#include "base/text.h"
#include "label/label_eu.h"
#include "label/label_star.h"
#include "label/label_us.h"
#include "verdict/tolerance.h"

#include <stdarg.h>
#include <string.h>

const double label_load_flow[LABEL_LOADS] = {0.75, 1.0, 1.10};

double label_energy_kwh(double power_w, double hours)
{
    return power_w * hours / 1000.0;
}

/* --- saying things --- */

static const char *format(struct labelling *labelling, const char *fmt, va_list args)
{
    char text[600];
    (void)vsnprintf(text, sizeof text, fmt, args);
    const char *copy = arena_text(labelling->arena, text, strlen(text));
    labelling->failed = labelling->failed || copy == NULL;
    return copy;
}

bool label_refuse(struct labelling *labelling, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    labelling->label->why = format(labelling, fmt, args);
    va_end(args);
    return false;
}

void label_note(struct labelling *labelling, const char *fmt, ...)
{
    va_list args;
    va_start(args, fmt);
    const char *text = format(labelling, fmt, args);
    va_end(args);
    struct label_result *label = labelling->label;
    if (text != NULL && label->note_count < LABEL_NOTES_MAX) {
        label->notes[label->note_count++] = text;
    }
}

/* --- classes --- */

static const char *rung_name(const struct label_ladder *ladder, size_t held)
{
    return held == 0 ? "none" : ladder->classes[held - 1].name;
}

static struct label_margin margin_to(const struct label_class *class, const struct label_scale *scale)
{
    double edge = label_edge(class);
    double efficiency = scale->efficiency_at(scale->context, edge);
    return (struct label_margin){.class_name = class->name,
                                 .index = quantity_of(edge),
                                 .efficiency = quantity_of(efficiency),
                                 .margin = quantity_of(scale->measured - efficiency),
                                 .power_w = quantity_of(scale->spare_power_w(scale->context, edge))};
}

/* Two decimals, cut towards the worse; what is a whole hundredth but for the last bits stays it. */
static double cut_index(double index, bool less_is_better)
{
    return less_is_better ? ceil(index * 100.0 - 1e-7) / 100.0 : floor(index * 100.0 + 1e-7) / 100.0;
}

static void say_period(struct labelling *labelling, const struct label_ladder *ladder)
{
    const struct label_class *class = ladder->classes;
    char from[16] = "", to[16] = "";
    if (class->from.known) {
        (void)snprintf(from, sizeof from, "%04d-%02d-%02d", class->from.year, class->from.month, class->from.day);
    }
    if (class->to.known) {
        (void)snprintf(to, sizeof to, "%04d-%02d-%02d", class->to.year, class->to.month, class->to.day);
    }
    const char *period = arena_format(labelling->arena, "%s revision, %s%s%s%s", class->revision,
                                      class->to.known ? "" : "from ", from, class->to.known ? " to " : "", to);
    labelling->failed = labelling->failed || period == NULL;
    labelling->label->period = period;
    if (ladder->ended) {
        label_note(labelling, "period ended %s, confirm what applies to a test of %04d-%02d-%02d", to,
                   labelling->input->tested.year, labelling->input->tested.month, labelling->input->tested.day);
    } else if (!labelling->input->tested.known) {
        label_note(labelling, "the date of the test is not stated: the last known revision is used");
    }
}

/* The classes within the 95 % interval of the index. */
static void place_interval(struct labelling *labelling, const struct label_ladder *ladder,
                           const struct label_scale *scale)
{
    struct label_result *label = labelling->label;
    struct quantity relative = labelling->input->relative_uncertainty;
    if (!relative.known) {
        label_note(labelling, "the uncertainty is not known: not said whether an edge lies within it");
        return;
    }
    double worse = scale->index_at(scale->context, scale->measured * (1.0 - relative.value));
    double better = scale->index_at(scale->context, scale->measured * (1.0 + relative.value));
    size_t least = label_rungs_held(ladder, worse), most = label_rungs_held(ladder, better);
    label->index_low = quantity_of(fmin(worse, better));
    label->index_high = quantity_of(fmax(worse, better));
    label->class_low = rung_name(ladder, least);
    label->class_high = rung_name(ladder, most);
    label->undecided = least != most;
}

void label_place(struct labelling *labelling, const struct label_scale *scale)
{
    struct label_result *label = labelling->label;
    struct label_ladder ladder = label_ladder_of(labelling->input->book, labelling->scheme, &labelling->input->tested);
    if (ladder.count == 0) {
        (void)label_refuse(labelling, "no revision of %s is known for a test of %04d-%02d-%02d", labelling->scheme,
                           labelling->input->tested.year, labelling->input->tested.month, labelling->input->tested.day);
        return;
    }
    size_t held = label_rungs_held(&ladder, scale->index);
    label->ladder = ladder;
    say_period(labelling, &ladder);
    label->index = quantity_of(scale->index);
    label->measured = quantity_of(scale->measured);
    label->class_name = rung_name(&ladder, held);
    label->less_is_better = ladder.classes->at_most.known;
    label->index_printed = quantity_of(cut_index(scale->index, label->less_is_better));
    if (held > 0) {
        label->here = margin_to(&ladder.classes[held - 1], scale);
        label->threshold = label->here.efficiency;
    }
    if (held < ladder.count) {
        label->next = margin_to(&ladder.classes[held], scale);
        label->to_next = quantity_times(label->next.margin, -1.0);
    }
    const char *class_source = ladder.classes[held == 0 ? 0 : held - 1].source;
    if (label->source == NULL) {
        label->source = class_source;
    } else if (!name_equal(label->source, class_source)) {
        label->source = arena_format(labelling->arena, "classes: %s; index: %s", class_source, label->source);
        labelling->failed = labelling->failed || label->source == NULL;
    }
    place_interval(labelling, &ladder, scale);
    label->known = label->index.known && label->measured.known;
    if (!label->known) {
        (void)label_refuse(labelling, "the index is not a number");
    }
}

/* --- scope --- */

static bool needs(struct labelling *labelling, struct quantity limit, struct quantity value, const char *column)
{
    if (!limit.known || value.known) {
        return true;
    }
    return label_refuse(labelling, "%s: models.csv does not state '%s' of model %.60s", labelling->label->scheme,
                        column, labelling->input->model->name);
}

static bool count_in_scope(struct labelling *labelling, const struct label_scope *scope)
{
    const struct model *model = labelling->input->model;
    const char *scheme = labelling->label->scheme;
    if (!needs(labelling, scope->phases, model->phases, "phases") ||
        !needs(labelling, scope->poles, model->poles, "poles") ||
        !needs(labelling, scope->stages_low, model->stages, "stages")) {
        return false;
    }
    if (scope->phases.known && model->phases.value != scope->phases.value) {
        return label_refuse(labelling, "%s does not apply: phases %g, it is for %g; %s", scheme, model->phases.value,
                            scope->phases.value, scope->source);
    }
    if (scope->poles.known && model->poles.value != scope->poles.value) {
        return label_refuse(labelling, "%s does not apply: poles %g, it is for %g; %s", scheme, model->poles.value,
                            scope->poles.value, scope->source);
    }
    if (scope->stages_low.known && model->stages.value < scope->stages_low.value) {
        return label_refuse(labelling,
                            "%s does not apply: %g stages, a test needs %g or the next larger number offered; %s",
                            scheme, model->stages.value, scope->stages_low.value, scope->source);
    }
    if (scope->stages_low.known && model->stages.value > scope->stages_low.value) {
        label_note(labelling, "tested with %g stages: right only if that is the next number above %g that is offered",
                   model->stages.value, scope->stages_low.value);
    }
    return true;
}

static bool near_bore(struct quantity bore_m, double value_m)
{
    return bore_m.known && fabs(value_m / bore_m.value - 1.0) <= 0.03; /* 100 mm and 4 in are one size */
}

static bool size_in_scope(struct labelling *labelling, const struct label_scope *scope)
{
    const struct model *model = labelling->input->model;
    const char *scheme = labelling->label->scheme;
    double power_w = model->rated_power_w.value, bore_m = model->nominal_bore_m.value;
    if (!needs(labelling, scope->power_low_w, model->rated_power_w, "rated power") ||
        !needs(labelling, scope->power_high_w, model->rated_power_w, "rated power") ||
        !needs(labelling, scope->bore_m, model->nominal_bore_m, "nominal bore") ||
        !needs(labelling, scope->bore_high_m, model->nominal_bore_m, "nominal bore")) {
        return false;
    }
    bool low = scope->power_low_w.known && power_w < scope->power_low_w.value * (1.0 - JUDGE_RESOLUTION);
    bool high = scope->power_high_w.known && power_w > scope->power_high_w.value * (1.0 + JUDGE_RESOLUTION);
    if (low || high) {
        return label_refuse(labelling, "%s does not apply: rated power %.4g kW, it is for %s %.4g kW; %s", scheme,
                            power_w / 1000.0, low ? "at least" : "at most",
                            (low ? scope->power_low_w.value : scope->power_high_w.value) / 1000.0, scope->source);
    }
    if (scope->bore_m.known && !near_bore(scope->bore_m, bore_m) && !near_bore(scope->other_bore_m, bore_m)) {
        return label_refuse(labelling, "%s does not apply: nominal bore %.4g mm, it is for %.4g or %.4g mm; %s", scheme,
                            bore_m * 1000.0, scope->bore_m.value * 1000.0,
                            quantity_or(scope->other_bore_m, scope->bore_m.value) * 1000.0, scope->source);
    }
    if (scope->bore_high_m.known && bore_m > scope->bore_high_m.value * (1.0 + JUDGE_RESOLUTION)) {
        return label_refuse(labelling, "%s does not apply: nominal bore %.4g mm, it is for at most %.4g mm; %s", scheme,
                            bore_m * 1000.0, scope->bore_high_m.value * 1000.0, scope->source);
    }
    return true;
}

static bool duty_in_scope(struct labelling *labelling, const struct label_scope *scope, double flow_m3s, double head_m)
{
    const char *scheme = labelling->label->scheme;
    if (scope->flow_low_m3s.known && flow_m3s < scope->flow_low_m3s.value) {
        return label_refuse(labelling,
                            "%s does not apply: %.4g L/s at best efficiency, it is for at least %.4g L/s; %s", scheme,
                            flow_m3s * 1000.0, scope->flow_low_m3s.value * 1000.0, scope->source);
    }
    if (scope->head_high_m.known && head_m > scope->head_high_m.value) {
        return label_refuse(labelling, "%s does not apply: %.4g m at best efficiency, it is for at most %.4g m; %s",
                            scheme, head_m, scope->head_high_m.value, scope->source);
    }
    return true;
}

bool label_in_scope(struct labelling *labelling, double flow_m3s, double head_m)
{
    const struct label_book *book = labelling->input->book;
    for (size_t i = 0; i < book->scope_count; i++) {
        const struct label_scope *scope = &book->scopes[i];
        bool applies = name_equal(scope->scheme, labelling->scheme) &&
                       (*scope->type == '\0' || name_equal(scope->type, labelling->type));
        if (applies && (!count_in_scope(labelling, scope) || !size_in_scope(labelling, scope) ||
                        !duty_in_scope(labelling, scope, flow_m3s, head_m))) {
            return false;
        }
    }
    return true;
}

/* --- constants and loads --- */

struct label_loads loads_at_speed(const struct label_loads *loads, double ratio)
{
    struct label_loads moved;
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        moved.flow_m3s[i] = loads->flow_m3s[i] * ratio;
        moved.head_m[i] = loads->head_m[i] * ratio * ratio;
        moved.shaft_power_w[i] = loads->shaft_power_w[i] * ratio * ratio * ratio;
        moved.input_power_w[i] = loads->input_power_w[i] * ratio * ratio * ratio;
    }
    return moved;
}

const struct label_constant *label_constant_at_speed(struct labelling *labelling)
{
    const struct label_book *book = labelling->input->book;
    struct quantity speed_rpm = labelling->input->model->rated_speed_rpm;
    char ranges[160] = "";
    if (!needs(labelling, quantity_of(0.0), speed_rpm, "rated speed")) {
        return NULL;
    }
    for (size_t i = 0; i < book->constant_count; i++) {
        const struct label_constant *constant = &book->constants[i];
        if (!name_equal(constant->scheme, labelling->scheme) || !name_equal(constant->type, labelling->type)) {
            continue;
        }
        if (speed_rpm.value >= constant->speed_low_rpm && speed_rpm.value <= constant->speed_high_rpm) {
            return constant;
        }
        char range[48];
        (void)snprintf(range, sizeof range, "%g to %g", constant->speed_low_rpm, constant->speed_high_rpm);
        size_t used = strlen(ranges);
        if (strstr(ranges, range) == NULL) {
            (void)snprintf(ranges + used, sizeof ranges - used, "%s%s", used > 0 ? " or " : "", range);
        }
    }
    (void)label_refuse(labelling, "%s does not apply: rated speed %g rpm, it is for %s rpm", labelling->label->scheme,
                       speed_rpm.value, ranges);
    return NULL;
}

/* --- which scheme a model names --- */

enum word_meaning { WORD_STAR, WORD_EU, WORD_US, WORD_MEASURED, WORD_BARE, WORD_IDLE, WORD_OTHER };

static enum word_meaning word_meaning(const char *word)
{
    static const struct {
        const char *word;
        enum word_meaning meaning;
    } words[] = {
        {"schedule", WORD_STAR}, {"star", WORD_STAR},    {"stars", WORD_STAR}, {"eu", WORD_EU},
        {"547/2012", WORD_EU},   {"547", WORD_EU},       {"mei", WORD_EU},     {"us", WORD_US},
        {"usa", WORD_US},        {"pei", WORD_US},       {"cfr", WORD_US},     {"measured", WORD_MEASURED},
        {"bare", WORD_BARE},     {"7", WORD_IDLE},       {"label", WORD_IDLE}, {"regulation", WORD_IDLE},
        {"no", WORD_IDLE},       {"index", WORD_IDLE},   {"pump", WORD_IDLE},  {"efficiency", WORD_IDLE},
        {"minimum", WORD_IDLE},  {"energy", WORD_IDLE},  {"input", WORD_IDLE}, {"10", WORD_IDLE},
        {"431", WORD_IDLE},      {"subpart", WORD_IDLE}, {"y", WORD_IDLE},     {"2012", WORD_IDLE},
        {"indian", WORD_IDLE},   {"set", WORD_IDLE},     {"type", WORD_IDLE},  {"class", WORD_IDLE},
        {"route", WORD_IDLE},    {"from", WORD_IDLE},
    };
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(word, words[i].word) == 0) {
            return words[i].meaning;
        }
    }
    return WORD_OTHER;
}

/* Reads the words of a label cell. Returns: the scheme, or WORD_OTHER when it names none or several; type receives what
 * is left, the pump type. */
static enum word_meaning read_words(char *folded, char *type, size_t size, enum label_route *route)
{
    enum word_meaning scheme = WORD_OTHER;
    bool several = false;
    size_t used = 0;
    char *rest = NULL;
    *type = '\0';
    for (char *word = strtok_r(folded, " ,:;.()", &rest); word != NULL; word = strtok_r(NULL, " ,:;.()", &rest)) {
        enum word_meaning meaning = word_meaning(word);
        if (meaning <= WORD_US) {
            several = several || (scheme != WORD_OTHER && scheme != meaning);
            scheme = meaning;
        } else if (meaning == WORD_MEASURED) {
            *route = ROUTE_MEASURED;
        } else if (meaning == WORD_OTHER && used < size) {
            int length = snprintf(type + used, size - used, "%s%s", used > 0 ? " " : "", word);
            used += length > 0 ? (size_t)length : 0;
        }
    }
    return several ? WORD_OTHER : scheme;
}

static const struct {
    const char *name, *default_type;
    void (*find)(struct labelling *labelling);
} schemes[] = {
    [WORD_STAR] = {"schedule 7", "", label_star},
    [WORD_EU] = {"EU 547/2012", "MSS", label_eu},
    [WORD_US] = {"US PEI", "ST", label_us},
};

/* The type as the tables write it. NULL after a refusal that lists the types. */
static const char *find_type(struct labelling *labelling, const char *type)
{
    const struct label_book *book = labelling->input->book;
    const char *listed[16];
    size_t count = 0, used = 0;
    char list[200] = "";
    for (size_t i = 0; i < book->constant_count; i++) {
        const struct label_constant *constant = &book->constants[i];
        if (!name_equal(constant->scheme, labelling->scheme)) {
            continue;
        }
        if (name_equal(constant->type, type)) {
            return constant->type;
        }
        bool new = count == 0 || !name_equal(listed[count - 1], constant->type);
        if (new &&count < sizeof listed / sizeof *listed && used < sizeof list) {
            listed[count++] = constant->type;
            int length = snprintf(list + used, sizeof list - used, "%s%s", used > 0 ? ", " : "", constant->type);
            used += length > 0 ? (size_t)length : 0;
        }
    }
    (void)label_refuse(labelling, "'%.60s' is no pump type of %s, expected %s", type, labelling->scheme,
                       count > 0 ? list : "none");
    return NULL;
}

/* Fills in scheme, type and route. */
static bool choose_scheme(struct labelling *labelling, enum word_meaning *scheme)
{
    char folded[128], type[128];
    const char *cell = labelling->input->model->label_scheme;
    *scheme = read_words(name_fold(cell, folded, sizeof folded), type, sizeof type, &labelling->route);
    labelling->label->scheme = cell;
    if (*scheme == WORD_OTHER) {
        return label_refuse(
            labelling,
            "'%.60s' is no known label scheme, expected schedule 7, EU 547/2012 and a type, or US PEI and a type",
            cell);
    }
    labelling->scheme = schemes[*scheme].name;
    labelling->type = "";
    if (*scheme == WORD_STAR) {
        labelling->label->scheme = labelling->scheme;
        return type[0] == '\0' ? true : label_refuse(labelling, "'%.60s' is not understood beside schedule 7", type);
    }
    bool stated = type[0] != '\0';
    labelling->type = find_type(labelling, stated ? type : schemes[*scheme].default_type);
    if (labelling->type == NULL) {
        return false;
    }
    if (!stated) {
        label_note(labelling, "no pump type is named: %s is taken", labelling->type);
    }
    labelling->label->scheme = arena_format(labelling->arena, "%s %s%s", labelling->scheme, labelling->type,
                                            labelling->route == ROUTE_MEASURED ? ", from measured input" : "");
    labelling->failed = labelling->failed || labelling->label->scheme == NULL;
    return !labelling->failed;
}

/* --- from a test to what the schemes compute from --- */

static struct label_pump pump_of(const struct curves *curves)
{
    struct label_pump pump = {.shaft_known = curves->of[CURVE_SHAFT_POWER].known};
    struct curves of_pump = *curves;
    struct best_efficiency best;
    if (pump.shaft_known) {
        of_pump.of[CURVE_INPUT_POWER] = curves->of[CURVE_SHAFT_POWER]; /* best efficiency of the pump, not of the set */
    }
    if (!curves->of[CURVE_HEAD].known || !curves->of[CURVE_INPUT_POWER].known ||
        !curves_best_efficiency(&of_pump, &best)) {
        pump.why = "there are no curves of head and power to find the best efficiency on";
        return pump;
    }
    if (best.at_end) {
        pump.why = "the best efficiency lies at an end of the tested flows: test further";
        return pump;
    }
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        double flow_m3s = best.flow_m3s * label_load_flow[i];
        bool covered = curve_covers(&curves->of[CURVE_HEAD], flow_m3s) &&
                       curve_covers(&curves->of[CURVE_INPUT_POWER], flow_m3s) &&
                       (!pump.shaft_known || curve_covers(&curves->of[CURVE_SHAFT_POWER], flow_m3s));
        if (!covered) {
            pump.why = flow_m3s < best.flow_m3s ? "the test does not reach down to 75 % of best-efficiency flow"
                                                : "the test does not reach 110 % of best-efficiency flow";
        }
        pump.loads.flow_m3s[i] = flow_m3s;
        pump.weight_n_m3[i] = curves_specific_weight(curves, flow_m3s);
        pump.loads.head_m[i] = curve_at(&curves->of[CURVE_HEAD], flow_m3s);
        pump.loads.input_power_w[i] = curve_at(&curves->of[CURVE_INPUT_POWER], flow_m3s);
        pump.loads.shaft_power_w[i] = pump.shaft_known ? curve_at(&curves->of[CURVE_SHAFT_POWER], flow_m3s) : 0.0;
    }
    return pump;
}

static struct label_input input_of(const struct label_test *test)
{
    struct label_input input = {.book = test->book,
                                .model = test->model,
                                .tested = test->tested,
                                .set_efficiency = test->set_efficiency,
                                .input_power_w = test->input_power_w,
                                .pump = pump_of(test->curves)};
    if (test->set_efficiency_uncertainty.known && test->set_efficiency.known) {
        input.relative_uncertainty = quantity_of(test->set_efficiency_uncertainty.value / test->set_efficiency.value);
    }
    return input;
}

/* The same test of a set that is better by the change. Returns: false when the duty point is not known. */
static bool change_input(struct label_input *input, const struct label_test *test, const struct label_change *change)
{
    if (change->efficiency == 0.0 && change->head_m == 0.0) {
        return true;
    }
    struct quantity head_m = test->head_m;
    if (!head_m.known || !input->set_efficiency.known || !input->input_power_w.known) {
        return false;
    }
    double head_ratio = (head_m.value + change->head_m) / head_m.value;
    double with_head = input->set_efficiency.value * head_ratio;
    double power_ratio = with_head / (with_head + change->efficiency);
    if (!(head_ratio > 0.0) || !(power_ratio > 0.0) || !(with_head + change->efficiency < 1.0)) {
        return false;
    }
    input->set_efficiency = quantity_of(with_head + change->efficiency);
    input->input_power_w = quantity_times(input->input_power_w, power_ratio);
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        input->pump.loads.head_m[i] *= head_ratio;
        input->pump.loads.shaft_power_w[i] *= power_ratio;
        input->pump.loads.input_power_w[i] *= power_ratio;
    }
    return true;
}

enum status label_find(const struct label_test *test, const struct label_change *change, struct arena *arena,
                       struct label_result *label)
{
    *label = (struct label_result){0};
    if (test->model->label_scheme[0] == '\0') {
        return OK;
    }
    struct label_input input = input_of(test);
    struct labelling labelling = {.input = &input, .arena = arena, .label = label};
    enum word_meaning scheme;
    if (choose_scheme(&labelling, &scheme)) {
        if (test->impossible) {
            (void)label_refuse(&labelling, "the log holds readings that no such set can give");
        } else if (change_input(&input, test, change)) {
            schemes[scheme].find(&labelling);
            label->duty_failed = test->fails;
        } else {
            (void)label_refuse(&labelling, "the change asked for gives no possible set at the duty point");
        }
    }
    return labelling.failed ? E_MEMORY : OK;
}
