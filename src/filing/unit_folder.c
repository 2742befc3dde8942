#include "filing/unit_folder.h"

#include "base/files.h"
#include "base/text.h"
#include "filing/exchange.h"
#include "filing/tree.h"
#include "filing/unit_name.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <jansson.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

static const char result_name[] = "result.json", earlier[] = "earlier";

/* What ails the file system and not this unit alone. */
static bool is_general(int error)
{
    return error == ENOSPC || error == EDQUOT || error == EROFS || error == EFBIG || error == EMFILE ||
           error == ENFILE || error == ENOMEM;
}

static enum status cannot(const struct unit_folder *unit, const char *what, struct faults *faults)
{
    return faults_add(faults, is_general(errno) ? E_FILE : E_INPUT, (struct place){.file = unit->path},
                      "cannot be %s: %s", what, strerror(errno));
}

/* A path from OUT. Returns: NULL when memory is out. */
static const char *join(const struct unit_folder *unit, const char *folder, const char *name)
{
    return arena_format(unit->arena, "%s/%s", folder, name);
}

static bool exists(const struct unit_folder *unit, const char *path)
{
    struct stat facts;
    return fstatat(unit->out->folder, path, &facts, AT_SYMLINK_NOFOLLOW) == 0;
}

static void shut(int fd)
{
    if (fd >= 0) {
        (void)close(fd);
    }
}

/* --- what stands --- */

/* Opens the unit's folder. *folder is -1 when there is none. */
static enum status open_standing(const struct unit_folder *unit, int *folder, struct faults *faults)
{
    const struct place at = {.file = unit->path};
    struct stat facts;
    *folder = -1;
    if (fstatat(unit->out->folder, unit->name, &facts, AT_SYMLINK_NOFOLLOW) != 0) {
        return errno == ENOENT ? OK : cannot(unit, "read", faults);
    }
    if (S_ISLNK(facts.st_mode)) {
        return faults_add(faults, E_INPUT, at, "is a link: papers are not written through it, move it away");
    }
    if (!S_ISDIR(facts.st_mode)) {
        return faults_add(faults, E_INPUT, at, "is in the way: a folder is needed here");
    }
    *folder = tree_open(unit->out->folder, unit->name);
    if (*folder < 0) {
        return cannot(unit, "opened", faults);
    }
    if (fstatat(*folder, earlier, &facts, AT_SYMLINK_NOFOLLOW) == 0 && !S_ISDIR(facts.st_mode)) {
        return faults_add(faults, E_INPUT, at, "its '%s' is %s, a folder is needed there: move it away", earlier,
                          S_ISLNK(facts.st_mode) ? "a link" : "no folder");
    }
    return OK;
}

static enum status take_owner(struct unit_folder *unit, const json_t *root, struct faults *faults)
{
    struct unit_before *before = &unit->before;
    const char *serial = json_string_value(json_object_get(root, "serial"));
    const char *sha256 = json_string_value(json_object_get(json_object_get(root, "log"), "sha256"));
    const char *tested = json_string_value(json_object_get(root, "tested"));
    if (serial == NULL || sha256 == NULL || strlen(sha256) != 64 || strspn(sha256, "0123456789abcdef") != 64) {
        return faults_add(faults, E_INPUT, (struct place){.file = join(unit, unit->path, result_name)},
                          "is not a result document of this program: it is not overwritten, move it away");
    }
    if (tested == NULL || !date_parse(tested, &before->tested)) {
        before->tested = (struct date){0};
    }
    before->owned = true;
    before->serial = arena_text(unit->arena, serial, strlen(serial));
    before->log_sha256 = arena_text(unit->arena, sha256, strlen(sha256));
    return before->serial == NULL || before->log_sha256 == NULL ? faults_memory(faults) : OK;
}

