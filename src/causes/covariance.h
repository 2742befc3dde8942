/* covariance.h - what a good unit's readings would be, and how they would scatter together
 *
 * The stacked vector holds, reading by reading, what was read of head, power and current, and last the voltage.
 */
#ifndef CAUSES_COVARIANCE_H
#define CAUSES_COVARIANCE_H

#include "causes/causes.h"

struct stacked {
    size_t count; /* length of the vector */
    size_t point_count;
    struct good_unit good;
    double flow_m3s[EVIDENCE_POINTS_MAX];
    bool read[EVIDENCE_POINTS_MAX][CURVES];
    bool voltage_read;
    double measured[EVIDENCE_MAX], healthy[EVIDENCE_MAX];
    double broad[DIRECTIONS_MAX][EVIDENCE_MAX]; /* any smooth change of the curves, one standard deviation each */
    size_t broad_count;
    struct whitener whitener;
};

/* Stacks a case. Returns: false when it cannot be asked (fewer than three readings of head, no reference, a covariance
 * that is none). */
bool stacked_make(const struct causes_case *of, struct stacked *stacked);

/* What a unit with a fault would read. */
void stacked_predict(const struct stacked *stacked, enum cause_family family, double severity, double *out);
void stacked_predict_variant(const struct stacked *stacked, enum cause_family family, double severity, double *out);

#endif
