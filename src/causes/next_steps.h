/* next_steps.h - what to do next with a unit that does not simply pass: codes and numbers; the words are made where
 * papers are
 *
 * Every unit that does not pass gets at least one step. What is cheap comes first: record, readings, supply, rig, then
 * the set.
 */
#ifndef CAUSES_NEXT_STEPS_H
#define CAUSES_NEXT_STEPS_H

#include "causes/signs.h"

enum step_code {
    STEP_RECORD_RIGHT,     /* an impossible reading: put the record right or strike it out */
    STEP_READ_POINT_AGAIN, /* point */
    STEP_CALIBRATE,        /* which: the instruments */
    STEP_DATE_RIGHT,       /* the calibration is dated after the test */
    STEP_MORE_POINTS,      /* value: points there are; limit: points needed */
    STEP_LOWER_HEAD,       /* value: lowest head reached, m; limit: needed: open the valve further */
    STEP_HIGHER_HEAD,      /* value: highest head reached, m; limit: needed: close the valve further */
    STEP_HIGHER_FLOW,      /* value: highest flow reached, m3/s; limit: needed: open the valve further */
    STEP_LOWER_FLOW,       /* value: lowest flow reached, m3/s; limit: needed: close the valve further */
    STEP_SUPPLY_RIGHT,     /* value: share of rated; limit: least */
    STEP_FREQUENCY_RIGHT,  /* the same of frequency */
    STEP_FOLLOWS_SUPPLY,   /* three hook-ups: the unbalance stays with the line */
    STEP_FOLLOWS_MOTOR,    /* it moves with the motor's lead */
    STEP_CHECK_CAUSE,      /* cause: its first check */
    STEP_NO_SINGLE_CAUSE,  /* no single cause of the table explains the curves */
    STEP_FEW_GOOD_UNITS,   /* value: good units known; limit: needed */
    STEP_TOO_HIGH, /* value: head above the limit, m: count the stages, check the trim; mind overload at low head */
    STEP_OVERLOAD_CURRENT, /* value: A; limit: A; at_head_m where it is known */
    STEP_OVERLOAD_POWER,   /* value: W; limit: W */
    STEP_LOW_EFFICIENCY,   /* value, limit: efficiency alone fails: friction, rings, the motor's own losses */
    STEP_MARGINAL,         /* value: probability that the unit conforms: test again before it is opened */
    STEP_ROUTINE,          /* the routine tests fail: do not energise before they are put right */
    STEP_TEST_AGAIN,       /* nothing above applies */
};

/* What is known of a unit that could ask for a step. {0}: nothing. */
struct step_facts {
    bool passes; /* judged, and nothing fails */
    bool impossible, calibration_overdue, dated_after_test, routine_fails;
    size_t lone_count;
    const size_t *lone_points;                        /* numbers of the points that lie off the curve */
    struct quantity points, points_needed;            /* where there are too few */
    struct quantity lowest_head_m, head_low_needed_m; /* where heads that low are asked for and not reached */
    struct quantity highest_head_m, head_high_needed_m;
    struct quantity highest_flow_m3s, flow_needed_m3s; /* where the judged flow lies beyond */
    struct quantity lowest_flow_m3s, flow_low_needed_m3s;
    struct quantity head_above_m;                                  /* above the upper limit by */
    struct quantity current_a, current_limit_a, current_at_head_m; /* where it is exceeded */
    struct quantity power_w, power_limit_w, power_at_head_m;
    struct quantity efficiency, efficiency_limit; /* where efficiency alone fails */
    struct quantity conformity_probability;       /* of a fail */
    const struct signs *signs;                    /* NULL: not looked for */
    const struct causes_result *causes;           /* NULL: not asked */
    struct quantity good_units;
};

struct next_step {
    enum step_code code;
    struct quantity value, limit, at_head_m;
    size_t point;
    const struct cause_row *cause;
    enum cause_caution caution;
};

enum { NEXT_STEPS_MAX = 12 };

/* A fail that conforms with at least this probability is tested again before it is opened. Common practice. */
#define STEP_MARGINAL_FROM 0.2

/* Writes the steps in the order of looking. Returns: how many; 0 only for a unit that passes with nothing to be done.
 */
size_t next_steps_find(const struct step_facts *facts, struct next_step steps[NEXT_STEPS_MAX]);

#endif
