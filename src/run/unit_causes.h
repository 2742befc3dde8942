/* unit_causes.h - a unit's result put before the causes: its readings, its model's reference, its supply; and what is
 * to be done next
 */
#ifndef RUN_UNIT_CAUSES_H
#define RUN_UNIT_CAUSES_H

#include "causes/next_steps.h"
#include "run/result.h"

enum { CAUSE_CURVE_POINTS = 33 };

/* The best cause's curves over the tested flows, for the plot's thin line. */
struct cause_curve {
    size_t count; /* 0: no cause with a form */
    double flow_m3s[CAUSE_CURVE_POINTS], of[CURVES][CAUSE_CURVE_POINTS];
    bool known[CURVES];
};

struct unit_causes {
    struct causes_result found;
    struct signs signs;
    double good_units;     /* known of the model; 0: the guarantee alone */
    bool stage_stands_out; /* one missing stage would stand out of a good unit's spread in this test */
    bool stage_asked;      /* that was asked: stages are known */
    size_t step_count;
    struct next_step steps[NEXT_STEPS_MAX];
    struct cause_curve curve;
};

/* The reference that the bay has of a model, or the guarantee alone. basis: how readings came to rated speed.
 * best_flow_m3s absent: found on the reference, or the guaranteed flow. Returns: false when there is neither. */
bool reference_of_model(const struct bay *bay, const struct model *model, enum speed_basis basis,
                        struct model_reference *reference);

/* Finds causes and next steps of a result whose verdicts and uncertainties stand, into result->causes. Status:
 * E_MEMORY. */
enum status unit_causes_find(struct result *result, struct arena *arena);

#endif
