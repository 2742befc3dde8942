/* curve.h - a fitted curve y(Q): its value, slope and band, where it meets a line, and the curves of a test
 */
#ifndef DUTYPROOF_CURVE_H
#define DUTYPROOF_CURVE_H

#include <stdbool.h>
#include <stddef.h>

enum { FIT_DEGREE_MAX = 5, FIT_OUTLIERS_KEPT = 8 };

/* Why there is no curve, or where its degree comes from. */
enum curve_cause {
    CURVE_NO_TEST,
    CURVE_NOT_MEASURED,
    CURVE_FEW_POINTS,       /* count points, where of are needed */
    CURVE_NOT_FINITE,       /* point number of of count */
    CURVE_ONE_FLOW,         /* all count points */
    CURVE_NOT_DETERMINED,   /* by the points, of degree of */
    CURVE_FEW_FOR_DEGREE,   /* count points, degree of */
    CURVE_FEW_FLOWS,        /* count distinct flows, where of are needed */
    CURVE_OUT_OF_MEMORY,    /* no fault of the points */
    CURVE_BY_CRITERION,     /* known: the degree of lowest AICc of degrees 2 to of */
    CURVE_AS_ASKED,         /* known */
    CURVE_TOO_FEW_TO_CHOOSE /* known: a parabola */
};

struct curve_why {
    enum curve_cause cause;
    size_t count, of;
};

struct curve {
    bool known;           /* false: why says what was wrong, and nothing else holds */
    struct curve_why why; /* of the degree when known */
    size_t degree;
    size_t rival;                           /* another degree that the points hardly speak against; 0: none */
    double coefficient[FIT_DEGREE_MAX + 1]; /* y = sum c_i Q^i, Q in m3/s, for the result document */
    double center, scale;                   /* x = (Q - center) / scale */
    double scaled[FIT_DEGREE_MAX + 1];      /* y = sum b_i x^i: what curve_at evaluates */
    double covariance[FIT_DEGREE_MAX + 1][FIT_DEGREE_MAX + 1]; /* of scaled, from the residuals */
    double flow_low_m3s, flow_high_m3s;                        /* tested range */
    double residual;                                           /* residual standard deviation, in y's unit */
    size_t points, freedom;                                    /* points fitted; degrees of freedom */
    double student_t;                                          /* two-sided 95 % for freedom */
    size_t outlier_count;
    size_t outliers[FIT_OUTLIERS_KEPT]; /* indices into the points given */
};

/* Value, slope (per m3/s) and half-width of the 95 % confidence band of the mean at a flow. No range check: see
 * curve_covers. NaN when the curve is not known. */
double curve_at(const struct curve *curve, double flow_m3s);
double curve_slope(const struct curve *curve, double flow_m3s);
double curve_band(const struct curve *curve, double flow_m3s);

/* True when the flow lies within the tested range (ends included, to 1e-9 of the range). */
bool curve_covers(const struct curve *curve, double flow_m3s);

/* The rightmost flow in the tested range where y(Q) = a + b Q (touching counts). Returns: false when there is none. */
bool curve_cross(const struct curve *curve, double a, double b, double *flow_m3s);

/* All such flows, rising (places that touch to 1e-9 of the line's greatest value count, ends included). Returns: how
 * many. */
size_t curve_crossings(const struct curve *curve, double a, double b, double flow_m3s[FIT_DEGREE_MAX + 1]);

/* Least and greatest value over [low, high] and where. */
void curve_extremes(const struct curve *curve, double low_m3s, double high_m3s, double *least, double *greatest,
                    double *greatest_at);

/* True when the curve rises with flow somewhere in the tested range by more than its residual; *to is the flow up to
 * which it rises. */
bool curve_rises(const struct curve *curve, double *to_m3s);

enum which_curve { CURVE_HEAD, CURVE_INPUT_POWER, CURVE_CURRENT, CURVE_SHAFT_POWER, CURVE_DENSITY, CURVE_COUNT };

/* The curves of one test at rated speed. */
struct curves {
    struct curve of[CURVE_COUNT];
    double gravity_m_s2;
};

/* rho g at a flow, N/m3, of the water that was pumped there: P_u = rho g Q H. Beyond the flows at which the density was
 * known, that of their end. 0 when it is not known. */
double curves_specific_weight(const struct curves *curves, double flow_m3s);

/* Set and pump efficiency at a flow from the curves; false when a curve is missing or does not cover the flow, or power
 * is not positive. 0 at zero flow. */
bool curves_set_efficiency(const struct curves *curves, double flow_m3s, double *efficiency);
bool curves_pump_efficiency(const struct curves *curves, double flow_m3s, double *efficiency);

/* Best-efficiency point of the set efficiency within the tested flows. at_end: it lies at an end of the tested range,
 * so the true one may lie beyond. Returns: false when it is not known. */
struct best_efficiency {
    double flow_m3s, head_m, set_efficiency;
    bool at_end;
};
bool curves_best_efficiency(const struct curves *curves, struct best_efficiency *best);

#endif
