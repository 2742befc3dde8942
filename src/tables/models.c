#include "tables/models.h"
#include "base/text.h"

#include "tables/bay.h"
#include "tables/cells.h"

#include <stddef.h>
#include <string.h>

enum {
    D_MODEL,
    D_STAGES,
    D_BORE,
    D_POLES,
    D_PHASES,
    D_RATED_POWER,
    D_RATED_VOLTAGE,
    D_RATED_CURRENT,
    D_RATED_FREQUENCY,
    D_RATED_SPEED,
    D_FLOW,
    D_HEAD,
    D_EFFICIENCY,
    D_EFFICIENCY_OF,
    D_INPUT_POWER,
    D_HEAD_LOW,
    D_HEAD_HIGH,
    D_GRADE,
    D_LABEL,
    D_LABEL_MINIMUM,
    D_LABEL_SOURCE,
    D_MOTOR,
    D_MOTOR_EFFICIENCY,
    D_WINDING_IMBALANCE,
    D_INSULATION,
    D_HIGH_VOLTAGE,
    D_NO_LOAD_CURRENT,
    D_NO_LOAD_POWER,
    D_LOCKED_ROTOR_CURRENT,
    D_PROOF_PRESSURE,
    D_TEMPERATURE_RISE,
    D_WINDING_LOW,
    D_WINDING_HIGH,
    D_COUNT
};

static const struct table_field model_fields[D_COUNT] = {
    [D_MODEL] = {"model", DIM_NONE, true},
    [D_STAGES] = {"stages", DIM_NONE, false},
    [D_BORE] = {"nominal bore", DIM_LENGTH, false},
    [D_POLES] = {"poles", DIM_NONE, false},
    [D_PHASES] = {"phases", DIM_NONE, false},
    [D_RATED_POWER] = {"rated power", DIM_POWER, false},
    [D_RATED_VOLTAGE] = {"rated voltage", DIM_VOLTAGE, false},
    [D_RATED_CURRENT] = {"rated current", DIM_CURRENT, false},
    [D_RATED_FREQUENCY] = {"rated frequency", DIM_FREQUENCY, false},
    [D_RATED_SPEED] = {"rated speed", DIM_SPEED, false},
    [D_FLOW] = {"guaranteed flow", DIM_FLOW, false},
    [D_HEAD] = {"guaranteed head", DIM_LENGTH, false},
    [D_EFFICIENCY] = {"guaranteed efficiency", DIM_RATIO, false},
    [D_EFFICIENCY_OF] = {"efficiency of", DIM_NONE, false},
    [D_INPUT_POWER] = {"guaranteed input power", DIM_POWER, false},
    [D_HEAD_LOW] = {"head low", DIM_LENGTH, false},
    [D_HEAD_HIGH] = {"head high", DIM_LENGTH, false},
    [D_GRADE] = {"grade", DIM_NONE, false},
    [D_LABEL] = {"label", DIM_NONE, false},
    [D_LABEL_MINIMUM] = {"label minimum efficiency", DIM_RATIO, false},
    [D_LABEL_SOURCE] = {"label minimum source", DIM_NONE, false},
    [D_MOTOR] = {"motor", DIM_NONE, false},
    [D_MOTOR_EFFICIENCY] = {"motor efficiency", DIM_RATIO, false},
    [D_WINDING_IMBALANCE] = {"winding imbalance max", DIM_RATIO, false},
    [D_INSULATION] = {"insulation min", DIM_RESISTANCE, false},
    [D_HIGH_VOLTAGE] = {"high voltage", DIM_VOLTAGE, false},
    [D_NO_LOAD_CURRENT] = {"no load current max", DIM_CURRENT, false},
    [D_NO_LOAD_POWER] = {"no load power max", DIM_POWER, false},
    [D_LOCKED_ROTOR_CURRENT] = {"locked rotor current max", DIM_CURRENT, false},
    [D_PROOF_PRESSURE] = {"proof pressure min", DIM_PRESSURE, false},
    [D_TEMPERATURE_RISE] = {"temperature rise max", DIM_TEMPERATURE, false},
    [D_WINDING_LOW] = {"winding at 20 c low", DIM_RESISTANCE, false},
    [D_WINDING_HIGH] = {"winding at 20 c high", DIM_RESISTANCE, false},
};

