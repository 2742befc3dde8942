/* reference.h - a good unit of the model as the causes see it: mean curves at rated speed, and how units differ
 *
 * Where it comes from (the bay's curves.csv, the guarantee alone) is not known here.
 */
#ifndef CAUSES_REFERENCE_H
#define CAUSES_REFERENCE_H

#include "tables/reference_curves.h"

/* From this many good units on, causes are named that need the model's spread to be known. Source: common practice,
 * tried on made data. */
enum { GOOD_UNITS_ENOUGH = 20 };

struct model_reference {
    struct reference_curves curves; /* units 0: from the guarantee alone */
    struct quantity stages;
    double best_flow_m3s; /* flow of best efficiency, or guaranteed */
    double no_load_w;     /* part of the input power that does not go with the pump's */
    double slip;          /* of the motor at best flow, fraction; 0 where speed is measured */
    bool speed_measured;  /* readings are at rated speed by a measured speed: it cannot be low unseen */
};

/* What is guaranteed, for want of good units. Power and current are those at guaranteed flow. */
struct guarantee {
    double flow_m3s, head_m;
    struct quantity input_power_w, current_a, stages;
};

/* Share of the input power at best flow that a motor draws without load, for want of its curve. Source: common
 * practice, no source. */
#define NO_LOAD_SHARE 0.08

/* Curves through a guaranteed point with the form of common radial and mixed-flow bowls, a head 1.5 % above the
 * guarantee as sets are built, units 0 and no spread of its own: the wide one is the engine's. Source: common practice,
 * no source. */
struct model_reference reference_of_guarantee(const struct guarantee *guarantee);

/* A mean curve in Newton's form: exact at the nodes; beyond the first and the last it goes on as the parabola that
 * touches there. */
struct node_end {
    double at, value, slope, bend; /* bend: half of the second derivative */
};
struct node_curve {
    size_t count;
    double node[REFERENCE_NODES_MAX], coefficient[REFERENCE_NODES_MAX];
    struct node_end low, high;
};

void node_curve_make(const double *node, const double *value, size_t count, struct node_curve *curve);

/* Value, and slope where slope is not NULL. */
double node_curve_at(const struct node_curve *curve, double x, double *slope);

/* How far the curve may be off at x for going on beyond its nodes: the whole of the parabola's bend; 0 between them. */
double node_curve_doubt(const struct node_curve *curve, double x);

#endif
