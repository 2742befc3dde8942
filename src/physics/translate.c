#include "physics/translate.h"

static bool every_point_has_speed(const struct operating_point *points, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!points[i].speed_rpm.known) {
            return false;
        }
    }
    return count > 0;
}

static bool every_point_has_motor_speed(const struct operating_point *points, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!points[i].motor_speed_rpm.known) {
            return false;
        }
    }
    return count > 0;
}

enum speed_basis translate_basis(const struct rig *rig, const struct operating_point *points, size_t count)
{
    if (rig->speed_basis != SPEED_UNSTATED) {
        return rig->speed_basis;
    }
    if (every_point_has_speed(points, count)) {
        return SPEED_MEASURED;
    }
    return every_point_has_motor_speed(points, count) ? SPEED_MOTOR : SPEED_FREQUENCY;
}

const char *speed_basis_name(enum speed_basis basis)
{
    switch (basis) {
    case SPEED_UNSTATED: return "not stated";
    case SPEED_MEASURED: return "measured speed";
    case SPEED_FREQUENCY: return "frequency";
    case SPEED_MOTOR: return "motor curve";
    }
    return "";
}

/* rated / tested; 0 with a reason when either is missing. */
static double speed_ratio(const struct operating_point *point, const struct model *model, enum speed_basis basis,
                          const char **why)
{
    struct quantity rated = model->rated_speed_rpm, tested = point->speed_rpm;
    *why = "the speed was not measured";
    if (basis == SPEED_MOTOR) {
        tested = point->motor_speed_rpm;
        *why = model->motor == NULL          ? "the model names no motor, whose curve the speed basis 'motor' needs"
               : !point->frequency_hz.known  ? "the frequency was not measured"
               : !point->input_power_w.known ? "the input power was not measured, which the speed basis 'motor' needs"
                                             : "the motor's curve (motors.csv) gives no speed at this input power";
    } else if (basis == SPEED_FREQUENCY) {
        rated = model->rated_frequency_hz;
        tested = point->frequency_hz;
        *why = "the frequency was not measured";
    }
    if (!rated.known || (basis == SPEED_MOTOR && !model->rated_frequency_hz.known)) {
        *why = rated.known || basis == SPEED_FREQUENCY ? "models.csv states no rated frequency"
               : point->frequency_hz.known && model->rated_frequency_hz.known
                   ? "models.csv states no rated speed; the frequency was measured too, and serves with 'speed basis' "
                     "'frequency' in rig.csv"
                   : "models.csv states no rated speed";
        return 0.0;
    }
    return tested.known && tested.value > 0.0 ? rated.value / tested.value : 0.0;
}

struct rated_point translate_point(const struct operating_point *point, const struct model *model,
                                   enum speed_basis basis)
{
    struct rated_point rated = {0};
    const char *why;
    double k = speed_ratio(point, model, basis, &why);
    if (!(k > 0.0)) {
        rated.why = why;
        return rated;
    }
    if (!(k * TEST_SPEED_LOW <= 1.0 && k * TEST_SPEED_HIGH >= 1.0)) {
        rated.why = "the test speed is outside 50 to 120 % of rated speed (ISO 9906:2012, from memory, confirm)";
        return rated;
    }
    rated.translated = true;
    rated.ratio = k;
    rated.flow_m3s = quantity_times(point->flow_m3s, k);
    rated.head_m = quantity_times(point->head_m, k * k);
    rated.input_power_w = quantity_times(point->input_power_w, k * k * k);
    rated.shaft_power_w = quantity_times(point->shaft_power_w, k * k * k);
    struct quantity voltage = point->voltage_v, rated_voltage = model->rated_voltage_v;
    bool volts = voltage.known && voltage.value > 0.0 && rated_voltage.known;
    rated.current_brought = volts;
    rated.current_a = quantity_times(point->current_a, k * k * k * (volts ? voltage.value / rated_voltage.value : 1.0));
    rated.set_efficiency = point->set_efficiency;
    rated.pump_efficiency = point->pump_efficiency;
    return rated;
}