static const struct word efficiency_words[] = {{"set", false}, {"pump", true}, {0}};
static const struct table_help model_help[D_COUNT] = {
    [D_MODEL] = {.about = "name of the model; a second row of the name is a second guaranteed point"},
    [D_STAGES] = {.about = "number of stages"},
    [D_BORE] = {.about = "of the borewell that the set goes into"},
    [D_POLES] = {.about = "of the motor"},
    [D_PHASES] = {.about = "1 or 3"},
    [D_RATED_POWER] = {.about = "of the motor, at its shaft"},
    [D_RATED_VOLTAGE] = {.about = "of the supply"},
    [D_RATED_CURRENT] = {.about = "most current over the head range"},
    [D_RATED_FREQUENCY] = {.about = "that the guarantee holds for"},
    [D_RATED_SPEED] = {.about = "that the guarantee holds for"},
    [D_FLOW] = {.about = "flow of the guaranteed point"},
    [D_HEAD] = {.about = "total head at the guaranteed flow"},
    [D_EFFICIENCY] = {.about = "at the guaranteed flow", .otherwise = "not guaranteed, not checked"},
    [D_EFFICIENCY_OF] = {.about = "what the efficiency is of", .otherwise = "set", .words = efficiency_words},
    [D_INPUT_POWER] = {.about = "most input power at the guaranteed flow", .otherwise = "not guaranteed, not checked"},
    [D_HEAD_LOW] = {.about = "lower end of the head range, for overload"},
    [D_HEAD_HIGH] = {.about = "upper end of the head range"},
    [D_GRADE] = {.about = "acceptance grade, 'dutyproof tables grades' lists them", .otherwise = "not judged"},
    [D_LABEL] = {.about = "label scheme: eu, star, us", .otherwise = "no label"},
    [D_LABEL_MINIMUM] = {.about = "smallest efficiency that the index of the label counts from"},
    [D_LABEL_SOURCE] = {.about = "where that minimum is stated"},
    [D_MOTOR] = {.about = "name of its curve in motors.csv"},
    [D_MOTOR_EFFICIENCY] = {.about = "where there is no curve"},
    [D_WINDING_IMBALANCE] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_INSULATION] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_HIGH_VOLTAGE] = {.about = "routine test voltage", .otherwise = "shown, not judged"},
    [D_NO_LOAD_CURRENT] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_NO_LOAD_POWER] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_LOCKED_ROTOR_CURRENT] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_PROOF_PRESSURE] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_TEMPERATURE_RISE] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_WINDING_LOW] = {.about = "routine limit", .otherwise = "shown, not judged"},
    [D_WINDING_HIGH] = {.about = "routine limit", .otherwise = "shown, not judged"},
};

const struct table_form models_form = {"models",
                                       "models.csv: what each model is guaranteed to do, a row a guaranteed point",
                                       model_fields, model_help, D_COUNT};

/* Numbers that belong to the model, not to one of its guaranteed points: where they go and what they may be. */
static const struct model_number {
    int field;
    size_t offset;
    struct range range;
} model_numbers[] = {
/* clang-format off */
#define NUMBER(field, member, range) {field, offsetof(struct model, member), range}
    /* clang-format on */
    NUMBER(D_STAGES, stages, RANGE_WHOLE(1, 500)),
    NUMBER(D_BORE, nominal_bore_m, RANGE_ABOVE(0, 5)),
    NUMBER(D_POLES, poles, RANGE_WHOLE(2, 48)),
    NUMBER(D_PHASES, phases, RANGE_WHOLE(1, 3)),
    NUMBER(D_RATED_POWER, rated_power_w, RANGE_ABOVE(0, 1e7)),
    NUMBER(D_RATED_VOLTAGE, rated_voltage_v, RANGE_ABOVE(0, 1e5)),
    NUMBER(D_RATED_CURRENT, rated_current_a, RANGE_ABOVE(0, 1e5)),
    NUMBER(D_RATED_FREQUENCY, rated_frequency_hz, RANGE_ABOVE(0, 1000)),
    NUMBER(D_RATED_SPEED, rated_speed_rpm, RANGE_ABOVE(0, 1e5)),
    NUMBER(D_HEAD_LOW, head_low_m, RANGE_FROM(0, 5000)),
    NUMBER(D_HEAD_HIGH, head_high_m, RANGE_ABOVE(0, 5000)),
    NUMBER(D_LABEL_MINIMUM, label_minimum_efficiency, RANGE_ABOVE(0, 1)),
    NUMBER(D_MOTOR_EFFICIENCY, motor_efficiency, RANGE_ABOVE(0, 1)),
    NUMBER(D_WINDING_IMBALANCE, winding_imbalance_max, RANGE_ABOVE(0, 1)),
    NUMBER(D_INSULATION, insulation_min_ohm, RANGE_ABOVE(0, 1e15)),
    NUMBER(D_HIGH_VOLTAGE, high_voltage_v, RANGE_ABOVE(0, 1e5)),
    NUMBER(D_NO_LOAD_CURRENT, no_load_current_max_a, RANGE_ABOVE(0, 1e5)),
    NUMBER(D_NO_LOAD_POWER, no_load_power_max_w, RANGE_ABOVE(0, 1e7)),
    NUMBER(D_LOCKED_ROTOR_CURRENT, locked_rotor_current_max_a, RANGE_ABOVE(0, 1e6)),
    NUMBER(D_PROOF_PRESSURE, proof_pressure_min_pa, RANGE_ABOVE(0, 1e9)),
    NUMBER(D_TEMPERATURE_RISE, temperature_rise_max_k, RANGE_ABOVE(0, 300)),
    NUMBER(D_WINDING_LOW, winding_20c_low_ohm, RANGE_ABOVE(0, 1e6)),
    NUMBER(D_WINDING_HIGH, winding_20c_high_ohm, RANGE_ABOVE(0, 1e6)),
#undef NUMBER
};

