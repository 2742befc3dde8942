/* flowmeter.h - volume flow from what the bay's flow device shows
 *
 * Each function returns false, with the result untouched, where the inputs make no sense (negative, zero bore, no
 * convergence). Use outside the range that its standard states is allowed but named: a struct flow_limits collects
 * which limits are exceeded.
 */
#ifndef DUTYPROOF_FLOWMETER_H
#define DUTYPROOF_FLOWMETER_H

#include "tables/bay.h"

#include <stdbool.h>
#include <stddef.h>

enum { FLOW_LIMITS_KEPT = 6, FLOW_LIMIT_TEXT = 200 };

/* A limit of the standard that this use is outside of. Texts are static. */
struct flow_limit {
    const char *name; /* "β", "weir head"; where source is NULL a whole sentence, and the rest is not used */
    const char *unit; /* of value and limit, with a space before it: " mm"; "" for a plain number */
    const char *source;
    double value, limit;
    bool above; /* else below */
};

struct flow_limits {
    size_t count;
    struct flow_limit items[FLOW_LIMITS_KEPT];
};

/* "β = 0.82 is above 0.75 (ISO 5167-2:2003, 5.3.1)"; "weir head = 41 to 52 mm is below 60 mm (...)" where the same
 * limit was met by values up to highest. Returns: out. */
char *flow_limit_text(const struct flow_limit *limit, double highest, char out[FLOW_LIMIT_TEXT]);

/* A throttling device in a full pipe. coefficient: the device's own discharge coefficient, absent for the standard's;
 * with its own, the standard's limits say nothing about it and are not named. */
struct throttle {
    double pipe_bore_m, throat_bore_m;
    struct quantity coefficient;
    double density_kg_m3, viscosity_pa_s;
};

/* Flow in m3/s through an orifice plate, venturi tube (kind of its inlet), venturi nozzle or ISA 1932 nozzle from the
 * differential pressure (Pa, >= 0) of an incompressible liquid, iterated on the pipe's Reynolds number; 0 Pa gives 0. q
 * = C / sqrt(1 - beta^4) * pi/4 d^2 * sqrt(2 dp / rho). Sources: ISO 5167-2:2003 5.3.2 (Reader-Harris/Gallagher), ISO
 * 5167-4:2003, ISO 5167-3:2003. limits may be NULL. */
bool flow_orifice(const struct throttle *device, enum pressure_tappings tappings, double dp_pa, double *flow_m3s,
                  struct flow_limits *limits);
bool flow_venturi(const struct throttle *device, enum venturi_kind kind, double dp_pa, double *flow_m3s,
                  struct flow_limits *limits);
bool flow_venturi_nozzle(const struct throttle *device, double dp_pa, double *flow_m3s, struct flow_limits *limits);
bool flow_nozzle(const struct throttle *device, double dp_pa, double *flow_m3s, struct flow_limits *limits);

/* The Reader-Harris/Gallagher discharge coefficient itself. 0 < beta = d/D < 1, bore and Reynolds number > 0, not
 * checked. Source: ISO 5167-2:2003, 5.3.2.1. */
double orifice_coefficient(double beta, double pipe_bore_m, double reynolds_pipe, enum pressure_tappings tappings);

/* A thin-plate weir. */
struct weir {
    double angle_rad;                                 /* V-notch */
    double width_m, crest_height_m, approach_width_m; /* crest height p above the channel's floor, channel width B */
    bool crest_known, approach_known;
    struct quantity coefficient; /* own coefficient: then the plain formula on the measured head, and no limits named */
    double gravity_m_s2;
};

/* Flow in m3/s over a V-notch from the head (m, >= 0) above its vertex.
 * Q = Ce 8/15 sqrt(2 g) tan(alpha/2) (h + kh)^(5/2), Ce and kh by Kindsvater-Shen. Within 1 degree of 90 degrees and
 * with crest height and approach width stated, Ce follows the partial contraction; else the notch is taken as fully
 * contracted. Source: ISO 1438:2008/2017; curves read from NBS Special Publication 421 (1975), figures 4-3 to 4-5. */
bool flow_v_notch(const struct weir *weir, double head_m, double *flow_m3s, struct flow_limits *limits);

/* Flow in m3/s over a rectangular notch from the head (m, >= 0) above its crest.
 * Q = Ce 2/3 sqrt(2 g) (b + kb) (h + kh)^(3/2), Kindsvater-Carter, for a notch narrower than the approach (b < B) and
 * over its full width (b = B). A crest height or approach width that is not stated is taken as large, and named.
 * Source: ISO 1438:2008/2017. */
bool flow_rectangular_notch(const struct weir *weir, double head_m, double *flow_m3s, struct flow_limits *limits);

/* Flow in m3/s from a volume collected in a time. */
bool flow_tank_volume(double volume_m3, double filling_time_s, double *flow_m3s);

/* Flow in m3/s from a mass weighed in air, with the buoyancy of the air: V = m / rho * (1 + e), e = rho_air (1/rho -
 * 1/8000 kg/m3). Source: ISO 4185:1980. */
bool flow_tank_mass(double mass_kg, double filling_time_s, double water_density_kg_m3, double air_density_kg_m3,
                    double *flow_m3s);

#endif
