#include "tables/motors.h"
#include "base/text.h"

#include "tables/bay.h"
#include "tables/cells.h"

#include <stdlib.h>
#include <string.h>

enum { M_MOTOR, M_INPUT, M_SHAFT, M_SPEED, M_CURRENT, M_COUNT };

static const struct table_field motor_fields[M_COUNT] = {
    [M_MOTOR] = {"motor", DIM_NONE, true},         [M_INPUT] = {"input power", DIM_POWER, true},
    [M_SHAFT] = {"shaft power", DIM_POWER, true},  [M_SPEED] = {"speed", DIM_SPEED, false},
    [M_CURRENT] = {"current", DIM_CURRENT, false},
};

static const struct table_help motor_help[M_COUNT] = {
    [M_MOTOR] = {.about = "name of the motor, as models.csv says it"},
    [M_INPUT] = {.about = "at this load"},
    [M_SHAFT] = {.about = "at this load"},
    [M_SPEED] = {.about = "at this load, for speed basis 'motor'"},
    [M_CURRENT] = {.about = "at this load"},
};

const struct table_form motors_form = {"motors",
                                       "motors.csv: motor curves, a row a load point; the whole table may be missing",
                                       motor_fields, motor_help, M_COUNT};

/* One row of motors.csv; motor: number in bay->motors. */
struct load_point {
    size_t motor, row;
    struct quantity input_power_w, shaft_power_w, speed_rpm, current_a;
};

struct load_points {
    size_t count;
    struct load_point *items;
};

static int compare_points(const void *a, const void *b)
{
    const struct load_point *p = a, *q = b;
    if (p->motor != q->motor) {
        return p->motor < q->motor ? -1 : 1;
    }
    if (p->input_power_w.value != q->input_power_w.value) {
        return p->input_power_w.value < q->input_power_w.value ? -1 : 1;
    }
    return p->row < q->row ? -1 : p->row > q->row;
}

/* The number of the motor of a name, added when it is new. Returns: false when memory is out. */
static bool motor_number(struct bay *bay, struct arena *arena, const char *name, size_t *number)
{
    for (*number = 0; *number < bay->motor_count; (*number)++) {
        if (name_equal(bay->motors[*number].name, name)) {
            return true;
        }
    }
    struct motor *motor = arena_push(arena, &bay->motors, &bay->motor_count, sizeof *motor);
    if (motor == NULL) {
        return false;
    }
    motor->name = name;
    return true;
}

static struct load_point read_point(struct cells *cells, size_t row)
{
    static const struct range input_range = RANGE_ABOVE(0, 1e8), shaft_range = RANGE_FROM(0, 1e8),
                              speed_range = RANGE_ABOVE(0, 1e5), current_range = RANGE_FROM(0, 1e5);
    cells_required(cells, row, M_INPUT);
    cells_required(cells, row, M_SHAFT);
    struct load_point point = {
        .row = row,
        .input_power_w = cells_quantity(cells, row, M_INPUT, &input_range),
        .shaft_power_w = cells_quantity(cells, row, M_SHAFT, &shaft_range),
        .speed_rpm = cells_quantity(cells, row, M_SPEED, &speed_range),
        .current_a = cells_quantity(cells, row, M_CURRENT, &current_range),
    };
    if (point.input_power_w.known && point.shaft_power_w.known &&
        point.shaft_power_w.value >= point.input_power_w.value) {
        cells_fault(cells, row, M_SHAFT, "'shaft power' is not below 'input power', expected a motor with losses");
    }
    return point;
}

static void take_row(struct cells *cells, size_t row, struct bay *bay, struct load_points *points)
{
    const char *name = cells_required(cells, row, M_MOTOR);
    struct load_point point = read_point(cells, row);
    if (*name == '\0') {
        return;
    }
    struct load_point *place = motor_number(bay, cells->arena, name, &point.motor)
                                   ? arena_push(cells->arena, &points->items, &points->count, sizeof *place)
                                   : NULL;
    if (place == NULL) {
        cells_no_memory(cells);
        return;
    }
    *place = point;
}

static void check_rising(struct cells *cells, const struct load_point *before, const struct load_point *point)
{
    size_t line = cells->table.rows[before->row].line;
    if (point->input_power_w.value == before->input_power_w.value) {
        cells_fault(cells, point->row, M_INPUT, "'input power' is that of line %zu, expected each load point once",
                    line);
    } else if (point->shaft_power_w.value <= before->shaft_power_w.value) {
        cells_fault(cells, point->row, M_SHAFT,
                    "'shaft power' does not rise above that of line %zu, expected it to rise with 'input power'", line);
    }
}

/* Fills a motor from its load points, which are sorted by input power. */
static bool fill_motor(struct cells *cells, struct motor *motor, const struct load_point *points, size_t count)
{
    motor->input_power_w = arena_alloc(cells->arena, count, sizeof *motor->input_power_w);
    motor->shaft_power_w = arena_alloc(cells->arena, count, sizeof *motor->shaft_power_w);
    motor->speed_rpm = arena_alloc(cells->arena, count, sizeof *motor->speed_rpm);
    motor->current_a = arena_alloc(cells->arena, count, sizeof *motor->current_a);
    if (motor->input_power_w == NULL || motor->shaft_power_w == NULL || motor->speed_rpm == NULL ||
        motor->current_a == NULL) {
        return false;
    }
    motor->count = count;
    for (size_t i = 0; i < count; i++) {
        motor->input_power_w[i] = points[i].input_power_w.value;
        motor->shaft_power_w[i] = points[i].shaft_power_w.value;
        motor->speed_rpm[i] = points[i].speed_rpm;
        motor->current_a[i] = points[i].current_a;
        if (i > 0) {
            check_rising(cells, &points[i - 1], &points[i]);
        }
    }
    if (count < 2) {
        cells_fault(cells, points[0].row, M_MOTOR, "motor '%.*s' has one load point, expected at least two",
                    cell_shown(motor->name), motor->name);
    }
    return true;
}

enum status motors_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults)
{
    struct cells cells;
    struct load_points points = {0};
    cells_read(&cells, path, motor_fields, M_COUNT, arena, faults);
    for (size_t row = 0; row < cells.table.row_count && cells.status != E_MEMORY; row++) {
        take_row(&cells, row, bay, &points);
    }
    cells_keep(&cells, &bay->kept);
    cells_note_unknown(&cells, &bay->notes);
    if (cells.status != OK) {
        return cells.status; /* the rise of faulty cells is not to be judged */
    }
    if (points.count > 1) {
        qsort(points.items, points.count, sizeof *points.items, compare_points);
    }
    for (size_t first = 0, end; first < points.count; first = end) {
        for (end = first; end < points.count && points.items[end].motor == points.items[first].motor; end++) {
        }
        struct motor *motor = &bay->motors[points.items[first].motor];
        if (!fill_motor(&cells, motor, points.items + first, end - first)) {
            cells_no_memory(&cells);
            return cells.status;
        }
    }
    return cells.status;
}
