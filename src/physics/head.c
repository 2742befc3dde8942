#include "physics/head.h"

#include <gsl/gsl_math.h>
#include <math.h>

static const double laminar_below = 2300.0;
static const double relative_roughness_max = 0.05;

/* Colebrook-White in x = 1/sqrt(f): x + 2 log10(k/D / 3.7 + 2.51 x / Re) = 0. The left side rises with x and bends
 * downward only, so Newton's steps cannot miss its one root. */
static double colebrook(double reynolds, double relative_roughness)
{
    enum { ITERATIONS_MAX = 50 };
    double rough = relative_roughness / 3.7, smooth = 2.51 / reynolds;
    double x = -2.0 * log10(rough + 13.0 / reynolds);
    for (int i = 0; i < ITERATIONS_MAX; i++) {
        double inner = rough + smooth * x;
        double step = (x + 2.0 * log10(inner)) / (1.0 + 2.0 * smooth / (M_LN10 * inner));
        x -= step;
        if (fabs(step) <= 1e-13 * x) {
            return 1.0 / gsl_pow_2(x);
        }
    }
    return NAN;
}

double pipe_friction_factor(double reynolds, double relative_roughness)
{
    if (!(reynolds > 0.0 && isfinite(reynolds)) ||
        !(relative_roughness >= 0.0 && relative_roughness <= relative_roughness_max)) {
        return NAN;
    }
    return reynolds < laminar_below ? 64.0 / reynolds : colebrook(reynolds, relative_roughness);
}

static double velocity(double flow_m3s, double bore_m)
{
    return flow_m3s / (M_PI_4 * gsl_pow_2(bore_m));
}

/* Loss between the set's outlet and the tapping as a count of velocity heads: K + f L/D. Returns: what is missing, or
 * NULL. */
static const char *loss_factor(const struct rig *rig, const struct head_terms *terms, double *factor)
{
    *factor = quantity_or(rig->delivery_loss_coefficient, 0.0);
    if (quantity_or(rig->delivery_length_m, 0.0) == 0.0 || terms->flow_m3s == 0.0) {
        return NULL;
    }
    if (!rig->delivery_roughness_m.known) {
        return "no head: rig.csv states a delivery length but no delivery roughness";
    }
    if (!(terms->viscosity_pa_s > 0.0)) {
        return "no head: the friction of the delivery pipe needs the water's viscosity";
    }
    double bore_m = rig->delivery_bore_m.value;
    double reynolds = terms->density_kg_m3 * velocity(terms->flow_m3s, bore_m) * bore_m / terms->viscosity_pa_s;
    *factor += pipe_friction_factor(reynolds, rig->delivery_roughness_m.value / bore_m) * rig->delivery_length_m.value /
               bore_m;
    return isfinite(*factor) ? NULL
                             : "no head: delivery roughness in rig.csv is more than a twentieth of the delivery bore";
}

/* What every form of the head needs. Returns: what is missing, or NULL. */
static const char *first_missing(const struct rig *rig, const struct head_terms *terms)
{
    if (!(terms->flow_m3s >= 0.0 && isfinite(terms->flow_m3s))) {
        return "no head: the flow is negative";
    }
    if (!isfinite(terms->gauge_pressure_pa)) {
        return "no head: no gauge pressure was read";
    }
    if (!(terms->density_kg_m3 > 0.0) || !(terms->gravity_m_s2 > 0.0)) {
        return "no head: the water's density or the gravity is not known";
    }
    if (!rig->gauge_height_m.known) {
        return "no head: rig.csv states no gauge height";
    }
    if (!(quantity_or(rig->delivery_bore_m, 0.0) > 0.0)) {
        return "no head: rig.csv states no delivery bore";
    }
    return NULL;
}

/* Level and velocity on the suction side. Returns: what is missing, or NULL. */
static const char *suction_side(const struct rig *rig, const struct head_terms *terms, double *level_m,
                                double *speed_m_s)
{
    if (!terms->suction_pressure_pa.known) {
        struct quantity water_m = terms->water_level_m.known ? terms->water_level_m : rig->water_level_m;
        *level_m = water_m.value;
        *speed_m_s = 0.0; /* a free surface */
        return water_m.known ? NULL : "no head: neither the log nor rig.csv states the water level";
    }
    if (!rig->suction_gauge_height_m.known) {
        return "no head: a suction pressure was read but rig.csv states no suction gauge height";
    }
    if (!(quantity_or(rig->suction_bore_m, 0.0) > 0.0)) {
        return "no head: a suction pressure was read but rig.csv states no suction bore";
    }
    *level_m = rig->suction_gauge_height_m.value;
    *speed_m_s = velocity(terms->flow_m3s, rig->suction_bore_m.value);
    return NULL;
}

const char *head_total(const struct rig *rig, const struct head_terms *terms, struct head_parts *parts)
{
    double level_m = 0.0, suction_speed_m_s = 0.0, loss = 0.0;
    const char *missing = first_missing(rig, terms);
    missing = missing != NULL ? missing : suction_side(rig, terms, &level_m, &suction_speed_m_s);
    missing = missing != NULL ? missing : loss_factor(rig, terms, &loss);
    if (missing != NULL) {
        return missing;
    }
    double delivery_speed_m_s = velocity(terms->flow_m3s, rig->delivery_bore_m.value),
           two_g = 2.0 * terms->gravity_m_s2;
    double p_difference_pa = terms->gauge_pressure_pa - quantity_or(terms->suction_pressure_pa, 0.0);
    struct head_parts found = {
        .lift_m = rig->gauge_height_m.value - level_m,
        .pressure_m = p_difference_pa / (terms->density_kg_m3 * terms->gravity_m_s2),
        .velocity_m = (gsl_pow_2(delivery_speed_m_s) - gsl_pow_2(suction_speed_m_s)) / two_g,
        .friction_m = loss * gsl_pow_2(delivery_speed_m_s) / two_g,
    };
    found.total_m = found.lift_m + found.pressure_m + found.velocity_m + found.friction_m;
    *parts = found;
    return NULL;
}
