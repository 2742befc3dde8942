/* probe.c - lets the outside checks call the library: each line of standard input is a function's name and its numbers;
 * each line of standard output is the result to 17 figures, or "absent".
 *
 * cc -Isrc tests/outside/probe.c libdutyproof.a -lgsl -lgslcblas -lm */
#include "certainty/spread.h"
#include "physics/electric.h"
#include "physics/flow_throttle.h"
#include "physics/flow_weir.h"
#include "physics/head.h"
#include "physics/water.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ARGUMENTS_MAX = 8 };

static struct quantity when(bool computed, double value)
{
    return computed ? quantity_of(value) : quantity_absent();
}

static struct quantity probe_density(const double *x)
{
    double y = 0.0;
    bool computed = water_density(x[0], x[1], &y);
    return when(computed, y);
}

static struct quantity probe_viscosity(const double *x)
{
    double y = 0.0;
    bool computed = water_viscosity(x[0], x[1], &y);
    return when(computed, y);
}

static struct quantity probe_vapour_pressure(const double *x)
{
    double y = 0.0;
    bool computed = water_vapour_pressure(x[0], &y);
    return when(computed, y);
}

static struct quantity probe_gravity(const double *x)
{
    return quantity_of(site_gravity(x[0], x[1]));
}

static struct quantity probe_air_pressure(const double *x)
{
    return quantity_of(site_air_pressure(x[0]));
}

/* tappings (0 corner, 1 flange, 2 D and D/2), beta, bore, Reynolds number */
static struct quantity probe_orifice_coefficient(const double *x)
{
    return quantity_of(orifice_coefficient(x[1], x[2], x[3], (enum pressure_tappings)(int)x[0]));
}

static struct throttle throttle_from(const double *x)
{
    return (struct throttle){.pipe_bore_m = x[0], .throat_bore_m = x[1], .density_kg_m3 = x[2], .viscosity_pa_s = x[3]};
}

/* tappings, bore, throat, density, viscosity, differential pressure; the others without the first */
static struct quantity probe_orifice(const double *x)
{
    struct throttle device = throttle_from(x + 1);
    double y = 0.0;
    bool computed = flow_orifice(&device, (enum pressure_tappings)(int)x[0], x[5], &y, NULL);
    return when(computed, y);
}

static struct quantity probe_venturi(const double *x)
{
    struct throttle device = throttle_from(x + 1);
    double y = 0.0;
    bool computed = flow_venturi(&device, (enum venturi_kind)(int)x[0], x[5], &y, NULL);
    return when(computed, y);
}

static struct quantity probe_venturi_nozzle(const double *x)
{
    struct throttle device = throttle_from(x);
    double y = 0.0;
    bool computed = flow_venturi_nozzle(&device, x[4], &y, NULL);
    return when(computed, y);
}

static struct quantity probe_nozzle(const double *x)
{
    struct throttle device = throttle_from(x);
    double y = 0.0;
    bool computed = flow_nozzle(&device, x[4], &y, NULL);
    return when(computed, y);
}

/* angle or width, crest height (0: not stated), approach width (0: not stated), gravity, head */
static struct weir weir_from(const double *x)
{
    return (struct weir){.angle_rad = x[0],
                         .width_m = x[0],
                         .crest_height_m = x[1],
                         .approach_width_m = x[2],
                         .crest_known = x[1] > 0.0,
                         .approach_known = x[2] > 0.0,
                         .gravity_m_s2 = x[3]};
}

static struct quantity probe_v_notch(const double *x)
{
    struct weir weir = weir_from(x);
    double y = 0.0;
    bool computed = flow_v_notch(&weir, x[4], &y, NULL);
    return when(computed, y);
}

static struct quantity probe_rectangular_notch(const double *x)
{
    struct weir weir = weir_from(x);
    double y = 0.0;
    bool computed = flow_rectangular_notch(&weir, x[4], &y, NULL);
    return when(computed, y);
}

static struct quantity probe_friction_factor(const double *x)
{
    return quantity_of(pipe_friction_factor(x[0], x[1]));
}

/* half-widths of two rectangular errors, deviation of a third and its degrees of freedom */
static struct spread spread_from(const double *x)
{
    struct spread spread = {0};
    spread_add_rectangular(&spread, x[0]);
    spread_add_rectangular(&spread, x[1]);
    spread_add_normal(&spread, x[2], x[3]);
    return spread;
}

static struct quantity probe_spread_expanded(const double *x)
{
    struct spread spread = spread_from(x);
    return quantity_of(spread_expanded(&spread));
}

static struct quantity probe_spread_probability(const double *x)
{
    struct spread spread = spread_from(x);
    return quantity_of(spread_probability(&spread, x[4]));
}

static const struct probe {
    const char *name;
    size_t arguments;
    struct quantity (*call)(const double *x);
} probes[] = {
    {"water_density", 2, probe_density},
    {"water_viscosity", 2, probe_viscosity},
    {"water_vapour_pressure", 1, probe_vapour_pressure},
    {"site_gravity", 2, probe_gravity},
    {"site_air_pressure", 1, probe_air_pressure},
    {"orifice_coefficient", 4, probe_orifice_coefficient},
    {"flow_orifice", 6, probe_orifice},
    {"flow_venturi", 6, probe_venturi},
    {"flow_venturi_nozzle", 5, probe_venturi_nozzle},
    {"flow_nozzle", 5, probe_nozzle},
    {"flow_v_notch", 5, probe_v_notch},
    {"flow_rectangular_notch", 5, probe_rectangular_notch},
    {"pipe_friction_factor", 2, probe_friction_factor},
    {"spread_expanded", 4, probe_spread_expanded},
    {"spread_probability", 5, probe_spread_probability},
};

/* Reads as many numbers as the line holds. */
static size_t numbers_of(const char *text, double x[ARGUMENTS_MAX])
{
    size_t count = 0;
    for (char *end; count < ARGUMENTS_MAX; text = end, count++) {
        x[count] = strtod(text, &end);
        if (end == text) {
            break;
        }
    }
    return count;
}

static bool answer(char *line)
{
    size_t length = strcspn(line, " \n");
    for (size_t i = 0; i < sizeof probes / sizeof probes[0]; i++) {
        double x[ARGUMENTS_MAX] = {0.0};
        if (strlen(probes[i].name) != length || strncmp(line, probes[i].name, length) != 0) {
            continue;
        }
        if (numbers_of(line + length, x) != probes[i].arguments) {
            return false;
        }
        struct quantity result = probes[i].call(x);
        return (result.known ? printf("%.17g\n", result.value) : printf("absent\n")) > 0;
    }
    return false;
}

int main(void)
{
    char line[512];
    while (fgets(line, sizeof line, stdin) != NULL) {
        if (!answer(line)) {
            fprintf(stderr, "probe: cannot answer: %s", line);
            return EXIT_FAILURE;
        }
    }
    return fflush(stdout) == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
