/* uncertainty.h - how sure the numbers are, and how likely the unit conforms
 *
 * Two kinds of error, and they go through the chain differently. An instrument's error is one and the same at every
 * point of a test: all points move together, and the fitted curve with them. The scatter of readings is another at each
 * point, and the fit averages it out. To first order (JCGM 100:2008, 5.1) both are carried by the sensitivities of each
 * point's flow, head, power and current to each reading, and by the weight that each point has in the value of a fitted
 * curve.
 *
 * Neither ever changes a verdict: the grades already allow for the uncertainty of the test (ISO 9906:2012, scope).
 */
#ifndef DUTYPROOF_UNCERTAINTY_H
#define DUTYPROOF_UNCERTAINTY_H

#include "certainty/spread.h"
#include "physics/chain.h"
#include "settle/settle.h"

struct result;

/* Relative expanded uncertainty (95 %) of a point's quantities, as the test standard combines it: the root of the
 * squares of the random part (Student t times the standard error of the mean) and the instruments' part. Absent where
 * an instrument that matters states no accuracy. Source: ISO 9906:2012 (from memory, confirm). */
struct point_uncertainty {
    struct quantity flow, head, input_power, set_efficiency;
    struct quantity instrument_flow, instrument_head, instrument_power; /* the instruments' part alone */
};

/* The numbers of a duty point whose uncertainty is found. The overload ones belong to the model and stand with its
 * first duty. */
enum duty_number {
    NUMBER_HEAD,           /* head at guaranteed flow, m */
    NUMBER_SET_EFFICIENCY, /* set efficiency at guaranteed flow */
    NUMBER_EFFICIENCY,     /* efficiency as it is judged: set or pump, on the duty line or at guaranteed flow */
    NUMBER_INPUT_POWER,    /* input power as it is judged, W */
    NUMBER_CURRENT_MAX,    /* greatest current over the stated head range, A */
    NUMBER_POWER_MAX,      /* greatest input power over it, W */
    NUMBER_COUNT
};

/* What part of the variance of the set efficiency at guaranteed flow comes from one channel's instrument or readings.
 */
struct uncertainty_share {
    enum channel channel;
    bool instrument; /* false: scatter of its readings, or (channel CHANNEL_COUNT) the fit: scatter of the points about
                        the curves and choice of their degree */
    double share;    /* fraction of the variance */
};

enum { SHARES_KEPT = 8 };

struct duty_uncertainty {
    bool known[NUMBER_COUNT];
    double value[NUMBER_COUNT]; /* as measured */
    struct spread error[NUMBER_COUNT];
    double accept_low[NUMBER_COUNT],
        accept_high[NUMBER_COUNT]; /* where the true value conforms; infinite on an open side */
    bool judged[NUMBER_COUNT];     /* a check stands on it */
    size_t share_count;
    struct uncertainty_share shares[SHARES_KEPT]; /* largest first */
};

/* The same by Monte Carlo (JCGM 101:2008), when asked for. */
struct monte_carlo {
    size_t trials; /* 0: not asked for */
    struct quantity head_m,
        set_efficiency; /* half-width of the shortest 95 % interval, at the first duty's guaranteed flow */
    struct quantity conformity_probability; /* share of trials in which the verdict was a pass */
};

/* Whether the unit conforms with at least the probability that was asked for (JCGM 106:2012, 8.3, guarded acceptance).
 * Beside the verdict, never in its place. */
struct guard {
    struct quantity asked; /* absent: not asked for */
    bool answered;         /* false: the probability is not known */
    bool conforms;
};

/* The source of a share in words: "flow, instrument", "flow, scatter of readings", "fit of the curves". Returns: out.
 */
enum { SHARE_TEXT = 64 };
char *share_text(const struct uncertainty_share *share, char out[SHARE_TEXT]);

/* Weight of each of count points in the least-squares polynomial of a degree at a flow: curve(flow) = sum weight_i y_i.
 * By orthogonal polynomials on the points (Forsythe 1957), without a matrix. count > degree. */
void fit_weights(const double *flow_m3s, size_t count, size_t degree, double flow_at_m3s, double *weight);

/* Finds the uncertainty of every point and duty of a result whose verdicts stand, fills them in (points, duties,
 * checks' conformity probabilities, the whole verdict's) and adds cautions. scratch is used and left to the caller to
 * release. Status: E_MEMORY. */
enum status uncertainty_find(const struct chain *chain, const struct settled *settled, struct result *result,
                             struct arena *arena, struct arena *scratch);

/* Sends trials random draws of all errors through the whole chain, fit and judgement included; the generator is seeded
 * from the log's SHA-256, so that a rerun gives the same. Source: JCGM 101:2008. Status: E_MEMORY. */
enum status monte_carlo_run(const struct chain *chain, const struct settled *settled, size_t trials,
                            struct result *result, struct arena *arena);

#endif
