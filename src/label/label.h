/* label.h - measured efficiency against the thresholds of a label scheme (stage 8)
 *
 * Three schemes: the Indian star label (set efficiency), the EU minimum efficiency index and the US pump energy index
 * (pump efficiency, so that the shaft power must be known). Each says which efficiency it uses; they are never compared
 * with one another. A class is found from the unrounded index.
 */
#ifndef DUTYPROOF_LABEL_H
#define DUTYPROOF_LABEL_H

#include "tables/label_book.h"

struct model;
struct result;

enum { LABEL_NOTES_MAX = 6, LABEL_LOADS = 3 };

/* An edge and how far the unit stands from it: positive inside, negative what is missing. */
struct label_margin {
    const char *class_name;     /* NULL: there is no such class, and nothing else holds */
    struct quantity index;      /* the edge */
    struct quantity efficiency; /* that it needs, of the kind that the index uses, fraction */
    struct quantity margin;     /* measured less that, fraction */
    struct quantity power_w;    /* input power at the duty point that the class allows less the unit's; for the US
                                   index that of the mean over the loads */
};

struct label_result {
    bool known;         /* false: scheme is NULL (no label asked for) or why says what is missing */
    const char *scheme; /* NULL when the model names none */
    const char *why;    /* why there is no label though a scheme is named; NULL otherwise */
    const char *source;
    const char *efficiency_name; /* which efficiency the index uses, and where */
    const char *period;          /* the revision and its time */
    bool less_is_better;
    struct quantity measured;  /* efficiency that the index uses, fraction */
    struct quantity threshold; /* efficiency that the earned class needs, fraction */
    struct quantity index;     /* unrounded */
    struct quantity
        index_printed;       /* cut to two decimals on the worse side, so that it never shows a class not reached */
    const char *class_name;  /* "4 star", "none" */
    struct quantity to_next; /* efficiency still missing to the next class, fraction; absent at the top */
    struct label_margin here, next; /* the earned class and the one above it */
    struct quantity index_low,
        index_high; /* 95 % interval, from the uncertainty of set efficiency; absent where that is not known */
    bool undecided; /* an edge lies within the interval */
    const char *class_low, *class_high; /* the worst and the best class within it */
    struct label_ladder ladder;         /* the revision's classes; meaningful when known */
    bool duty_failed;                   /* the unit fails its guarantee: no claim to the label of its duty */
    size_t note_count;
    const char *notes[LABEL_NOTES_MAX]; /* what must be said beside the label */
};

/* A question of the efficiency engineer: the same test with a better set. {0} changes nothing. */
struct label_change {
    double efficiency; /* set efficiency at the duty point + this, fraction (0.015: 1.5 points), at the same flow and
                          head; input and shaft power fall with it in proportion */
    double
        head_m; /* head at the duty point + this, at the same flow and power; head rises in proportion at all flows */
};

/* Finds the label of a unit whose uncertainty is found. Texts live in the arena. Never judges: a scheme that does not
 * apply or lacks something is label->why. Status: E_MEMORY. */
enum status label_find(const struct result *result, const struct label_change *change, struct arena *arena,
                       struct label_result *label);

/* Electric energy of a power over a year of so many hours, kWh. */
double label_energy_kwh(double power_w, double hours);

/* --- the formulas, for the tests and whoever wants them --- */

/* Specific speed n sqrt(Q) / (H/stages)^0.75 in the units of the regulation: 1/min, m3/s, m. All > 0. */
double eu_specific_speed(double speed_rpm, double stages, double flow_m3s, double head_m);

/* Required pump efficiency at best efficiency, fraction, for a constant C: at 75 % of that flow 0.947 of it, at 110 %
 * 0.985. Source: Regulation (EU) 547/2012, annex III (loads: from memory, confirm). */
double eu_required_efficiency(double specific_speed, double flow_m3s, double c);

/* The constant C that an efficiency would just meet: the inverse of eu_required_efficiency. */
double eu_constant_met(double specific_speed, double flow_m3s, double efficiency);

/* The index by the constants of one type and speed, at least two, sorted by rising index (falling C): linear in C
 * between neighbours, the first and last line going on beyond. *beyond: outside the tabulated constants. */
double eu_index(const struct label_constant *const *constants, size_t count, double c, bool *beyond);
/* The C of an index: the inverse. */
double eu_constant_of(const struct label_constant *const *constants, size_t count, double index);

/* The share of required efficiency at 75, 100 and 110 % of best-efficiency flow, and those shares of flow. */
extern const double label_load_share[LABEL_LOADS], label_load_flow[LABEL_LOADS];

/* A pump at the loads, at nominal speed. */
struct label_loads {
    double flow_m3s[LABEL_LOADS], head_m[LABEL_LOADS], shaft_power_w[LABEL_LOADS], input_power_w[LABEL_LOADS];
};

struct us_motor {
    double rated_power_w, efficiency; /* of full load, fraction */
};

/* Efficiency of the standard pump at best efficiency, fraction. Source: 10 CFR 431 subpart Y, appendix A (from memory,
 * confirm). */
double us_standard_efficiency(double speed_rpm, double stages, double flow_m3s, double head_m, double c);

/* Losses of the motor at a shaft power. Source: the same (from memory, confirm). */
double us_motor_loss_w(const struct us_motor *motor, double shaft_power_w);

/* Mean driver input power over the loads: of the pump (bare-pump route), and of the standard pump. */
double us_rating_w(const struct us_motor *motor, const struct label_loads *loads);
double us_standard_rating_w(const struct us_motor *motor, const struct label_loads *loads, double standard_efficiency);

#endif
