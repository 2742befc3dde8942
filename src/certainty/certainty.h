/* certainty.h - how sure the numbers of a test are, and how likely its unit conforms: what certainty/ finds out
 */
#ifndef DUTYPROOF_CERTAINTY_H
#define DUTYPROOF_CERTAINTY_H

#include "certainty/spread.h"
#include "physics/chain.h"
#include "settle/settle.h"
#include "verdict/judge.h"

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

struct duty_certainty {
    bool known[NUMBER_COUNT];
    double value[NUMBER_COUNT]; /* as measured */
    struct spread error[NUMBER_COUNT];
    double accept_low[NUMBER_COUNT],
        accept_high[NUMBER_COUNT];                       /* where the true value conforms; infinite on an open side */
    bool judged[NUMBER_COUNT];                           /* a check stands on it */
    struct quantity head_m, set_efficiency;              /* expanded uncertainty, 95 %, absolute, at guaranteed flow */
    struct quantity conformance_probability[CHECKS_MAX]; /* of each check of the duty, in its order */
    size_t share_count;
    struct uncertainty_share shares[SHARES_KEPT]; /* largest first */
};

/* The same by Monte Carlo (JCGM 101:2008), when asked for. */
struct monte_carlo {
    size_t trials; /* 0: not asked for */
    struct quantity head_m,
        set_efficiency; /* half-width of the shortest 95 % interval, at the first duty's guaranteed flow */
    struct quantity conformance_probability; /* share of trials in which the verdict was a pass */
};

/* Whether the unit conforms with at least the probability that was asked for (JCGM 106:2012, 8.3, guarded acceptance).
 * Beside the verdict, never in its place. */
struct guard {
    struct quantity asked; /* absent: not asked for */
    bool answered;         /* false: the probability is not known */
    bool conforms;
};

enum class_quantity { CLASS_FLOW, CLASS_HEAD, CLASS_INPUT_POWER, CLASS_QUANTITIES };

/* A quantity that is not measured as well as the class of the first duty's grade asks, near the duty point: relative,
 * 95 %. */
struct class_excess {
    enum class_quantity quantity;
    bool instruments; /* of the instruments alone; else of instruments and scatter together */
    double found, permitted;
};

struct certainty {
    struct point_uncertainty *points;        /* as many as the chain has */
    struct duty_certainty *duties;           /* as many as were judged */
    struct quantity conformance_probability; /* that the true values pass every check */
    bool conformance_drawn;                  /* by 4000 random draws, to 1 in 100 at worst; else computed */
    bool scatter_by_residual; /* the random part is that of the points about the curves, not of their readings */
    uint32_t missing;         /* bit CH_x: the channel matters and its instrument states no accuracy */
    size_t excess_count;
    struct class_excess excesses[CLASS_QUANTITIES];
    struct guard guard;
    struct monte_carlo monte_carlo;
};

/* What certainty is found from: a test that is judged. */
struct certainty_input {
    const struct chain *chain;
    const struct settled *settled;
    const struct duty_result *duties;
    size_t duty_count;
    const struct grade_class *grade_class; /* of the first duty's grade; NULL: none */
    unsigned long seed;                    /* of the random numbers, so that a rerun gives the same */
};

/* The answer to a guard by the probability that was found. */
struct guard guard_answer(const struct certainty *certainty, struct quantity asked);

#endif
