#define _GNU_SOURCE /* F_OFD_SETLK: locks that belong to the open file and not to the process */

#include "filing/out.h"

#include "base/files.h"

#include <ctype.h>
#include <errno.h>
#include <fcntl.h>
#include <pwd.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

/* The lock of a name is one byte of the lock file, far behind its end. At the front are slots in which the holders say
 * who they are; two names may share a slot, so each says whose lock it speaks of. */
enum { SLOTS = 1024, SLOT = 160, KEY_DIGITS = 16, NAME_KEPT = 91 };
static const off_t FIRST_LOCK = (off_t)1 << 20;
static const char lock_name[] = ".dutyproof.lock";

static enum status cannot(struct faults *faults, const char *path, const char *what)
{
    return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be %s: %s", what, strerror(errno));
}

enum status out_open(const char *path, const char *who, struct out *out, struct faults *faults)
{
    *out = (struct out){.path = path, .who = who, .wait_s = OUT_WAIT_SECONDS, .folder = -1, .locks = -1};
    enum status status = folder_make(path, faults);
    if (status != OK) {
        return status;
    }
    out->folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (out->folder < 0) {
        status = cannot(faults, path, "opened");
    } else if (pthread_mutex_init(&out->mutex, NULL) != 0) {
        (void)close(out->folder);
        status = faults_memory(faults);
    }
    if (status != OK) {
        *out = (struct out){0};
    }
    return status;
}

/* --- locks --- */

struct lock_key {
    off_t at, slot;
    char text[KEY_DIGITS + 1];
};

static struct lock_key key_of(const char *name)
{
    char folded[NAME_KEPT], hex[65];
    size_t length = 0;
    for (; name[length] != '\0' && name[length] != '~' && length < sizeof folded; length++) {
        folded[length] = (char)tolower((unsigned char)name[length]);
    }
    sha256_hex(folded, length, hex);
    hex[KEY_DIGITS] = '\0';
    uint64_t number = strtoull(hex, NULL, 16);
    struct lock_key key = {.at = FIRST_LOCK + (off_t)(number >> 2), .slot = (off_t)(number % SLOTS) * SLOT};
    memcpy(key.text, hex, sizeof key.text);
    return key;
}

static bool set_lock(int fd, short type, off_t at, off_t length)
{
    struct flock lock = {.l_type = type, .l_whence = SEEK_SET, .l_start = at, .l_len = length};
    int done;
    do {
        done = fcntl(fd, F_OFD_SETLK, &lock);
    } while (done != 0 && errno == EINTR);
    return done == 0;
}

/* The file may belong to another user of a shared folder, so all may write to it; nothing but locks is in it. */
static bool open_locks(struct out *out)
{
    enum { FLAGS = O_RDWR | O_NOFOLLOW | O_CLOEXEC };
    if (out->locks >= 0) {
        return true;
    }
    out->locks = openat(out->folder, lock_name, FLAGS);
    if (out->locks < 0 && errno == ENOENT) {
        out->locks = openat(out->folder, lock_name, FLAGS | O_CREAT, 0666);
        if (out->locks >= 0) {
            (void)fchmod(out->locks, 0666);
        }
    }
    return out->locks >= 0;
}

/* True when the open lock file is still the one that has the name: its last user may have removed it. */
static bool locks_stand(const struct out *out)
{
    struct stat open_one, named;
    return fstat(out->locks, &open_one) == 0 && fstatat(out->folder, lock_name, &named, AT_SYMLINK_NOFOLLOW) == 0 &&
           open_one.st_dev == named.st_dev && open_one.st_ino == named.st_ino;
}

static const char *login(struct passwd *entry, char *text, size_t size)
{
    struct passwd *found = NULL;
    return getpwuid_r(geteuid(), entry, text, size, &found) == 0 && found != NULL ? entry->pw_name : "user";
}

static void sign(const struct out *out, const struct lock_key *key)
{
    char text[SLOT + 1] = "", host[64] = "", names[1024];
    struct passwd entry;
    (void)gethostname(host, sizeof host - 1);
    int used = snprintf(text, sizeof text, "%s %s by %.40s on %.40s, process %ld", key->text, out->who,
                        login(&entry, names, sizeof names), host, (long)getpid());
    /* A courtesy to those who wait: the lock holds without it. */
    bool told = used > 0 && pwrite(out->locks, text, SLOT, key->slot) == SLOT;
    (void)told;
}

enum attempt { TAKEN, HELD, FAILED };