static enum status read_owner(struct unit_folder *unit, int folder, struct faults *faults)
{
    enum { LARGEST_RESULT = 256 * 1024 * 1024 };
    struct arena scratch = {0};
    char *bytes = NULL;
    size_t length = 0;
    enum status status = OK;
    if (tree_read(folder, result_name, LARGEST_RESULT, &scratch, &bytes, &length)) {
        json_t *root = json_loadb(bytes, length, JSON_REJECT_DUPLICATES, NULL);
        status = take_owner(unit, root, faults);
        json_decref(root);
    } else if (errno != ENOENT) {
        status = faults_add(faults, E_INPUT, (struct place){.file = join(unit, unit->path, result_name)},
                            "cannot be read: %s", strerror(errno));
    }
    arena_release(&scratch);
    return status;
}

/* The result document holds the serial as it is, or made UTF-8. */
static bool same_serial(struct arena *arena, const char *stored, const char *serial)
{
    enum { LONGEST_SERIAL = 10000 };
    const char *shown = text_shown(arena, serial, LONGEST_SERIAL);
    return strcmp(stored, serial) == 0 || (shown != NULL && strcmp(stored, shown) == 0);
}

/* Keeps of what is there only what the seal names: the rest was put there by a person. */
static void keep_sealed(struct unit_before *before)
{
    size_t kept = 0;
    for (size_t i = 0; i < before->actual.count; i++) {
        for (size_t k = 0; k < before->said.count; k++) {
            if (strcmp(before->actual.papers[i].name, before->said.papers[k].name) == 0) {
                before->actual.papers[kept++] = before->actual.papers[i];
                break;
            }
        }
    }
    before->actual.count = kept;
}

static enum status read_papers(struct unit_folder *unit, int folder, struct faults *faults)
{
    struct unit_before *before = &unit->before;
    before->sealed = seal_read(folder, unit->arena, &before->said);
    if (!seal_of(folder, unit->arena, &before->actual)) {
        return cannot(unit, "read", faults);
    }
    if (before->sealed) {
        keep_sealed(before);
        before->altered = !seal_same(&before->said, &before->actual);
    } else if (!before->owned) {
        before->actual.count = 0; /* nobody's papers */
    }
    return OK;
}

static enum status look(struct unit_folder *unit, const char *name, struct faults *faults)
{
    int folder = -1;
    unit->before = (struct unit_before){0};
    unit->name = name;
    unit->path = name == NULL ? NULL : join(unit, unit->out->path, name);
    if (unit->path == NULL) {
        return faults_memory(faults);
    }
    enum status status = exchange_finish(unit->out, name, faults);
    if (status == OK) {
        status = open_standing(unit, &folder, faults);
    }
    if (status == OK && folder >= 0) {
        unit->before.there = true;
        status = read_owner(unit, folder, faults);
    }
    shut(folder);
    return status;
}

/* --- the folder's name --- */

/* True when OUT holds an entry that differs from name by the case of its letters only: on some file systems it is the
 * same. */
