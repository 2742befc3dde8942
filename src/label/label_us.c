/* The US pump energy index: mean input power over three loads, over that of a standard pump. Less is better. */
#include "label/label_us.h"

#include "base/text.h"

#include <math.h>

/* The regulation's own units and its divisor for water power (gpm x ft / 3956 = hp; from memory, confirm). */
static const double m3s_per_gpm = 231.0 * 0.0254 * 0.0254 * 0.0254 / 60.0, m_per_ft = 0.3048,
                    w_per_hp = 745.69987158227022, gpm_ft_per_hp = 3956.0;

double us_standard_efficiency(double speed_rpm, double stages, double flow_m3s, double head_m, double c)
{
    double flow_gpm = flow_m3s / m3s_per_gpm, head_ft = head_m / m_per_ft;
    double q = log(flow_gpm), n = log(speed_rpm * sqrt(flow_gpm) / pow(head_ft / stages, 0.75));
    return (-0.85 * q * q - 0.38 * n * q - 11.48 * n * n + 17.80 * q + 179.80 * n - (c + 555.6)) / 100.0;
}

double us_motor_loss_w(const struct us_motor *motor, double shaft_power_w)
{
    double r = shaft_power_w / motor->rated_power_w;
    double full_w = motor->rated_power_w / motor->efficiency - motor->rated_power_w;
    double share = r > 1.0 ? 1.0 : ((-0.4508 * r + 1.2399) * r - 0.4301) * r + 0.6410;
    return full_w * share;
}

static double with_loss_w(const struct us_motor *motor, double shaft_power_w)
{
    return shaft_power_w + us_motor_loss_w(motor, shaft_power_w);
}

/* As the rating of a pump that needs `ratio` times the shaft power. */
static double rating_scaled_w(const struct us_motor *motor, const struct label_loads *loads, double ratio)
{
    double sum_w = 0.0;
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        sum_w += with_loss_w(motor, loads->shaft_power_w[i] * ratio);
    }
    return sum_w / LABEL_LOADS;
}

double us_rating_w(const struct us_motor *motor, const struct label_loads *loads)
{
    return rating_scaled_w(motor, loads, 1.0);
}

double us_standard_rating_w(const struct us_motor *motor, const struct label_loads *loads, double standard_efficiency)
{
    double sum_w = 0.0;
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        double water_w = loads->flow_m3s[i] / m3s_per_gpm * loads->head_m[i] / m_per_ft / gpm_ft_per_hp * w_per_hp;
        sum_w += with_loss_w(motor, water_w / (label_load_share[i] * standard_efficiency));
    }
    return sum_w / LABEL_LOADS;
}

/* --- the label --- */

struct us {
    struct us_motor motor;
    struct label_loads loads; /* at nominal speed */
    bool measured_route;
    double rating_w, standard_w, measured;
};

/* At another efficiency the power changes in proportion, at all loads alike. */
static double index_at(const void *context, double efficiency)
{
    const struct us *us = context;
    double ratio = us->measured / efficiency;
    double rating_w = us->measured_route ? us->rating_w * ratio : rating_scaled_w(&us->motor, &us->loads, ratio);
    return rating_w / us->standard_w;
}

/* The efficiency that the pump would need: its own over the factor on its power at which the rating falls on the edge.
 */
static double efficiency_at(const void *context, double index)
{
    const struct us *us = context;
    double target_w = index * us->standard_w;
    if (us->measured_route) {
        return us->measured * us->rating_w / target_w;
    }
    double low = 0.0, high = 100.0; /* the rating rises with the factor */
    for (int i = 0; i < 80; i++) {
        double middle = low + (high - low) / 2.0;
        *(rating_scaled_w(&us->motor, &us->loads, middle) < target_w ? &low : &high) = middle;
    }
    return us->measured / high;
}

static double spare_power_w(const void *context, double index)
{
    const struct us *us = context;
    return index * us->standard_w - us->rating_w;
}

