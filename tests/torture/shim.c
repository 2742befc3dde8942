/* shim - preloaded into the program: makes the n-th call of one function fail
 *
 * TORTURE=NAME:N    the N-th call of NAME fails (write: after half of its bytes)
 * TORTURE_NO_EXCHANGE=1  the file system exchanges no names
 * TORTURE_COUNTS=F  at the end, the file F lists how often each function was called
 * TORTURE_LOCALE=1  the locale of the environment is set, as a host of the library may do
 * A child process that is another program is left alone. */
#define _GNU_SOURCE /* RTLD_NEXT, program_invocation_short_name */

#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <locale.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

/* Each function with the errno of its failure; create is an open that writes. */
#define CALLS(X)                                                                                                       \
    X(malloc, ENOMEM)                                                                                                  \
    X(calloc, ENOMEM)                                                                                                  \
    X(realloc, ENOMEM)                                                                                                 \
    X(write, ENOSPC)                                                                                                   \
    X(fsync, EIO)                                                                                                      \
    X(syncfs, EIO)                                                                                                     \
    X(rename, EIO)                                                                                                     \
    X(renameat, EIO)                                                                                                   \
    X(renameat2, EIO)                                                                                                  \
    X(linkat, EMLINK)                                                                                                  \
    X(mkdirat, ENOSPC)                                                                                                 \
    X(createat, ENOSPC)                                                                                                \
    X(openat, EIO)                                                                                                     \
    X(create, ENOSPC)                                                                                                  \
    X(open, EIO)                                                                                                       \
    X(close, EIO)                                                                                                      \
    X(read, EIO)                                                                                                       \
    X(mkdir, ENOSPC)                                                                                                   \
    X(mkdtemp, ENOSPC)                                                                                                 \
    X(unlink, EIO)                                                                                                     \
    X(unlinkat, EIO)                                                                                                   \
    X(rmdir, EIO)                                                                                                      \
    X(opendir, EMFILE)                                                                                                 \
    X(socketpair, EMFILE)                                                                                              \
    X(fork, EAGAIN)                                                                                                    \
    X(send, EPIPE)                                                                                                     \
    X(recv, ECONNRESET)                                                                                                \
    X(realpath, ENOMEM)

enum call {
#define AS_ENUM(name, error) CALL_##name,
    CALLS(AS_ENUM)
#undef AS_ENUM
        CALL_COUNT
};

#define AS_NAME(name, error) #name,
static const char *const names[] = {CALLS(AS_NAME)};
#define AS_ERROR(name, error) error,
static const int errors[] = {CALLS(AS_ERROR)};

static atomic_ulong counts[CALL_COUNT];
static bool active, no_exchange;
static enum call chosen = CALL_COUNT;
static unsigned long chosen_at;
static int counts_fd = -1;
static _Thread_local bool spared;

/* Before main: what is to fail, and the file of the counts. */
__attribute__((constructor)) static void begin(void)
{
    if (strcmp(program_invocation_short_name, "dutyproof") != 0) {
        return;
    }
    const char *order = getenv("TORTURE"), *counts_name = getenv("TORTURE_COUNTS");
    const char *colon = order == NULL ? NULL : strchr(order, ':');
    for (int call = 0; colon != NULL && call < CALL_COUNT; call++) {
        if (strlen(names[call]) == (size_t)(colon - order) && strncmp(names[call], order, strlen(names[call])) == 0) {
            chosen = (enum call)call;
            chosen_at = strtoul(colon + 1, NULL, 10);
        }
    }
    if (getenv("TORTURE_LOCALE") != NULL && setlocale(LC_ALL, "") == NULL) {
        _exit(99);
    }
    if (counts_name != NULL) {
        counts_fd = open(counts_name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
    }
    for (int call = 0; call < CALL_COUNT; call++) {
        counts[call] = 0;
    }
    no_exchange = getenv("TORTURE_NO_EXCHANGE") != NULL;
    active = true;
}

__attribute__((destructor)) static void end(void)
{
    if (!active) {
        return;
    }
    active = false;
    for (int call = 0; counts_fd >= 0 && call < CALL_COUNT; call++) {
        (void)dprintf(counts_fd, "%s %lu\n", names[call], (unsigned long)counts[call]);
    }
}

static bool fails(enum call call)
{
    if (!active || spared) {
        return false;
    }
    bool now = atomic_fetch_add(&counts[call], 1) + 1 == chosen_at && call == chosen;
    errno = now ? errors[call] : errno;
    return now;
}

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *memory, size_t size);

