/* check.h - one check of a duty point, in codes and numbers: words are made in papers/
 */
#ifndef DUTYPROOF_CHECK_H
#define DUTYPROOF_CHECK_H

#include "base/units.h"
#include "physics/curve.h"
#include "verdict/tolerance.h"

enum verdict { VERDICT_PASS, VERDICT_FAIL, VERDICT_NOT_JUDGED };

/* "pass", "fail", "not judged". */
const char *verdict_name(enum verdict verdict);

/* fail over not judged over pass. */
enum verdict verdict_worse(enum verdict a, enum verdict b);

enum { CHECKS_MAX = 8 };

enum check_item {
    CHECK_FLOW_AND_HEAD,
    CHECK_EFFICIENCY, /* of the set or of the pump, as the duty states */
    CHECK_INPUT_POWER,
    CHECK_OVERLOAD_CURRENT, /* greatest current over the stated head range */
    CHECK_OVERLOAD_POWER,   /* greatest input power over the stated head range against the rated input */
};

/* Where a check was read. */
enum check_place {
    PLACE_NONE,
    PLACE_GUARANTEED_FLOW,
    PLACE_GUARANTEED_HEAD,
    PLACE_GUARANTEED_HEAD_ALONE, /* the guaranteed flow lies outside the tested flows */
    PLACE_ABOVE_HEAD,            /* the curve lies above the guaranteed head at all tested flows */
    PLACE_BELOW_HEAD,            /* below it */
    PLACE_ELLIPSE,
    PLACE_THROUGH_POINT, /* the curve passes through the guaranteed point */
    PLACE_DUTY_LINE,
    PLACE_HEAD_RANGE, /* range_low_m to range_high_m, at at_flow_m3s where that is known */
};

enum limit_basis {
    LIMIT_BY_GRADE,                  /* of grade; NULL: there is none */
    LIMIT_BY_SMALL_PUMP_RULE,        /* of grade, for the greatest shaft power */
    LIMIT_RATED_CURRENT,             /* with the tolerance of grade, unless NULL */
    LIMIT_RATED_POWER_BY_CURVE,      /* the input power at rated power, by the motor's curve */
    LIMIT_RATED_POWER_BY_EFFICIENCY, /* by the motor's efficiency */
};

enum shaft_power_from { SHAFT_POWER_BY_TEST, SHAFT_POWER_BY_INPUT, SHAFT_POWER_RATED };

/* Where the limits of a check come from. */
struct limit_source {
    enum limit_basis basis;
    const struct grade *grade;
    struct quantity shaft_power_w; /* the greatest of the pump, as far as it is known */
    enum shaft_power_from shaft_power_from;
};

/* Why a check is not judged. The comment says which of the numbers beside it mean something. */
enum check_reason {
    REASON_NONE,
    REASON_NO_GRADE,
    REASON_UNKNOWN_GRADE,
    REASON_NO_HEAD_CURVE,        /* no_curve or why */
    REASON_SHAFT_POWER_UNKNOWN,  /* so that it is open whether the rule for small pumps applies */
    REASON_SHAFT_POWER_TOO_HIGH, /* for that rule: value, shaft_power_from */
    REASON_NO_FLOW_AND_HEAD,     /* guaranteed */
    REASON_NO_FLOW,
    REASON_NO_HEAD,
    REASON_NOT_POSITIVE,     /* guaranteed flow and head */
    REASON_BLANK_TOLERANCE,  /* of the check's own quantity; of flow or head where dimension says so */
    REASON_FLOW_NOT_TESTED,  /* value: guaranteed flow; low, high */
    REASON_CURVE_ABOVE,      /* value: guaranteed head; low, high: the curve lies above it to their end */
    REASON_CURVE_BELOW,      /* value: guaranteed head; low, high: the curve lies below it throughout */
    REASON_NO_DUTY_LINE,     /* guaranteed flow and head are not both stated */
    REASON_NO_CURVE,         /* curve, why */
    REASON_LINE_NOT_MET,     /* low, high */
    REASON_OUTSIDE_CURVE,    /* value: flow; curve, low, high */
    REASON_NOT_COMPUTABLE,   /* curve: its value or the density is not above 0 */
    REASON_RANGE_NOT_TESTED, /* least_m, greatest_m; low, high */
    REASON_RANGE_IN_PART,    /* curve, low, high */
};

struct reason {
    enum check_reason code;
    enum dimension dimension;
    enum which_curve curve;
    double value;               /* SI */
    double low_m3s, high_m3s;   /* tested flows */
    double least_m, greatest_m; /* heads at these */
    struct curve_why why;       /* of the curve that is missing */
    enum shaft_power_from shaft_power_from;
    const char *no_curve; /* static; why no point could be taken for the head curve; NULL: see why */
};

/* One check. Values in SI; dimension says which quantity they are. */
struct check {
    enum check_item item;
    bool of_pump; /* an efficiency: of the pump, else of the set */
    enum dimension dimension;
    struct quantity value, limit_low, limit_high;
    struct quantity margin;     /* to the nearest limit, in the value's unit; negative: outside. Of an ellipse in m */
    struct quantity margin_m3s; /* of an ellipse: the same as flow */
    bool too_high;              /* the nearest limit is the upper one */
    struct quantity guaranteed; /* the value that the limits are derived from */
    struct quantity compared;   /* the value as rounded by the grade's rule, where it rounds */
    struct quantity accept_low, accept_high; /* the limits for a value that is not rounded yet */
    enum verdict verdict;
    struct reason reason; /* why it is not judged */
    enum check_place place;
    struct quantity at_flow_m3s;      /* of the greatest value over the head range */
    bool at_range_end;                /* it lies where the head curve meets an end of the head range */
    double range_low_m, range_high_m; /* the head range of PLACE_HEAD_RANGE */
    struct limit_source source;
};

#endif