/* Texts that belong to the model. */
static const struct model_text {
    int field;
    size_t offset;
} model_texts[] = {
    {D_LABEL, offsetof(struct model, label_scheme)},
    {D_LABEL_SOURCE, offsetof(struct model, label_minimum_source)},
    {D_MOTOR, offsetof(struct model, motor_name)},
};

/* A rise in temperature is a difference: the unit's factor without its offset. Its range was checked as a temperature
 * would be, so it is read as written. */
static struct quantity read_number(struct cells *cells, size_t row, const struct model_number *number)
{
    if (number->field != D_TEMPERATURE_RISE) {
        return cells_quantity(cells, row, number->field, &number->range);
    }
    const struct unit *unit = cells->units[number->field];
    cells->units[number->field] = NULL;
    struct quantity rise = cells_quantity(cells, row, number->field, &number->range);
    cells->units[number->field] = unit;
    return unit == NULL || !rise.known ? rise : quantity_of(unit_difference_to_si(unit, rise.value));
}

static void fault_conflict(struct cells *cells, size_t row, int field, const struct model *model)
{
    cells_fault(cells, row, field,
                "'%s' differs from an earlier row of model '%.*s' (first on line %zu), expected one value or a blank",
                cells->fields[field].name, cell_shown(model->name), model->name, model->line);
}

/* Sets a number of the model; a second row may repeat it or leave it blank. */
static void take_number(struct cells *cells, size_t row, const struct model_number *number, struct model *model)
{
    struct quantity kept, given = read_number(cells, row, number);
    char *place = (char *)model + number->offset;
    memcpy(&kept, place, sizeof kept);
    if (given.known && kept.known && given.value != kept.value) {
        fault_conflict(cells, row, number->field, model);
    } else if (given.known) {
        memcpy(place, &given, sizeof given);
    }
}

static void take_text(struct cells *cells, size_t row, const struct model_text *text, struct model *model)
{
    const char *kept, *given = cells_text(cells, row, text->field);
    char *place = (char *)model + text->offset;
    memcpy(&kept, place, sizeof kept);
    if (*given != '\0' && *kept != '\0' && !name_equal(given, kept)) {
        fault_conflict(cells, row, text->field, model);
    } else if (*given != '\0') {
        memcpy(place, &given, sizeof given);
    }
}

static void take_model_cells(struct cells *cells, size_t row, struct model *model)
{
    for (size_t i = 0; i < sizeof model_numbers / sizeof *model_numbers; i++) {
        take_number(cells, row, &model_numbers[i], model);
    }
    for (size_t i = 0; i < sizeof model_texts / sizeof *model_texts; i++) {
        take_text(cells, row, &model_texts[i], model);
    }
    if (*cells_text(cells, row, D_RATED_CURRENT) != '\0') {
        model->rated_current_text = cells_text(cells, row, D_RATED_CURRENT);
    }
    if (*cells_text(cells, row, D_RATED_POWER) != '\0') {
        model->rated_power_text = cells_text(cells, row, D_RATED_POWER);
    }
}

static const char *unit_name(const struct cells *cells, int field)
{
    return cells->units[field] == NULL ? NULL : cells->units[field]->name;
}

static struct duty read_duty(struct cells *cells, size_t row, const struct grade_book *grades)
{
    static const struct range flow_range = RANGE_ABOVE(0, 100), head_range = RANGE_ABOVE(0, 5000),
                              efficiency_range = RANGE_ABOVE(0, 1), power_range = RANGE_ABOVE(0, 1e7);
    const char *grade_name = cells_text(cells, row, D_GRADE);
    return (struct duty){
        .flow_m3s = cells_quantity(cells, row, D_FLOW, &flow_range),
        .head_m = cells_quantity(cells, row, D_HEAD, &head_range),
        .efficiency = cells_quantity(cells, row, D_EFFICIENCY, &efficiency_range),
        .input_power_w = cells_quantity(cells, row, D_INPUT_POWER, &power_range),
        .efficiency_of_pump = cells_word(cells, row, D_EFFICIENCY_OF, "efficiency of", efficiency_words, false) != 0,
        .efficiency_of_stated = *cells_text(cells, row, D_EFFICIENCY_OF) != '\0',
        .flow_text = cells_text(cells, row, D_FLOW),
        .head_text = cells_text(cells, row, D_HEAD),
        .efficiency_text = cells_text(cells, row, D_EFFICIENCY),
        .input_power_text = cells_text(cells, row, D_INPUT_POWER),
        .grade_name = grade_name,
        .grade = grade_find(grades, grade_name),
        .flow_unit = unit_name(cells, D_FLOW),
        .head_unit = unit_name(cells, D_HEAD),
        .power_unit = unit_name(cells, D_INPUT_POWER),
        .line = cells->table.rows[row].line,
    };
}

