/* flow_tank.h - volume flow from a tank filled or weighed
 *
 * Each function returns false, with the result untouched, where the inputs make no sense (negative, zero bore, no
 * convergence).
 */
#ifndef DUTYPROOF_FLOW_TANK_H
#define DUTYPROOF_FLOW_TANK_H

#include <stdbool.h>

/* Flow in m3/s from a volume collected in a time. */
bool flow_tank_volume(double volume_m3, double filling_time_s, double *flow_m3s);

/* Flow in m3/s from a mass weighed in air, with the buoyancy of the air: V = m / rho * (1 + e), e = rho_air (1/rho -
 * 1/8000 kg/m3). Source: ISO 4185:1980. */
bool flow_tank_mass(double mass_kg, double filling_time_s, double water_density_kg_m3, double air_density_kg_m3,
                    double *flow_m3s);

#endif
