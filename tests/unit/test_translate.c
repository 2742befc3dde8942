/* translate.c: the affinity laws by each speed basis, and what is refused. */
#include "physics/translate.h"

#include "near.h"

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))
#define KNOWN(x)     ((struct quantity){.value = (x), .known = true})

static const double rounding = 1e-12;

static const struct motor any_motor = {.name = "M"};

static struct model rated_model(void)
{
    return (struct model){.rated_speed_rpm = KNOWN(2900.0), .rated_frequency_hz = KNOWN(50.0), .motor = &any_motor};
}

static struct operating_point tested(double rpm, double hz, double motor_rpm)
{
    return (struct operating_point){.flow_m3s = KNOWN(0.01),
                                    .head_m = KNOWN(40.0),
                                    .input_power_w = KNOWN(8000.0),
                                    .shaft_power_w = KNOWN(6000.0),
                                    .current_a = KNOWN(15.0),
                                    .set_efficiency = KNOWN(0.49),
                                    .pump_efficiency = KNOWN(0.65),
                                    .speed_rpm = quantity_of(rpm),
                                    .frequency_hz = quantity_of(hz),
                                    .motor_speed_rpm = quantity_of(motor_rpm)};
}

/* k = rated / tested by the basis: 2900/2842 = 50/49 = 1/0.98, and 2900/2784 = 1/0.96 by the motor's curve. */
static const struct {
    enum speed_basis basis;
    double k;
} bases[] = {{SPEED_MEASURED, 1.0 / 0.98}, {SPEED_FREQUENCY, 50.0 / 49.5}, {SPEED_MOTOR, 1.0 / 0.96}};

START_TEST(affinity_laws_by_each_basis)
{
    struct model model = rated_model();
    struct operating_point point = tested(2842.0, 49.5, 2784.0);
    struct rated_point rated = translate_point(&point, &model, bases[_i].basis);
    double k = bases[_i].k;
    ck_assert(rated.translated);
    near_rel(rated.ratio, k, rounding);
    near_rel(rated.flow_m3s.value, 0.01 * k, rounding);
    near_rel(rated.head_m.value, 40.0 * k * k, rounding);
    near_rel(rated.input_power_w.value, 8000.0 * k * k * k, rounding);
    near_rel(rated.shaft_power_w.value, 6000.0 * k * k * k, rounding);
    /* At rated voltage the rated power is drawn with the same power factor: I = P / (sqrt(3) U pf). */
    near_rel(rated.current_a.value, 15.0 * k * k * k, rounding);
    ck_assert(!rated.current_brought);
    point.voltage_v = quantity_of(392.0);
    model.rated_voltage_v = quantity_of(400.0);
    rated = translate_point(&point, &model, bases[_i].basis);
    near_rel(rated.current_a.value, 15.0 * k * k * k * 0.98, 2.0 * rounding);
    ck_assert(rated.current_brought);
    near_abs(rated.set_efficiency.value, 0.49, 0.0);
    near_abs(rated.pump_efficiency.value, 0.65, 0.0);
}
END_TEST

/* ISO 9906:2012: 50 to 120 % of rated speed (from memory, confirm). */
static const struct {
    double rpm;
    bool translated;
} speeds[] = {{1450.0, true}, {1449.9, false}, {3480.0, true}, {3480.1, false}, {2900.0, true}, {0.0, false}};

START_TEST(speed_outside_the_permitted_range_is_refused)
{
    struct model model = rated_model();
    struct operating_point point = tested(speeds[_i].rpm, NAN, NAN);
    struct rated_point rated = translate_point(&point, &model, SPEED_MEASURED);
    ck_assert(rated.translated == speeds[_i].translated);
    if (!rated.translated) {
        ck_assert(rated.why != NULL && !rated.flow_m3s.known && !rated.head_m.known);
    }
}
END_TEST

