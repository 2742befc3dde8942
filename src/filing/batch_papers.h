/* batch_papers.h - the papers of a batch
 */
#ifndef DUTYPROOF_BATCH_PAPERS_H
#define DUTYPROOF_BATCH_PAPERS_H

#include "batch/batch_stats.h"

/* Writes batch.csv, batch.json and, last, certificate.pdf into out; each appears whole or not at all. Status: E_FILE,
 * E_CHILD, E_MEMORY: none of them was touched. */
enum status batch_papers_write(const struct batch *batch, const struct batch_summary *summary, const char *out,
                               struct faults *faults);

#endif
