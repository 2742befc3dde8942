/* batch_record.h - what a batch keeps of one test
 */
#ifndef DUTYPROOF_BATCH_RECORD_H
#define DUTYPROOF_BATCH_RECORD_H

#include "batch/batch_list.h"
#include "run/unit.h"

/* One duty point of one test. */
struct batch_duty {
    const struct duty *duty;
    struct quantity flow_m3s;                         /* at guaranteed head */
    struct quantity head_m, input_power_w, current_a; /* at guaranteed flow */
    struct quantity set_efficiency, pump_efficiency;  /* at guaranteed flow */
    struct tolerance tolerance;
    struct quantity head_margin_m; /* how far the curve clears the lower side of its tolerance, as head at guaranteed
                                    * flow: passed when it is from 0 to head_room_m (absent: no upper side) */
    struct quantity head_room_m;
    struct quantity efficiency;        /* of the set or the pump, where its grade reads and as it rounds it */
    struct quantity efficiency_margin; /* above the least permitted, fraction */
    size_t check_count;
    struct check checks[CHECKS_MAX];
    struct quantity conformance_probability[CHECKS_MAX];
    enum verdict verdict;
};

enum { BATCH_CURVE = 33 };

struct batch_test {
    const struct batch_row *row;
    const char *serial, *model_name, *tester, *remarks;
    struct date tested;
    bool unread;               /* the log gave no result: trouble says why, and nothing below folder is known */
    const struct model *model; /* NULL: not known */
    char sha256[65];           /* of the log; "" when it could not be read */
    enum verdict verdict;
    enum calibration calibration;
    bool impossible; /* its readings cannot be: it enters no series, chart or label; and the first of them */
    struct odd_value odd;
    bool routine_fails;       /* the routine results of the motor: the unit fails */
    const char *trouble;      /* unread: the first fault; NULL otherwise */
    bool superseded, undated; /* undated: which test of a serial is the latest goes by the list's order */
    size_t tests, attempt;    /* of this serial: how many, and the how-manieth this is, in order of time */
    size_t cautions;
    uint32_t channels;
    struct quantity conformance_probability;
    size_t duty_count;
    struct batch_duty *duties; /* as the model's */
    bool curve_known;
    double flow_low_m3s, flow_high_m3s;
    double head_m[BATCH_CURVE]; /* the fitted curve at equal steps of flow */
    const char *folder;         /* of the papers */
};

/* "pass", "fail, calibration overdue", ... Static text. */
const char *batch_verdict_text(const struct batch_test *test);

/* Records a finished test. The texts of the result that are not the bay's or the list's are copied into the arena.
 * Status: E_MEMORY. */
enum status batch_record(const struct result *result, struct arena *arena, struct batch_test *test);

/* Records a test that gave no result, with the first of its faults. Status: E_MEMORY. */
enum status batch_record_unread(const struct faults *faults, struct arena *arena, struct batch_test *test);

#endif
