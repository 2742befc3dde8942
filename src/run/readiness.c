#include "run/readiness.h"

#include "physics/reduce.h"
#include "physics/translate.h"
#include "verdict/judge_overload.h"

#include <stdarg.h>
#include <string.h>

struct finding {
    const struct bay *bay;
    struct arena *arena;
    struct readiness *readiness;
    const char *model; /* whose lines are found; NULL: the bay's */
    enum status status;
};

static void say(struct finding *finding, enum ready_kind kind, const char *fmt, ...) PRINTF_LIKE(3, 4);
static void say(struct finding *finding, enum ready_kind kind, const char *fmt, ...)
{
    enum { LONGEST = 400 };
    char text[LONGEST];
    va_list args;
    va_start(args, fmt);
    (void)vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    struct readiness *readiness = finding->readiness;
    const char *kept = arena_text(finding->arena, text, strlen(text));
    struct ready_line *line =
        kept == NULL ? NULL : arena_push(finding->arena, &readiness->lines, &readiness->count, sizeof *line);
    if (line == NULL) {
        finding->status = E_MEMORY;
        return;
    }
    *line = (struct ready_line){.kind = kind, .model = finding->model, .text = kept};
}

/* What the log must call a channel. */
static const char *heading(const struct finding *finding, enum channel channel)
{
    const char *mapped = finding->bay->rig.columns[channel].heading;
    return mapped != NULL ? mapped : channel_info(channel)->name;
}

static void find_flow(struct finding *finding)
{
    const struct rig *rig = &finding->bay->rig;
    bool tank = rig->flow_method == FLOW_TANK_VOLUME || rig->flow_method == FLOW_TANK_MASS;
    say(finding, READY_UNDERSTOOD, "flow by %s: column '%.60s'%s%.60s%s of the log", flow_method_name(rig->flow_method),
        heading(finding, flow_channel(rig->flow_method)), tank ? " and '" : "",
        tank ? heading(finding, CH_FILLING_TIME) : "", tank ? "'" : "");
}

static void fill_if(struct finding *finding, bool lacks, const char *item, const char *why)
{
    if (lacks) {
        say(finding, READY_TO_FILL, "rig.csv: '%s', %s", item, why);
    }
}

static void find_head(struct finding *finding)
{
    const struct rig *rig = &finding->bay->rig;
    char level[200], density[120];
    (void)snprintf(level, sizeof level,
                   rig->water_level_m.known ? "water level by rig.csv, unless the log has '%.60s'"
                                            : "water level by column '%.60s'",
                   heading(finding, CH_WATER_LEVEL));
    (void)snprintf(density, sizeof density,
                   rig->water_density_kg_m3.known ? "density by rig.csv%.0s" : "density by column '%.60s'",
                   heading(finding, CH_WATER_TEMPERATURE));
    say(finding, READY_UNDERSTOOD, "head by column '%.60s', %s, %s", heading(finding, CH_GAUGE_PRESSURE), level,
        density);
    fill_if(finding, !rig->gauge_height_m.known, "gauge height", "without it there is no head");
    fill_if(finding, !rig->delivery_bore_m.known, "delivery bore", "without it there is no head");
    fill_if(finding, quantity_or(rig->delivery_length_m, 0.0) > 0.0 && !rig->delivery_roughness_m.known,
            "delivery roughness", "the friction of the stated delivery length needs it");
}

static void find_power(struct finding *finding)
{
    const struct rig *rig = &finding->bay->rig;
    say(finding, READY_UNDERSTOOD,
        "power by column '%.60s', or the wattmeters, or %svoltage, current and power factor; "
        "current ratio %g, voltage ratio %g",
        heading(finding, CH_INPUT_POWER), rig->meter_constant_per_j.known ? "the energy meter, or " : "",
        rig->current_ratio, rig->voltage_ratio);
}

static void find_speed(struct finding *finding)
{
    static const char *const by[] = {
        [SPEED_UNSTATED] = "what the log has: measured speed, else the motor's curve, else frequency",
        [SPEED_MEASURED] = "measured speed",
        [SPEED_FREQUENCY] = "frequency",
        [SPEED_MOTOR] = "the motor's curve",
    };
    say(finding, READY_UNDERSTOOD, "speed by %s", by[finding->bay->rig.speed_basis]);
}

static void find_instruments(struct finding *finding)
{
    size_t with_accuracy = 0;
    for (size_t i = 0; i < finding->bay->instrument_count; i++) {
        with_accuracy += finding->bay->instruments[i].accuracy.known;
    }
    say(finding, READY_UNDERSTOOD,
        with_accuracy == 0 ? "no accuracy is stated in instruments.csv: verdicts stand without an uncertainty%.0zu"
                           : "accuracy of %zu instruments, for the uncertainty",
        with_accuracy);
}

/* --- a model --- */

/* What the readings need to be taken to rated speed. */
static void find_rated(struct finding *finding, const struct model *model)
{
    enum speed_basis basis = finding->bay->rig.speed_basis;
    bool by_motor = basis == SPEED_MOTOR, frequency = basis == SPEED_FREQUENCY || basis == SPEED_UNSTATED || by_motor;
    if (frequency && !model->rated_frequency_hz.known) {
        say(finding, READY_TO_FILL, "models.csv: 'rated frequency', readings are taken to it");
    }
    if ((by_motor || basis == SPEED_MEASURED) && !model->rated_speed_rpm.known) {
        say(finding, READY_TO_FILL, "models.csv: 'rated speed', readings are taken to it");
    }
    if (by_motor && model->motor == NULL) {
        say(finding, READY_TO_FILL, "models.csv: 'motor', and its curve in motors.csv: speed basis 'motor' needs it");
    }
}