static bool has_twin(const struct out *out, const char *name)
{
    int again = tree_open(out->folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    bool twin = false;
    for (struct dirent *entry; entries != NULL && !twin && (entry = readdir(entries)) != NULL;) {
        twin = strcasecmp(entry->d_name, name) == 0 && strcmp(entry->d_name, name) != 0;
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    return twin;
}

static bool is_mine(const struct unit_folder *unit)
{
    return unit->before.owned && same_serial(unit->arena, unit->before.serial, unit->serial);
}

/* The plain name may be this serial's; then it is looked at already. */
static enum status try_plain(struct unit_folder *unit, const char *plain, bool wished, bool *taken,
                             struct faults *faults)
{
    *taken = false;
    if (unit_name_reserved(plain)) {
        return OK;
    }
    enum status status = look(unit, plain, faults);
    bool free_name = !unit->before.there && wished && !has_twin(unit->out, plain);
    bool nobodys = unit->before.there && !unit->before.owned && wished;
    *taken = status != OK || free_name || nobodys || is_mine(unit);
    return status;
}

/* The marked name is longer where even that is another serial's. */
static enum status try_marked(struct unit_folder *unit, struct faults *faults)
{
    for (int digits = UNIT_NAME_DIGITS; digits <= 64; digits *= 2) {
        enum status status = look(unit, unit_name_marked(unit->arena, unit->serial, digits), faults);
        if (status != OK || !unit->before.owned || is_mine(unit)) {
            return status;
        }
    }
    return faults_add(faults, E_INPUT, (struct place){.file = unit->path}, "holds the papers of serial '%.80s'",
                      unit->before.serial);
}

/* Who has a marked folder already stays there. */
static enum status choose(struct unit_folder *unit, const char *plain, const char *wish, struct faults *faults)
{
    const char *marked = unit_name_marked(unit->arena, unit->serial, UNIT_NAME_DIGITS);
    if (marked == NULL) {
        return faults_memory(faults);
    }
    bool taken = false;
    enum status status = OK;
    if (!exists(unit, marked)) {
        status = try_plain(unit, plain, wish == NULL || strcmp(wish, plain) == 0, &taken, faults);
    }
    return taken || status != OK ? status : try_marked(unit, faults);
}

static enum status read_standing(struct unit_folder *unit, struct faults *faults)
{
    if (!unit->before.there) {
        return OK;
    }
    int folder = tree_open(unit->out->folder, unit->name);
    enum status status = folder < 0 ? cannot(unit, "opened", faults) : read_papers(unit, folder, faults);
    shut(folder);
    return status;
}

enum status unit_folder_open(struct out *out, const char *serial, const char *name, struct arena *arena,
                             struct unit_folder *unit, struct faults *faults)
{
    *unit = (struct unit_folder){.out = out, .serial = serial, .arena = arena};
    const char *plain = unit_name_plain(arena, serial);
    const char *what = arena_format(arena, "unit '%.80s'", serial);
    if (plain == NULL || what == NULL) {
        return faults_memory(faults);
    }
    enum status status = out_lock(out, plain, what, faults);
    if (status != OK) {
        return status;
    }
    unit->locked = plain;
    status = choose(unit, plain, name, faults);
    return status == OK ? read_standing(unit, faults) : status;
}

void unit_folder_close(struct unit_folder *unit)
{
    for (size_t i = 0; i < unit->set_count; i++) { /* what cannot be removed goes with the scratch folder */
        if (unit->sets[i].staged != NULL && !unit->out->unfinished) {
            (void)tree_remove(unit->out->folder, unit->sets[i].staged);
        }
    }
    if (unit->locked != NULL) {
        out_unlock(unit->out, unit->locked);
    }
    *unit = (struct unit_folder){0};
}

/* --- what need not be made again --- */

/* True when a test of another log that stands in front is later than this one. */
static bool is_after(const struct unit_before *before, const struct unit_test *test)
{
    return before->owned && !before->altered && before->tested.known && test->tested.known &&
           strcmp(before->log_sha256, test->log_sha256) != 0 && date_compare(&test->tested, &before->tested) < 0;
}

/* --- staging --- */

enum status unit_folder_begin(struct unit_folder *unit, const struct unit_test *test, struct faults *faults)
{
    struct unit_set *set = arena_push(unit->arena, &unit->sets, &unit->set_count, sizeof *set);
    if (set == NULL) {
        return faults_memory(faults);
    }
    *set = (struct unit_set){.test = *test, .seal.bay = test->bay};
    return out_stage_folder(unit->out, unit->arena, &set->staged, faults);
}

void unit_folder_drop(struct unit_folder *unit)
{
    unit->set_count--;
    (void)tree_remove(unit->out->folder, unit->sets[unit->set_count].staged);
}

static enum status write_staged(struct unit_folder *unit, const char *name, const void *bytes, size_t length,
                                struct faults *faults)
{
    const char *path = join(unit, unit->out->path, unit->sets[unit->set_count - 1].staged);
    const char *file = path == NULL ? NULL : join(unit, path, name);
    return file == NULL ? faults_memory(faults) : file_stage(file, bytes, length, faults);
}

enum status unit_folder_stage(struct unit_folder *unit, const char *name, const void *bytes, size_t length,
                              struct faults *faults)
{
    char hex[65];
    enum status status = write_staged(unit, name, bytes, length, faults);
    sha256_hex(bytes, length, hex);
    if (status == OK && seal_add(&unit->sets[unit->set_count - 1].seal, unit->arena, name, hex) != OK) {
        status = faults_memory(faults);
    }
    return status;
}

/* --- settling --- */

/* What settle works with. */
struct settling {
    struct unit_folder *unit;
    struct unit_set *front; /* NULL: what stands stays in front */
    const char *front_key;  /* what the papers in front would be called in earlier/ */
    const char *old_key;    /* and those that stand */
    int old, new;           /* the folders, open; -1: not there */
    int old_earlier, new_earlier;
    struct faults *faults;
};

/* DATE-DIGITS. Returns: NULL when memory is out. */
static const char *key_of(struct arena *arena, const struct seal *seal, const struct date *tested, bool altered)
{
    enum { DIGITS = 16 };
    char hex[65], day[32] = "undated";
    if (tested->known) {
        (void)snprintf(day, sizeof day, "%04d-%02d-%02d", tested->year, tested->month, tested->day);
    }
    bool good = seal_digest(seal, hex) == OK;
    return good ? arena_format(arena, "%s%s-%.*s", altered ? "altered-" : "", day, DIGITS, hex) : NULL;
}

/* True when a folder in earlier/ holds just these papers. */
static bool keeps(int in, const char *key, const struct seal *seal, struct arena *arena)
{
    struct seal there;
    int folder = in >= 0 ? tree_open(in, key) : -1;
    bool same = folder >= 0 && seal_of(folder, arena, &there) && seal_same(&there, seal);
    shut(folder);
    return same;
}

bool unit_folder_holds(const struct unit_folder *unit, const struct unit_test *test, const struct seal *seal)
{
    const struct unit_before *before = &unit->before;
    if (!test->superseded && !is_after(before, test)) {
        return before->sealed && !before->altered && seal_same(&before->actual, seal);
    }
    const char *key = key_of(unit->arena, seal, &test->tested, false), *path = join(unit, unit->path, earlier);
    int folder = key == NULL || path == NULL ? -1 : tree_open(AT_FDCWD, path);
    bool holds = folder >= 0 && keeps(folder, key, seal, unit->arena);
    shut(folder);
    return holds;
}

/* The front's own papers may lie in earlier/ from before: they need not lie there twice. */
static bool is_front_again(const struct settling *work, const char *key)
{
    return work->front != NULL && strcmp(key, work->front_key) == 0 &&
           keeps(work->old_earlier, key, &work->front->seal, work->unit->arena);
}

static enum status trouble(const struct settling *work, const char *what)
{
    return cannot(work->unit, what, work->faults);
}

static enum status bring(const struct settling *work, int from, const char *name, int to)
{
    return tree_bring(from, name, to, name)
               ? OK
               : faults_add(work->faults, is_general(errno) ? E_FILE : E_INPUT,
                            (struct place){.file = join(work->unit, work->unit->path, name)}, "cannot be kept: %s",
                            errno == EINVAL ? "it is neither a file nor a folder, move it away" : strerror(errno));
}

static int make_in(int parent, const char *name)
{
    return mkdirat(parent, name, 0777) == 0 || errno == EEXIST ? tree_open(parent, name) : -1;
}

/* The folder earlier/KEY for papers that are to be kept there, under a longer name where another has this one.
 * *folder: -1 when just these papers are there already. */
static enum status make_kept(const struct settling *work, const char **key, const struct seal *seal, int *folder)
{
    *folder = -1;
    for (int more = 2; more < 100; more++) {
        if (keeps(work->new_earlier, *key, seal, work->unit->arena)) {
            return OK;
        }
        if (mkdirat(work->new_earlier, *key, 0777) == 0) {
            *folder = tree_open(work->new_earlier, *key);
            return *folder >= 0 ? OK : trouble(work, "written");
        }
        if (errno != EEXIST) {
            return trouble(work, "written");
        }
        *key = arena_format(work->unit->arena, "%s-%d", *key, more);
        if (*key == NULL) {
            return faults_memory(work->faults);
        }
    }
    return trouble(work, "written");
}

static bool names(const struct seal *seal, const char *name)
{
    for (size_t i = 0; i < seal->count; i++) {
        if (strcmp(seal->papers[i].name, name) == 0) {
            return true;
        }
    }
    return false;
}

/* True for a paper of what stands, its seal, and a file whose name a new paper needs. */
static bool is_old_paper(const struct settling *work, const char *name)
{
    const struct unit_before *before = &work->unit->before;
    return strcmp(name, SEAL_NAME) == 0 || names(&before->actual, name) || names(&before->said, name) ||
           (work->front != NULL && names(&work->front->seal, name));
}

static enum status bring_earlier(struct settling *work, const char *key)
{
    return is_front_again(work, key) ? OK : bring(work, work->old_earlier, key, work->new_earlier);
}

static enum status each_entry(struct settling *work, int folder, enum status (*take)(struct settling *, const char *))
{
    int again = tree_open(folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    enum status status = entries == NULL ? trouble(work, "read") : OK;
    for (struct dirent *entry; status == OK && (entry = readdir(entries)) != NULL;) {
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            status = take(work, entry->d_name);
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    return status;
}

static enum status remember(struct settling *work, const char *name)
{
    struct unit_folder *unit = work->unit;
    const char *copy = arena_text(unit->arena, name, strlen(name));
    const char **seen = copy == NULL ? NULL : arena_push(unit->arena, &unit->seen, &unit->seen_count, sizeof *seen);
    if (seen == NULL) {
        return faults_memory(work->faults);
    }
    *seen = copy;
    return OK;
}

/* What is no paper stays where it is; papers stay when nothing comes in front of them. */
static enum status bring_beside(struct settling *work, const char *name)
{
    enum status status = remember(work, name);
    bool stays = strcmp(name, earlier) != 0 && (work->front == NULL || !is_old_paper(work, name));
    return status == OK && stays ? bring(work, work->old, name, work->new) : status;
}

static enum status keep_papers(struct settling *work, int folder)
{
    enum status status = OK;
    for (size_t i = 0; i < work->unit->seen_count && status == OK; i++) {
        if (is_old_paper(work, work->unit->seen[i])) {
            status = bring(work, work->old, work->unit->seen[i], folder);
        }
    }
    return status;
}

/* The papers that stand go to earlier/, unless they are those of the new front to the letter. */
static enum status keep_standing(struct settling *work)
{
    struct unit_folder *unit = work->unit;
    int folder = -1;
    bool none = true;
    for (size_t i = 0; i < unit->seen_count; i++) {
        none = none && !is_old_paper(work, unit->seen[i]);
    }
    if (work->front == NULL || none ||
        (strcmp(work->old_key, work->front_key) == 0 && !unit->before.altered &&
         seal_same(&unit->before.actual, &work->front->seal))) {
        return OK;
    }
    enum status status = make_kept(work, &work->old_key, &unit->before.actual, &folder);
    if (status == OK && folder >= 0) {
        status = keep_papers(work, folder);
    }
    shut(folder);
    unit->kept = status == OK ? arena_format(unit->arena, "%s/%s/%s", unit->path, earlier, work->old_key) : NULL;
    return status == OK && unit->kept == NULL ? faults_memory(work->faults) : status;
}

/* A set that is not in front moves into the new earlier/. */
static enum status place_set(struct settling *work, struct unit_set *set)
{
    struct unit_folder *unit = work->unit;
    const char *key = key_of(unit->arena, &set->seal, &set->test.tested, false);
    int folder = -1;
    if (key == NULL) {
        return faults_memory(work->faults);
    }
    enum status status = make_kept(work, &key, &set->seal, &folder);
    if (status == OK && folder >= 0 &&
        renameat(unit->out->folder, set->staged, work->new_earlier, key) != 0) { /* over the empty folder */
        status = trouble(work, "written");
    }
    if (folder >= 0) {
        set->staged = NULL;
    }
    shut(folder);
    set->folder = arena_format(unit->arena, "%s/%s/%s", unit->path, earlier, key);
    return status == OK && set->folder == NULL ? faults_memory(work->faults) : status;
}

static enum status place_sets(struct settling *work)
{
    enum status status = OK;
    for (size_t i = 0; i < work->unit->set_count && status == OK; i++) {
        if (&work->unit->sets[i] != work->front) {
            status = place_set(work, &work->unit->sets[i]);
        }
    }
    return status;
}

/* --- what is to be in front, and whether anything changes --- */

static struct unit_set *find_front(struct unit_folder *unit)
{
    struct unit_set *front = NULL;
    for (size_t i = 0; i < unit->set_count; i++) {
        front = unit->sets[i].test.superseded ? front : &unit->sets[i];
    }
    unit->later_in_front = front != NULL && is_after(&unit->before, &front->test);
    return unit->later_in_front ? NULL : front;
}

/* The same papers stand in front; a seal that says more than the new one is left. */
static bool front_stands(const struct settling *work)
{
    const struct unit_before *before = &work->unit->before;
    const struct seal *seal = &work->front->seal;
    bool said = seal->bay == NULL || (before->said.bay != NULL && strcmp(before->said.bay, seal->bay) == 0);
    return before->sealed && !before->altered && said && seal_same(&before->said, seal);
}

static bool all_stand(const struct settling *work)
{
    const struct unit_folder *unit = work->unit;
    bool all = work->front == NULL || front_stands(work);
    for (size_t i = 0; i < unit->set_count && all; i++) {
        const struct unit_set *set = &unit->sets[i];
        const char *key = key_of(unit->arena, &set->seal, &set->test.tested, false);
        all = set == work->front || (key != NULL && keeps(work->old_earlier, key, &set->seal, unit->arena));
    }
    return all;
}

static enum status name_standing_sets(const struct settling *work)
{
    struct unit_folder *unit = work->unit;
    bool good = true;
    for (size_t i = 0; i < unit->set_count; i++) {
        struct unit_set *set = &unit->sets[i];
        const char *key = key_of(unit->arena, &set->seal, &set->test.tested, false);
        set->folder = set == work->front ? unit->path : arena_format(unit->arena, "%s/%s/%s", unit->path, earlier, key);
        good = good && set->folder != NULL;
    }
    return good ? OK : faults_memory(work->faults);
}

static bool same_mode(const struct settling *work)
{
    struct stat facts;
    return work->old < 0 || (fstat(work->old, &facts) == 0 && fchmod(work->new, facts.st_mode & 07777) == 0);
}

static enum status open_new(struct settling *work)
{
    struct unit_folder *unit = work->unit;
    if (work->front != NULL) {
        unit->staged = work->front->staged;
        work->front->staged = NULL;
        work->front->folder = unit->path;
    } else {
        enum status status = out_stage_folder(unit->out, unit->arena, &unit->staged, work->faults);
        if (status != OK) {
            return status;
        }
    }
    work->new = tree_open(unit->out->folder, unit->staged);
    return work->new >= 0 && same_mode(work) ? OK : trouble(work, "written");
}

static enum status build(struct settling *work)
{
    struct unit_folder *unit = work->unit;
    enum status status = open_new(work);
    if (status == OK && (unit->before.there || unit->set_count > 1 || work->front == NULL)) {
        work->new_earlier = make_in(work->new, earlier);
        status = work->new_earlier >= 0 ? OK : trouble(work, "written");
    }
    if (status == OK && work->old_earlier >= 0) {
        status = each_entry(work, work->old_earlier, bring_earlier);
    }
    if (status == OK && work->old >= 0) {
        status = each_entry(work, work->old, bring_beside);
        status = status == OK ? keep_standing(work) : status;
    }
    status = status == OK ? place_sets(work) : status;
    (void)unlinkat(work->new, earlier, AT_REMOVEDIR); /* it goes when it is empty */
    return status;
}

static enum status seal_sets(struct unit_folder *unit, struct faults *faults)
{
    enum status status = OK;
    for (size_t i = 0; i < unit->set_count && status == OK; i++) {
        const struct unit_set *set = &unit->sets[i];
        const char *text = seal_text(&set->seal, unit->arena);
        const char *file = arena_format(unit->arena, "%s/%s/%s", unit->out->path, set->staged, SEAL_NAME);
        status = text == NULL || file == NULL ? faults_memory(faults) : file_stage(file, text, strlen(text), faults);
    }
    return status;
}

static enum status settle(struct settling *work)
{
    struct unit_folder *unit = work->unit;
    const struct unit_before *before = &unit->before;
    work->front = find_front(unit);
    work->old = before->there ? tree_open(unit->out->folder, unit->name) : -1;
    work->old_earlier = work->old >= 0 ? tree_open(work->old, earlier) : -1;
    work->old_key = key_of(unit->arena, &before->actual, &before->tested, before->altered);
    work->front_key =
        work->front == NULL ? "" : key_of(unit->arena, &work->front->seal, &work->front->test.tested, false);
    if (work->old_key == NULL || work->front_key == NULL) {
        return faults_memory(work->faults);
    }
    unit->changed = !all_stand(work);
    return unit->changed ? build(work) : name_standing_sets(work);
}

enum status unit_folder_settle(struct unit_folder *unit, struct faults *faults)
{
    struct settling work = {.unit = unit, .old = -1, .new = -1, .old_earlier = -1, .new_earlier = -1, .faults = faults};
    enum status status = seal_sets(unit, faults);
    status = status == OK ? settle(&work) : status;
    shut(work.old);
    shut(work.new);
    shut(work.old_earlier);
    shut(work.new_earlier);
    return status;
}

/* --- placing --- */

/* What a person put into the folder since it was looked at moves to the new one. */
static bool rescue(const struct unit_folder *unit, int old, int new, const char *name)
{
    struct stat facts;
    for (size_t i = 0; i < unit->seen_count; i++) {
        if (strcmp(unit->seen[i], name) == 0) {
            return true;
        }
    }
    return fstatat(new, name, &facts, AT_SYMLINK_NOFOLLOW) == 0 || renameat(old, name, new, name) == 0;
}

/* The old folder goes once nothing is in it that was not brought. */
static bool drop_old(const struct unit_folder *unit, const char *path)
{
    int old = tree_open(unit->out->folder, path), new = tree_open(unit->out->folder, unit->name);
    int again = old >= 0 ? tree_open(old, ".") : -1;
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    bool good = entries != NULL && new >= 0;
    for (struct dirent *entry; good && (entry = readdir(entries)) != NULL;) {
        bool dots = strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0;
        good = dots || rescue(unit, old, new, entry->d_name);
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    shut(old);
    shut(new);
    return good && tree_remove(unit->out->folder, path);
}

static enum status exchange_all(struct unit_folder *units, size_t count, const char **olds, struct faults *faults)
{
    enum status status = OK;
    for (size_t i = 0; i < count && status == OK; i++) {
        if (units[i].changed) {
            status = exchange(units[i].out, units[i].staged, units[i].name, units[i].arena, &olds[i], faults);
        }
    }
    return status;
}

enum status unit_folders_place(struct unit_folder *units, size_t count, struct faults *faults)
{
    size_t changed = 0;
    for (size_t i = 0; i < count; i++) {
        changed += units[i].changed;
    }
    const char **olds = changed > 0 ? arena_alloc(units[0].arena, count, sizeof *olds) : NULL;
    if (olds == NULL) {
        return changed > 0 ? faults_memory(faults) : OK;
    }
    enum status status = files_sync(units[0].out->path, faults);
    status = status == OK ? exchange_all(units, count, olds, faults) : status;
    status = status == OK ? files_sync(units[0].out->path, faults) : status;
    for (size_t i = 0; i < count && status == OK; i++) {
        if (olds[i] != NULL && !drop_old(&units[i], olds[i])) {
            status = cannot(&units[i], "cleared of what stood before", faults);
        }
    }
    return status;
}
