#include "filing/tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { DEEPEST = 16 };

int tree_open(int parent, const char *name)
{
    return openat(parent, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
}

static void shut(int fd)
{
    int error = errno;
    (void)close(fd); /* read only: nothing to lose */
    errno = error;
}

static bool read_plain(int fd, size_t largest, struct arena *arena, char **bytes, size_t *length)
{
    struct stat facts;
    if (fstat(fd, &facts) != 0 || !S_ISREG(facts.st_mode) || (uintmax_t)facts.st_size > largest) {
        errno = S_ISREG(facts.st_mode) ? EFBIG : EINVAL;
        return false;
    }
    size_t size = (size_t)facts.st_size, used = 0;
    *bytes = arena_alloc(arena, size + 1, 1);
    errno = ENOMEM;
    for (ssize_t got = 1; *bytes != NULL && used < size && got > 0; used += got > 0 ? (size_t)got : 0) {
        got = read(fd, *bytes + used, size - used);
        errno = got == 0 ? EIO : errno; /* it was cut while it was read */
    }
    *length = used;
    return *bytes != NULL && used == size;
}

bool tree_read(int folder, const char *name, size_t largest, struct arena *arena, char **bytes, size_t *length)
{
    int fd = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    bool good = fd >= 0 && read_plain(fd, largest, arena, bytes, length);
    if (fd >= 0) {
        shut(fd);
    }
    return good;
}

static bool is_dots(const char *name)
{
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

/* --- removing --- */

static bool remove_entry(int folder, const struct stat *of, const char *name, int depth);

static bool empty(int folder, const char *last, int depth)
{
    struct stat of;
    DIR *entries = fstat(folder, &of) == 0 && depth < DEEPEST ? fdopendir(folder) : NULL;
    if (entries == NULL) {
        shut(folder);
        return false;
    }
    bool good = true;
    for (struct dirent *entry; (entry = readdir(entries)) != NULL;) {
        bool stays = is_dots(entry->d_name) || (last != NULL && strcmp(entry->d_name, last) == 0);
        good = (stays || remove_entry(folder, &of, entry->d_name, depth)) && good;
    }
    good = good && (last == NULL || unlinkat(folder, last, 0) == 0 || errno == ENOENT);
    int error = errno;
    (void)closedir(entries);
    errno = error;
    return good;
}

static bool remove_entry(int folder, const struct stat *of, const char *name, int depth)
{
    struct stat facts;
    if (fstatat(folder, name, &facts, AT_SYMLINK_NOFOLLOW) != 0) {
        return errno == ENOENT;
    }
    if (!S_ISDIR(facts.st_mode)) {
        return unlinkat(folder, name, 0) == 0;
    }
    int inner = facts.st_dev == of->st_dev ? tree_open(folder, name) : -1;
    return inner >= 0 && empty(inner, NULL, depth + 1) && unlinkat(folder, name, AT_REMOVEDIR) == 0;
}

bool tree_empty(int folder, const char *last)
{
    return empty(folder, last, 0);
}

bool tree_remove(int parent, const char *name)
{
    struct stat of;
    return fstat(parent, &of) == 0 && remove_entry(parent, &of, name, 0);
}

/* --- bringing --- */

/* Copies what is left of an open file. Returns: false with errno set. */
static bool copy_bytes(int from, int to)
{
    char bytes[64 * 1024];
    for (ssize_t got; (got = read(from, bytes, sizeof bytes)) != 0;) {
        for (ssize_t at = 0; at < got;) {
            ssize_t written = write(to, bytes + at, (size_t)(got - at));
            if (written < 0 && errno != EINTR) {
                return false;
            }
            at += written > 0 ? written : 0;
        }
        if (got < 0 && errno != EINTR) {
            return false;
        }
    }
    return true;
}

static bool copy_file(int from, const char *name, const struct stat *facts, int to, const char *as)
{
    int source = openat(from, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (source < 0) {
        return false;
    }
    int copy = openat(to, as, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, facts->st_mode & 0777);
    const struct timespec times[2] = {facts->st_atim, facts->st_mtim};
    bool good = copy >= 0 && copy_bytes(source, copy) && futimens(copy, times) == 0;
    if (copy >= 0 && close(copy) != 0) {
        good = false;
    }
    shut(source);
    return good;
}

/* Whatever a link fails for, a copy is as good. */
static bool bring_file(int from, const char *name, const struct stat *facts, int to, const char *as)
{
    return linkat(from, name, to, as, 0) == 0 || (errno != EEXIST && copy_file(from, name, facts, to, as));
}

static bool bring_link(int from, const char *name, int to, const char *as)
{
    char target[PATH_MAX];
    ssize_t length = readlinkat(from, name, target, sizeof target - 1);
    if (length < 0) {
        return false;
    }
    target[length] = '\0';
    return symlinkat(target, to, as) == 0;
}

static bool bring(int from, const char *name, int to, const char *as, int depth);

static bool bring_all(int from, int to, int depth)
{
    DIR *entries = depth < DEEPEST ? fdopendir(from) : NULL;
    if (entries == NULL) {
        shut(from);
        return false;
    }
    bool good = true;
    for (struct dirent *entry; good && (entry = readdir(entries)) != NULL;) {
        good = is_dots(entry->d_name) || bring(from, entry->d_name, to, entry->d_name, depth + 1);
    }
    int error = errno;
    (void)closedir(entries);
    errno = error;
    return good;
}

static bool bring_folder(int from, const char *name, const struct stat *facts, int to, const char *as, int depth)
{
    int source = tree_open(from, name);
    int copy = source >= 0 && mkdirat(to, as, 0700) == 0 ? tree_open(to, as) : -1;
    if (copy < 0) {
        if (source >= 0) {
            shut(source);
        }
        return false;
    }
    bool good = bring_all(source, copy, depth) && fchmod(copy, facts->st_mode & 07777) == 0;
    shut(copy);
    return good;
}

static bool bring(int from, const char *name, int to, const char *as, int depth)
{
    struct stat facts;
    if (fstatat(from, name, &facts, AT_SYMLINK_NOFOLLOW) != 0) {
        return false;
    }
    switch (facts.st_mode & S_IFMT) {
    case S_IFREG: return bring_file(from, name, &facts, to, as);
    case S_IFDIR: return bring_folder(from, name, &facts, to, as, depth);
    case S_IFLNK: return bring_link(from, name, to, as);
    default: errno = EINVAL; return false;
    }
}

bool tree_bring(int from, const char *name, int to, const char *as)
{
    return bring(from, name, to, as, 0);
}
