/* causes.h - which fault of assembly, supply, rig or record explains a unit's curves, and how surely
 *
 * A pure function of the readings at rated speed, a good unit of the model and the table of causes. Every cause is a
 * family of curves with one severity; its evidence is the mean of its likelihood over the severities of its row, on all
 * readings together: scatter, the instruments' common errors and the spread from unit to unit make one covariance.
 * Beside the causes stand a healthy unit, and a fault that none of them describes (any smooth change). It advises and
 * never judges: common practice throughout, tried on made data (tests/outside/causes.py).
 */
#ifndef CAUSES_CAUSES_H
#define CAUSES_CAUSES_H

#include "causes/evidence.h"
#include "causes/families.h"

/* A point at rated speed. Deviations are one standard deviation of its scatter, 0 where it is not known (then a floor
 * holds). */
struct causes_reading {
    double flow_m3s, flow_deviation_m3s;
    struct quantity of[CURVES]; /* m, W, A; current as read */
    double deviation[CURVES];
};

/* What the instruments may all be off by, one standard deviation: shares of the reading, and a constant head. */
struct causes_instruments {
    double flow, of[CURVES];
    double head_offset_m;
};

struct causes_case {
    const struct model_reference *reference;
    size_t reading_count;
    const struct causes_reading *readings; /* only readings that count; a lone one off the curve stays out */
    struct causes_instruments instruments;
    struct quantity voltage; /* mean of the test as a share of rated */
    double units;            /* 1; or how many units of a day the readings are the mean of */
};

enum causes_outcome {
    CAUSES_NOT_ASKED, /* no reference, or fewer than three readings of head */
    CAUSES_HEALTHY,   /* very probably nothing is wrong: nothing is said */
    CAUSES_FEW_UNITS, /* something is, but fewer than GOOD_UNITS_ENOUGH good units are known and no discrete cause fits
                       */
    CAUSES_NAMED,
    CAUSES_NONE_KNOWN, /* something is, and no single cause of the table explains it */
};

enum { CAUSES_FOUND_MAX = 3, CAUSE_TWINS_MAX = 4 };

struct cause_found {
    const struct cause_row *row;
    double probability;
    struct quantity severity; /* in the row's own terms */
    bool seen;                /* read off directly (a sign), not inferred from the curves */
    size_t twin_count;        /* causes that explain the readings nearly as well: what is looked at first comes first */
    const struct cause_row *twins[CAUSE_TWINS_MAX];
};

struct causes_result {
    enum causes_outcome outcome;
    double healthy; /* probability that nothing is wrong */
    size_t found_count;
    struct cause_found found[CAUSES_FOUND_MAX]; /* likeliest first */
};

/* Nothing is said where a healthy unit is more likely than this. */
#define CAUSES_SILENT_ABOVE 0.1

/* Names the causes. Readings beyond EVIDENCE_POINTS_MAX are thinned evenly by order. Cannot fail: where the numbers do
 * not suffice, nothing is asked. */
void causes_find(const struct causes_case *of, const struct cause_table *causes, struct causes_result *result);

/* How far a cause of that severity would stand out of a good unit's spread in this test, in standard deviations along
 * its own form. Below CAUSES_SEEN_FROM this test cannot see it. 0 where the family is excluded. */
#define CAUSES_SEEN_FROM 3.0
double causes_stand_out(const struct causes_case *of, const struct cause_row *row, double severity);

#endif
