/* batch_filing.h - the papers of a batch: a sink for the results of its units, and the batch's own papers
 */
#ifndef DUTYPROOF_FILING_BATCH_FILING_H
#define DUTYPROOF_FILING_BATCH_FILING_H

#include "batch/batch.h"
#include "filing/ledger.h"
#include "filing/out.h"

struct filing_job;

/* Papers of a batch on their way. */
struct batch_filing {
    struct out *out;
    struct ledger *ledger; /* the bay's register; NULL: nothing is entered, and nothing can be resumed */
    bool resume;           /* papers that stand as they would be written are left alone */
    size_t jobs;
    /* Told at the end: */
    size_t drawn, kept;      /* tests whose papers were made; were whole already */
    size_t later_in_front;   /* units of which a later test than the list's stands in front ... */
    const char *first_later; /* ... and the first of their serials */
    /* Private; what changes is guarded by lock. */
    struct filing_job *job;
    const char **serials, **names; /* one a unit */
    bool retired;                  /* an older certificate stands no longer */
    struct arena arena;
    pthread_mutex_t lock;
};

/* Begins. out, ledger are borrowed. Status: E_MEMORY. */
enum status batch_filing_begin(struct batch_filing *filing, struct faults *faults);

/* The sink that hands results to a filing. */
struct batch_sink batch_filing_sink(struct batch_filing *filing);

/* Ends gnuplots and releases all; what was not flushed is dropped. Status: E_CHILD, E_FILE. */
enum status batch_filing_end(struct batch_filing *filing, struct faults *faults);

#endif
