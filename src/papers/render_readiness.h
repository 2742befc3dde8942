/* render_readiness.h - what is understood of a bay, as text and JSON
 */
#ifndef DUTYPROOF_RENDER_READINESS_H
#define DUTYPROOF_RENDER_READINESS_H

#include "run/readiness.h"

/* What is understood, then the checks of each model, then what is still to fill, then the notes of reading the bay.
 * Status: E_MEMORY. */
enum status render_readiness_text(const struct readiness *readiness, const struct bay *bay, FILE *to);

/* The same as a JSON document; *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status render_readiness_json(const struct readiness *readiness, const struct bay *bay, char **text,
                                  size_t *length);

/* Only what is still to fill, a line each. Status: E_MEMORY. */
enum status render_to_fill(const struct readiness *readiness, FILE *to);

#endif
