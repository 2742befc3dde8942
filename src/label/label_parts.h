/* label_parts.h - what the schemes of label.c share (private to them)
 */
#ifndef DUTYPROOF_LABEL_PARTS_H
#define DUTYPROOF_LABEL_PARTS_H

#include "label/label.h"
#include "label/label_loads.h"
#include "tables/bay.h"

/* The pump at 75, 100 and 110 % of its best-efficiency flow, at the model's rated speed. */
struct label_pump {
    const char *why;                 /* why it is not known; NULL otherwise */
    double weight_n_m3[LABEL_LOADS]; /* rho g at the loads */
    bool shaft_known; /* else best efficiency is that of the set, and loads.shaft_power_w means nothing */
    struct label_loads loads;
};

/* What a scheme computes from. */
struct label_input {
    const struct label_book *book;
    const struct model *model;
    struct date tested;
    struct quantity set_efficiency, input_power_w; /* at the guaranteed flow of the first duty */
    struct quantity relative_uncertainty;          /* of set efficiency, 95 % */
    struct label_pump pump;
};

enum label_route { ROUTE_BARE_PUMP, ROUTE_MEASURED };

/* A label under way. */
struct labelling {
    const struct label_input *input;
    struct arena *arena;
    struct label_result *label;
    const char *scheme, *type; /* as in the tables; type "" where the scheme knows none */
    enum label_route route;
    bool failed; /* memory ran out */
};

/* Ends without a label: the reason, formatted. Returns: false, so that `return label_refuse(...)` is one statement. */
bool label_refuse(struct labelling *labelling, const char *fmt, ...) PRINTF_LIKE(2, 3);
void label_note(struct labelling *labelling, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* The same pump at another speed: Q k, H k^2, P k^3. */
struct label_loads loads_at_speed(const struct label_loads *loads, double ratio);

/* True when the scheme's scope holds the model; refuses by name otherwise. flow and head: at best efficiency and
 * nominal speed; 0 where the scheme has none. */
bool label_in_scope(struct labelling *labelling, double flow_m3s, double head_m);

/* Any constant of the type whose speeds hold the model's rated speed; NULL after a refusal. */
const struct label_constant *label_constant_at_speed(struct labelling *labelling);

/* How a scheme's index stands to its efficiency, and the unit's own. spare_power_w: the input power that an index
 * allows less the unit's. */
struct label_scale {
    double index, measured;
    double (*index_at)(const void *context, double efficiency); /* the index that an efficiency gives */
    double (*efficiency_at)(const void *context, double index); /* and the inverse */
    double (*spare_power_w)(const void *context, double index);
    const void *context;
};

/* Sets index, class, margins and interval. */
void label_place(struct labelling *labelling, const struct label_scale *scale);

#endif
