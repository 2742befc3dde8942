/* flow_throttle.h - volume flow from the pressure drop of an orifice plate, nozzle or venturi
 *
 * Each function returns false, with the result untouched, where the inputs make no sense (negative, zero bore, no
 * convergence).
 */
#ifndef DUTYPROOF_FLOW_THROTTLE_H
#define DUTYPROOF_FLOW_THROTTLE_H

#include "base/quantity.h"
#include "physics/flow_limits.h"
#include "tables/rig.h"

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

#endif
