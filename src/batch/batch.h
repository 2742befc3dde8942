/* batch.h - a batch of units: its list, its tests on all cores, and what they say together
 *
 *     list -> plan -> run (each test reduced, its papers written) -> sum up -> render
 *
 * Of each test only a short record is kept, so that memory does not grow with what the tests hold. What comes out does
 * not depend on the number of threads.
 */
#ifndef DUTYPROOF_BATCH_H
#define DUTYPROOF_BATCH_H

#include "run/unit.h"

/* --- the list: units.csv --- */

/* One row of units.csv: one test. Texts are "" when blank. */
struct batch_row {
    const char *serial, *model, *log, *tester, *remarks; /* log: as written */
    const char *log_path;                                /* from where the program was started */
    struct date tested;
    size_t line;
};

struct batch_list {
    const char *file, *folder;
    const char *name; /* `# batch: NAME`, else the file's name without its ending */
    char sha256[65];
    size_t count;
    struct batch_row *rows;
};

/* Reads units.csv. All its faults are collected in one run, among them a model that the bay does not have. A log path
 * is relative to the folder of the list, and is only ever opened. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status batch_list_read(const char *path, const struct bay *bay, struct arena *arena, struct batch_list *list,
                            struct notes *notes, struct faults *faults);

/* --- what is kept of a test --- */

/* One duty point of one test. */
struct batch_duty {
    const struct duty *duty;
    struct quantity flow_m3s;                                             /* at guaranteed head */
    struct quantity head_m, input_power_w, current_a;                     /* at guaranteed flow */
    struct quantity set_efficiency, pump_efficiency;                      /* at guaranteed flow */
    struct quantity flow_low_m3s, flow_high_m3s, head_low_m, head_high_m; /* of the tolerance mark */
    double ellipse_flow_m3s, ellipse_head_m;
    struct quantity head_margin_m; /* how far the curve clears the lower side of its tolerance, as head at guaranteed
                                    * flow: passed when it is from 0 to head_room_m (absent: no upper side) */
    struct quantity head_room_m;
    struct quantity efficiency_margin; /* above the least permitted, fraction */
    size_t check_count;
    struct check checks[CHECKS_MAX]; /* without reason, where and source */
    enum verdict verdict;
};

enum { BATCH_CURVE = 33 };

struct batch_test {
    const struct batch_row *row;
    const char *serial, *model_name, *tester, *remarks;
    struct date tested;
    bool unread;               /* the log gave no result: reason says why, and nothing below folder is known */
    const struct model *model; /* NULL: not known */
    char sha256[65];           /* of the log; "" when it could not be read */
    enum verdict verdict;
    enum calibration calibration;
    bool routine_fails;       /* the routine results of the motor, beside the verdict */
    const char *reason;       /* why it fails or is not judged; "" when it passes */
    const char *own_serial;   /* the log states this serial and not the list's; NULL: no contradiction */
    bool superseded, undated; /* undated: which test of a serial is the latest goes by the list's order */
    size_t tests, attempt;    /* of this serial: how many, and the how-manieth this is, in order of time */
    size_t cautions;
    uint32_t channels;
    struct quantity conformity_probability;
    size_t duty_count;
    struct batch_duty *duties; /* as the model's */
    bool curve_known;
    double flow_low_m3s, flow_high_m3s;
    double head_m[BATCH_CURVE]; /* the fitted curve at equal steps of flow */
    const char *folder;         /* of the papers */
};

/* "pass", "fail, calibration overdue", ... Static text. */
const char *batch_verdict_text(const struct batch_test *test);

/* --- running --- */

/* How a batch is to be run. */
struct batch_order {
    const struct bay *bay;
    bool bay_named;     /* else a log that lies in another bay is not judged */
    const char *out;    /* folder of the papers; NULL: none are written */
    const char *inputs; /* what the bay's tables and the program were, for sealing the papers */
    bool resume;        /* papers that are whole and of the same inputs are not drawn again */
    bool documents;     /* the result documents are wanted */
    size_t jobs;        /* threads; at least 1 */
    /* Hears of each test in the order of the list, one call at a time, from any thread. document: the result on one
     * line, NULL for a test without a result or when none are wanted. May be NULL. */
    void (*heard)(void *listener, const struct batch_test *test, const char *document);
    void *listener;
};

struct batch_caution {
    const char *text;
    size_t tests;
    const char *first_serial;
};

struct batch {
    const struct batch_list *list;
    const struct bay *bay;
    size_t count;
    struct batch_test *tests; /* one a row of the list */
    size_t drawn, kept;       /* units whose papers were made; were whole already */
    size_t caution_count, further_cautions;
    struct batch_caution *cautions; /* the first different ones */
};

