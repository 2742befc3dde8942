#include "dutyproof/files.h"
#include "files_mark.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

/* True when the process that made a scratch folder has ended. */
static bool forsaken(const char *name)
{
    if (strncmp(name, SCRATCH_MARK, sizeof SCRATCH_MARK - 1) != 0) {
        return false;
    }
    const char *number = name + sizeof SCRATCH_MARK - 1;
    char *end;
    long maker = strtol(number, &end, 10);
    return end != number && *end == '-' && maker > 0 && kill((pid_t)maker, 0) != 0 && errno == ESRCH;
}

/* What cannot be removed stays: it is in nobody's way. */
static void sweep(const char *parent)
{
    DIR *folder = opendir(parent);
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        char path[PATH_MAX];
        int used = snprintf(path, sizeof path, "%s/%s", parent, entry->d_name);
        if (forsaken(entry->d_name) && used > 0 && (size_t)used < sizeof path) {
            (void)scratch_remove(path, &(struct faults){0});
        }
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
}

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
        sweep(path);
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