/* The model of a name, added when it is new. */
static struct model *model_named(struct bay *bay, struct arena *arena, const char *name, size_t line)
{
    for (size_t i = 0; i < bay->model_count; i++) {
        if (name_equal(bay->models[i].name, name)) {
            return &bay->models[i];
        }
    }
    struct model *model = arena_push(arena, &bay->models, &bay->model_count, sizeof *model);
    if (model != NULL) {
        *model = (struct model){
            .name = name,
            .rated_current_text = "",
            .rated_power_text = "",
            .label_scheme = "",
            .label_minimum_source = "",
            .motor_name = "",
            .line = line,
        };
    }
    return model;
}

static void take_row(struct cells *cells, size_t row, struct bay *bay)
{
    const char *name = cells_required(cells, row, D_MODEL);
    struct model unnamed = {.rated_current_text = "", .label_scheme = "", .label_minimum_source = "", .motor_name = ""};
    struct model *model = *name == '\0' ? &unnamed : model_named(bay, cells->arena, name, cells->table.rows[row].line);
    struct duty *duty =
        model == NULL ? NULL : arena_push(cells->arena, &model->duties, &model->duty_count, sizeof *duty);
    if (duty == NULL) {
        cells_no_memory(cells);
        return;
    }
    take_model_cells(cells, row, model);
    *duty = read_duty(cells, row, &bay->grades);
}

static size_t row_on_line(const struct cells *cells, size_t line)
{
    size_t row = 0;
    while (cells->table.rows[row].line != line) {
        row++;
    }
    return row;
}

static const struct motor *motor_named(const struct bay *bay, const char *name)
{
    for (size_t i = 0; i < bay->motor_count; i++) {
        if (name_equal(bay->motors[i].name, name)) {
            return &bay->motors[i];
        }
    }
    return NULL;
}

/* Finds the motor that a model names. */
static void link_motor(struct cells *cells, struct bay *bay, struct model *model)
{
    if (*model->motor_name == '\0') {
        return;
    }
    model->motor = motor_named(bay, model->motor_name);
    if (model->motor != NULL) {
        return;
    }
    const char **names = arena_alloc(cells->arena, bay->motor_count, sizeof *names);
    if (names == NULL) {
        cells_no_memory(cells);
        return;
    }
    for (size_t i = 0; i < bay->motor_count; i++) {
        names[i] = bay->motors[i].name;
    }
    const char *near = name_nearest(model->motor_name, names, bay->motor_count);
    cells_fault(cells, row_on_line(cells, model->line), D_MOTOR, "motor '%.*s' is not in motors.csv, expected %s%.*s%s",
                cell_shown(model->motor_name), model->motor_name, near == NULL ? "a motor that it lists" : "'",
                near == NULL ? 0 : cell_shown(near), near == NULL ? "" : near, near == NULL ? "" : "'");
}

/* Limits that are stated as a pair must rise. */
static void check_pair(struct cells *cells, const struct model *model, struct quantity low, struct quantity high,
                       int field)
{
    if (low.known && high.known && !(low.value < high.value)) {
        cells_fault(cells, row_on_line(cells, model->line), field, "'%s' is not above '%s', expected a higher value",
                    cells->fields[field].name, cells->fields[field - 1].name);
    }
}

enum status models_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults)
{
    struct cells cells;
    cells_read(&cells, path, model_fields, D_COUNT, arena, faults);
    for (size_t row = 0; row < cells.table.row_count && cells.status != E_MEMORY; row++) {
        take_row(&cells, row, bay);
    }
    for (size_t i = 0; i < bay->model_count && cells.status != E_MEMORY; i++) {
        struct model *model = &bay->models[i];
        link_motor(&cells, bay, model);
        check_pair(&cells, model, model->head_low_m, model->head_high_m, D_HEAD_HIGH);
        check_pair(&cells, model, model->winding_20c_low_ohm, model->winding_20c_high_ohm, D_WINDING_HIGH);
    }
    cells_keep(&cells, &bay->kept);
    cells_note_unknown(&cells, &bay->notes);
    return cells.status;
}