/* Full-load efficiency: the scheme's table for the rating, else the model's. */
static bool find_motor(struct labelling *labelling, struct us_motor *motor)
{
    const struct label_book *book = labelling->input->book;
    const struct model *model = labelling->input->model;
    if (!model->rated_power_w.known) {
        return label_refuse(labelling, "models.csv does not state 'rated power' of model %.60s", model->name);
    }
    *motor = (struct us_motor){.rated_power_w = model->rated_power_w.value};
    for (size_t i = 0; i < book->motor_count; i++) {
        bool same_rating = fabs(book->motors[i].rated_power_w / motor->rated_power_w - 1.0) <= 0.01;
        if (same_rating && name_equal(book->motors[i].scheme, labelling->scheme)) {
            motor->efficiency = book->motors[i].efficiency;
            label_note(labelling, "motor at full load %.1f %%: %.200s", motor->efficiency * 100.0,
                       book->motors[i].source);
            return true;
        }
    }
    if (!model->motor_efficiency.known) {
        return label_refuse(labelling,
                            "the default motor efficiency is not known: "
                            "state 'motor efficiency' of model %.60s in models.csv, or a row of scheme, "
                            "rated power and motor efficiency in labels.csv",
                            model->name);
    }
    motor->efficiency = model->motor_efficiency.value;
    label_note(labelling, "motor at full load %.1f %%, from models.csv", motor->efficiency * 100.0);
    return true;
}

static bool find_loads(struct labelling *labelling, const struct label_constant *constant, struct us *us)
{
    const struct label_pump *pump = &labelling->input->pump;
    us->measured_route = labelling->route == ROUTE_MEASURED;
    if (!pump->shaft_known && !us->measured_route) {
        return label_refuse(labelling,
                            "%s rates the bare pump: it needs the motor's curve (motors.csv), "
                            "or 'measured' beside the scheme for the route from measured input",
                            labelling->label->scheme);
    }
    if (pump->why != NULL) {
        return label_refuse(labelling, "%s", pump->why);
    }
    us->loads = loads_at_speed(&pump->loads, constant->speed_rpm / labelling->input->model->rated_speed_rpm.value);
    return label_in_scope(labelling, us->loads.flow_m3s[1], us->loads.head_m[1]);
}

void label_us(struct labelling *labelling)
{
    const struct label_input *input = labelling->input;
    struct label_result *label = labelling->label;
    const struct label_constant *constant = label_constant_at_speed(labelling);
    struct us us = {0};
    if (constant == NULL || !find_loads(labelling, constant, &us) || !find_motor(labelling, &us.motor)) {
        return;
    }
    if (!input->model->stages.known) {
        (void)label_refuse(labelling, "models.csv does not state 'stages' of model %.60s", input->model->name);
        return;
    }
    double standard = us_standard_efficiency(constant->speed_rpm, input->model->stages.value, us.loads.flow_m3s[1],
                                             us.loads.head_m[1], constant->c);
    us.standard_w = us_standard_rating_w(&us.motor, &us.loads, standard);
    const double *power_w = us.measured_route ? us.loads.input_power_w : us.loads.shaft_power_w;
    double mean_w = (us.loads.input_power_w[0] + us.loads.input_power_w[1] + us.loads.input_power_w[2]) / LABEL_LOADS;
    us.rating_w = us.measured_route ? mean_w : us_rating_w(&us.motor, &us.loads);
    us.measured = input->pump.weight_n_m3[1] * us.loads.flow_m3s[1] * us.loads.head_m[1] / power_w[1];
    struct label_scale scale = {.index = us.rating_w / us.standard_w,
                                .measured = us.measured,
                                .index_at = index_at,
                                .efficiency_at = efficiency_at,
                                .spare_power_w = spare_power_w,
                                .context = &us};
    label->efficiency_name =
        us.measured_route
            ? "set efficiency (measured input to water) at 75, 100 and 110 % of best-efficiency flow"
            : "pump efficiency (shaft to water, by the motor's curve) at 75, 100 and 110 % of best-efficiency flow";
    label->source = constant->source;
    label_note(labelling, "formulas of rating and standard pump from memory, confirm");
    if (!input->pump.shaft_known) {
        label_note(labelling, "the shaft power is not known: best efficiency is that of the set");
    }
    if (!(standard > 0.0)) {
        (void)label_refuse(labelling, "the standard pump has no efficiency at this specific speed and flow");
        return;
    }
    label_place(labelling, &scale);
}