/* Needs the mutex. */
static enum attempt attempt_lock(struct out *out, const struct lock_key *key)
{
    for (int again = 0; !out->lockless && again < 100; again++) {
        if (!open_locks(out)) {
            return FAILED;
        }
        if (!set_lock(out->locks, F_WRLCK, key->at, 1)) {
            bool held = errno == EAGAIN || errno == EACCES;
            out->lockless = errno == ENOLCK || errno == EOPNOTSUPP || errno == ENOSYS || errno == EINVAL;
            if (out->lockless) {
                break;
            }
            return held ? HELD : FAILED;
        }
        if (locks_stand(out)) {
            sign(out, key);
            return TAKEN;
        }
        (void)close(out->locks);
        out->locks = -1;
    }
    return out->lockless ? TAKEN : FAILED;
}

static enum attempt attempt(struct out *out, const struct lock_key *key)
{
    (void)pthread_mutex_lock(&out->mutex);
    enum attempt outcome = attempt_lock(out, key);
    int error = errno;
    (void)pthread_mutex_unlock(&out->mutex);
    errno = error;
    return outcome;
}

static void read_holder(struct out *out, const struct lock_key *key, char holder[SLOT + 1])
{
    char text[SLOT + 1] = "";
    (void)pthread_mutex_lock(&out->mutex);
    bool told = pread(out->locks, text, SLOT, key->slot) > KEY_DIGITS && memcmp(text, key->text, KEY_DIGITS) == 0;
    (void)pthread_mutex_unlock(&out->mutex);
    (void)snprintf(holder, SLOT + 1, "%s", told ? text + KEY_DIGITS + 1 : "another run");
}

static double seconds_now(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

enum status out_lock(struct out *out, const char *name, const char *what, struct faults *faults)
{
    enum { PAUSE_NS = 20 * 1000 * 1000 };
    const struct lock_key key = key_of(name);
    const double began_s = seconds_now();
    char holder[SLOT + 1] = "";
    enum attempt outcome;
    bool told = false;
    while ((outcome = attempt(out, &key)) == HELD && seconds_now() - began_s < out->wait_s) {
        if (!told && seconds_now() - began_s > 1.0 && out->waiting != NULL) {
            read_holder(out, &key, holder);
            out->waiting(what, holder);
            told = true;
        }
        (void)nanosleep(&(struct timespec){.tv_nsec = PAUSE_NS}, NULL);
    }
    if (outcome == HELD) {
        read_holder(out, &key, holder);
        return faults_add(faults, E_INPUT, (struct place){.file = out->path},
                          "%s is in use by %s, wait for its end or name another folder with --out", what, holder);
    }
    return outcome == TAKEN ? OK : cannot(faults, out->path, "written to");
}

bool out_try_lock(struct out *out, const char *name)
{
    const struct lock_key key = key_of(name);
    return attempt(out, &key) == TAKEN;
}

void out_unlock(struct out *out, const char *name)
{
    const struct lock_key key = key_of(name);
    (void)pthread_mutex_lock(&out->mutex);
    if (out->locks >= 0) {
        (void)set_lock(out->locks, F_UNLCK, key.at, 1);
    }
    (void)pthread_mutex_unlock(&out->mutex);
}

/* Who can lock all of it is alone with it. */
static void close_locks(struct out *out)
{
    if (out->locks < 0) {
        return;
    }
    if (set_lock(out->locks, F_UNLCK, 0, 0) && set_lock(out->locks, F_WRLCK, 0, 0) && locks_stand(out)) {
        (void)unlinkat(out->folder, lock_name, 0);
    }
    (void)close(out->locks);
}

enum status out_close(struct out *out, struct faults *faults)
{
    if (out->path == NULL) {
        return OK;
    }
    enum status status = OK;
    if (out->unfinished) {
        scratch_leave(&out->scratch);
    } else {
        status = scratch_remove(&out->scratch, faults);
    }
    close_locks(out);
    (void)close(out->folder);
    (void)pthread_mutex_destroy(&out->mutex);
    arena_release(&out->arena);
    *out = (struct out){0};
    return status;
}

/* --- staging --- */

static enum status next_folder(struct out *out, struct arena *arena, const char **name, struct faults *faults)
{
    if (out->scratch.path == NULL) {
        enum status status = scratch_make(out->path, &out->arena, &out->scratch, faults);
        if (status != OK) {
            return status;
        }
    }
    *name = arena_format(arena, "%s/%zu", file_base(out->scratch.path), ++out->number);
    return *name == NULL ? faults_memory(faults) : OK;
}

enum status out_stage_folder(struct out *out, struct arena *arena, const char **name, struct faults *faults)
{
    (void)pthread_mutex_lock(&out->mutex);
    enum status status = next_folder(out, arena, name, faults);
    (void)pthread_mutex_unlock(&out->mutex);
    if (status == OK && mkdirat(out->folder, *name, 0777) != 0) {
        status = cannot(faults, out->path, "written to");
    }
    return status;
}
