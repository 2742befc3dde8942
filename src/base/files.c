#include "base/files.h"

#include <errno.h>
#include <fcntl.h>
#include <nettle/sha2.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_LONGEST = 4096 };

static enum status cannot(struct faults *faults, const char *path, const char *what, int error)
{
    char reason[128];
    if (strerror_r(error, reason, sizeof reason) != 0) {
        (void)snprintf(reason, sizeof reason, "error %d", error);
    }
    return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be %s: %s", what, reason);
}

const char *file_base(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

/* Length of the folder's part of a path, its slash included. */
static size_t folder_length(const char *path)
{
    return (size_t)(file_base(path) - path);
}

/* Some file systems cannot sync a folder or a special file and say EINVAL: there is nothing more to be done then. */
static bool synced(int fd)
{
    return fsync(fd) == 0 || errno == EINVAL;
}

static enum status sync_folder_of(const char *path, struct faults *faults)
{
    char folder[PATH_LONGEST];
    size_t length = folder_length(path);
    if (length >= sizeof folder) {
        return cannot(faults, path, "synced", ENAMETOOLONG);
    }
    memcpy(folder, length == 0 ? "." : path, length == 0 ? 1 : length);
    folder[length == 0 ? 1 : length] = '\0';
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) {
        return cannot(faults, folder, "opened", errno);
    }
    bool good = synced(fd);
    int error = errno;
    (void)close(fd); /* opened for reading: nothing to lose */
    return good ? OK : cannot(faults, folder, "synced", error);
}

/* Writes all bytes, syncs if asked to, and closes. Returns: 0, or the errno of what failed. */
static int write_and_close(int fd, const char *bytes, size_t length, bool sync)
{
    int error = 0;
    while (length > 0 && error == 0) {
        ssize_t written = write(fd, bytes, length);
        if (written >= 0) {
            bytes += written;
            length -= (size_t)written;
        } else if (errno != EINTR) {
            error = errno;
        }
    }
    if (error == 0 && sync && !synced(fd)) {
        error = errno;
    }
    if (close(fd) != 0 && error == 0) {
        error = errno;
    }
    return error;
}

enum status file_write(const char *path, const void *bytes, size_t length, struct faults *faults)
{
    char temporary[PATH_LONGEST];
    int used = snprintf(temporary, sizeof temporary, "%.*s.%s.part%ld", (int)folder_length(path), path, file_base(path),
                        (long)getpid());
    if (used < 0 || (size_t)used >= sizeof temporary) {
        return cannot(faults, path, "written", ENAMETOOLONG);
    }
    /* A process of the same number that was killed may have left its temporary: it is nobody's now. */
    if (unlink(temporary) != 0 && errno != ENOENT) {
        return cannot(faults, path, "written", errno);
    }
    int fd = open(temporary, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd < 0) {
        return cannot(faults, path, "written", errno);
    }
    int error = write_and_close(fd, bytes, length, true);
    if (error == 0 && rename(temporary, path) != 0) {
        error = errno;
    }
    if (error != 0) {
        (void)unlink(temporary);
        return cannot(faults, path, "written", error);
    }
    return sync_folder_of(path, faults);
}

enum status file_publish(const char *temporary, const char *path, struct faults *faults)
{
    struct stat facts;
    int fd = open(temporary, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        return cannot(faults, path, "written", errno);
    }
    int error = fstat(fd, &facts) == 0 && synced(fd) ? 0 : errno;
    (void)close(fd);
    if (error == 0 && facts.st_size == 0) {
        return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be written: it came out empty");
    }
    if (error == 0 && rename(temporary, path) != 0) {
        error = errno;
    }
    return error != 0 ? cannot(faults, path, "written", error) : sync_folder_of(path, faults);
}

enum status file_stage(const char *path, const void *bytes, size_t length, struct faults *faults)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    int error = fd < 0 ? errno : write_and_close(fd, bytes, length, false);
    return error == 0 ? OK : cannot(faults, path, "written", error);
}

enum status file_remove(const char *path, struct faults *faults)
{
    return unlink(path) == 0 || errno == ENOENT ? OK : cannot(faults, path, "removed", errno);
}

enum status file_open(const char *path, int *fd, struct faults *faults)
{
    struct stat facts;
    *fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK); /* a pipe that no one writes must not be waited for */
    if (*fd < 0) {
        return cannot(faults, path, "read", errno);
    }
    bool known = fstat(*fd, &facts) == 0;
    if (known && S_ISREG(facts.st_mode)) {
        return OK;
    }
    int error = !known ? errno : S_ISDIR(facts.st_mode) ? EISDIR : 0;
    (void)close(*fd);
    *fd = -1;
    return error != 0
               ? cannot(faults, path, "read", error)
               : faults_add(faults, E_FILE, (struct place){.file = path}, "is a pipe or a device, expected a file");
}

