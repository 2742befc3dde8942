/* dutyproof.h - the end-of-line test of a submersible pump set, from its raw log to a verdict: the public face of
 * libdutyproof
 *
 * Load a bay, run a test, read the result, print it. Everything is in SI units (speed apart, in 1/min); a quantity that
 * was not measured or not stated is not known, never 0. Nothing here prints, exits or changes the locale. Several
 * threads may run tests in one bay at once; a bay or a test is freed by one of them.
 *
 * An example, which the tests take from here, compile and run in samples/:
 *
 * example:
 *     #include <dutyproof.h>
 *     #include <stdio.h>
 *
 *     int main(void)
 *     {
 *         struct dutyproof_message message = {0};
 *         struct dutyproof_bay *bay = NULL;
 *         struct dutyproof_test *test = NULL;
 *         struct dutyproof_request request = {.log = "dornapet/logs/DN-1504.csv"};
 *         if (dutyproof_bay_load("dornapet", &bay, &message) != DUTYPROOF_OK ||
 *             dutyproof_test_run(bay, &request, &test, &message) != DUTYPROOF_OK) {
 *             fprintf(stderr, "%s", message.text);
 *             dutyproof_bay_free(bay);
 *             return 2;
 *         }
 *         const struct dutyproof_result *result = dutyproof_test_result(test);
 *         printf("%s %s", result->serial, dutyproof_verdict_name(result->verdict));
 *         if (result->duties[0].head_m.known) {
 *             printf(", %.1f m at guaranteed flow", result->duties[0].head_m.value);
 *         }
 *         printf("\n");
 *         dutyproof_test_free(test);
 *         dutyproof_bay_free(bay);
 *         return 0;
 *     }
 * end of example
 */
#ifndef DUTYPROOF_H
#define DUTYPROOF_H

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum dutyproof_status {
    DUTYPROOF_OK,
    DUTYPROOF_INPUT,  /* a table or a log is wrong: the message says file:line:column, what and what was expected */
    DUTYPROOF_FILE,   /* a file could not be read */
    DUTYPROOF_MEMORY, /* out of memory */
};

/* What went wrong: a line a fault (20 at most, then a count), each ending in a line end. {0} is ready to use. */
struct dutyproof_message {
    char text[10240];
};

/* A number that may not be known. */
struct dutyproof_number {
    bool known;
    double value;
};

enum dutyproof_verdict { DUTYPROOF_PASS, DUTYPROOF_FAIL, DUTYPROOF_NOT_JUDGED };

/* One guaranteed point, and what the fitted curves say there at rated speed. */
struct dutyproof_duty {
    struct dutyproof_number guaranteed_flow_m3s, guaranteed_head_m, guaranteed_efficiency, guaranteed_input_power_w;
    struct dutyproof_number head_m;                            /* at guaranteed flow */
    struct dutyproof_number flow_m3s;                          /* at guaranteed head */
    struct dutyproof_number overall_efficiency, input_power_w; /* at guaranteed flow; efficiency is a fraction */
    enum dutyproof_verdict verdict;
};

/* A finished test. Texts and arrays live as long as the test. */
struct dutyproof_result {
    const char *serial, *model, *tester; /* "" where not stated */
    enum dutyproof_verdict verdict;
    struct dutyproof_number
        conformance_probability; /* that the true values meet every check: JCGM 106:2012, clause 7 */
    struct dutyproof_number best_flow_m3s, best_head_m, best_overall_efficiency; /* within the tested flows */
    size_t duty_count;                                                           /* at least 1 */
    const struct dutyproof_duty *duties;
};

struct dutyproof_bay;
struct dutyproof_test;

/* Reads the tables of a bay: a folder that holds rig.csv and models.csv, and beside them what else the bay has.
 * folder: a path. *bay: freed by dutyproof_bay_free; NULL unless all is well. Every fault of every table is told at
 * once. Status: DUTYPROOF_INPUT, DUTYPROOF_FILE, DUTYPROOF_MEMORY. */
enum dutyproof_status dutyproof_bay_load(const char *folder, struct dutyproof_bay **bay,
                                         struct dutyproof_message *message);

/* Frees a bay; NULL is allowed. Its tests are freed before it. */
void dutyproof_bay_free(struct dutyproof_bay *bay);

/* What is to be tested. {.log = PATH} is enough where the log says the rest. */
struct dutyproof_request {
    const char *log;                     /* the path of a reading sheet or a continuous record, plain or gzipped */
    const char *serial, *model, *tester; /* NULL: as the log states */
};

/* Reads a log, reduces it to rated speed and judges it by the guarantee and the grade of its model.
 *   flow    ISO 5167-2/-3/-4:2003 (orifice plate: within 1e-9 of a reference library), ISO 1438, volume or weighing
 *   water   IAPWS-IF97: density and viscosity within 1e-12 of a reference library, 0 to 100 degrees Celsius
 *   head    ISO 9906:2012; friction by Colebrook and White, within 1e-9 of a reference library
 *   curves  least squares; NIST's certified regressions to 7.5 digits or better
 * A test that cannot be judged is DUTYPROOF_OK, its verdict DUTYPROOF_NOT_JUDGED. *test: freed by dutyproof_test_free;
 * NULL unless all is well. While it runs GSL's error handler is off in the whole process. Status: DUTYPROOF_INPUT,
 * DUTYPROOF_FILE, DUTYPROOF_MEMORY. */
enum dutyproof_status dutyproof_test_run(const struct dutyproof_bay *bay, const struct dutyproof_request *request,
                                         struct dutyproof_test **test, struct dutyproof_message *message);

/* The result. Never NULL. */
const struct dutyproof_result *dutyproof_test_result(const struct dutyproof_test *test);

/* Frees a test; NULL is allowed. */
void dutyproof_test_free(struct dutyproof_test *test);

enum dutyproof_form {
    DUTYPROOF_JSON, /* the result document */
    DUTYPROOF_TEXT, /* the sheet, at most 100 columns */
    DUTYPROOF_HTML, /* the sheet as one file that loads nothing, its plots as tables */
};

/* Prints a test, in UTF-8. *text ends in a NUL that *length does not count; the caller frees it with free(). length may
 * be NULL. Status: DUTYPROOF_MEMORY. */
enum dutyproof_status dutyproof_test_print(const struct dutyproof_test *test, enum dutyproof_form form, char **text,
                                           size_t *length);

/* "pass", "fail", "not judged". Static text. */
const char *dutyproof_verdict_name(enum dutyproof_verdict verdict);

/* The version of the library, "0.1.0". Static text. */
const char *dutyproof_version(void);

#ifdef __cplusplus
}
#endif

#endif
