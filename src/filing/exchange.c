#define _GNU_SOURCE /* renameat2 */

#include "filing/exchange.h"

#include "filing/tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char marker_prefix[] = ".dutyproof-change-";

static enum status cannot(struct faults *faults, const struct out *out, const char *name, const char *what)
{
    return faults_add(faults, E_FILE, (struct place){.file = out->path}, "the folder '%.120s' cannot be %s: %s", name,
                      what, strerror(errno));
}

static bool is_there(const struct out *out, const char *path)
{
    struct stat facts;
    return fstatat(out->folder, path, &facts, AT_SYMLINK_NOFOLLOW) == 0;
}

/* Some file systems cannot sync a folder: there is nothing more to be done then. */
static bool sync_fd(int fd)
{
    return fsync(fd) == 0 || errno == EINVAL;
}

/* --- the marker: two lines, where the new folder was staged and where the old one goes --- */

struct change {
    char staged[PATH_MAX], old[PATH_MAX];
};

static bool write_marker(const struct out *out, const char *draft, const char *marker, const struct change *change)
{
    char text[2 * PATH_MAX + 2];
    int length = snprintf(text, sizeof text, "%s\n%s\n", change->staged, change->old);
    int fd = openat(out->folder, draft, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
    bool good = fd >= 0 && length > 0 && write(fd, text, (size_t)length) == (ssize_t)length && sync_fd(fd);
    if (fd >= 0 && close(fd) != 0) {
        good = false;
    }
    return good && renameat(out->folder, draft, out->folder, marker) == 0 && sync_fd(out->folder);
}

/* A marker names places in scratch folders and nothing else. */
static bool in_scratch(const char *path)
{
    static const char scratch[] = ".dutyproof-";
    return strncmp(path, scratch, sizeof scratch - 1) == 0 && strchr(path, '/') != NULL && strstr(path, "..") == NULL;
}

static bool read_marker(const struct out *out, const char *marker, struct change *change)
{
    char text[2 * PATH_MAX + 2] = "";
    struct stat facts;
    int fd = openat(out->folder, marker, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    bool good = fd >= 0 && fstat(fd, &facts) == 0 && S_ISREG(facts.st_mode) && read(fd, text, sizeof text - 1) > 0;
    if (fd >= 0) {
        (void)close(fd);
    }
    char *rest = text;
    const char *staged = strtok_r(rest, "\n", &rest), *old = staged != NULL ? strtok_r(rest, "\n", &rest) : NULL;
    good = good && old != NULL && in_scratch(staged) && in_scratch(old) && strlen(staged) < sizeof change->staged &&
           strlen(old) < sizeof change->old;
    if (good) {
        (void)snprintf(change->staged, sizeof change->staged, "%s", staged);
        (void)snprintf(change->old, sizeof change->old, "%s", old);
    }
    return good;
}

/* --- exchanging --- */

/* What is still to be done is told by what is where. */
static bool finish(const struct out *out, const char *name, const char *marker, const struct change *change)
{
    if (!is_there(out, name)) {
        const char *from = is_there(out, change->staged) ? change->staged : change->old;
        if (renameat(out->folder, from, out->folder, name) != 0 || !sync_fd(out->folder)) {
            return false;
        }
    }
    return unlinkat(out->folder, marker, 0) == 0;
}

static bool by_steps(const struct out *out, const char *staged, const char *name, const char *old, struct arena *arena)
{
    struct change change;
    const char *marker = arena_format(arena, "%s%s", marker_prefix, name);
    const char *draft = arena_format(arena, "%s.change", staged);
    if (marker == NULL || draft == NULL || strlen(staged) >= sizeof change.staged || strlen(old) >= sizeof change.old) {
        errno = ENOMEM;
        return false;
    }
    (void)snprintf(change.staged, sizeof change.staged, "%s", staged);
    (void)snprintf(change.old, sizeof change.old, "%s", old);
    return write_marker(out, draft, marker, &change) && renameat(out->folder, name, out->folder, old) == 0 &&
           finish(out, name, marker, &change);
}

/* EINVAL and the like: this file system, or this kernel, does not exchange names. */
static bool at_once(const struct out *out, const char *staged, const char *name)
{
    return renameat2(out->folder, staged, out->folder, name, RENAME_EXCHANGE) == 0;
}

static bool is_not_offered(int error)
{
    return error == EINVAL || error == ENOSYS || error == ENOTSUP || error == EOPNOTSUPP;
}

enum status exchange(struct out *out, const char *staged, const char *name, struct arena *arena, const char **old,
                     struct faults *faults)
{
    *old = NULL;
    if (!is_there(out, name)) {
        return renameat(out->folder, staged, out->folder, name) == 0 ? OK : cannot(faults, out, name, "placed");
    }
    if (at_once(out, staged, name)) {
        *old = staged;
        return OK;
    }
    if (!is_not_offered(errno)) {
        return cannot(faults, out, name, "exchanged");
    }
    *old = arena_format(arena, "%s.old", staged);
    if (*old == NULL) {
        return faults_memory(faults);
    }
    if (by_steps(out, staged, name, *old, arena)) {
        return OK;
    }
    enum status status = cannot(faults, out, name, "exchanged");
    out->unfinished = out->unfinished || exchange_finish(out, name, &(struct faults){0}) != OK;
    return status;
}

enum status exchange_finish(struct out *out, const char *name, struct faults *faults)
{
    char marker[PATH_MAX];
    struct change change;
    int used = snprintf(marker, sizeof marker, "%s%s", marker_prefix, name);
    if (used < 0 || (size_t)used >= sizeof marker || !is_there(out, marker)) {
        return OK;
    }
    if (!read_marker(out, marker, &change)) {
        return faults_add(faults, E_FILE, (struct place){.file = out->path},
                          "'%.160s' is not a marker of this program: move it away", marker);
    }
    return finish(out, name, marker, &change) ? OK : cannot(faults, out, name, "finished");
}

/* --- sweeping --- */

/* Finishes the change that a marker tells of, when nobody is at it. Returns: true when it is done. */
static bool finish_free(struct out *out, const char *name)
{
    if (!out_try_lock(out, name)) {
        return false;
    }
    bool good = exchange_finish(out, name, &(struct faults){0}) == OK;
    out_unlock(out, name);
    return good;
}

/* True when the marker tells of a change that needs this scratch folder. */
static bool needs(const struct out *out, const char *marker, const char *scratch)
{
    struct change change;
    size_t length = strlen(scratch);
    return read_marker(out, marker, &change) && strncmp(change.staged, scratch, length) == 0 &&
           change.staged[length] == '/';
}

/* Its maker has ended: no further change will need it. */
static bool is_needed(void *context, const char *scratch)
{
    struct out *out = context;
    int again = tree_open(out->folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    bool needed = entries == NULL;
    for (struct dirent *entry; entries != NULL && !needed && (entry = readdir(entries)) != NULL;) {
        if (strncmp(entry->d_name, marker_prefix, sizeof marker_prefix - 1) == 0 &&
            needs(out, entry->d_name, scratch)) {
            needed = !finish_free(out, entry->d_name + sizeof marker_prefix - 1);
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    return needed;
}

void out_sweep(struct out *out)
{
    scratch_sweep(out->path, is_needed, out);
}
