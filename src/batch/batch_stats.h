/* batch_stats.h - margins, capability and control charts over a batch
 */
#ifndef DUTYPROOF_BATCH_STATS_H
#define DUTYPROOF_BATCH_STATS_H

#include "batch/batch.h"

struct batch_counts {
    size_t units, passed, failed, not_judged; /* by the test of each serial that counts */
    size_t tests, superseded, retested;       /* retested: serials with more than one test */
    size_t overdue;                           /* units whose verdict carries "calibration overdue" */
    size_t routine_failed;                    /* and "routine results fail" */
};

/* Fewest values for a spread, for a chart's limits; fewest for limits that can be relied on (common practice, no
 * source). */
enum { SERIES_SPREAD_MIN = 2, SERIES_CHART_MIN = 3, SERIES_RELIABLE = 20 };

/* One value of each counting test of a model, in the order of testing, with its control chart. */
struct batch_series {
    const char *name; /* "head margin", "efficiency margin" */
    bool head;        /* values in m; else fractions */
    size_t count;
    double *values;
    const struct batch_test **tests;
    bool *out_value, *out_range, *run; /* outside the limits of either chart; end of a run of nine on one side */
    size_t out_count;                  /* tests named for any of the three */
    double mean, least, greatest;
    struct quantity deviation;      /* sample standard deviation */
    struct quantity moving_range;   /* mean of |x_i - x_(i-1)| */
    struct quantity low, high;      /* limits of the individuals, mean -+ 2.66 mean moving range */
    struct quantity range_high;     /* limit of the moving range, 3.267 mean moving range */
    struct quantity permitted_high; /* upper limit of the margin, the mean over the tests; the lower is 0 */
    struct quantity cpk, ppk;
};

struct batch_section {
    const struct model *model;
    struct batch_counts counts;
    size_t duty_count;
    struct batch_series *head, *efficiency; /* one a duty point; count 0: none could be read */
};

struct batch_summary {
    struct batch_counts counts;
    size_t section_count;
    struct batch_section *sections; /* in order of first appearance */
    size_t stray;                   /* units of which not even the model is known: they are in no section */
    struct date first_tested, last_tested;
};

/* Counts, margins, capability and control charts.
 *
 * A margin is the distance of a value above the least that is permitted, so that 0 is the limit. Capability, with L = 0
 * and, where the grade has an upper limit, U, the mean of its distances: P_pk = min(mean - L, U - mean) / 3s with the
 * sample standard deviation s of the whole batch; C_pk the same with s within, the mean moving range / 1.128 (d2 of
 * two). Source: ISO 22514-1:2014, ISO 22514-2:2013, AIAG "Statistical Process Control", 2nd edition (from memory).
 * Individuals and moving range: limits mean -+ 2.66 and 3.267 times the mean moving range; source: ISO 7870-2:2013
 * (constants 3/d2 and D4 for two). A run of nine on one side of the mean: ISO 8258:1991, test 2 (from memory).
 * Status: E_MEMORY. */
enum status batch_sum_up(const struct batch *batch, struct arena *arena, struct batch_summary *summary);

#endif
