/* scratch.h - folders in which papers are made before they are placed, and the sweep of those that dead runs left
 *
 * A scratch folder holds a mark, a small file that says whose work it is, and its maker holds a lock on that mark for
 * as long as it lives. Who finds a folder so marked and can take the lock knows that its maker has ended: on this
 * machine or another, in whatever name space of process numbers.
 */
#ifndef DUTYPROOF_FILING_SCRATCH_H
#define DUTYPROOF_FILING_SCRATCH_H

#include "base/arena.h"
#include "base/status.h"

/* {0} is ready to use. */
struct scratch {
    char *path; /* in the arena; NULL: not made */
    int lock;   /* the open mark */
};

/* Makes a private folder with a hidden, unused name inside parent (which is made if need be). Where the file system has
 * no locks it is made all the same, and never swept. Status: E_FILE, E_MEMORY. */
enum status scratch_make(const char *parent, struct arena *arena, struct scratch *scratch, struct faults *faults);

/* Removes the folder and all that is in it, and gives up its lock; one that was not made or is gone is fine. Links are
 * removed, never followed. Status: E_FILE. */
enum status scratch_remove(struct scratch *scratch, struct faults *faults);

/* Gives up its lock and leaves it to a later sweep; one that was not made is fine. */
void scratch_leave(struct scratch *scratch);

/* Removes the scratch folders in parent whose makers have ended. What does not carry the mark, belongs to another user
 * or is a link stays as it is; so does what cannot be removed: it is in nobody's way. An empty folder of the name that
 * scratch_make gives goes too: its maker ended before the mark was written. is_needed (may be NULL) is asked about each
 * folder before it goes, by its name in parent. */
void scratch_sweep(const char *parent, bool (*is_needed)(void *context, const char *name), void *context);

#endif
