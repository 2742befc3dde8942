/* certificate.h - the certificate of a batch, as a document
 */
#ifndef DUTYPROOF_PAPERS_CERTIFICATE_H
#define DUTYPROOF_PAPERS_CERTIFICATE_H

#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "papers/plot.h"
#include "papers/render_batch.h"
#include "papers/words.h"

/* Describes the certificate of a batch that is summed up. digest: SHA-256 of what the square code is to lead to, and
 * what that is; "" for none. Status: E_MEMORY. */
enum status certificate_document(const struct batch *batch, const struct batch_summary *summary, const char *digest,
                                 const char *digest_of, struct arena *arena, struct document *document);

/* Fewest units of a model for statistics and charts; below the other number the standard's caution stands with them
 * (ISO 22514-2: a study wants at least some 25 values, from memory). */
enum { CERTIFICATE_CHART_MIN = 8, CERTIFICATE_SURE = 25 };

/* --- for certificate.c alone (certificate_plots.c) --- */

/* All head curves of a model on each other. Returns: NULL when memory is out. */
struct plot *certificate_curves(const struct document *document, const struct batch *batch,
                                const struct batch_section *section, struct arena *arena);

/* Histogram and control charts of the margins at one duty point. Returns: NULL when memory is out. */
struct plot *certificate_charts(const struct document *document, const struct batch_section *section, size_t duty,
                                struct arena *arena);

#endif
