/* label_eu.h - the minimum efficiency index of water pumps
 */
#ifndef DUTYPROOF_LABEL_EU_H
#define DUTYPROOF_LABEL_EU_H

#include "label/label_parts.h"

/* Fills the label of a unit, or refuses. */
void label_eu(struct labelling *labelling);

/* Specific speed n sqrt(Q) / (H/stages)^0.75 in the units of the regulation: 1/min, m3/s, m. All > 0. */
double eu_specific_speed(double speed_rpm, double stages, double flow_m3s, double head_m);

/* Required pump efficiency at best efficiency, fraction, for a constant C: at 75 % of that flow 0.947 of it, at 110 %
 * 0.985. Source: Regulation (EU) 547/2012, annex III (loads: from memory, confirm). */
double eu_required_efficiency(double specific_speed, double flow_m3s, double c);

/* The constant C that an efficiency would just meet: the inverse of eu_required_efficiency. */
double eu_constant_met(double specific_speed, double flow_m3s, double efficiency);

/* The index by the constants of one type and speed, at least two, sorted by rising index (falling C): linear in C
 * between neighbours, the first and last line going on beyond. *beyond: outside the tabulated constants. */
double eu_index(const struct label_constant *const *constants, size_t count, double c, bool *beyond);
/* The C of an index: the inverse. */
double eu_constant_of(const struct label_constant *const *constants, size_t count, double index);

#endif
