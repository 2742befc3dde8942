/* weight.h - curves of a test in water of one specific weight, rho g, at all flows
 */
#ifndef WEIGHT_H
#define WEIGHT_H

#include "physics/curve.h"

static inline void set_specific_weight(struct curves *curves, double weight_n_m3)
{
    curves->gravity_m_s2 = 1.0;
    curves->of[CURVE_DENSITY] =
        (struct curve){.known = true, .degree = 1, .scale = 1.0, .scaled = {weight_n_m3, 0.0}, .flow_high_m3s = 1e9};
}

#endif
