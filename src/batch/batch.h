/* batch.h - a batch of units: its list, its tests on all cores, and what they say together
 *
 *     list -> plan -> run (each test reduced, its papers written) -> sum up -> render
 *
 * Of each test only a short record is kept, so that memory does not grow with what the tests hold. What comes out does
 * not depend on the number of threads.
 */
#ifndef DUTYPROOF_BATCH_H
#define DUTYPROOF_BATCH_H

#include "batch/batch_record.h"

/* A test of a unit, for the sink. */
struct batch_given {
    const struct result *result;
    bool superseded;
};

/* What becomes of the results of each unit. Calls of different jobs come from different threads at once. */
struct batch_sink {
    void *context;
    /* Before any test is read, once for each job. */
    enum status (*start)(void *context, size_t job, struct faults *faults);
    /* Then once: the serials of all units, each once, in the order of the list. */
    enum status (*plan)(void *context, const char *const *serials, size_t count, struct faults *faults);
    /* All tests of a unit that gave a result; unit: its place among the serials. *folder: where its papers will be,
     * borrowed for the call. E_INPUT: this unit's papers cannot be written, it is not judged and the batch goes on. */
    enum status (*take)(void *context, size_t job, size_t unit, const struct batch_given *tests, size_t count,
                        const char **folder, struct faults *faults);
    /* All that a job has taken is to stand; at its end, unless the batch was given up. */
    enum status (*flush)(void *context, size_t job, struct faults *faults);
};

/* How a batch is to be run. */
struct batch_order {
    const struct bay *bay;
    bool bay_named;                /* else a log that lies in another bay is not judged */
    const struct batch_sink *sink; /* NULL: results go nowhere */
    bool documents;                /* the result documents are wanted */
    size_t jobs;                   /* threads; at least 1 */
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
    bool passes_only;         /* the certificate is to hold the units that pass alone */
    size_t caution_count, further_cautions;
    struct batch_caution *cautions; /* the first different ones */
};

/* Runs all tests of a list. One that gives no result is not judged, with its reason. Everything in batch lives in the
 * arena, the list or the bay. Status: E_MEMORY, or that of the sink: the batch was given up. */
enum status batch_run(const struct batch_list *list, const struct batch_order *order, struct arena *arena,
                      struct batch *batch, struct faults *faults);

#endif
