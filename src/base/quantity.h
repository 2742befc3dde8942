/* quantity.h - a number that may be absent
 *
 * A quantity that was not measured is absent, never 0 and never NaN: {0} is absent.
 */
#ifndef DUTYPROOF_QUANTITY_H
#define DUTYPROOF_QUANTITY_H

#include <math.h>
#include <stdbool.h>

struct quantity {
    double value; /* in the unit that the variable's name ends in; meaningless unless known */
    bool known;
};

/* A known quantity; absent when the value is not finite. */
static inline struct quantity quantity_of(double value)
{
    bool finite = isfinite(value);
    return (struct quantity){.value = finite ? value : 0.0, .known = finite};
}

static inline struct quantity quantity_absent(void)
{
    return (struct quantity){0};
}

/* quantity x factor; absent stays absent. */
static inline struct quantity quantity_times(struct quantity q, double factor)
{
    return q.known ? quantity_of(q.value * factor) : q;
}

/* The value, or otherwise where it is absent. */
static inline double quantity_or(struct quantity q, double otherwise)
{
    return q.known ? q.value : otherwise;
}

#endif