/* Runs all tests of a list. One that gives no result is not judged, with its reason. Everything in batch lives in the
 * arena, the list or the bay. Status: E_FILE (papers cannot be written), E_CHILD (gnuplot), E_MEMORY: the batch was
 * given up; papers that are there are whole. */
enum status batch_run(const struct batch_list *list, const struct batch_order *order, struct arena *arena,
                      struct batch *batch, struct faults *faults);

/* Writes batch.csv, batch.json and, last, certificate.pdf into out; each appears whole or not at all. Status: E_FILE,
 * E_CHILD, E_MEMORY: none of them was touched. */
struct batch_summary;
enum status batch_papers_write(const struct batch *batch, const struct batch_summary *summary, const char *out,
                               struct faults *faults);

/* SHA-256 over the program's version and the tables of a bay. Status: E_FILE, E_MEMORY. */
enum status batch_inputs(const char *bay_folder, char hex[65], struct faults *faults);

/* --- summing up --- */

struct batch_counts {
    size_t units, passed, failed, not_judged; /* by the test of each serial that counts */
    size_t tests, superseded, retested;       /* retested: serials with more than one test */
    size_t overdue;                           /* units whose verdict carries "calibration overdue" */
    size_t routine_failed;                    /* and "routine results fail" */
};

/* Fewest values for a spread, for a chart's limits; fewest for limits that can be relied on (common practice, no
 * source). */
enum { SERIES_SPREAD_MIN = 2, SERIES_CHART_MIN = 3, SERIES_RELIABLE = 20 };

/* One value of each counting test of a model, in the order of testing, with its control chart. */
struct batch_series {
    const char *name; /* "head margin", "efficiency margin" */
    bool head;        /* values in m; else fractions */
    size_t count;
    double *values;
    const struct batch_test **tests;
    bool *out_value, *out_range, *run; /* outside the limits of either chart; end of a run of nine on one side */
    size_t out_count;                  /* tests named for any of the three */
    double mean, least, greatest;
    struct quantity deviation;      /* sample standard deviation */
    struct quantity moving_range;   /* mean of |x_i - x_(i-1)| */
    struct quantity low, high;      /* limits of the individuals, mean -+ 2.66 mean moving range */
    struct quantity range_high;     /* limit of the moving range, 3.267 mean moving range */
    struct quantity permitted_high; /* upper limit of the margin, the mean over the tests; the lower is 0 */
    struct quantity cpk, ppk;
};

struct batch_section {
    const struct model *model;
    struct batch_counts counts;
    size_t duty_count;
    struct batch_series *head, *efficiency; /* one a duty point; count 0: none could be read */
};

struct batch_summary {
    struct batch_counts counts;
    size_t section_count;
    struct batch_section *sections; /* in order of first appearance */
    size_t stray;                   /* units of which not even the model is known: they are in no section */
    struct date first_tested, last_tested;
};

/* Counts, margins, capability and control charts.
 *
 * A margin is the distance of a value above the least that is permitted, so that 0 is the limit. Capability, with L = 0
 * and, where the grade has an upper limit, U, the mean of its distances: P_pk = min(mean - L, U - mean) / 3s with the
 * sample standard deviation s of the whole batch; C_pk the same with s within, the mean moving range / 1.128 (d2 of
 * two). Source: ISO 22514-1:2014, ISO 22514-2:2013, AIAG "Statistical Process Control", 2nd edition (from memory).
 * Individuals and moving range: limits mean -+ 2.66 and 3.267 times the mean moving range; source: ISO 7870-2:2013
 * (constants 3/d2 and D4 for two). A run of nine on one side of the mean: ISO 8258:1991, test 2 (from memory).
 * Status: E_MEMORY. */
enum status batch_sum_up(const struct batch *batch, struct arena *arena, struct batch_summary *summary);

/* --- rendering --- */

/* batch.csv: a row a test and duty point, in the units of the models' papers. */
void render_batch_csv(const struct batch *batch, FILE *to);

/* batch.json: the batch in SI units; ends in a line end. *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status render_batch_json(const struct batch *batch, const struct batch_summary *summary, char **text,
                              size_t *length);

/* One test as one line of JSON, for a test that has no result document. *text from malloc. Status: E_MEMORY. */
enum status render_batch_test_json(const struct batch_test *test, char **text, size_t *length);

/* The batch as a table for the terminal, at most 100 columns. Status: E_MEMORY. */
enum status render_batch_text(const struct batch *batch, const struct batch_summary *summary, bool colour, FILE *to);

/* The gnuplot script of the certificate; it draws into pdf_name in gnuplot's own folder. Status: E_MEMORY. */
enum status render_certificate_script(const struct batch *batch, const struct batch_summary *summary,
                                      const char *pdf_name, FILE *to);

#endif
