#include "filing/watch.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <sys/vfs.h>
#include <time.h>
#include <unistd.h>

enum { LOOK_MS = 250, QUIET_MS = 1000, NO_NOTICE = -1 };

/* What is known of a file. */
struct seen {
    char *name;
    off_t size;
    struct timespec changed; /* the file's own time */
    ino_t number;
    long quiet_since_ms;
    bool settled; /* taken, or there from the start */
    bool stalled; /* told of */
    bool present;
};

struct watch {
    char *folder;
    int notices; /* inotify; NO_NOTICE: the folder is looked at again and again */
    bool gone, look;
    long looked_ms;
    size_t count, room, next;
    struct seen *files;
    char path[PATH_MAX];
};

static long now_ms(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (long)now.tv_sec * 1000L + (long)(now.tv_nsec / 1000000L);
}

/* A log is a .csv or .csv.gz that is not hidden; a logger's own temporary names are left alone. */
static bool is_log_name(const char *name)
{
    size_t length = strlen(name);
    bool plain = length > 4 && strcmp(name + length - 4, ".csv") == 0;
    bool packed = length > 7 && strcmp(name + length - 7, ".csv.gz") == 0;
    return name[0] != '.' && (plain || packed);
}

static struct seen *find(struct watch *watch, const char *name)
{
    for (size_t i = 0; i < watch->count; i++) {
        if (strcmp(watch->files[i].name, name) == 0) {
            return &watch->files[i];
        }
    }
    return NULL;
}

static struct seen *add(struct watch *watch, const char *name)
{
    if (watch->count == watch->room) {
        size_t room = watch->room == 0 ? 64 : 2 * watch->room;
        struct seen *larger = realloc(watch->files, room * sizeof *larger);
        if (larger == NULL) {
            return NULL;
        }
        watch->files = larger;
        watch->room = room;
    }
    struct seen *seen = &watch->files[watch->count];
    *seen = (struct seen){.name = strdup(name), .size = -1};
    return seen->name == NULL ? NULL : &watch->files[watch->count++];
}

/* Notes what a file looks like now; one that changed is not settled any more. */
static void note(struct seen *seen, const struct stat *facts)
{
    bool same = seen->size == facts->st_size && seen->number == facts->st_ino &&
                seen->changed.tv_sec == facts->st_mtim.tv_sec && seen->changed.tv_nsec == facts->st_mtim.tv_nsec;
    seen->present = true;
    if (same) {
        return;
    }
    seen->size = facts->st_size;
    seen->number = facts->st_ino;
    seen->changed = facts->st_mtim;
    seen->quiet_since_ms = now_ms();
    seen->settled = seen->stalled = false;
}

/* Forgets files that are no longer there: a log that is renamed comes back as a new one. */
static void drop_missing(struct watch *watch)
{
    size_t kept = 0;
    for (size_t i = 0; i < watch->count; i++) {
        if (watch->files[i].present) {
            watch->files[kept++] = watch->files[i];
        } else {
            free(watch->files[i].name);
        }
    }
    watch->count = kept;
}

/* Looks at every file of the folder. Returns: OK, E_FILE (the folder cannot be read), E_MEMORY. */
static enum status look(struct watch *watch)
{
    DIR *folder = opendir(watch->folder);
    if (folder == NULL) {
        return E_FILE;
    }
    enum status status = OK;
    for (size_t i = 0; i < watch->count; i++) {
        watch->files[i].present = false;
    }
    for (struct dirent *entry; status == OK && (entry = readdir(folder)) != NULL;) {
        struct stat facts;
        if (!is_log_name(entry->d_name) || fstatat(dirfd(folder), entry->d_name, &facts, 0) != 0 ||
            !S_ISREG(facts.st_mode)) {
            continue;
        }
        struct seen *seen = find(watch, entry->d_name);
        seen = seen == NULL ? add(watch, entry->d_name) : seen;
        if (seen == NULL) {
            status = E_MEMORY;
        } else {
            note(seen, &facts);
        }
    }
    (void)closedir(folder);
    if (status == OK) {
        drop_missing(watch);
    }
    watch->looked_ms = now_ms();
    return status;
}

/* A network folder tells nothing of what other machines write. Source of the numbers: statfs(2), linux/magic.h. */
static bool is_remote(const char *folder)
{
    static const unsigned long kinds[] = {0x6969 /* NFS */, 0xff534d42 /* CIFS */, 0xfe534d42 /* SMB 2 */,
                                          0x517b /* SMB */, 0x65735546 /* FUSE */, 0x01021997 /* 9P */};
    struct statfs facts;
    if (statfs(folder, &facts) != 0) {
        return false;
    }
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (((unsigned long)facts.f_type & 0xffffffffUL) == kinds[i]) {
            return true;
        }
    }
    return false;
}

