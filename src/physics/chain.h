/* chain.h - the numeric stages in a row: mean readings -> as tested -> at rated speed -> curves
 *
 * A unit goes through it once; uncertainty sends it through again with its readings moved, which is why it stands apart
 * from reading and judging.
 */
#ifndef DUTYPROOF_CHAIN_H
#define DUTYPROOF_CHAIN_H

#include "physics/fit.h"
#include "physics/translate.h"

/* What goes in is set by the caller; the arrays are of length count, in the arena given to chain_init. */
struct chain {
    const struct bay *bay;
    const struct model *model;
    const struct site *site;
    enum speed_basis basis; /* SPEED_UNSTATED: chosen by the first run */
    size_t count;
    struct means *means;               /* in */
    bool *usable;                      /* in: steady, may be fitted */
    size_t degree[CURVE_COUNT];        /* in: 0 to choose from the data */
    struct operating_point *as_tested; /* out */
    struct reduce_remarks *remarks;    /* out */
    struct rated_point *at_rated;      /* out */
    struct curves curves;              /* out; their outliers are indices of points */
    size_t *point_of[CURVE_COUNT];     /* out: which point each fitted value came from */
    double *flow_m3s, *value;          /* room to gather a curve's points */
};

/* Makes the arrays for count points. Status: E_MEMORY. */
enum status chain_init(struct chain *chain, struct arena *arena, size_t count);

/* Runs the stages. What cannot be computed is absent, a curve that cannot be fitted is not known and says why.
 * Status: E_MEMORY. */
enum status chain_run(struct chain *chain);

/* Only the fit, after at_rated was changed. Status: E_MEMORY. */
enum status chain_fit(struct chain *chain);

#endif
