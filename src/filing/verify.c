#define _XOPEN_SOURCE 700 /* realpath */

#include "filing/verify.h"

#include "base/files.h"
#include "filing/judged.h"
#include "filing/revision.h"
#include "filing/seal.h"
#include "filing/tree.h"
#include "filing/unit_papers.h"
#include "papers/render.h"
#include "register/chain.h"
#include "register/find.h"
#include "run/asked.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LARGEST_DOCUMENT = 64 * 1024 * 1024 };

/* A register that was opened once. */
struct known_bay {
    const char *path;
    struct bay_register *book; /* NULL: it could not be opened */
    struct bay bay;
    bool readable; /* its tables */
    char why[FAULT_TEXT];
};

struct verification {
    const struct verify_order *order;
    struct arena arena;
    size_t bay_count;
    struct known_bay **bays;
    enum verified outcome;
    struct faults *faults;
};

static void tell(struct verification *work, enum verified outcome, const char *where, const char *fmt, ...)
    PRINTF_LIKE(4, 5);
static void tell(struct verification *work, enum verified outcome, const char *where, const char *fmt, ...)
{
    char text[4000];
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(text, sizeof text, fmt, arguments);
    va_end(arguments);
    work->outcome = outcome > work->outcome ? outcome : work->outcome;
    work->order->tell(work->order->listener, outcome, where, text);
}

/* --- bays --- */

/* Opens a bay once, and walks its register then. Returns: NULL when memory is out. */
static struct known_bay *bay_of(struct verification *work, const char *named)
{
    char *real = realpath(named, NULL);
    const char *path = real == NULL ? named : arena_text(&work->arena, real, strlen(real));
    struct faults faults = {0};
    free(real);
    if (path == NULL) {
        return NULL;
    }
    struct register_break found;
    long long rows = 0;
    for (size_t i = 0; i < work->bay_count; i++) {
        if (strcmp(work->bays[i]->path, path) == 0) {
            return work->bays[i];
        }
    }
    struct known_bay *bay = arena_alloc(&work->arena, 1, sizeof *bay), **place = NULL;
    place = bay == NULL ? NULL : arena_push(&work->arena, &work->bays, &work->bay_count, sizeof *place);
    if (place == NULL) {
        return NULL;
    }
    bay->path = path;
    *place = bay;
    if (register_open(&(struct register_request){.bay = path}, &bay->book, &faults) != OK) {
        (void)snprintf(bay->why, sizeof bay->why, "%s", faults.text[0]);
        return bay;
    }
    if (register_check(bay->book, &found, &rows, &faults) != OK) {
        tell(work, VERIFIED_NOT, register_file(bay->book), "cannot be walked: %s", faults.text[0]);
    } else if (found.broken) {
        tell(work, VERIFIED_DIFFERS, register_file(bay->book), "the chain is broken: %s%s%s", found.text,
             found.since[0] != '\0' ? "; whole up to the row of " : "", found.since);
    } else {
        tell(work, VERIFIED_SAME, register_file(bay->book), "the chain of %lld judgements is whole", rows);
    }
    faults = (struct faults){0};
    bay->readable = bay_read(path, &work->arena, &bay->bay, &faults) == OK;
    if (!bay->readable) {
        (void)snprintf(bay->why, sizeof bay->why, "%s", faults.text[0]);
    }
    return bay;
}

static bool is_file_in(const char *folder, const char *name)
{
    struct arena arena = {0};
    struct stat facts;
    const char *path = arena_format(&arena, "%s/%s", folder, name);
    bool is = path != NULL && stat(path, &facts) == 0 && S_ISREG(facts.st_mode);
    arena_release(&arena);
    return is;
}

/* The bay that a seal names: the way from OUT, which is one or three folders up. */
static const char *sealed_bay(struct verification *work, const char *folder, const struct seal *said)
{
    static const char *const ups[] = {"..", "../../.."};
    for (size_t i = 0; said->bay != NULL && i < sizeof ups / sizeof ups[0]; i++) {
        const char *path =
            said->bay[0] == '/' ? said->bay : arena_format(&work->arena, "%s/%s/%s", folder, ups[i], said->bay);
        if (path != NULL && is_file_in(path, "rig.csv")) {
            return path;
        }
    }
    return NULL;
}

