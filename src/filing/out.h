/* out.h - the folder that the papers of many units go to, OUT, opened for writing, and the locks on what is in it
 *
 * OUT itself may be a link, since it is named by who starts the program: it is followed once, when it is opened, and
 * all that is written goes to the folder that was opened then. Nothing in it is followed.
 *
 * A lock is held on a name, not on the folder that bears it, since that folder is exchanged for another while the lock
 * is held. All locks lie in one file, OUT/.dutyproof.lock, which goes with the last writer. They hold between processes
 * on one or several machines, not between threads that share a struct out; they end with the process. Where the file
 * system has no locks, writers do without.
 */
#ifndef DUTYPROOF_FILING_OUT_H
#define DUTYPROOF_FILING_OUT_H

#include "base/arena.h"
#include "base/status.h"
#include "filing/scratch.h"

#include <pthread.h>

enum { OUT_WAIT_SECONDS = 30 };

struct out {
    const char *path;
    const char *who; /* the command that writes, for those who wait: "reduce" */
    double wait_s;   /* how long to wait for a lock; OUT_WAIT_SECONDS unless changed after out_open */
    /* Hears once that a lock is waited for, and of whom. May be NULL. */
    void (*waiting)(const char *what, const char *holder);
    int folder;      /* open */
    int locks;       /* the open lock file; -1: not opened yet */
    bool lockless;   /* the file system has none */
    bool unfinished; /* an exchange could not be finished: the next run does, and needs the scratch folder */
    size_t number;   /* of folders made in the scratch folder so far */
    struct scratch scratch;
    struct arena arena; /* guarded by mutex, as are locks, number and scratch */
    pthread_mutex_t mutex;
};

/* Opens OUT, made if need be. path and who are borrowed. Status: E_FILE. */
enum status out_open(const char *path, const char *who, struct out *out, struct faults *faults);

/* Removes what was staged and not placed, and gives up all locks. One that was not opened ({0}) is fine. Status: E_FILE
 * (the scratch folder cannot be removed). */
enum status out_close(struct out *out, struct faults *faults);

/* Takes the lock of a name, waiting if need be; letters that differ by case only, a '~' and what follows,
 * and what follows the 91st byte make no other lock, so that all names that a serial may have share one. what: the name
 * in the message. * Status: E_INPUT: another still holds it, and the fault says who; E_FILE: the lock file cannot be
 * written. */
enum status out_lock(struct out *out, const char *name, const char *what, struct faults *faults);

/* The same without waiting. Returns: true when it was taken. */
bool out_try_lock(struct out *out, const char *name);

void out_unlock(struct out *out, const char *name);

/* Makes an empty folder in the scratch folder of this run, which lies in OUT. *name: its path from OUT, in the arena.
 * Status: E_FILE, E_MEMORY. */
enum status out_stage_folder(struct out *out, struct arena *arena, const char **name, struct faults *faults);

#endif