static bool ask_for_notices(struct watch *watch)
{
    int notices = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    uint32_t wanted =
        IN_CLOSE_WRITE | IN_MOVED_TO | IN_MOVED_FROM | IN_DELETE | IN_DELETE_SELF | IN_MOVE_SELF | IN_MODIFY;
    if (notices >= 0 && inotify_add_watch(notices, watch->folder, wanted) < 0) {
        (void)close(notices);
        notices = NO_NOTICE;
    }
    watch->notices = notices < 0 ? NO_NOTICE : notices;
    return watch->notices != NO_NOTICE;
}

enum status watch_start(const char *folder, bool polling, struct watch **watch, bool *polled, struct faults *faults)
{
    struct watch *made = calloc(1, sizeof *made);
    *watch = NULL;
    if (made == NULL || (made->folder = strdup(folder)) == NULL) {
        free(made);
        return faults_memory(faults);
    }
    made->notices = NO_NOTICE;
    *polled = polling || is_remote(folder) ||
              !ask_for_notices(made); /* asked for before the first look, so that nothing falls between */
    enum status status = look(made);
    if (status != OK) {
        watch_stop(made);
        return status == E_MEMORY ? faults_memory(faults)
                                  : faults_add(faults, E_FILE, (struct place){.file = folder}, "cannot be watched: %s",
                                               strerror(errno));
    }
    for (size_t i = 0; i < made->count; i++) {
        made->files[i].settled = true;
    }
    *watch = made;
    return OK;
}

/* Waits until something may have changed: a notice, or the time to look again. */
static void wait_for_change(struct watch *watch)
{
    struct pollfd notices = {.fd = watch->notices, .events = POLLIN};
    char buffer[4096] __attribute__((aligned(8)));
    if (poll(&notices, 1, LOOK_MS) > 0) {
        while (read(watch->notices, buffer, sizeof buffer) > 0) {
            /* what they say is not needed: the folder is looked at */
        }
        watch->look = true;
    }
}

/* A text file whose last byte is a line end, or a gzip file. */
static bool is_ended(const char *path, off_t size)
{
    size_t length = strlen(path);
    if (length > 3 && strcmp(path + length - 3, ".gz") == 0) {
        return size > 0;
    }
    char last = '\0';
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    bool read_it = fd >= 0 && size > 0 && pread(fd, &last, 1, size - 1) == 1;
    if (fd >= 0) {
        (void)close(fd);
    }
    return read_it && (last == '\n' || last == '\r');
}

/* The next file that is quiet. */
static enum watch_event find_quiet(struct watch *watch, const char **path)
{
    for (size_t i = 0; i < watch->count; i++) {
        struct seen *seen = &watch->files[i];
        if (seen->settled || now_ms() - seen->quiet_since_ms < QUIET_MS) {
            continue;
        }
        int used = snprintf(watch->path, sizeof watch->path, "%s/%s", watch->folder, seen->name);
        if (used < 0 || (size_t)used >= sizeof watch->path) {
            seen->settled = true;
            continue;
        }
        *path = watch->path;
        if (is_ended(watch->path, seen->size)) {
            seen->settled = true;
            return WATCH_LOG;
        }
        if (!seen->stalled) {
            seen->stalled = true;
            return WATCH_STALLED;
        }
    }
    return WATCH_NOTHING;
}

/* The folder may have been unmounted, moved or deleted; once it is there again it is watched anew. */
static enum watch_event lose_or_find(struct watch *watch, bool there)
{
    if (!there && !watch->gone) {
        watch->gone = true;
        return WATCH_GONE;
    }
    if (there && watch->gone) {
        watch->gone = false;
        if (watch->notices != NO_NOTICE) {
            (void)close(watch->notices);
            (void)ask_for_notices(watch);
        }
        return WATCH_BACK;
    }
    return WATCH_NOTHING;
}

enum status watch_next(struct watch *watch, enum watch_event *event, const char **path, struct faults *faults)
{
    *path = NULL;
    wait_for_change(watch);
    bool pending = watch->look || watch->gone || now_ms() - watch->looked_ms >= QUIET_MS;
    watch->look = false;
    if (pending) {
        enum status status = look(watch);
        if (status == E_MEMORY) {
            return faults_memory(faults);
        }
        *event = lose_or_find(watch, status == OK);
        if (*event != WATCH_NOTHING) {
            return OK;
        }
    }
    *event = watch->gone ? WATCH_NOTHING : find_quiet(watch, path);
    return OK;
}

void watch_stop(struct watch *watch)
{
    if (watch == NULL) {
        return;
    }
    if (watch->notices != NO_NOTICE) {
        (void)close(watch->notices);
    }
    for (size_t i = 0; i < watch->count; i++) {
        free(watch->files[i].name);
    }
    free(watch->files);
    free(watch->folder);
    free(watch);
}
