#include "physics/flow_throttle.h"

#include "physics/flow_limits.h"

#include <gsl/gsl_math.h>
#include <math.h>

/* Each device by its law of discharge; the order is that of the limits below. */
enum law {
    LAW_CORNER,
    LAW_FLANGE,
    LAW_D_D2,
    LAW_AS_CAST,
    LAW_MACHINED,
    LAW_WELDED,
    LAW_VENTURI_NOZZLE,
    LAW_NOZZLE,
};

/* Limits of use; the lowest Reynolds number of an orifice and of a nozzle depends on beta and is worked out. */
static const struct law_limits {
    double bore_low_m, bore_high_m, throat_low_m, beta_low, beta_high, reynolds_low, reynolds_high;
    const char *source;
} limits_of[] = {
    [LAW_CORNER] = {0.050, 1.000, 0.0125, 0.10, 0.75, 0.0, INFINITY, "ISO 5167-2:2003, 5.3.1 (from memory, confirm)"},
    [LAW_FLANGE] = {0.050, 1.000, 0.0125, 0.10, 0.75, 0.0, INFINITY, "ISO 5167-2:2003, 5.3.1 (from memory, confirm)"},
    [LAW_D_D2] = {0.050, 1.000, 0.0125, 0.10, 0.75, 0.0, INFINITY, "ISO 5167-2:2003, 5.3.1 (from memory, confirm)"},
    [LAW_AS_CAST] = {0.100, 0.800, 0.0, 0.30, 0.75, 2e5, 2e6, "ISO 5167-4:2003, 5.5.2 (from memory, confirm)"},
    [LAW_MACHINED] = {0.050, 0.250, 0.0, 0.40, 0.75, 2e5, 1e6, "ISO 5167-4:2003, 5.5.3 (from memory, confirm)"},
    [LAW_WELDED] = {0.200, 1.200, 0.0, 0.40, 0.70, 2e5, 2e6, "ISO 5167-4:2003, 5.5.4 (from memory, confirm)"},
    [LAW_VENTURI_NOZZLE] = {0.065, 0.500, 0.050, 0.316, 0.775, 1.5e5, 2e6,
                            "ISO 5167-3:2003, 5.3.4 (from memory, confirm)"},
    [LAW_NOZZLE] = {0.050, 0.500, 0.0, 0.30, 0.80, 0.0, 1e7, "ISO 5167-3:2003, 5.1.6 (from memory, confirm)"},
};

double orifice_coefficient(double beta, double pipe_bore_m, double reynolds_pipe, enum pressure_tappings tappings)
{
    /* Distance of the upstream tapping from the plate's upstream face and of the downstream one from its downstream
     * face, in pipe bores. */
    double l1 = 0.0, l2 = 0.0;
    switch (tappings) {
    case TAPPINGS_CORNER: break;
    case TAPPINGS_FLANGE: l1 = l2 = 0.0254 / pipe_bore_m; break;
    case TAPPINGS_D_D2: l1 = 1.0, l2 = 0.47; break;
    }
    double beta2 = gsl_pow_2(beta), beta4 = gsl_pow_4(beta), beta8 = gsl_pow_8(beta);
    double a = pow(19000.0 * beta / reynolds_pipe, 0.8);
    double m2 = 2.0 * l2 / (1.0 - beta);
    double corner = 0.5961 + 0.0261 * beta2 - 0.216 * beta8 + 0.000521 * pow(1e6 * beta / reynolds_pipe, 0.7) +
                    (0.0188 + 0.0063 * a) * pow(beta, 3.5) * pow(1e6 / reynolds_pipe, 0.3);
    double upstream =
        (0.043 + 0.080 * exp(-10.0 * l1) - 0.123 * exp(-7.0 * l1)) * (1.0 - 0.11 * a) * beta4 / (1.0 - beta4);
    double downstream = -0.031 * (m2 - 0.8 * pow(m2, 1.1)) * pow(beta, 1.3);
    double small_pipe = pipe_bore_m < 0.07112 ? 0.011 * (0.75 - beta) * (2.8 - pipe_bore_m / 0.0254) : 0.0;
    return corner + upstream + downstream + small_pipe;
}

static double law_coefficient(enum law law, double beta, double pipe_bore_m, double reynolds)
{
    switch (law) {
    case LAW_CORNER: return orifice_coefficient(beta, pipe_bore_m, reynolds, TAPPINGS_CORNER);
    case LAW_FLANGE: return orifice_coefficient(beta, pipe_bore_m, reynolds, TAPPINGS_FLANGE);
    case LAW_D_D2: return orifice_coefficient(beta, pipe_bore_m, reynolds, TAPPINGS_D_D2);
    case LAW_AS_CAST: return 0.984;
    case LAW_MACHINED: return 0.995;
    case LAW_WELDED: return 0.985;
    case LAW_VENTURI_NOZZLE: return 0.9858 - 0.196 * pow(beta, 4.5);
    case LAW_NOZZLE:
        return 0.9900 - 0.2262 * pow(beta, 4.1) -
               (0.00175 * gsl_pow_2(beta) - 0.0033 * pow(beta, 4.15)) * pow(1e6 / reynolds, 1.15);
    }
    return NAN;
}

