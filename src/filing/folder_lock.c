#include "base/files.h"
#include "filing/scratch.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

/* The folder itself is locked, so that no lock file is left behind. */
enum status folder_lock(const char *path, int *lock, struct faults *faults)
{
    enum status status = folder_make(path, faults);
    if (status != OK) {
        return status;
    }
    *lock = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (*lock < 0) {
        return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be opened: %s", strerror(errno));
    }
    if (flock(*lock, LOCK_EX | LOCK_NB) == 0) {
        scratch_sweep(path);
        return OK;
    }
    bool held = errno == EWOULDBLOCK;
    folder_unlock(*lock);
    *lock = -1;
    return held ? faults_add(faults, E_FILE, (struct place){.file = path},
                             "is in use by another run, wait for its end or name another folder with --out")
                : OK;
}

void folder_unlock(int lock)
{
    if (lock >= 0) {
        (void)close(lock);
    }
}
