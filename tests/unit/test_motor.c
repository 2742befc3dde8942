#include "physics/motor.h"

#include "near.h"

#include <gsl/gsl_interp.h>

enum { POINTS = 6 };

/* An invented 7.5 kW motor; the fourth row states no speed. */
static double input_w[POINTS] = {1100.0, 2830.0, 4710.0, 6690.0, 8810.0, 11140.0};
static double shaft_w[POINTS] = {0.0, 1875.0, 3750.0, 5625.0, 7500.0, 9375.0};
static struct quantity speed_rpm[POINTS] = {{2995.0, true}, {2972.0, true}, {2949.0, true},
                                            {0.0, false},   {2895.0, true}, {2858.0, true}};

static struct motor motor_of(size_t count)
{
    return (struct motor){
        .name = "M7", .count = count, .input_power_w = input_w, .shaft_power_w = shaft_w, .speed_rpm = speed_rpm};
}

/* Steffen's interpolant by GSL, the reference. */
static double gsl_at(const double *x, const double *y, size_t count, double at)
{
    gsl_interp *interp = gsl_interp_alloc(gsl_interp_steffen, count);
    ck_assert(interp != NULL);
    ck_assert_int_eq(gsl_interp_init(interp, x, y, count), 0);
    double value = gsl_interp_eval(interp, x, y, at, NULL);
    gsl_interp_free(interp);
    return value;
}

START_TEST(shaft_power_is_gsls_interpolant)
{
    struct motor motor = motor_of(POINTS);
    for (int i = 0; i <= 1000; i++) {
        double at = input_w[0] + (input_w[POINTS - 1] - input_w[0]) * i / 1000.0;
        struct quantity got = motor_shaft_power(&motor, at);
        ck_assert(got.known);
        near_abs(got.value, gsl_at(input_w, shaft_w, POINTS, at), 1e-9); /* rounding of ten kilowatts */
    }
}
END_TEST

START_TEST(speed_passes_over_rows_without_one)
{
    struct motor motor = motor_of(POINTS);
    double x[] = {1100.0, 2830.0, 4710.0, 8810.0, 11140.0}, y[] = {2995.0, 2972.0, 2949.0, 2895.0, 2858.0};
    for (int i = 0; i <= 1000; i++) {
        double at = x[0] + (x[4] - x[0]) * i / 1000.0;
        near_abs(motor_speed(&motor, at).value, gsl_at(x, y, 5, at), 1e-10); /* rounding */
    }
}
END_TEST

START_TEST(input_power_is_the_inverse)
{
    struct motor motor = motor_of(POINTS);
    for (int i = 0; i <= 1000; i++) {
        double at = shaft_w[POINTS - 1] * i / 1000.0;
        struct quantity input = motor_input_power(&motor, at);
        ck_assert(input.known);
        near_abs(motor_shaft_power(&motor, input.value).value, at, 1e-8); /* bisection to the last bit */
    }
}
END_TEST

START_TEST(a_dip_between_points_is_never_made)
{
    /* a curve with a sharp bend stays rising: the reason for Steffen's method */
    double x[] = {1.0, 2.0, 3.0, 4.0, 5.0}, y[] = {0.0, 0.01, 0.02, 3.0, 3.01};
    struct motor motor = {.count = 5, .input_power_w = x, .shaft_power_w = y, .speed_rpm = speed_rpm};
    double last = -1.0;
    for (int i = 0; i <= 400; i++) {
        double shaft = motor_shaft_power(&motor, 1.0 + i / 100.0).value;
        ck_assert(shaft >= last);
        last = shaft;
    }
}
END_TEST

START_TEST(outside_the_curve_is_absent)
{
    struct motor motor = motor_of(POINTS);
    ck_assert(motor_shaft_power(&motor, 1100.0).known && !motor_shaft_power(&motor, 1099.9).known);
    ck_assert(motor_shaft_power(&motor, 11140.0).known && !motor_shaft_power(&motor, 11140.1).known);
    near_abs(motor_shaft_power(&motor, 11140.0).value, 9375.0, 0.0);
    ck_assert(motor_speed(&motor, 11140.0).known && !motor_speed(&motor, 11140.1).known &&
              !motor_speed(&motor, 1099.9).known);
    near_abs(motor_input_power(&motor, 0.0).value, 1100.0, 0.0);
    near_abs(motor_input_power(&motor, 9375.0).value, 11140.0, 0.0);
    ck_assert(!motor_input_power(&motor, -0.1).known && !motor_input_power(&motor, 9375.1).known);
    ck_assert(!motor_shaft_power(&motor, NAN).known && !motor_input_power(&motor, NAN).known &&
              !motor_speed(&motor, INFINITY).known);
    ck_assert(!motor_shaft_power(NULL, 5000.0).known);
}
END_TEST

START_TEST(two_points_make_a_line_and_one_makes_nothing)
{
    struct motor motor = motor_of(2);
    near_abs(motor_shaft_power(&motor, 1965.0).value, 937.5, 1e-10); /* half way, by hand */
    near_abs(motor_input_power(&motor, 937.5).value, 1965.0, 1e-9);
    motor.count = 1;
    ck_assert(!motor_shaft_power(&motor, 1100.0).known && !motor_speed(&motor, 1100.0).known &&
              !motor_input_power(&motor, 0.0).known);
    motor.count = 0;
    ck_assert(!motor_shaft_power(&motor, 1100.0).known);
}
END_TEST

/* The third row's powers replaced: not a number, unsorted, equal. */
static const double spoiled[][2] = {{NAN, 3750.0},    {4710.0, NAN},    {2000.0, 3750.0},
                                    {4710.0, 1000.0}, {2830.0, 3750.0}, {INFINITY, 3750.0}};

START_TEST(a_spoiled_curve_is_no_curve)
{
    double x[POINTS], y[POINTS];
    for (int i = 0; i < POINTS; i++) {
        x[i] = i == 2 ? spoiled[_i][0] : input_w[i];
        y[i] = i == 2 ? spoiled[_i][1] : shaft_w[i];
    }
    struct motor motor = {.count = POINTS, .input_power_w = x, .shaft_power_w = y, .speed_rpm = speed_rpm};
    ck_assert(!motor_shaft_power(&motor, 2500.0).known && !motor_input_power(&motor, 2500.0).known &&
              !motor_speed(&motor, 2500.0).known);
}
END_TEST

START_TEST(a_curve_without_speed_has_none)
{
    struct quantity none[POINTS] = {{0.0, false}};
    struct motor motor = motor_of(POINTS);
    motor.speed_rpm = none;
    ck_assert(!motor_speed(&motor, 5000.0).known && motor_shaft_power(&motor, 5000.0).known);
}
END_TEST

Suite *motor_suite(void);

Suite *motor_suite(void)
{
    Suite *suite = suite_create("motor");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits");
    tcase_add_test(core, shaft_power_is_gsls_interpolant);
    tcase_add_test(core, speed_passes_over_rows_without_one);
    tcase_add_test(core, input_power_is_the_inverse);
    tcase_add_test(core, a_dip_between_points_is_never_made);
    tcase_add_test(limits, outside_the_curve_is_absent);
    tcase_add_test(limits, two_points_make_a_line_and_one_makes_nothing);
    tcase_add_loop_test(limits, a_spoiled_curve_is_no_curve, 0, 6);
    tcase_add_test(limits, a_curve_without_speed_has_none);
    suite_add_tcase(suite, core);
    suite_add_tcase(suite, limits);
    return suite;
}