void *malloc(size_t size)
{
    return fails(CALL_malloc) ? NULL : __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    return fails(CALL_calloc) ? NULL : __libc_calloc(count, size);
}

void *realloc(void *memory, size_t size)
{
    return fails(CALL_realloc) ? NULL : __libc_realloc(memory, size);
}

/* The next definition of the function, as a pointer of its own type. */
#define NEXT(name)                                                                                                     \
    static __typeof__(name) *next;                                                                                     \
    if (next == NULL) {                                                                                                \
        void *found = dlsym(RTLD_NEXT, #name);                                                                         \
        memcpy(&next, &found, sizeof next);                                                                            \
    }

ssize_t write(int fd, const void *bytes, size_t length)
{
    NEXT(write)
    if (fails(CALL_write)) {
        ssize_t half = next(fd, bytes, length / 2);
        (void)half;
        errno = errors[CALL_write];
        return -1;
    }
    return next(fd, bytes, length);
}

int open(const char *path, int flags, ...)
{
    NEXT(open)
    va_list rest;
    va_start(rest, flags);
    mode_t mode = (flags & O_CREAT) != 0 ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    return fails((flags & O_ACCMODE) == O_RDONLY ? CALL_open : CALL_create) ? -1 : next(path, flags, mode);
}

int openat(int folder, const char *path, int flags, ...)
{
    NEXT(openat)
    va_list rest;
    va_start(rest, flags);
    mode_t mode = (flags & O_CREAT) != 0 ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    return fails((flags & O_CREAT) == 0 ? CALL_openat : CALL_createat) ? -1 : next(folder, path, flags, mode);
}

int renameat2(int from, const char *path, int to, const char *as, unsigned int flags)
{
    NEXT(renameat2)
    if (active && no_exchange) {
        errno = EINVAL;
        return -1;
    }
    return fails(CALL_renameat2) ? -1 : next(from, path, to, as, flags);
}

#define SHIM(type, failed, name, parameters, arguments)                                                                \
    type name parameters                                                                                               \
    {                                                                                                                  \
        NEXT(name)                                                                                                     \
        return fails(CALL_##name) ? failed : next arguments;                                                           \
    }

SHIM(int, -1, fsync, (int fd), (fd))
SHIM(int, -1, syncfs, (int fd), (fd))
SHIM(int, -1, rename, (const char *from, const char *to), (from, to))
SHIM(int, -1, renameat, (int from, const char *path, int to, const char *as), (from, path, to, as))
SHIM(int, -1, linkat, (int from, const char *path, int to, const char *as, int flags), (from, path, to, as, flags))
SHIM(int, -1, mkdirat, (int folder, const char *path, mode_t mode), (folder, path, mode))
SHIM(ssize_t, -1, read, (int fd, void *bytes, size_t length), (fd, bytes, length))
SHIM(int, -1, mkdir, (const char *path, mode_t mode), (path, mode))
SHIM(char *, NULL, mkdtemp, (char *path), (path))
SHIM(int, -1, unlink, (const char *path), (path))
SHIM(int, -1, unlinkat, (int folder, const char *path, int flags), (folder, path, flags))
SHIM(int, -1, rmdir, (const char *path), (path))
SHIM(DIR *, NULL, opendir, (const char *path), (path))
SHIM(int, -1, socketpair, (int domain, int type, int protocol, int pair[2]), (domain, type, protocol, pair))
SHIM(pid_t, -1, fork, (void), ())
SHIM(ssize_t, -1, send, (int fd, const void *bytes, size_t length, int flags), (fd, bytes, length, flags))
SHIM(ssize_t, -1, recv, (int fd, void *bytes, size_t length, int flags), (fd, bytes, length, flags))
SHIM(char *, NULL, realpath, (const char *path, char *resolved), (path, resolved))

/* GSL 2.7 does not look whether its work vector here was allocated: the program would end by a signal. */
int gsl_linalg_bidiag_decomp(void *a, void *tau_u, void *tau_v);
int gsl_linalg_bidiag_decomp(void *a, void *tau_u, void *tau_v)
{
    NEXT(gsl_linalg_bidiag_decomp)
    spared = true;
    int failed = next(a, tau_u, tau_v);
    spared = false;
    return failed;
}

/* A failed close closes all the same, as Linux does. */
int close(int fd)
{
    NEXT(close)
    bool failing = fails(CALL_close);
    int closed = next(fd);
    if (failing) {
        errno = errors[CALL_close];
        return -1;
    }
    return closed;
}
