/* flow_weir.h - volume flow over a thin-plate weir
 *
 * Each function returns false, with the result untouched, where the inputs make no sense (negative, zero bore, no
 * convergence).
 */
#ifndef DUTYPROOF_FLOW_WEIR_H
#define DUTYPROOF_FLOW_WEIR_H

#include "base/quantity.h"
#include "physics/flow_limits.h"

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

#endif
