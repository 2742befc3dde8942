#include "tables/routines.h"
#include "base/text.h"

#include "tables/bay.h"
#include "tables/cells.h"

#include <stddef.h>
#include <string.h>

enum {
    T_SERIAL,
    T_TESTED,
    T_TESTER,
    T_WINDINGS, /* eight columns, as winding_columns names them */
    T_HOT_WINDINGS = T_WINDINGS + 8,
    T_WINDING_TEMPERATURE = T_HOT_WINDINGS + 8,
    T_COOLANT,
    T_INSULATION,
    T_HIGH_VOLTAGE,
    T_HIGH_VOLTAGE_TIME,
    T_HIGH_VOLTAGE_RESULT,
    T_NO_LOAD_VOLTAGE,
    T_NO_LOAD_CURRENT,
    T_NO_LOAD_POWER,
    T_LOCKED_VOLTAGE,
    T_LOCKED_CURRENT,
    T_LOCKED_POWER,
    T_PROOF_PRESSURE,
    T_PROOF_TIME,
    T_PROOF_RESULT,
    T_COUNT
};

static const struct table_field routine_fields[T_COUNT] = {
    [T_SERIAL] = {"serial", DIM_NONE, true},
    [T_TESTED] = {"tested", DIM_NONE, false},
    [T_TESTER] = {"tester", DIM_NONE, false},
    [T_WINDINGS] = {"winding ry", DIM_RESISTANCE, false},
    [T_WINDINGS + 1] = {"winding yb", DIM_RESISTANCE, false},
    [T_WINDINGS + 2] = {"winding br", DIM_RESISTANCE, false},
    [T_WINDINGS + 3] = {"winding r", DIM_RESISTANCE, false},
    [T_WINDINGS + 4] = {"winding y", DIM_RESISTANCE, false},
    [T_WINDINGS + 5] = {"winding b", DIM_RESISTANCE, false},
    [T_WINDINGS + 6] = {"winding main", DIM_RESISTANCE, false},
    [T_WINDINGS + 7] = {"winding auxiliary", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS] = {"hot winding ry", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 1] = {"hot winding yb", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 2] = {"hot winding br", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 3] = {"hot winding r", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 4] = {"hot winding y", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 5] = {"hot winding b", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 6] = {"hot winding main", DIM_RESISTANCE, false},
    [T_HOT_WINDINGS + 7] = {"hot winding auxiliary", DIM_RESISTANCE, false},
    [T_WINDING_TEMPERATURE] = {"winding temperature", DIM_TEMPERATURE, false},
    [T_COOLANT] = {"coolant temperature", DIM_TEMPERATURE, false},
    [T_INSULATION] = {"insulation", DIM_RESISTANCE, false},
    [T_HIGH_VOLTAGE] = {"high voltage", DIM_VOLTAGE, false},
    [T_HIGH_VOLTAGE_TIME] = {"high voltage time", DIM_TIME, false},
    [T_HIGH_VOLTAGE_RESULT] = {"high voltage result", DIM_NONE, false},
    [T_NO_LOAD_VOLTAGE] = {"no load voltage", DIM_VOLTAGE, false},
    [T_NO_LOAD_CURRENT] = {"no load current", DIM_CURRENT, false},
    [T_NO_LOAD_POWER] = {"no load power", DIM_POWER, false},
    [T_LOCKED_VOLTAGE] = {"locked rotor voltage", DIM_VOLTAGE, false},
    [T_LOCKED_CURRENT] = {"locked rotor current", DIM_CURRENT, false},
    [T_LOCKED_POWER] = {"locked rotor power", DIM_POWER, false},
    [T_PROOF_PRESSURE] = {"proof pressure", DIM_PRESSURE, false},
    [T_PROOF_TIME] = {"proof time", DIM_TIME, false},
    [T_PROOF_RESULT] = {"proof result", DIM_NONE, false},
};

/* Where a number goes and what it may be. */
static const struct routine_number {
    int field;
    size_t offset;
    struct range range;
} routine_numbers[] = {
/* clang-format off */
#define NUMBER(field, member, range) {field, offsetof(struct routine, member), range}
    /* clang-format on */
    NUMBER(T_WINDING_TEMPERATURE, winding_c, RANGE_FROM(-30, 200)),
    NUMBER(T_COOLANT, coolant_c, RANGE_FROM(-10, 120)),
    NUMBER(T_INSULATION, insulation_ohm, RANGE_FROM(0, 1e15)),
    NUMBER(T_HIGH_VOLTAGE, high_voltage_v, RANGE_ABOVE(0, 1e5)),
    NUMBER(T_HIGH_VOLTAGE_TIME, high_voltage_s, RANGE_ABOVE(0, 1e5)),
    NUMBER(T_NO_LOAD_VOLTAGE, no_load_v, RANGE_ABOVE(0, 1e5)),
    NUMBER(T_NO_LOAD_CURRENT, no_load_a, RANGE_ABOVE(0, 1e5)),
    NUMBER(T_NO_LOAD_POWER, no_load_w, RANGE_ABOVE(0, 1e7)),
    NUMBER(T_LOCKED_VOLTAGE, locked_rotor_v, RANGE_ABOVE(0, 1e5)),
    NUMBER(T_LOCKED_CURRENT, locked_rotor_a, RANGE_ABOVE(0, 1e6)),
    NUMBER(T_LOCKED_POWER, locked_rotor_w, RANGE_ABOVE(0, 1e8)),
    NUMBER(T_PROOF_PRESSURE, proof_pa, RANGE_ABOVE(0, 1e9)),
    NUMBER(T_PROOF_TIME, proof_s, RANGE_ABOVE(0, 1e6)),
#undef NUMBER
};

