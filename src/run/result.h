/* result.h - the finished result of one unit: everything that the papers show, and nothing left to compute
 */
#ifndef DUTYPROOF_RESULT_H
#define DUTYPROOF_RESULT_H

#include "certainty/certainty.h"
#include "label/label.h"
#include "log/log.h"
#include "physics/reduce.h"
#include "physics/translate.h"
#include "run/inputs.h"
#include "settle/settle.h"
#include "tables/bay.h"
#include "verdict/fluctuation.h"
#include "verdict/judge.h"
#include "verdict/likely_slip.h"
#include "verdict/routine.h"

/* One point through all stages. */
struct point {
    const struct settled_point *settled;
    struct operating_point as_tested;
    struct rated_point at_rated;
    struct reduce_remarks remarks; /* why a quantity is absent */
    struct point_fluctuation fluctuation;
    struct point_fluctuation spread; /* between the repeated readings of a reading sheet */
    struct point_uncertainty uncertainty;
    bool fitted; /* took part in the curves */
    const char *why_not_fitted;
};

enum calibration { CALIBRATION_NOT_STATED, CALIBRATION_VALID, CALIBRATION_OVERDUE, CALIBRATION_AFTER_TEST };

/* "valid", "overdue", "dated after the test", "not stated". */
const char *calibration_name(enum calibration calibration);

struct unit_causes;
/* Of the papers and not of the result: the same result may be issued anew. revision 0: not issued through a register.
 */
struct issue {
    long long revision;      /* 1 for the first papers of a test */
    const char *replaced_at; /* when the revision before was judged; NULL: there is none */
    const char *replaced;    /* its verdict */
    const char *changes;     /* a line a change; "" */
};

struct result {
    const struct bay *bay;
    const struct model *model;
    const char *serial, *tester, *remarks; /* "" when not stated */
    struct date tested;
    struct log log;
    enum log_kind kind;
    struct site site;
    enum speed_basis basis;
    size_t point_count;
    struct point *points;
    struct odd_values impossible, doubtful; /* none impossible: else the performance is not judged */
    struct likely_slip slip;                /* behind the impossible values */
    struct curves curves;
    bool best_known;
    struct best_efficiency best;
    size_t duty_count;
    struct duty_result *duties;
    struct certainty certainty;
    struct label_result label;
    struct routine_result routine;
    struct inputs inputs;
    const struct unit_causes *causes; /* causes and next steps; NULL: not looked for */
    const char *asked;                /* what was asked beyond the log (asked.h); bears on no paper by itself */
    struct issue issue;
    struct notes notes;
    enum verdict performance; /* the worst of the duties */
    enum verdict verdict;     /* of the unit: of the performance, but fail where the routine results fail */
    enum calibration calibration;
};

/* True when there are routine results and they fail. */
bool result_routine_fails(const struct result *result);

/* True when the unit passes: what the exit status tells. */
bool result_passes(const struct result *result);

/* True when nothing stands against the unit: it passes and no calibration was overdue. Only then is anything green. */
bool result_is_clear(const struct result *result);

/* True when an instrument's calibration is of a later day than the test: it says nothing of that day. */
bool calibrated_after(const struct result *result, const struct instrument *instrument);

/* True when readings of the log come from an instrument of the bay. */
bool result_uses_instrument(const struct result *result, const struct instrument *instrument);

/* How sure the numbers of duty d are; nothing is known of it where it was not found out. Never NULL. */
const struct duty_certainty *result_duty_certainty(const struct result *result, size_t d);

/* The test as its label sees it. */
struct label_test result_label_test(const struct result *result);

/* The verdict as it is printed: "pass", "fail, calibration overdue", ... Static text. */
const char *result_verdict_text(const struct result *result);
const char *verdict_text(enum verdict verdict, enum calibration calibration, bool routine_fails);

#endif
