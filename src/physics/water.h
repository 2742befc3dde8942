/* water.h - properties of clear cold water, gravity and air pressure of a site
 */
#ifndef DUTYPROOF_WATER_H
#define DUTYPROOF_WATER_H

#include <stdbool.h>

/* Range in which the functions of water hold here: liquid water, 0 to 100 degC, up to 100 MPa.
 * Outside it, or where the water would boil at that pressure, they return false and leave the result untouched. */

/* Density, kg/m3, of liquid water at temperature_c and absolute pressure. Source: IAPWS-IF97 (R7-97(2012)), region 1.
 */
bool water_density(double temperature_c, double p_abs_pa, double *density_kg_m3);

/* Dynamic viscosity, Pa s. Source: IAPWS R12-08 (2008), without the critical enhancement. */
bool water_viscosity(double temperature_c, double p_abs_pa, double *viscosity_pa_s);

/* Vapour pressure, Pa absolute, 0 to 100 degC. Source: IAPWS-IF97, region 4, equation 30. */
bool water_vapour_pressure(double temperature_c, double *p_abs_pa);

/* Gravity, m/s2, from latitude (rad, -pi/2 to pi/2) and altitude (m, -500 to 9000).
 * g = 9.7803 (1 + 0.0053 sin^2 phi) - 3e-6 z. Source: ISO 9906:2012 annex (from memory, confirm).
 * NaN outside the ranges: quantity_of makes that absent. */
double site_gravity(double latitude_rad, double altitude_m);

/* Mean air pressure, Pa, at an altitude (m above sea level, -500 to 9000); NaN outside it.
 * Source: ISO 2533:1975, standard atmosphere, troposphere. */
double site_air_pressure(double altitude_m);

/* The equations themselves, without a check of their range, for a caller that has made sure of it.
 * Density, kg/m3: IAPWS-IF97 equation 7, from the table of region 1, 273.15 to 623.15 K, saturation pressure to 100
 * MPa. */
double if97_liquid_density(double temperature_k, double p_abs_pa);
/* Saturation pressure, Pa: IAPWS-IF97 equation 30, 273.15 to 647.096 K. */
double if97_saturation_pressure(double temperature_k);
/* Viscosity, Pa s: IAPWS R12-08 equations 10 to 12 with the critical enhancement left out (its factor is 1). */
double r12_viscosity(double temperature_k, double density_kg_m3);

#endif
