/* label_paper.h - the label paper of a batch, as a document
 */
#ifndef DUTYPROOF_PAPERS_LABEL_PAPER_H
#define DUTYPROOF_PAPERS_LABEL_PAPER_H

#include "label/label_batch.h"
#include "papers/plot.h"
#include "papers/words.h"

/* Describes where the units of each line stand against the classes of their scheme. Status: E_MEMORY. */
enum status label_document(const struct label_batch *batch, struct arena *arena, struct document *document);

/* A strip with the classes, each unit and the mean on it (label_strip.c). Returns: NULL when memory is out. */
struct plot *label_strip(const struct document *document, const struct label_batch *batch,
                         const struct label_line *line, struct arena *arena);

#endif
