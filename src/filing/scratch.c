#include "filing/scratch.h"

#include "base/files.h"

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

enum { LOOK = O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC, DEEPEST = 16, ATTEMPTS = 100 };

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
    int folder = open(name, LOOK);
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

static bool remove_entry(int folder, const struct stat *of, const char *name, int depth);

/* Removes what a folder holds, the mark last, so that a removal that is cut short can be taken up. Takes the descriptor
 * over. */
static bool empty_folder(int folder, int depth)
{
    struct stat of;
    DIR *entries = fstat(folder, &of) == 0 && depth < DEEPEST ? fdopendir(folder) : NULL;
    if (entries == NULL) {
        (void)close(folder);
        return false;
    }
    bool good = true;
    for (struct dirent *entry; (entry = readdir(entries)) != NULL;) {
        const char *name = entry->d_name;
        bool stays = strcmp(name, ".") == 0 || strcmp(name, "..") == 0 || strcmp(name, mark_name) == 0;
        good = (stays || remove_entry(folder, &of, name, depth)) && good;
    }
    good = good && (unlinkat(folder, mark_name, 0) == 0 || errno == ENOENT);
    (void)closedir(entries);
    return good;
}

/* A link is removed itself; another file system, mounted in here, is left alone. */
static bool remove_entry(int folder, const struct stat *of, const char *name, int depth)
{
    struct stat facts;
    if (fstatat(folder, name, &facts, AT_SYMLINK_NOFOLLOW) != 0) {
        return errno == ENOENT;
    }
    if (!S_ISDIR(facts.st_mode)) {
        return unlinkat(folder, name, 0) == 0;
    }
    int inner = facts.st_dev == of->st_dev ? openat(folder, name, LOOK) : -1;
    return inner >= 0 && empty_folder(inner, depth + 1) && unlinkat(folder, name, AT_REMOVEDIR) == 0;
}

enum status scratch_remove(struct scratch *scratch, struct faults *faults)
{
    if (scratch->path == NULL) {
        return OK;
    }
    int folder = open(scratch->path, LOOK);
    bool good = folder < 0 ? errno == ENOENT : empty_folder(folder, 0);
    good = good && (rmdir(scratch->path) == 0 || errno == ENOENT); /* a sweep may have taken the empty folder */
    enum status status = good ? OK : cannot(faults, scratch->path, "removed");
    (void)close(scratch->lock);
    *scratch = (struct scratch){0};
    return status;
}

/* --- sweeping --- */

/* Opens the mark of a scratch folder and takes its lock. Returns: -1 when it is not ours, or its maker lives. */
static int take_mark(int folder)
{
    char text[sizeof mark_text] = "";
    struct stat facts;
    int mark = openat(folder, mark_name, O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    bool ours = mark >= 0 && fstat(mark, &facts) == 0 && S_ISREG(facts.st_mode) && facts.st_uid == geteuid() &&
                read(mark, text, sizeof text) == (ssize_t)sizeof mark_text - 1 && strcmp(text, mark_text) == 0 &&
                flock(mark, LOCK_EX | LOCK_NB) == 0;
    if (mark >= 0 && !ours) {
        (void)close(mark);
    }
    return ours ? mark : -1;
}

static void sweep_one(int parent, const char *name)
{
    struct stat facts;
    int folder = openat(parent, name, LOOK);
    if (folder < 0 || fstat(folder, &facts) != 0 || facts.st_uid != geteuid()) {
        if (folder >= 0) {
            (void)close(folder);
        }
        return;
    }
    int mark = take_mark(folder);
    if (mark < 0) {
        (void)close(folder);
    } else {
        (void)empty_folder(folder, 0);
    }
    (void)unlinkat(parent, name, AT_REMOVEDIR); /* it goes when it is empty */
    if (mark >= 0) {
        (void)close(mark);
    }
}

void scratch_sweep(const char *parent)
{
    DIR *folder = opendir(parent);
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        if (strncmp(entry->d_name, prefix, sizeof prefix - 1) == 0) {
            sweep_one(dirfd(folder), entry->d_name);
        }
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
}