/* Reads an open file to its end into *bytes, which has room for capacity bytes. Returns: OK, E_MEMORY, or E_FILE with
 * errno set (EFBIG: more than largest bytes). */
static enum status read_all(int fd, size_t capacity, size_t largest, struct arena *arena, char **bytes, size_t *length)
{
    char *text = arena_alloc(arena, capacity, 1);
    size_t used = 0;
    while (text != NULL) {
        ssize_t got = read(fd, text + used, capacity - used - 1);
        if (got < 0 && errno == EINTR) {
            continue;
        }
        if (got < 0) {
            return E_FILE;
        }
        used += (size_t)got;
        if (used > largest) {
            errno = EFBIG;
            return E_FILE;
        }
        if (got == 0) {
            text[used] = '\0';
            *bytes = text;
            *length = used;
            return OK;
        }
        if (used + 1 == capacity) {
            char *larger = arena_alloc(arena, capacity, 2);
            if (larger != NULL) {
                memcpy(larger, text, used);
            }
            text = larger;
            capacity *= 2;
        }
    }
    return E_MEMORY;
}

enum status file_read(const char *path, size_t largest, struct arena *arena, char **bytes, size_t *length,
                      struct faults *faults)
{
    struct stat facts;
    int fd;
    enum status status = file_open(path, &fd, faults);
    if (status != OK) {
        return status;
    }
    status = E_FILE;
    if (fstat(fd, &facts) == 0) {
        if ((uintmax_t)facts.st_size > largest) {
            errno = EFBIG;
        } else {
            /* Two more: one for the NUL, one so that the end is seen without growing. */
            status = read_all(fd, (size_t)facts.st_size + 2, largest, arena, bytes, length);
        }
    }
    int error = errno;
    (void)close(fd);
    if (status == E_FILE) {
        return cannot(faults, path, "read", error);
    }
    return status == OK ? OK : faults_memory(faults);
}

static bool is_folder(const char *path)
{
    struct stat facts;
    return stat(path, &facts) == 0 && S_ISDIR(facts.st_mode);
}

enum status folder_make(const char *path, struct faults *faults)
{
    char part[PATH_LONGEST];
    size_t length = strlen(path);
    if (length == 0 || length >= sizeof part) {
        return cannot(faults, path, "made", length == 0 ? ENOENT : ENAMETOOLONG);
    }
    for (size_t end = 1; end <= length; end++) {
        if (path[end] != '/' && path[end] != '\0') {
            continue;
        }
        memcpy(part, path, end);
        part[end] = '\0';
        if (is_folder(part)) {
            continue;
        }
        int error = mkdir(part, 0777) == 0 ? 0 : errno;
        if (error == EEXIST && !is_folder(part)) { /* another process may just have made it */
            return faults_add(faults, E_FILE, (struct place){.file = part}, "is in the way: a folder is needed here");
        }
        if (error != 0 && error != EEXIST) {
            return cannot(faults, part, "made", error);
        }
    }
    return OK;
}

static bool ends_with(const char *text, size_t length, const char *ending)
{
    size_t more = strlen(ending);
    return length > more && strncasecmp(text + length - more, ending, more) == 0;
}

size_t log_name_length(const char *name)
{
    size_t length = strlen(name);
    size_t gz = ends_with(name, length, ".csv.gz") ? 3 : 0;
    return ends_with(name, length - gz, ".csv") ? length - gz - 4 : length;
}

static void put_digest(struct sha256_ctx *context, char hex[65])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(context, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[64] = '\0';
}

void sha256_hex(const void *bytes, size_t length, char hex[65])
{
    struct sha256_ctx context;
    sha256_init(&context);
    sha256_update(&context, length, bytes);
    put_digest(&context, hex);
}

bool file_sha256(const char *path, char hex[65])
{
    int fd;
    struct sha256_ctx context;
    uint8_t part[16 * 1024];
    ssize_t got = 1;
    hex[0] = '\0';
    if (file_open(path, &fd, &(struct faults){0}) != OK) {
        return false;
    }
    sha256_init(&context);
    while (got > 0 || (got < 0 && errno == EINTR)) {
        got = read(fd, part, sizeof part);
        sha256_update(&context, got > 0 ? (size_t)got : 0, part);
    }
    (void)close(fd);
    if (got == 0) {
        put_digest(&context, hex);
    }
    return got == 0;
}
