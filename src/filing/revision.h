/* revision.h - what makes a result differ from an earlier judgement of its log
 */
#ifndef DUTYPROOF_FILING_REVISION_H
#define DUTYPROOF_FILING_REVISION_H

#include "register/register.h"
#include "run/result.h"

/* Compares the rows that a result used, and what its document states, with those of a judgement that the register has;
 * a line a change, in the arena, and never none: who asks knows that the documents differ. Status: E_FILE, E_MEMORY. */
enum status revision_changes(struct bay_register *book, const struct judgement *before, const struct result *result,
                             const char *document, size_t document_length, struct arena *arena, const char **changes,
                             struct faults *faults);

#endif
