/* exchange.h - one folder takes the name of another, as one
 *
 * By one exchange of names where the file system can, else by two renames under a marker, OUT/.dutyproof-change-NAME,
 * that tells the next writer how to finish what was cut short. The caller holds the lock of the name.
 */
#ifndef DUTYPROOF_FILING_EXCHANGE_H
#define DUTYPROOF_FILING_EXCHANGE_H

#include "filing/out.h"

/* Gives the staged folder (a path from OUT, in a scratch folder) the name NAME in OUT. What bore that name is then at
 * *old, a path from OUT (NULL when there was nothing). Status: E_FILE: nothing has changed, or the marker is there;
 * E_MEMORY. */
enum status exchange(struct out *out, const char *staged, const char *name, struct arena *arena, const char **old,
                     struct faults *faults);

/* Finishes a change of this name that was cut short. Status: E_FILE. */
enum status exchange_finish(struct out *out, const char *name, struct faults *faults);

/* Finishes every change whose name is not locked, and then removes what dead runs have left in OUT. A scratch folder
 * that a change still needs stays. */
void out_sweep(struct out *out);

#endif