static double law_reynolds_low(enum law law, double beta, double pipe_bore_m)
{
    switch (law) {
    case LAW_CORNER:
    case LAW_D_D2: return beta <= 0.56 * (1.0 + limit_rounding) ? 5000.0 : 16000.0 * gsl_pow_2(beta);
    case LAW_FLANGE: return fmax(5000.0, 170.0 * gsl_pow_2(beta) * pipe_bore_m * 1000.0);
    case LAW_NOZZLE: return beta < 0.44 * (1.0 - limit_rounding) ? 7e4 : 2e4;
    default: return limits_of[law].reynolds_low;
    }
}

static void name_limits(struct flow_limits *limits, enum law law, const struct throttle *device, double reynolds)
{
    const struct law_limits *of = &limits_of[law];
    double beta = device->throat_bore_m / device->pipe_bore_m;
    limit_range(limits, (struct limited){"pipe bore", " mm", of->source, 1000.0 * device->pipe_bore_m},
                1000.0 * of->bore_low_m, 1000.0 * of->bore_high_m);
    limit_range(limits, (struct limited){"throat bore", " mm", of->source, 1000.0 * device->throat_bore_m},
                1000.0 * of->throat_low_m, INFINITY);
    limit_range(limits, (struct limited){"β", "", of->source, beta}, of->beta_low, of->beta_high);
    limit_range(limits, (struct limited){"Reynolds number", "", of->source, reynolds},
                law_reynolds_low(law, beta, device->pipe_bore_m), of->reynolds_high);
}

static bool device_valid(const struct throttle *device)
{
    return positive(device->pipe_bore_m) && positive(device->throat_bore_m) &&
           device->throat_bore_m < device->pipe_bore_m && positive(device->density_kg_m3) &&
           positive(device->viscosity_pa_s) && (!device->coefficient.known || positive(device->coefficient.value));
}

static bool throttle_flow(const struct throttle *device, enum law law, double dp_pa, double *flow_m3s,
                          struct flow_limits *limits)
{
    enum { ITERATIONS_MAX = 100 };
    if (!device_valid(device) || !(dp_pa >= 0.0 && isfinite(dp_pa))) {
        return false;
    }
    if (dp_pa == 0.0) {
        *flow_m3s = 0.0;
        return true;
    }
    double bore_m = device->pipe_bore_m, beta = device->throat_bore_m / bore_m;
    double ideal_m3s = M_PI_4 * gsl_pow_2(device->throat_bore_m) * sqrt(2.0 * dp_pa / device->density_kg_m3) /
                       sqrt(1.0 - gsl_pow_4(beta));
    double reynolds_per_m3s = device->density_kg_m3 / (M_PI_4 * bore_m * device->viscosity_pa_s);
    double coefficient = quantity_or(device->coefficient, law_coefficient(law, beta, bore_m, 1e6));
    bool converged = device->coefficient.known;
    /* The coefficient depends so weakly on the Reynolds number that each step gains a digit or more. */
    for (int i = 0; i < ITERATIONS_MAX && !converged && coefficient > 0.0; i++) {
        double next = law_coefficient(law, beta, bore_m, coefficient * ideal_m3s * reynolds_per_m3s);
        converged = fabs(next - coefficient) <= 1e-13 * next;
        coefficient = next;
    }
    if (!converged || !positive(coefficient * ideal_m3s)) {
        return false;
    }
    *flow_m3s = coefficient * ideal_m3s;
    if (!device->coefficient.known) {
        name_limits(limits, law, device, *flow_m3s * reynolds_per_m3s);
    }
    return true;
}

bool flow_orifice(const struct throttle *device, enum pressure_tappings tappings, double dp_pa, double *flow_m3s,
                  struct flow_limits *limits)
{
    enum law law = tappings == TAPPINGS_CORNER ? LAW_CORNER : tappings == TAPPINGS_FLANGE ? LAW_FLANGE : LAW_D_D2;
    return throttle_flow(device, law, dp_pa, flow_m3s, limits);
}

bool flow_venturi(const struct throttle *device, enum venturi_kind kind, double dp_pa, double *flow_m3s,
                  struct flow_limits *limits)
{
    enum law law = kind == VENTURI_AS_CAST ? LAW_AS_CAST : kind == VENTURI_MACHINED ? LAW_MACHINED : LAW_WELDED;
    return throttle_flow(device, law, dp_pa, flow_m3s, limits);
}

bool flow_venturi_nozzle(const struct throttle *device, double dp_pa, double *flow_m3s, struct flow_limits *limits)
{
    return throttle_flow(device, LAW_VENTURI_NOZZLE, dp_pa, flow_m3s, limits);
}

bool flow_nozzle(const struct throttle *device, double dp_pa, double *flow_m3s, struct flow_limits *limits)
{
    return throttle_flow(device, LAW_NOZZLE, dp_pa, flow_m3s, limits);
}
