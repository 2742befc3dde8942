#define _GNU_SOURCE /* syncfs */

#include "base/files.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

/* To sync a whole file system costs hardly more than to sync one file, and it covers the renames too. */
enum status files_sync(const char *folder, struct faults *faults)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int error = fd < 0 || syncfs(fd) != 0 ? errno : 0;
    if (fd >= 0) {
        (void)close(fd);
    }
    return error == 0
               ? OK
               : faults_add(faults, E_FILE, (struct place){.file = folder}, "cannot be synced: %s", strerror(error));
}
