/* budget.h - what the passes of uncertainty share (private) */
#ifndef DUTYPROOF_BUDGET_H
#define DUTYPROOF_BUDGET_H

#include "certainty/sensitivity.h"
#include "run/result.h"

/* One number of a duty as a linear form: its change is the sum over points of weight[curve][i] x (change of the point's
 * value at its flow), plus by_factor x (relative change of rho g). */
struct form {
    bool known;
    double *weight[CURVE_COUNT];
    double by_factor;
    double choice; /* change if each curve were of one degree more */
};

/* What the passes over the sources share. */
struct budget {
    const struct chain *chain;
    const struct settled *settled;
    struct result *result;
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

/* The numbers of duty d as linear forms, and their values. Status: E_MEMORY. */
enum status budget_forms(struct budget *budget, size_t d);

static inline struct spread *budget_error(const struct budget *budget, size_t form)
{
    return &budget->result->uncertainties[form / NUMBER_COUNT].error[form % NUMBER_COUNT];
}

/* Probability that each checked number, and all of them together, conform; fills checks, duties and the whole. Status:
 * E_MEMORY. */
enum status budget_conformity(struct budget *budget);

/* Seed of the random numbers: the first 32 bits of the log's SHA-256, so that a rerun gives the same. */
unsigned long seed_of(const char *sha256);

#endif