static const struct word outcomes[] = {
    {"held", OUTCOME_HELD},     {"withstood", OUTCOME_HELD}, {"pass", OUTCOME_HELD},
    {"ok", OUTCOME_HELD},       {"failed", OUTCOME_FAILED},  {"broke down", OUTCOME_FAILED},
    {"leaked", OUTCOME_FAILED}, {"fail", OUTCOME_FAILED},    {0},
};

/* The windings are of one kind: that of the first column with a value. Cells of another are faults. */
static const struct winding_columns {
    int first, count;
} winding_columns[WINDING_KINDS] = {
    [WINDINGS_BETWEEN_LINES] = {0, 3},
    [WINDINGS_OF_PHASES] = {3, 3},
    [WINDINGS_SINGLE] = {6, 2},
};

static enum winding_kind kind_of(const struct cells *cells, size_t row)
{
    for (int kind = 0; kind < WINDING_KINDS; kind++) {
        for (int i = 0; i < winding_columns[kind].count; i++) {
            int column = winding_columns[kind].first + i;
            if (*cells_text(cells, row, T_WINDINGS + column) != '\0' ||
                *cells_text(cells, row, T_HOT_WINDINGS + column) != '\0') {
                return (enum winding_kind)kind;
            }
        }
    }
    return WINDINGS_BETWEEN_LINES;
}

static void fault_other_kinds(struct cells *cells, size_t row, enum winding_kind kind)
{
    for (int column = 0; column < 8; column++) {
        bool own =
            column >= winding_columns[kind].first && column < winding_columns[kind].first + winding_columns[kind].count;
        for (int at = T_WINDINGS; at <= T_HOT_WINDINGS && !own; at += T_HOT_WINDINGS - T_WINDINGS) {
            if (*cells_text(cells, row, at + column) != '\0') {
                cells_fault(
                    cells, row, at + column,
                    "'%s' beside '%s', expected windings all between lines, all of phases, or main and auxiliary",
                    cells->fields[at + column].name, cells->fields[T_WINDINGS + winding_columns[kind].first].name);
            }
        }
    }
}

static void take_windings(struct cells *cells, size_t row, struct routine *routine)
{
    static const struct range range = RANGE_ABOVE(0, 1e6);
    routine->winding_kind = kind_of(cells, row);
    fault_other_kinds(cells, row, routine->winding_kind);
    for (int i = 0; i < winding_columns[routine->winding_kind].count; i++) {
        int column = winding_columns[routine->winding_kind].first + i;
        routine->winding_ohm[i] = cells_quantity(cells, row, T_WINDINGS + column, &range);
        routine->hot_winding_ohm[i] = cells_quantity(cells, row, T_HOT_WINDINGS + column, &range);
    }
}

static void take_numbers(struct cells *cells, size_t row, struct routine *routine)
{
    for (size_t i = 0; i < sizeof routine_numbers / sizeof *routine_numbers; i++) {
        const struct routine_number *number = &routine_numbers[i];
        struct quantity quantity = cells_quantity(cells, row, number->field, &number->range);
        memcpy((char *)routine + number->offset, &quantity, sizeof quantity);
    }
}

static void take_date(struct cells *cells, size_t row, struct routine *routine)
{
    const char *text = cells_text(cells, row, T_TESTED);
    if (*text != '\0' && !date_parse(text, &routine->tested)) {
        routine->tested = (struct date){0};
        cells_fault(cells, row, T_TESTED, "'tested' is '%.*s', expected a date such as 2025-03-31", cell_shown(text),
                    text);
    }
}

static void take_row(struct cells *cells, size_t row, struct bay *bay)
{
    struct routine routine = {.serial = cells_required(cells, row, T_SERIAL),
                              .tester = cells_text(cells, row, T_TESTER),
                              .line = cells->table.rows[row].line};
    take_date(cells, row, &routine);
    take_windings(cells, row, &routine);
    take_numbers(cells, row, &routine);
    routine.high_voltage_outcome = (enum routine_outcome)cells_word(
        cells, row, T_HIGH_VOLTAGE_RESULT, "high voltage result", outcomes, OUTCOME_NOT_STATED);
    routine.proof_outcome =
        (enum routine_outcome)cells_word(cells, row, T_PROOF_RESULT, "proof result", outcomes, OUTCOME_NOT_STATED);
    struct routine *place = arena_push(cells->arena, &bay->routines, &bay->routine_count, sizeof *place);
    if (place == NULL) {
        cells_no_memory(cells);
        return;
    }
    *place = routine;
}

enum status routines_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults)
{
    struct cells cells;
    cells_read(&cells, path, routine_fields, T_COUNT, arena, faults);
    for (size_t row = 0; row < cells.table.row_count && cells.status != E_MEMORY; row++) {
        take_row(&cells, row, bay);
    }
    cells_keep(&cells, &bay->kept);
    cells_note_unknown(&cells, &bay->notes);
    return cells.status;
}
