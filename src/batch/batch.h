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

/* SHA-256 over the program's version and the tables of a bay. Status: E_FILE, E_MEMORY. */
enum status batch_inputs(const char *bay_folder, char hex[65], struct faults *faults);

#endif
