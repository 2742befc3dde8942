/* batch_twins.h - one log under two serials: told by its bytes, whatever its name
 */
#ifndef DUTYPROOF_BATCH_TWINS_H
#define DUTYPROOF_BATCH_TWINS_H

#include "batch/batch_list.h"

/* twins[row] becomes a row of another serial whose log has the same SHA-256, or NULL. Only logs of one size are read. A
 * log that cannot be read has no twin. serials: one a row. Status: E_MEMORY. */
enum status batch_find_twins(const struct batch_list *list, const char *const *serials, const struct batch_row **twins);

#endif
