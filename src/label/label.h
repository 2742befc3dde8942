/* label.h - measured efficiency against the thresholds of a label scheme (stage 8)
 *
 * Three schemes: the Indian star label (set efficiency), the EU minimum efficiency index and the US pump energy index
 * (pump efficiency, so that the shaft power must be known). Each says which efficiency it uses; they are never compared
 * with one another. A class is found from the unrounded index.
 */
#ifndef DUTYPROOF_LABEL_H
#define DUTYPROOF_LABEL_H

#include "physics/curve.h"
#include "tables/bay.h"

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

/* A test as a label sees it. */
struct label_test {
    const struct label_book *book;
    const struct model *model;
    struct date tested;
    const struct curves *curves;                           /* at rated speed */
    struct quantity set_efficiency, input_power_w, head_m; /* at the guaranteed flow of the first duty */
    struct quantity set_efficiency_uncertainty;            /* expanded, 95 %, absolute */
    bool fails;                                            /* its guarantee */
    bool impossible;                                       /* its readings cannot be: no label */
};

/* Finds the label of a test. Texts live in the arena. Never judges: a scheme that does not apply or lacks something is
 * label->why. Status: E_MEMORY. */
enum status label_find(const struct label_test *test, const struct label_change *change, struct arena *arena,
                       struct label_result *label);

/* Electric energy of a power over a year of so many hours, kWh. */
double label_energy_kwh(double power_w, double hours);

#endif
