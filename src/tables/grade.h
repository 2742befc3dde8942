/* grade.h - acceptance grades and the permissible figures of their classes, read from tables
 *
 * The built-in tables are reference/grades.csv and reference/classes.csv; a bay's own grades.csv in the same form
 * replaces the rows of the same name.
 */
#ifndef DUTYPROOF_GRADE_H
#define DUTYPROOF_GRADE_H

#include "base/arena.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/table.h"

enum grade_geometry {
    GEOMETRY_BILATERAL,  /* a cross of tolerance arms about the point */
    GEOMETRY_UNILATERAL, /* arms only towards more flow and more head */
    GEOMETRY_ELLIPSE,    /* (H_G X_H / dH)^2 + (Q_G X_Q / dQ)^2 >= 1 */
    GEOMETRY_MINIMUM, /* head at guaranteed flow, and flow at guaranteed head, not below the tolerance; no upper limit
                       */
};

/* Where efficiency and input power are read on the curves. */
enum grade_reading {
    READ_DUTY_LINE,       /* where H(Q) meets the line from the origin through the duty point */
    READ_GUARANTEED_FLOW, /* at the guaranteed flow */
};

enum grade_rounding {
    ROUND_NONE,
    ROUND_IS2, /* IS 2: to the significant places of the specified value, then compared */
};

enum efficiency_rule {
    EFFICIENCY_FIXED,      /* the tolerance is the table's */
    EFFICIENCY_SMALL_PUMP, /* ISO 9906:2012 4.4.2: -(10(1 - P2max/10 kW) + 7) %, power +sqrt(7^2 + tau_eta^2) % */
};

/* Tolerances are fractions of the guaranteed value, all >= 0 (a limit below is guaranteed x (1 - minus)). Absent: the
 * profile's field is blank, and what it limits is not judged. */
struct grade {
    const char *name;     /* "2B" */
    const char *standard; /* "ISO 9906:2012" */
    const char *aliases;  /* further names, ';' between them */
    enum grade_geometry geometry;
    struct quantity flow_plus, flow_minus, head_plus,
        head_minus; /* for an ellipse X_Q and X_H are in the minus fields */
    struct quantity power_plus, current_plus;
    struct quantity efficiency_minus_set, efficiency_minus_pump;
    enum efficiency_rule efficiency_rule;
    enum grade_reading efficiency_at, power_at;
    enum grade_rounding rounding;
    const char *class_name; /* the row of classes.csv: "1", "2", "3", "B", "C" */
    const char *source;     /* printed beside each check; ends in "(from memory, confirm)" where that is so */
    bool from_bay;          /* the bay's own table, not the built-in one */
};

/* Permissible figures of a class, fractions of the mean (temperature: K). Absent where not stated. */
struct grade_class {
    const char *name;
    struct quantity fluctuation_flow, fluctuation_head, fluctuation_power,
        fluctuation_speed;                                                                /* amplitude about the mean */
    struct quantity systematic_flow, systematic_head, systematic_power, systematic_speed; /* instruments */
    struct quantity overall_flow, overall_head, overall_power, overall_speed, overall_efficiency_set,
        overall_efficiency_pump;
    const char *fluctuation_source, *systematic_source, *overall_source; /* "" where nothing is stated */
};

/* Permissible spread (max - min)/mean between repeated readings at one setting. */
struct grade_spread {
    const char *class_name;
    size_t readings; /* the row applies up to this many readings; a class's last row to more as well */
    double spread_qhp, spread_speed;
    const char *source;
};

struct grade_book {
    struct grade *grades;
    struct grade_class *classes;
    struct grade_spread *spreads;
    size_t grade_count, class_count, spread_count;
    struct kept_tables kept; /* the bay's own, when it has one */
};

/* Reads the built-in tables, then (unless NULL) the bay's own grades.csv on top.
 * Status: E_INPUT a bad table; E_FILE; E_MEMORY. */
enum status grade_book_read(const char *bay_grades_path, struct arena *arena, struct grade_book *book,
                            struct faults *faults);

/* By name or alias, folded; a leading "grade" or "iso 9906" is ignored. Returns: NULL when there is none. */
const struct grade *grade_find(const struct grade_book *book, const char *name);

/* The class of a grade. Returns: NULL when the grade names none. */
const struct grade_class *grade_class_of(const struct grade_book *book, const struct grade *grade);

/* The permissible spread for n readings of a class (n < 2: none). Returns: NULL when not stated. */
const struct grade_spread *grade_spread_of(const struct grade_book *book, const struct grade *grade, size_t readings);

#endif
