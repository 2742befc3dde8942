/* head.h - total head of a pump set from pressure gauges
 */
#ifndef DUTYPROOF_HEAD_H
#define DUTYPROOF_HEAD_H

#include "tables/bay.h"

/* Darcy friction factor of a full round pipe: laminar 64/Re below Re 2300, Colebrook-White solved to 1e-12 above.
 * relative_roughness = k/D, 0 to 0.05; Re > 0; NaN outside. Source: Colebrook 1939. */
double pipe_friction_factor(double reynolds, double relative_roughness);

/* What is read and stated about one state of flow. Absent quantities were not stated. */
struct head_terms {
    double flow_m3s;
    double gauge_pressure_pa;
    struct quantity suction_pressure_pa; /* known: two-gauge form */
    struct quantity water_level_m;       /* of the reading, else of the rig */
    double density_kg_m3, viscosity_pa_s, gravity_m_s2;
};

/* The total head and its parts, m. total = lift + pressure + velocity + friction. */
struct head_parts {
    double lift_m, pressure_m, velocity_m, friction_m, total_m;
};

/* Total head of a submerged set: H = (gauge height - water level) + p/(rho g) + v^2/2g at the tapping + loss from the
 * outlet to the tapping; with a suction gauge H = (z2 - z1) + (p2 - p1)/(rho g) + (v2^2 - v1^2)/2g + loss. The set's
 * own non-return valve and strainer are inside the set: not corrected for. Returns: NULL and *parts, or a sentence that
 * names what is missing ("no head: rig.csv states no gauge height"), with *parts untouched. Source: ISO 9906:2012 annex
 * A, and its 1999 edition 8.2.3 (from memory, confirm). */
const char *head_total(const struct rig *rig, const struct head_terms *terms, struct head_parts *parts);

#endif
