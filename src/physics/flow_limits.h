/* flow_limits.h - naming the limits of a standard that a flow device is used outside of; private to the flow modules */
#ifndef DUTYPROOF_FLOW_LIMITS_H
#define DUTYPROOF_FLOW_LIMITS_H

#include "physics/flowmeter.h"

#include <math.h>
#include <stdbool.h>

/* A value that meets its limit exactly may miss it by rounding, once a bore was converted from millimetres. */
static const double limit_rounding = 1e-9;

/* What is limited, as it is shown: "β", "pipe bore" with unit " mm" and value and limits in that unit. */
struct limited {
    const char *name, *unit, *source;
    double value;
};

/* Adds the limit when the value is not within low to high (or is NaN). limits may be NULL; beyond FLOW_LIMITS_KEPT
 * nothing is added. */
void limit_range(struct flow_limits *limits, struct limited what, double low, double high);

/* Adds a sentence, which must be static. */
void limit_say(struct flow_limits *limits, const char *sentence);

/* Positive and finite. */
static inline bool positive(double value)
{
    return value > 0.0 && isfinite(value);
}

#endif
