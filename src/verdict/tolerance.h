/* tolerance.h - what a grade tolerates about a guaranteed point
 *
 * Derived here once: the limits that a check compares with, the heads that are accepted (for the probability and the
 * batch's margins), and the outline of the tolerance mark.
 */
#ifndef DUTYPROOF_TOLERANCE_H
#define DUTYPROOF_TOLERANCE_H

#include "physics/curve.h"
#include "tables/bay.h"

/* Checks compare with a resolution of 1e-9 of the limit, so that a value on the limit is inside whatever the
 * arithmetic's last bit. */
#define JUDGE_RESOLUTION 1e-9

/* Whether the grade is for a pump of this power at all. */
enum tolerance_scope {
    TOLERANCE_APPLIES,
    TOLERANCE_POWER_NOT_KNOWN, /* of a rule for small pumps, and the shaft power is not known */
    TOLERANCE_POWER_TOO_GREAT, /* of a rule for small pumps */
};

/* Tolerances of one duty point by its grade. A limit that is absent is none of the geometry's, or not stated. */
struct tolerance {
    const struct grade *grade;                   /* NULL: no grade, and nothing below but the guarantee is known */
    struct quantity flow_m3s, head_m;            /* guaranteed */
    struct quantity flow_low_m3s, flow_high_m3s; /* of the flow at guaranteed head; absent for an ellipse */
    struct quantity head_low_m, head_high_m;     /* of the head at guaranteed flow; absent for an ellipse */
    double ellipse_flow_m3s, ellipse_head_m;     /* semi-axes; 0 when not an ellipse */
    struct {
        struct quantity flow_low_m3s, flow_high_m3s, head_low_m, head_high_m;
    } accept;                       /* the same limits for a value that is not rounded yet */
    enum tolerance_scope scope;     /* the two below are known only when it applies */
    struct quantity efficiency_low; /* of the set or of the pump, as the duty states */
    struct quantity input_power_high_w;
};

/* The tolerance of a duty point. greatest_shaft_power_w: the pump's, over the tested flows; needed by the rule for
 * small pumps only. Source: the grade's. Rule for small pumps: ISO 9906:2012, 4.4.2 (from memory, confirm). */
struct tolerance tolerance_of(const struct duty *duty, struct quantity greatest_shaft_power_w);

/* How a value is rounded before it is compared: to the significant places of the guarantee as it is written. {0}: it is
 * compared as it is. */
struct rounding {
    int places;              /* 0: not rounded */
    const struct unit *unit; /* that the guarantee is written in; NULL: SI */
};

/* The rounding of a duty's quantity by its grade. text: the guarantee as it is written; NULL: it is not. */
struct rounding rounding_of(const struct duty *duty, enum dimension dimension, const char *text);

/* The rounded value; absent where it is not rounded. */
struct quantity rounding_apply(const struct rounding *rounding, struct quantity value);

/* The least (upper: the greatest) value that is still on the accepted side of a limit once it is rounded: the limit
 * itself where nothing is rounded. */
struct quantity rounding_edge(const struct rounding *rounding, struct quantity limit, bool upper);

/* How far a head curve may move, as a whole, before it leaves the tolerance: negative when it has to come back. */
struct tolerance_room {
    struct quantity fall_m, rise_m;     /* at guaranteed flow; absent: no limit on that side, or not known */
    struct quantity fall_m3s, rise_m3s; /* an ellipse: the same as flow, along its guaranteed head */
};

/* The room of a tested head curve. flow_at_head_m3s: where it meets the guaranteed head, for an ellipse. The horizontal
 * arm of a cross is met as long as the curve is above the guaranteed head at the arm's left end and below it at its
 * right end; of two arms the better counts for a cross and the worse for minimum values. An ellipse is left where (eH /
 * dH)^2 + (eQ / dQ)^2 = 1 with dH / dQ the slope of the curve between its two readings. Absent where the guaranteed
 * flow was not tested. */
struct tolerance_room tolerance_room_of(const struct tolerance *tolerance, const struct curve *head,
                                        struct quantity flow_at_head_m3s);

/* A vertex of the tolerance mark in a chart of head over flow; start: of a new line. */
struct outline_vertex {
    double flow_m3s, head_m;
    bool start;
};

enum { OUTLINE_ELLIPSE = 24, OUTLINE_VERTICES = 4 + OUTLINE_ELLIPSE + 1 };

/* The mark in the grade's own form: a cross, half arms, or an ellipse with a small cross within. Returns: number of
 * vertices; 0 when flow or head is not guaranteed. */
size_t tolerance_outline(const struct tolerance *tolerance, struct outline_vertex vertices[OUTLINE_VERTICES]);

#endif