/* The register that has the papers: of the bays that are named the one that knows the test. *bay NULL: none, and it is
 * told. */
static enum status choose_bay(struct verification *work, const char *folder, const struct seal *said,
                              const struct judgement *claimed, struct known_bay **bay)
{
    const struct verify_order *order = work->order;
    *bay = NULL;
    for (size_t i = 0; i < order->bay_count; i++) {
        struct judgement row;
        bool found = false;
        struct known_bay *one = bay_of(work, order->bays[i]);
        if (one == NULL) {
            return faults_memory(work->faults);
        }
        *bay = *bay == NULL ? one : *bay;
        if (one->book != NULL &&
            register_latest(one->book, claimed->serial, claimed->log_sha256, &work->arena, &row, &found,
                            &(struct faults){0}) == OK &&
            found) {
            *bay = one;
            return OK;
        }
    }
    if (order->bay_count > 0) {
        return OK;
    }
    const char *path = sealed_bay(work, folder, said), *inside = arena_format(&work->arena, "%s/x", folder);
    path = path == NULL && inside != NULL ? bay_find(inside, &work->arena) : path;
    if (path == NULL) {
        tell(work, VERIFIED_NOT, folder, "cannot be verified: which bay it is of is not known, name it with --bay");
        return OK;
    }
    *bay = bay_of(work, path);
    return *bay == NULL ? faults_memory(work->faults) : OK;
}

/* --- one set of papers --- */

struct papers_set {
    const char *folder;
    const char *only; /* this paper was asked for; NULL: all */
    struct seal said, actual;
    char *document;
    size_t length;
    struct judgement claimed; /* what the result document says */
    struct known_bay *bay;
    struct judgement row; /* what the register has */
    bool differs, document_differs;
};

static void differ(struct verification *work, struct papers_set *set, const char *name, const char *fmt, ...)
    PRINTF_LIKE(4, 5);
static void differ(struct verification *work, struct papers_set *set, const char *name, const char *fmt, ...)
{
    char text[2000], where[4000];
    if (set->only != NULL && name != NULL && strcmp(name, set->only) != 0) {
        return;
    }
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(text, sizeof text, fmt, arguments);
    va_end(arguments);
    (void)snprintf(where, sizeof where, "%s%s%s", set->folder, name != NULL ? "/" : "", name != NULL ? name : "");
    set->differs = true;
    tell(work, VERIFIED_DIFFERS, where, "%s", text);
}

static const char *digest_in(const struct seal *seal, const char *name)
{
    for (size_t i = 0; i < seal->count; i++) {
        if (strcmp(seal->papers[i].name, name) == 0) {
            return seal->papers[i].sha256;
        }
    }
    return NULL;
}

/* Finds the judgement that the papers are of. Where the register does not have their result, it has perhaps another of
 * the same test: then the document was changed. known false: there is none. */
static enum status find_row(struct verification *work, struct papers_set *set, bool *known)
{
    struct bay_register *book = set->bay->book;
    const char *sha256 = digest_in(&set->actual, "result.json");
    enum status status = register_of_result(book, sha256, &work->arena, &set->row, known, work->faults);
    if (status != OK || (*known && strcmp(set->row.serial, set->claimed.serial) == 0)) {
        return status;
    }
    const char *sealed = digest_in(&set->said, "result.json");
    if (sealed != NULL) {
        status = register_of_result(book, sealed, &work->arena, &set->row, known, work->faults);
    }
    if (status == OK && !*known) {
        status = register_latest(book, set->claimed.serial, set->claimed.log_sha256, &work->arena, &set->row, known,
                                 work->faults);
    }
    if (status != OK || !*known) {
        return status;
    }
    char *text = NULL;
    size_t length = 0;
    bool found = false;
    status = register_text(book, set->row.result_sha256, &work->arena, &text, &length, &found, work->faults);
    if (status == OK && found) {
        const char *what = judged_difference(set->document, set->length, text, length, &work->arena);
        set->document_differs = true;
        differ(work, set, "result.json", "is not what was judged on %s: %s", set->row.at,
               what == NULL || what[0] == '\0' ? "its bytes differ" : what);
    }
    return status;
}

