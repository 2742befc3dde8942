/* cause_words.h - causes and next steps in words
 */
#ifndef DUTYPROOF_PAPERS_CAUSE_WORDS_H
#define DUTYPROOF_PAPERS_CAUSE_WORDS_H

#include "papers/words.h"
#include "run/unit_causes.h"

/* "missing stage, 97 % (1 stages); not told from impeller size: a shaft turned by hand ...". document NULL: English.
 * Returns: the text in the arena; NULL when memory is out. */
const char *cause_text(const struct document *document, const struct cause_found *found, struct arena *arena);

/* One sentence that says what to do, with its caution. Returns: the text in the arena; NULL when memory is out. */
const char *step_text(const struct document *document, const struct next_step *step, const struct figure_units *units,
                      struct arena *arena);

#endif
