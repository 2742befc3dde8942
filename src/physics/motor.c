#include "physics/motor.h"

#include <math.h>

/* The interpolant is Steffen's (Astron. Astrophys. 239, 443, 1990), as gsl_interp_steffen computes it, but evaluated
 * from the four load points about the argument alone: it is asked for hundreds of times a unit, and GSL's object would
 * have to be allocated and filled from the whole curve each time. tests/unit/test_motor.c holds it to GSL's own. */

enum column { INPUT_POWER, SHAFT_POWER, SPEED };

struct load_point {
    double x, y;
};

/* Up to two load points at or below the argument, the nearest first, and up to two above it. */
struct window {
    struct load_point below[2], above[2];
    size_t below_count, above_count;
};

static struct quantity column_at(const struct motor *motor, enum column column, size_t i)
{
    switch (column) {
    case INPUT_POWER: return quantity_of(motor->input_power_w[i]);
    case SHAFT_POWER: return quantity_of(motor->shaft_power_w[i]);
    case SPEED: return motor->speed_rpm[i];
    }
    return quantity_absent();
}

/* At least two load points, both powers finite and strictly rising. */
static bool curve_valid(const struct motor *motor)
{
    if (motor == NULL || motor->count < 2) {
        return false;
    }
    double input_w = -INFINITY, shaft_w = -INFINITY;
    for (size_t i = 0; i < motor->count; i++) {
        if (!(motor->input_power_w[i] > input_w) || !(motor->shaft_power_w[i] > shaft_w)) {
            return false;
        }
        input_w = motor->input_power_w[i];
        shaft_w = motor->shaft_power_w[i];
    }
    return isfinite(input_w) && isfinite(shaft_w);
}

/* Finds the points about x in a valid curve; a row that does not state y is passed over. False where x is outside the
 * points. */
static bool window_about(const struct motor *motor, enum column x_column, enum column y_column, double x,
                         struct window *window)
{
    *window = (struct window){0};
    for (size_t i = 0; i < motor->count && window->above_count < 2; i++) {
        struct quantity y = column_at(motor, y_column, i);
        struct load_point point = {column_at(motor, x_column, i).value, y.value};
        if (y.known && point.x <= x) {
            window->below[1] = window->below[0];
            window->below[0] = point;
            window->below_count += window->below_count < 2;
        } else if (y.known) {
            window->above[window->above_count++] = point;
        }
    }
    bool at_last = window->below_count > 0 && window->below[0].x == x;
    return window->below_count > 0 && (window->above_count > 0 || at_last);
}

static double chord(struct load_point a, struct load_point b)
{
    return (b.y - a.y) / (b.x - a.x);
}

/* Steffen's slope at the middle one of three points, equation 11. */
static double middle_slope(struct load_point left, struct load_point middle, struct load_point right)
{
    double before = chord(left, middle), after = chord(middle, right);
    if (!(before * after > 0.0)) {
        return 0.0;
    }
    double width_before = middle.x - left.x, width_after = right.x - middle.x;
    double parabola = (before * width_after + after * width_before) / (width_before + width_after);
    return copysign(fmin(fmin(2.0 * fabs(before), 2.0 * fabs(after)), fabs(parabola)), before);
}

/* The cubic over one interval, from its left end. */
struct cubic {
    double x, a, b, c, d;
};

static double cubic_at(const struct cubic *cubic, double x)
{
    double t = x - cubic->x;
    return ((cubic->a * t + cubic->b) * t + cubic->c) * t + cubic->d;
}

static struct cubic cubic_of(const struct window *window)
{
    struct load_point left = window->below[0], right = window->above[0];
    if (window->above_count == 0) {
        return (struct cubic){.x = left.x, .d = left.y}; /* the argument is the last point */
    }
    double width = right.x - left.x, slope = chord(left, right);
    double at_left = window->below_count > 1 ? middle_slope(window->below[1], left, right) : slope;
    double at_right = window->above_count > 1 ? middle_slope(left, right, window->above[1]) : slope;
    return (struct cubic){.x = left.x,
                          .a = (at_left + at_right - 2.0 * slope) / (width * width),
                          .b = (3.0 * slope - 2.0 * at_left - at_right) / width,
                          .c = at_left,
                          .d = left.y};
}

static struct quantity interpolate(const struct motor *motor, enum column y_column, double x)
{
    struct window window;
    if (!curve_valid(motor) || !window_about(motor, INPUT_POWER, y_column, x, &window)) {
        return quantity_absent();
    }
    struct cubic cubic = cubic_of(&window);
    return quantity_of(cubic_at(&cubic, x));
}

struct quantity motor_shaft_power(const struct motor *motor, double input_power_w)
{
    return interpolate(motor, SHAFT_POWER, input_power_w);
}

struct quantity motor_speed(const struct motor *motor, double input_power_w)
{
    return interpolate(motor, SPEED, input_power_w);
}

static struct load_point swapped(struct load_point point)
{
    return (struct load_point){point.y, point.x};
}

/* Turns a window found by shaft power into one over input power. */
static void swap_axes(struct window *window)
{
    for (size_t i = 0; i < 2; i++) {
        window->below[i] = swapped(window->below[i]);
        window->above[i] = swapped(window->above[i]);
    }
}

struct quantity motor_input_power(const struct motor *motor, double shaft_power_w)
{
    enum { HALVINGS = 60 }; /* more than a double's 53 bits */
    struct window window;
    if (!curve_valid(motor) || !window_about(motor, SHAFT_POWER, INPUT_POWER, shaft_power_w, &window)) {
        return quantity_absent();
    }
    swap_axes(&window);
    if (window.below[0].y == shaft_power_w) {
        return quantity_of(window.below[0].x);
    }
    struct cubic cubic = cubic_of(&window);
    double low_w = window.below[0].x, high_w = window.above[0].x;
    for (int i = 0; i < HALVINGS; i++) {
        double middle_w = 0.5 * (low_w + high_w);
        if (cubic_at(&cubic, middle_w) < shaft_power_w) {
            low_w = middle_w;
        } else {
            high_w = middle_w;
        }
    }
    return quantity_of(0.5 * (low_w + high_w));
}
