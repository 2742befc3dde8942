/* uncertainty_budget.h - what the passes of uncertainty share (private to certainty/) */
#ifndef DUTYPROOF_UNCERTAINTY_BUDGET_H
#define DUTYPROOF_UNCERTAINTY_BUDGET_H

#include "certainty/certainty.h"
#include "certainty/sensitivity.h"

/* One number of a duty as a linear form: its change is the sum over points of weight[curve][i] x (change of the point's
 * value at its flow). */
struct form {
    bool known;
    double *weight[CURVE_COUNT];
    double choice; /* change if each curve were of one degree more */
};

/* What the passes over the sources share. */
struct uncertainty_budget {
    const struct certainty_input *input;
    const struct chain *chain; /* the input's */
    const struct settled *settled;
    struct certainty *certainty;
    struct arena *arena, *scratch;
    struct sensitivity sensitivity;
    struct form *forms; /* NUMBER_COUNT a duty */
    size_t form_count;
    struct curve finer[CURVE_COUNT]; /* the curves with one degree more, where the points carry it */
    double *variance[CURVE_COUNT];   /* of each point about the curve, from scatter of readings */
    double *random;                  /* covariance of the forms' random parts, form_count x form_count */
    double *common; /* the instruments' contributions: CHANNEL_COUNT x form_count standard deviations, signed */
    bool missing[CHANNEL_COUNT]; /* matters and states no accuracy */
};

/* The error of a form. */
struct spread *budget_error(const struct uncertainty_budget *budget, size_t form);

#endif
