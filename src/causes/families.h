/* families.h - what a fault of one severity does to the readings of a good unit
 *
 * Each family is one pure function of the good unit's curves at a flow. Forms and sources: one comment each in
 * families.c. The meter reads flow; what it reads is what is asked for here.
 */
#ifndef CAUSES_FAMILIES_H
#define CAUSES_FAMILIES_H

#include "causes/reference.h"
#include "tables/cause_table.h"

/* The good unit, ready to be evaluated. */
struct good_unit {
    const struct model_reference *reference;
    struct node_curve curve[CURVES];
    double best_head_m, best_power_w, best_current_a; /* at best flow */
    double highest_flow_m3s;                          /* of the test */
};

/* At a flow as it is read: m, W, A, and the voltage as a share of rated. */
struct predicted {
    double of[CURVES];
    double voltage;
};

void good_unit_make(const struct model_reference *reference, double highest_flow_m3s, struct good_unit *good);

/* What a good unit reads. */
struct predicted good_unit_at(const struct good_unit *good, double flow_m3s);

/* What a unit with the cause's fault reads. A family without a form (a sign, none) reads as a good one. */
struct predicted family_at(const struct good_unit *good, enum cause_family family, double severity, double flow_m3s);

/* Another form that the same fault can have (a rub that thrust drives, a stage left in the way), where one is known:
 * how far it is from the first is how far the form can be off. */
bool family_varies(enum cause_family family);
struct predicted family_variant_at(const struct good_unit *good, enum cause_family family, double severity,
                                   double flow_m3s);

/* True where the family needs something that the reference or the test does not have (the stages, a voltage, an
 * unmeasured speed), or where the severity makes no sense (as many stages missing as there are). */
bool family_excluded(const struct good_unit *good, enum cause_family family, double severity, bool voltage_read);

#endif