/* The papers against their digests in the register. */
static enum status compare_papers(struct verification *work, struct papers_set *set)
{
    struct judgement_papers papers;
    struct seal kept = {0};
    bool found = false;
    enum status status = register_papers(set->bay->book, set->row.id, &work->arena, &papers, &found, work->faults);
    if (status != OK) {
        return status;
    }
    if (!found) {
        differ(work, set, NULL, "the register has no digests of these papers: run the command that makes them again");
        return OK;
    }
    if (seal_parse(papers.files, &work->arena, &kept) != OK) {
        return faults_memory(work->faults);
    }
    for (size_t i = 0; i < kept.count; i++) {
        const char *is = digest_in(&set->actual, kept.papers[i].name);
        if (is == NULL) {
            differ(work, set, kept.papers[i].name, "is missing: it was there on %s", papers.at);
        } else if (strcmp(is, kept.papers[i].sha256) != 0 &&
                   !(set->document_differs && strcmp(kept.papers[i].name, "result.json") == 0)) {
            differ(work, set, kept.papers[i].name, "is not as it was written on %s", papers.at);
        }
    }
    for (size_t i = 0; i < set->actual.count; i++) {
        if (digest_in(&kept, set->actual.papers[i].name) == NULL) {
            differ(work, set, set->actual.papers[i].name, "is no paper of %s: the register does not know it",
                   papers.at);
        }
    }
    return OK;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The folders in a folder, by name, as paths. */
static enum status list_folders(struct verification *work, const char *folder, const char ***paths, size_t *count)
{
    DIR *entries = opendir(folder);
    enum status status = OK;
    for (struct dirent *entry; status == OK && entries != NULL && (entry = readdir(entries)) != NULL;) {
        struct stat facts;
        const char *path = arena_format(&work->arena, "%s/%s", folder, entry->d_name);
        bool is = path != NULL && entry->d_name[0] != '.' && lstat(path, &facts) == 0 && S_ISDIR(facts.st_mode);
        const char **place = is ? arena_push(&work->arena, paths, count, sizeof *place) : NULL;
        status = path == NULL || (is && place == NULL) ? faults_memory(work->faults) : OK;
        if (place != NULL) {
            *place = path;
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    if (*count > 1) {
        qsort(*paths, *count, sizeof **paths, compare_names);
    }
    return status;
}

/* --- recomputing --- */

/* A file of a name below a folder; a row that was rebuilt from papers knows the log's name alone. */
static const char *search_log(struct verification *work, const char *folder, const char *name, int depth)
{
    const char **folders = NULL, *found = NULL;
    size_t count = 0;
    if (is_file_in(folder, name)) {
        return arena_format(&work->arena, "%s/%s", folder, name);
    }
    if (depth > 0 && list_folders(work, folder, &folders, &count) == OK) {
        for (size_t i = 0; i < count && found == NULL; i++) {
            found = search_log(work, folders[i], name, depth - 1);
        }
    }
    return found;
}

/* The log: where the order says, else where the register does. */
static const char *find_log(struct verification *work, const struct papers_set *set)
{
    enum { DEEPEST = 4 };
    const char *log = set->row.log;
    if (work->order->log != NULL) {
        return work->order->log;
    }
    const char *path = log[0] == '/' ? log : arena_format(&work->arena, "%s/%s", set->bay->path, log);
    if (path != NULL && strcmp(set->row.origin, REBUILT) == 0 && access(path, F_OK) != 0) {
        const char *found = search_log(work, set->bay->path, file_base(log), DEEPEST);
        path = found != NULL ? found : path;
    }
    return path;
}

static enum status fill_request(struct verification *work, const struct papers_set *set, struct unit_request *request)
{
    char rows[65] = "", text[65], *asked = NULL;
    size_t length = 0;
    bool found = false;
    if (!register_table_of(&set->row, "asked", rows, text) || rows[0] == '\0') {
        /* Rebuilt from papers: what was asked is not known, but to ask for what came of it gives the same. */
        request->serial = set->row.serial;
        request->model = set->row.model;
        request->tester = judged_text(set->document, set->length, "tester", &work->arena);
        request->remarks = judged_text(set->document, set->length, "remarks", &work->arena);
        (void)date_parse(set->row.tested, &request->tested);
        return OK;
    }
    enum status status = register_text(set->bay->book, rows, &work->arena, &asked, &length, &found, work->faults);
    return status == OK && found ? asked_read(asked, &work->arena, request) : status;
}

/* The texts of a recomputed result against the papers. */
static enum status compare_texts(struct verification *work, struct papers_set *set, const struct result *result)
{
    struct seal texts = {0};
    if (papers_texts(result, &work->arena, &texts) != OK) {
        return faults_memory(work->faults);
    }
    for (size_t i = 0; i < texts.count; i++) {
        const char *is = digest_in(&set->actual, texts.papers[i].name);
        if (is != NULL && strcmp(is, texts.papers[i].sha256) != 0) {
            differ(work, set, texts.papers[i].name, "is not what log and tables give");
        }
    }
    return OK;
}

/* A result as recomputed against that in the register; with: the tables that it was recomputed with, in words. */
static enum status compare_results(struct verification *work, struct papers_set *set, struct result *result,
                                   const char *with)
{
    char *document = NULL, hex[65];
    const char *changes = "";
    size_t length = 0;
    if (render_json(result, false, &document, &length) != OK) {
        return faults_memory(work->faults);
    }
    sha256_hex(document, length, hex);
    enum status status = OK;
    if (strcmp(hex, set->row.result_sha256) == 0) {
        status = ledger_issue(set->bay->book, &set->row, &work->arena, &result->issue, work->faults);
        status = status == OK ? compare_texts(work, set, result) : status;
    } else {
        status =
            revision_changes(set->bay->book, &set->row, result, document, length, &work->arena, &changes, work->faults);
        if (status == OK) {
            differ(work, set, NULL, "recomputed with %s it is another result; since it was judged on %s:\n%.*s", with,
                   set->row.at, (int)(strlen(changes) - (changes[0] != '\0')), changes);
        }
    }
    free(document);
    return status;
}

/* Reduces the log again in a bay. done false: it cannot be, and that is told. */
static enum status reduce_again(struct verification *work, struct papers_set *set, const struct bay *bay,
                                struct result *result, bool *done)
{
    struct faults faults = {0};
    struct unit_request request = {.log_path = find_log(work, set)};
    *done = false;
    enum status status = request.log_path == NULL ? faults_memory(work->faults) : fill_request(work, set, &request);
    if (status != OK) {
        return status;
    }
    if (access(request.log_path, R_OK) != 0) {
        differ(work, set, NULL, "its log '%.300s' cannot be read: %s", request.log_path, strerror(errno));
        return OK;
    }
    status = unit_reduce(bay, &request, &work->arena, result, &faults);
    if (status == E_MEMORY) {
        return faults_memory(work->faults);
    }
    if (status != OK) {
        differ(work, set, NULL, "its log gives no result any more: %s", faults.text[0]);
    } else if (strcmp(result->log.sha256, set->row.log_sha256) != 0) {
        differ(work, set, NULL, "its log '%.300s' is not the one that was judged on %s: it was changed",
               request.log_path, set->row.at);
    } else {
        *done = true;
        if (work->order->log != NULL) { /* it may have another name there */
            result->log.file = set->row.log;
        }
    }
    return OK;
}

/* --- the tables of its day --- */

/* Writes each table that the register has of a judgement into a folder. */
static enum status write_tables(struct verification *work, const struct papers_set *set, const char *folder,
                                struct faults *faults)
{
    enum status status = OK;
    char *names = arena_text(&work->arena, set->row.tables, strlen(set->row.tables)), *line;
    for (char *rest = names; names != NULL && status == OK && (line = strtok_r(rest, "\n", &rest)) != NULL;) {
        const char *space = strrchr(line, ' '), *name = space == NULL ? line : space + 1;
        char rows[65], sha256[65] = "", *text = NULL;
        size_t length = 0;
        bool found = false;
        if (!register_table_of(&set->row, name, rows, sha256) || sha256[0] == '\0' || strchr(name, '/') != NULL) {
            continue;
        }
        const char *path = arena_format(&work->arena, "%s/%s", folder, name);
        status = path == NULL ? faults_memory(faults)
                              : register_text(set->bay->book, sha256, &work->arena, &text, &length, &found, faults);
        status = status == OK && found ? file_write(path, text, length, faults) : status;
    }
    return names == NULL ? faults_memory(faults) : status;
}

static void remove_flat(const char *folder)
{
    struct arena arena = {0};
    DIR *entries = opendir(folder);
    for (struct dirent *entry; entries != NULL && (entry = readdir(entries)) != NULL;) {
        const char *path = entry->d_name[0] == '.' ? NULL : arena_format(&arena, "%s/%s", folder, entry->d_name);
        if (path != NULL) {
            (void)unlink(path); /* it is ours, and temporary: what stays harms nobody */
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    (void)rmdir(folder);
    arena_release(&arena);
}

/* Reads the bay as it was when a judgement was made. readable false: it cannot be, and that is told. */
static enum status read_bay_of_its_day(struct verification *work, struct papers_set *set, struct bay *bay,
                                       bool *readable)
{
    struct faults faults = {0};
    const char *parent = getenv("TMPDIR");
    char *folder =
        arena_format(&work->arena, "%s/dutyproof-XXXXXX", parent != NULL && parent[0] != '\0' ? parent : "/tmp");
    *readable = false;
    if (folder == NULL || mkdtemp(folder) == NULL) {
        tell(work, VERIFIED_NOT, set->folder, "the tables of its day cannot be written to a temporary folder: %s",
             strerror(errno));
        return OK;
    }
    enum status status = write_tables(work, set, folder, &faults);
    status = status == OK ? bay_read(folder, &work->arena, bay, &faults) : status;
    remove_flat(folder);
    *readable = status == OK;
    if (status != OK) {
        differ(work, set, NULL, "the tables that it was judged with cannot be read any more: %s", faults.text[0]);
    }
    return status == E_MEMORY ? faults_memory(work->faults) : OK;
}

/* Log and tables as they were must give the papers. done: they were recomputed so, and are the same. */
static enum status recompute_as_it_was(struct verification *work, struct papers_set *set, bool *same)
{
    struct bay *bay = arena_alloc(&work->arena, 1, sizeof *bay);
    struct result *result = arena_alloc(&work->arena, 1, sizeof *result);
    bool readable = false, done = false, differed = set->differs;
    *same = false;
    if (bay == NULL || result == NULL) {
        return faults_memory(work->faults);
    }
    enum status status = read_bay_of_its_day(work, set, bay, &readable);
    status = status == OK && readable ? reduce_again(work, set, bay, result, &done) : status;
    if (status != OK || !done) {
        return status;
    }
    set->differs = false;
    status = compare_results(work, set, result, "the tables of its day");
    *same = status == OK && !set->differs;
    set->differs = set->differs || differed;
    return status;
}

/* The tables as they are now: of the papers in front, nothing that they used may have changed. */
static enum status recompute_now(struct verification *work, struct papers_set *set)
{
    bool done = false;
    struct result *result = arena_alloc(&work->arena, 1, sizeof *result);
    if (result == NULL) {
        return faults_memory(work->faults);
    }
    if (!set->bay->readable) {
        differ(work, set, NULL, "its bay's tables cannot be read any more: %s", set->bay->why);
        return OK;
    }
    enum status status = reduce_again(work, set, &set->bay->bay, result, &done);
    return status == OK && done ? compare_results(work, set, result, "the tables as they are now") : status;
}

static enum status recompute(struct verification *work, struct papers_set *set)
{
    long long front = 0;
    bool same = true, as_it_was = set->row.tables[0] != '\0';
    enum status status = register_current(set->bay->book, set->row.serial, &front, work->faults);
    status = status == OK && as_it_was ? recompute_as_it_was(work, set, &same) : status;
    bool now = same && (front == set->row.id || !as_it_was);
    return status == OK && now ? recompute_now(work, set) : status;
}

/* Reads what lies in the folder. Returns: false when it is no set of papers: then it is told why. */
static bool read_set(struct verification *work, struct papers_set *set)
{
    int folder = tree_open(AT_FDCWD, set->folder);
    bool good = folder >= 0 && seal_of(folder, &work->arena, &set->actual);
    if (!good) {
        tell(work, VERIFIED_NOT, set->folder, "cannot be read: %s", strerror(errno));
    } else {
        (void)seal_read(folder, &work->arena, &set->said);
        good = tree_read(folder, "result.json", LARGEST_DOCUMENT, &work->arena, &set->document, &set->length);
        if (!good) {
            differ(work, set, NULL, "its result.json is missing");
        } else if (!judged_read(set->document, set->length, &work->arena, &set->claimed)) {
            good = false;
            differ(work, set, "result.json", "is no result document");
        }
    }
    if (folder >= 0) {
        (void)close(folder);
    }
    return good;
}

static enum status verify_set(struct verification *work, const char *folder, const char *only)
{
    struct papers_set set = {.folder = folder, .only = only};
    bool known = false;
    if (!read_set(work, &set)) {
        return OK;
    }
    enum status status = choose_bay(work, folder, &set.said, &set.claimed, &set.bay);
    if (status != OK || set.bay == NULL) {
        return status;
    }
    if (set.bay->book == NULL) {
        tell(work, VERIFIED_NOT, folder, "cannot be verified: %s", set.bay->why);
        return OK;
    }
    status = find_row(work, &set, &known);
    if (status == OK && !known) {
        differ(work, &set, NULL, "the register of '%.300s' has no judgement of serial '%.80s' with this log",
               set.bay->path, set.claimed.serial);
        return OK;
    }
    status = status == OK ? compare_papers(work, &set) : status;
    status = status == OK ? recompute(work, &set) : status;
    if (status == OK && !set.differs) {
        tell(work, VERIFIED_SAME, folder, "%s, revision %lld, judged on %s: as recomputed", set.row.verdict,
             set.row.revision, set.row.at);
    }
    return status;
}

/* --- folders --- */

/* The papers of a unit: those in front, and each set in its earlier/. */
static enum status verify_unit(struct verification *work, const char *folder)
{
    const char **sets = NULL, *earlier = arena_format(&work->arena, "%s/earlier", folder);
    size_t count = 0;
    enum status status = earlier == NULL ? faults_memory(work->faults) : verify_set(work, folder, NULL);
    status = status == OK ? list_folders(work, earlier, &sets, &count) : status;
    for (size_t i = 0; i < count && status == OK; i++) {
        if (strncmp(file_base(sets[i]), "altered-", 8) == 0) {
            tell(work, VERIFIED_SAME, sets[i], "set aside: papers that had been altered");
        } else {
            status = verify_set(work, sets[i], NULL);
        }
    }
    return status;
}

static enum status verify_out(struct verification *work, const char *folder)
{
    const char **units = NULL;
    size_t count = 0, verified = 0;
    enum status status = list_folders(work, folder, &units, &count);
    for (size_t i = 0; i < count && status == OK; i++) {
        if (is_file_in(units[i], "result.json") || is_file_in(units[i], SEAL_NAME)) {
            verified++;
            status = verify_unit(work, units[i]);
        }
    }
    if (status == OK && verified == 0) {
        tell(work, VERIFIED_NOT, folder, "holds no papers, no bay and no register");
    }
    return status;
}

/* --- a register --- */

/* The register's listener collects, so that nothing is recomputed while it is read. */
struct listed {
    struct arena *arena;
    size_t count;
    struct listed_papers {
        const char *folder, *at;
        long long id;
        bool written;
    } * items;
};

static enum status list_row(void *context, const struct found_judgement *found)
{
    struct listed *listed = context;
    struct listed_papers *item = arena_push(listed->arena, &listed->items, &listed->count, sizeof *item);
    if (item == NULL) {
        return E_MEMORY;
    }
    const char *folder = found->has_papers ? found->papers.folder : "";
    *item = (struct listed_papers){.id = found->judgement.id,
                                   .written = found->has_papers,
                                   .at = arena_text(listed->arena, found->judgement.at, strlen(found->judgement.at)),
                                   .folder = folder[0] == '/' || folder[0] == '\0'
                                                 ? arena_text(listed->arena, folder, strlen(folder))
                                                 : arena_format(listed->arena, "%s/%s", found->bay, folder)};
    return item->at == NULL || item->folder == NULL ? E_MEMORY : OK;
}

/* Every judgement of a register whose papers stand, each where the register says. */
static enum status verify_bay(struct verification *work, const char *path)
{
    struct known_bay *bay = bay_of(work, path);
    struct listed listed = {.arena = &work->arena};
    struct register_answer answer;
    if (bay == NULL) {
        return faults_memory(work->faults);
    }
    if (bay->book == NULL) {
        tell(work, VERIFIED_NOT, path, "cannot be verified: %s", bay->why);
        return OK;
    }
    enum status status = register_find(bay->book, &(struct register_question){0},
                                       (struct register_listener){&listed, list_row}, &answer, work->faults);
    for (size_t i = 0; i < listed.count && status == OK; i++) {
        const struct listed_papers *item = &listed.items[i];
        if (!item->written) {
            tell(work, VERIFIED_DIFFERS, register_file(bay->book), "judgement %lld of %s has no papers yet", item->id,
                 item->at);
        } else if (!is_file_in(item->folder, "result.json")) {
            tell(work, VERIFIED_DIFFERS, item->folder, "the papers of judgement %lld of %s are missing", item->id,
                 item->at);
        } else {
            status = verify_set(work, item->folder, NULL);
        }
    }
    return status == E_MEMORY ? faults_memory(work->faults) : status;
}

/* --- what a path is --- */

static enum status verify_file(struct verification *work, const char *path)
{
    const char *name = file_base(path);
    size_t length = (size_t)(name - path);
    const char *folder = length == 0 ? "." : arena_text(&work->arena, path, length > 1 ? length - 1 : length);
    if (folder == NULL) {
        return faults_memory(work->faults);
    }
    if (strcmp(name, "register.db") == 0) {
        return verify_bay(work, folder);
    }
    if (is_file_in(folder, "result.json") || is_file_in(folder, SEAL_NAME)) {
        return verify_set(work, folder, name);
    }
    tell(work, VERIFIED_NOT, path, "is no paper of a unit: name its folder, an OUT folder, a bay or a register");
    return OK;
}

static enum status verify(struct verification *work, const char *path)
{
    struct stat facts;
    if (stat(path, &facts) != 0) {
        tell(work, VERIFIED_NOT, path, "cannot be verified: %s", strerror(errno));
        return OK;
    }
    if (!S_ISDIR(facts.st_mode)) {
        return verify_file(work, path);
    }
    if (is_file_in(path, "result.json") || is_file_in(path, SEAL_NAME)) {
        return verify_unit(work, path);
    }
    return is_file_in(path, "rig.csv") || is_file_in(path, "register.db") ? verify_bay(work, path)
                                                                          : verify_out(work, path);
}

enum status verify_path(const struct verify_order *order, const char *path, enum verified *outcome,
                        struct faults *faults)
{
    struct verification work = {.order = order, .faults = faults};
    enum status status = verify(&work, path);
    for (size_t i = 0; i < work.bay_count; i++) {
        register_close(work.bays[i]->book);
    }
    *outcome = work.outcome;
    arena_release(&work.arena);
    return status;
}
