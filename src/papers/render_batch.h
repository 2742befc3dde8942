/* render_batch.h - a batch as text, JSON, CSV and certificate
 */
#ifndef DUTYPROOF_RENDER_BATCH_H
#define DUTYPROOF_RENDER_BATCH_H

#include "batch/batch_stats.h"
#include <stdio.h>

/* batch.csv: a row a test and duty point, in the units of the models' papers. Status: E_MEMORY. */
enum status render_batch_csv(const struct batch *batch, FILE *to);

/* batch.json: the batch in SI units; ends in a line end. *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status render_batch_json(const struct batch *batch, const struct batch_summary *summary, char **text,
                              size_t *length);

/* One test as one line of JSON, for a test that has no result document. *text from malloc. Status: E_MEMORY. */
enum status render_batch_test_json(const struct batch_test *test, char **text, size_t *length);

/* The batch as a table for the terminal, at most 100 columns. Status: E_MEMORY. */
enum status render_batch_text(const struct batch *batch, const struct batch_summary *summary, bool colour, FILE *to);

/* What the certificate's square code holds; "": it has none. */
struct batch_digest {
    char sha256[65];
    const char *of_what;
};

/* certificate.pdf and batch.html, from malloc; the caller frees them, also upon failure. */
struct rendered_batch {
    char *pdf, *html;
    size_t pdf_length, html_length;
};

/* Prints the certificate, and the same as one self-contained HTML file. Status: E_CHILD, E_FILE, E_MEMORY. */
struct press;
enum status render_certificate_drawn(const struct batch *batch, const struct batch_summary *summary,
                                     const struct batch_digest *digest, struct press *press,
                                     struct rendered_batch *rendered, struct faults *faults);

#endif