/* What is missing is named. */
static const struct {
    enum speed_basis basis;
    double rpm, hz, motor_rpm;
    bool motor, rated_speed, rated_frequency;
    const char *why;
} gaps[] = {
    {SPEED_MEASURED, NAN, 50, NAN, true, true, true, "the speed was not measured"},
    {SPEED_MEASURED, 2900, 50, NAN, true, false, true,
     "models.csv states no rated speed; the frequency was measured too, and serves with 'speed basis' "
     "'frequency' in rig.csv"},
    {SPEED_FREQUENCY, 2900, NAN, NAN, true, true, true, "the frequency was not measured"},
    {SPEED_FREQUENCY, 2900, 50, NAN, true, true, false, "models.csv states no rated frequency"},
    {SPEED_MOTOR, 2900, 50, NAN, false, true, true,
     "the model names no motor, whose curve the speed basis 'motor' needs"},
    {SPEED_MOTOR, 2900, NAN, NAN, true, true, true, "the frequency was not measured"},
    {SPEED_MOTOR, 2900, 50, NAN, true, true, true, "the motor's curve (motors.csv) gives no speed at this input power"},
    {SPEED_MOTOR, 2900, 50, NAN, true, true, false, "models.csv states no rated frequency"},
    {SPEED_MOTOR, 2900, 50, 2900, true, false, true,
     "models.csv states no rated speed; the frequency was measured too, and serves with 'speed basis' "
     "'frequency' in rig.csv"},
};

START_TEST(what_is_missing_is_named)
{
    struct model model = rated_model();
    struct operating_point point = tested(gaps[_i].rpm, gaps[_i].hz, gaps[_i].motor_rpm);
    model.motor = gaps[_i].motor ? &any_motor : NULL;
    model.rated_speed_rpm.known = gaps[_i].rated_speed;
    model.rated_frequency_hz.known = gaps[_i].rated_frequency;
    struct rated_point rated = translate_point(&point, &model, gaps[_i].basis);
    ck_assert(!rated.translated);
    ck_assert_str_eq(rated.why, gaps[_i].why);
}
END_TEST

/* Measured speed if every point has it, else the motor's curve if every point has it, else frequency; a stated one
 * stays. */
static const struct {
    enum speed_basis stated, want;
    double rpm[2], motor_rpm[2];
} choices[] = {
    {SPEED_UNSTATED, SPEED_MEASURED, {2900, 2880}, {2900, 2880}},
    {SPEED_UNSTATED, SPEED_MOTOR, {2900, NAN}, {2900, 2880}},
    {SPEED_UNSTATED, SPEED_FREQUENCY, {2900, NAN}, {2900, NAN}},
    {SPEED_UNSTATED, SPEED_FREQUENCY, {NAN, NAN}, {NAN, NAN}},
    {SPEED_FREQUENCY, SPEED_FREQUENCY, {2900, 2880}, {2900, 2880}},
    {SPEED_MOTOR, SPEED_MOTOR, {2900, 2880}, {NAN, NAN}},
};

START_TEST(the_basis_is_one_that_every_point_has)
{
    struct rig rig = {.speed_basis = choices[_i].stated};
    struct operating_point points[2];
    for (int i = 0; i < 2; i++) {
        points[i] = tested(choices[_i].rpm[i], 50.0, choices[_i].motor_rpm[i]);
    }
    ck_assert_int_eq(translate_basis(&rig, points, 2), choices[_i].want);
}
END_TEST

Suite *translate_suite(void);

Suite *translate_suite(void)
{
    Suite *suite = suite_create("translate");
    TCase *core = tcase_create("core");
    tcase_add_loop_test(core, affinity_laws_by_each_basis, 0, COUNT(bases));
    tcase_add_loop_test(core, speed_outside_the_permitted_range_is_refused, 0, COUNT(speeds));
    tcase_add_loop_test(core, what_is_missing_is_named, 0, COUNT(gaps));
    tcase_add_loop_test(core, the_basis_is_one_that_every_point_has, 0, COUNT(choices));
    suite_add_tcase(suite, core);
    return suite;
}
