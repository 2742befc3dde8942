/* flow_limits.h - naming the limits of a standard that a flow device is used outside of
 *
 * Use outside the range that its standard states is allowed but named: a struct flow_limits collects which limits are
 * exceeded.
 */
#ifndef DUTYPROOF_FLOW_LIMITS_H
#define DUTYPROOF_FLOW_LIMITS_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

enum { FLOW_LIMITS_KEPT = 6, FLOW_LIMIT_TEXT = 200 };

/* A limit of the standard that this use is outside of. Texts are static. */
struct flow_limit {
    const char *name; /* "β", "weir head"; where source is NULL a whole sentence, and the rest is not used */
    const char *unit; /* of value and limit, with a space before it: " mm"; "" for a plain number */
    const char *source;
    double value, limit;
    bool above; /* else below */
};

struct flow_limits {
    size_t count;
    struct flow_limit items[FLOW_LIMITS_KEPT];
};

/* "β = 0.82 is above 0.75 (ISO 5167-2:2003, 5.3.1)"; "weir head = 41 to 52 mm is below 60 mm (...)" where the same
 * limit was met by values up to highest. Returns: out. */
char *flow_limit_text(const struct flow_limit *limit, double highest, char out[FLOW_LIMIT_TEXT]);

/* --- for the flow modules --- */

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