/* "1B, 1E, ...". */
static const char *grade_names(struct finding *finding)
{
    const struct grade_book *book = &finding->bay->grades;
    const char *names = "";
    for (size_t i = 0; i < book->grade_count && names != NULL; i++) {
        names = arena_format(finding->arena, "%s%s%s", names, *names == '\0' ? "" : ", ", book->grades[i].name);
    }
    finding->status = names == NULL ? E_MEMORY : finding->status;
    return names == NULL ? "" : names;
}

static void find_grade(struct finding *finding, const struct duty *duty, size_t number)
{
    if (*duty->grade_name == '\0') {
        say(finding, READY_TO_FILL, "models.csv: 'grade' of point %zu, without it nothing is judged: %.250s", number,
            grade_names(finding));
    } else if (duty->grade == NULL) {
        say(finding, READY_TO_FILL, "models.csv: no grade \"%.60s\" (point %zu): %.250s", duty->grade_name, number,
            grade_names(finding));
    } else if (!duty->grade->flow_minus.known || !duty->grade->head_minus.known) {
        say(finding, READY_TO_FILL,
            "grades.csv: the tolerances of grade '%.60s' are blank, fill them from your copy of %.60s",
            duty->grade->name, duty->grade->standard);
    }
}

static void find_duty(struct finding *finding, const struct duty *duty, size_t number)
{
    find_grade(finding, duty, number);
    if (!duty->flow_m3s.known || !duty->head_m.known) {
        say(finding, READY_TO_FILL, "models.csv: %s of point %zu",
            duty->flow_m3s.known ? "'guaranteed head'"
            : duty->head_m.known ? "'guaranteed flow'"
                                 : "'guaranteed flow' and 'guaranteed head'",
            number);
    } else if (duty->grade != NULL) {
        say(finding, READY_CHECKED, "point %zu: flow and head, by grade %s", number, duty->grade->name);
    }
    if (duty->efficiency.known) {
        say(finding, READY_CHECKED, "point %zu: efficiency of the %s", number,
            duty->efficiency_of_pump ? "pump" : "set");
    } else {
        say(finding, READY_UNCHECKED, "point %zu: efficiency, none is guaranteed", number);
    }
    if (duty->input_power_w.known) {
        say(finding, READY_CHECKED, "point %zu: input power", number);
    } else {
        say(finding, READY_UNCHECKED, "point %zu: input power, none is guaranteed", number);
    }
}

static bool needs_shaft(const struct model *model)
{
    bool of_pump = false;
    for (size_t i = 0; i < model->duty_count; i++) {
        of_pump = of_pump || (model->duties[i].efficiency.known && model->duties[i].efficiency_of_pump);
    }
    return of_pump && model->motor == NULL && !model->motor_efficiency.known;
}

static void find_overload(struct finding *finding, const struct model *model)
{
    bool range = model->head_low_m.known && model->head_high_m.known;
    if (!range) {
        say(finding, READY_UNCHECKED, "overload: 'head low' and 'head high' are not both stated");
        return;
    }
    if (model->rated_current_a.known) {
        say(finding, READY_CHECKED, "current over the head range");
    } else {
        say(finding, READY_UNCHECKED, "current over the head range: no 'rated current'");
    }
    bool power = rated_input_power(model).known;
    say(finding, power ? READY_CHECKED : READY_UNCHECKED, "power over the head range%s",
        power ? "" : ": no 'rated power' with the motor's curve or efficiency");
}

static void find_model(struct finding *finding, const struct model *model)
{
    finding->model = model->name;
    find_rated(finding, model);
    for (size_t i = 0; i < model->duty_count; i++) {
        find_duty(finding, &model->duties[i], i + 1);
    }
    if (needs_shaft(model)) {
        say(finding, READY_TO_FILL,
            "models.csv: 'motor' or 'motor efficiency', the guaranteed efficiency of the pump needs it");
    }
    find_overload(finding, model);
    if (*model->label_scheme != '\0') {
        say(finding, READY_CHECKED, "label: %.60s", model->label_scheme);
    } else {
        say(finding, READY_UNCHECKED, "label: no scheme is stated");
    }
}

enum status readiness_find(const struct bay *bay, struct arena *arena, struct readiness *readiness)
{
    struct finding finding = {.bay = bay, .arena = arena, .readiness = readiness};
    *readiness = (struct readiness){0};
    find_flow(&finding);
    find_head(&finding);
    find_power(&finding);
    find_speed(&finding);
    find_instruments(&finding);
    for (size_t i = 0; i < bay->blank_count; i++) {
        say(&finding, READY_TO_FILL, "rig.csv: '%s', the flow method needs it", bay->blanks[i]);
    }
    if (bay->model_count == 0) {
        say(&finding, READY_TO_FILL, "models.csv: a row for each model");
    }
    for (size_t i = 0; i < bay->model_count; i++) {
        find_model(&finding, &bay->models[i]);
    }
    return finding.status;
}

size_t readiness_count(const struct readiness *readiness, enum ready_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < readiness->count; i++) {
        count += readiness->lines[i].kind == kind;
    }
    return count;
}
