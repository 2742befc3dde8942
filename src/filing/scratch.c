#include "filing/scratch.h"

#include "base/files.h"
#include "filing/tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

static const char prefix[] = ".dutyproof-", mark_name[] = ".mark";
static const char mark_text[] = "A scratch folder of dutyproof: it is removed once the run that made it has ended.\n";

enum { ATTEMPTS = 100 };

static enum status cannot(struct faults *faults, const char *path, const char *what)
{
    return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be %s: %s", what, strerror(errno));
}

/* --- making --- */

/* Writes the mark and takes its lock. Returns: the open mark, or -1 with errno set. A sweep that came between finds
 * the mark without a lock and takes the folder: the mark then has no name any more, errno is ENOENT. */
static int make_mark(int folder)
{
    struct stat facts;
    int mark = openat(folder, mark_name, O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    bool good = mark >= 0 && write(mark, mark_text, sizeof mark_text - 1) == (ssize_t)sizeof mark_text - 1;
    if (good) {
        bool held = flock(mark, LOCK_EX | LOCK_NB) == 0;
        bool swept = !held && errno == EWOULDBLOCK;
        good = !swept && fstat(mark, &facts) == 0 && facts.st_nlink > 0;
        errno = good ? errno : ENOENT;
    }
    if (!good && mark >= 0) {
        int error = errno;
        (void)close(mark);
        errno = error;
    }
    return good ? mark : -1;
}

/* Returns: false with errno set; ENOENT: a sweep has taken it, try again. */
static bool make_marked(char *name, struct scratch *scratch)
{
    if (mkdtemp(name) == NULL) {
        return false;
    }
    int folder = tree_open(AT_FDCWD, name);
    int mark = folder >= 0 ? make_mark(folder) : -1, error = errno;
    if (mark < 0) {
        (void)unlinkat(folder, mark_name, 0);
        (void)rmdir(name);
    }
    if (folder >= 0) {
        (void)close(folder);
    }
    *scratch = mark < 0 ? (struct scratch){0} : (struct scratch){.path = name, .lock = mark};
    errno = error;
    return mark >= 0;
}

enum status scratch_make(const char *parent, struct arena *arena, struct scratch *scratch, struct faults *faults)
{
    *scratch = (struct scratch){0};
    for (int attempt = 0; attempt < ATTEMPTS; attempt++) {
        enum status status = folder_make(parent, faults);
        if (status != OK) {
            return status;
        }
        char *name = arena_format(arena, "%s/%sXXXXXX", parent, prefix);
        if (name == NULL) {
            return faults_memory(faults);
        }
        if (make_marked(name, scratch)) {
            return OK;
        }
        if (errno != ENOENT) {
            break;
        }
    }
    return cannot(faults, parent, "written to");
}

/* --- removing --- */

enum status scratch_remove(struct scratch *scratch, struct faults *faults)
{
    if (scratch->path == NULL) {
        return OK;
    }
    int folder = tree_open(AT_FDCWD, scratch->path);
    bool good = folder < 0 ? errno == ENOENT : tree_empty(folder, mark_name);
    good = good && (rmdir(scratch->path) == 0 || errno == ENOENT); /* a sweep may have taken the empty folder */
    enum status status = good ? OK : cannot(faults, scratch->path, "removed");
    (void)close(scratch->lock);
    *scratch = (struct scratch){0};
    return status;
}

void scratch_leave(struct scratch *scratch)
{
    if (scratch->path != NULL) {
        (void)close(scratch->lock);
    }
    *scratch = (struct scratch){0};
}

/* --- sweeping --- */

/* True for an open folder that holds nothing but a mark. */
static bool holds_mark_only(int folder)
{
    int again = tree_open(folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    bool only = entries != NULL;
    for (struct dirent *entry; only && (entry = readdir(entries)) != NULL;) {
        const char *name = entry->d_name;
        only = strcmp(name, ".") == 0 || strcmp(name, "..") == 0 || strcmp(name, mark_name) == 0;
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    return only;
}

/* A maker that ended while it wrote the mark has put nothing else into the folder. */
static bool is_our_mark(int folder, int mark)
{
    char text[sizeof mark_text] = "";
    struct stat facts;
    bool own = fstat(mark, &facts) == 0 && S_ISREG(facts.st_mode) && facts.st_uid == geteuid();
    ssize_t got = own ? read(mark, text, sizeof text) : -1;
    bool begun = got >= 0 && (size_t)got < sizeof mark_text && memcmp(text, mark_text, (size_t)got) == 0;
    return begun && ((size_t)got == sizeof mark_text - 1 || holds_mark_only(folder));
}

/* Opens the mark of a scratch folder and takes its lock. Returns: -1 when it is not ours, or its maker lives. */
static int take_mark(int folder)
{
    int mark = openat(folder, mark_name, O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    bool ours = mark >= 0 && is_our_mark(folder, mark) && flock(mark, LOCK_EX | LOCK_NB) == 0;
    if (mark >= 0 && !ours) {
        (void)close(mark);
    }
    return ours ? mark : -1;
}

struct sweep {
    int parent;
    bool (*is_needed)(void *context, const char *name);
    void *context;
};

/* Takes the descriptor of the folder over. */
static void sweep_folder(const struct sweep *sweep, int folder, const char *name)
{
    struct stat facts;
    bool mine = fstat(folder, &facts) == 0 && facts.st_uid == geteuid();
    int mark = mine ? take_mark(folder) : -1;
    bool forsaken = mark >= 0 && (sweep->is_needed == NULL || !sweep->is_needed(sweep->context, name));
    if (forsaken) {
        (void)tree_empty(folder, mark_name);
    } else {
        (void)close(folder);
    }
    if (mine) {
        (void)unlinkat(sweep->parent, name, AT_REMOVEDIR); /* it goes when it is empty */
    }
    if (mark >= 0) {
        (void)close(mark);
    }
}

void scratch_sweep(const char *parent, bool (*is_needed)(void *context, const char *name), void *context)
{
    DIR *entries = opendir(parent);
    struct sweep sweep = {entries != NULL ? dirfd(entries) : -1, is_needed, context};
    for (struct dirent *entry; entries != NULL && (entry = readdir(entries)) != NULL;) {
        bool named = strncmp(entry->d_name, prefix, sizeof prefix - 1) == 0;
        int folder = named ? tree_open(sweep.parent, entry->d_name) : -1;
        if (folder >= 0) {
            sweep_folder(&sweep, folder, entry->d_name);
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
}
