/* batch_papers.h - a batch's own papers, which stand beside the folders of its units
 */
#ifndef DUTYPROOF_BATCH_PAPERS_H
#define DUTYPROOF_BATCH_PAPERS_H

#include "batch/batch_stats.h"
#include "filing/out.h"

/* Writes batch.csv, batch.json, batch.html and, last, certificate.pdf into OUT; what stood there before is kept in
 * OUT/earlier/ unless it is the same. Status: E_FILE, E_CHILD, E_MEMORY: none of them stands. */
enum status batch_papers_write(const struct batch *batch, const struct batch_summary *summary, struct out *out,
                               struct faults *faults);

/* Moves the batch's own papers that stand in OUT to OUT/earlier/batch-DIGITS, the certificate first: it does not belong
 * to papers that are made now. None there is fine. Status: E_FILE, E_INPUT (earlier/ is a link), E_MEMORY. */
enum status batch_papers_retire(struct out *out, struct faults *faults);

#endif
