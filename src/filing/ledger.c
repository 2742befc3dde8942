#define _XOPEN_SOURCE 700 /* realpath */

#include "filing/ledger.h"

#include "base/files.h"
#include "filing/judged.h"
#include "filing/revision.h"
#include "filing/tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LARGEST_DOCUMENT = 64 * 1024 * 1024 };

/* --- paths --- */

/* A path relative to the bay where it lies in it, else from the root; as it is where it cannot be resolved. */
static const char *from_bay(const struct ledger *ledger, const char *path, struct arena *arena)
{
    char *real = realpath(path, NULL);
    size_t length = strlen(ledger->bay_path);
    const char *shown = real == NULL ? path : real;
    if (real != NULL && strncmp(real, ledger->bay_path, length) == 0 && real[length] == '/') {
        shown = real + length + 1;
    }
    const char *copy = arena_text(arena, shown, strlen(shown));
    free(real);
    return copy;
}

/* --- papers that the register does not know --- */

/* Papers that stand, to be entered. */
struct adopted {
    struct judgement_order order;
    const char *folder;
    struct seal seal;
};

/* Reads OUT/.../result.json of a folder; found false: there is none, or it is no result document of this bay. */
static void read_document(const struct ledger *ledger, int folder, struct arena *arena, struct judgement_order *order,
                          bool *found)
{
    char *text = NULL;
    size_t length = 0;
    struct judgement row = {0};
    *found = false;
    if (!tree_read(folder, "result.json", LARGEST_DOCUMENT, arena, &text, &length)) {
        return;
    }
    const char *bay = judged_text(text, length, "bay", arena);
    if (!judged_read(text, length, arena, &row) || bay == NULL || strcmp(bay, ledger->bay->rig.name) != 0) {
        return;
    }
    row.origin = REBUILT;
    row.revision = 1;
    *order = (struct judgement_order){.judgement = row, .document = text, .document_length = length};
    *found = true;
}

/* Known: some judgement of this serial's log. Papers that the register has judged otherwise are altered ones, and no
 * news. */
static enum status adopt_folder(struct ledger *ledger, int folder, const char *path, struct arena *arena,
                                struct adopted **list, size_t *count, struct faults *faults)
{
    struct judgement_order order;
    struct judgement known;
    bool found = false, is_known = false;
    read_document(ledger, folder, arena, &order, &found);
    enum status status = !found ? OK
                                : register_latest(ledger->book, order.judgement.serial, order.judgement.log_sha256,
                                                  arena, &known, &is_known, faults);
    if (status != OK || !found || is_known) {
        return status;
    }
    for (size_t i = 0; i < *count; i++) { /* two versions of one test: the second is a revision of the first */
        const struct judgement *other = &(*list)[i].order.judgement;
        order.judgement.revision += strcmp(other->serial, order.judgement.serial) == 0 &&
                                    strcmp(other->log_sha256, order.judgement.log_sha256) == 0;
    }
    struct adopted *place = arena_push(arena, list, count, sizeof *place);
    if (place == NULL) {
        return faults_memory(faults);
    }
    *place = (struct adopted){.order = order, .folder = path};
    return seal_of(folder, arena, &place->seal)
               ? OK
               : faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be read: %s", strerror(errno));
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The folders in an open folder, by name. Returns: false when memory is out. */
static bool list_folders(int folder, struct arena *arena, const char ***names, size_t *count)
{
    int again = tree_open(folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    bool good = true;
    for (struct dirent *entry; good && entries != NULL && (entry = readdir(entries)) != NULL;) {
        struct stat facts;
        if (entry->d_name[0] == '.' || fstatat(folder, entry->d_name, &facts, AT_SYMLINK_NOFOLLOW) != 0 ||
            !S_ISDIR(facts.st_mode)) {
            continue;
        }
        const char *name = arena_text(arena, entry->d_name, strlen(entry->d_name));
        const char **place = name == NULL ? NULL : arena_push(arena, names, count, sizeof **names);
        good = place != NULL;
        if (good) {
            *place = name;
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    if (*count > 1) {
        qsort(*names, *count, sizeof **names, compare_names);
    }
    return good;
}

/* The papers of a unit: those in earlier/ first. */
static enum status adopt_unit(struct ledger *ledger, int unit, const char *path, struct arena *arena,
                              struct adopted **list, size_t *count, struct faults *faults)
{
    const char **names = NULL;
    size_t name_count = 0;
    int earlier = tree_open(unit, "earlier");
    enum status status = earlier < 0 || list_folders(earlier, arena, &names, &name_count) ? OK : faults_memory(faults);
    for (size_t i = 0; i < name_count && status == OK; i++) {
        int folder = strncmp(names[i], "altered-", 8) == 0 ? -1 : tree_open(earlier, names[i]);
        if (folder >= 0) {
            const char *inside = arena_format(arena, "%s/earlier/%s", path, names[i]);
            status = inside == NULL ? faults_memory(faults)
                                    : adopt_folder(ledger, folder, inside, arena, list, count, faults);
            (void)close(folder);
        }
    }
    if (earlier >= 0) {
        (void)close(earlier);
    }
    return status == OK ? adopt_folder(ledger, unit, path, arena, list, count, faults) : status;
}

static enum status enter_one_adopted(struct ledger *ledger, const struct adopted *adopted, struct arena *arena,
                                     struct faults *faults)
{
    struct judgement_papers papers = {.folder = from_bay(ledger, adopted->folder, arena),
                                      .files = seal_text(&adopted->seal, arena)};
    if (papers.folder == NULL || papers.files == NULL) {
        return faults_memory(faults);
    }
    enum status status = register_add(ledger->book, &adopted->order, &papers.judgement, faults);
    return status == OK ? register_add_papers(ledger->book, &papers, faults) : status;
}

/* What stands already is entered at once, as a group of its own. */
static enum status enter_adopted(struct ledger *ledger, const struct adopted *list, size_t count, struct arena *arena,
                                 struct faults *faults)
{
    enum status status = count == 0 ? OK : register_begin(ledger->book, faults);
    for (size_t i = 0; i < count && status == OK; i++) {
        status = enter_one_adopted(ledger, &list[i], arena, faults);
    }
    status = status == OK && count > 0 ? register_commit(ledger->book, faults) : status;
    register_abandon(ledger->book);
    return status;
}

/* A new register: all of the bay's papers in OUT. */
static enum status adopt_out(struct ledger *ledger, const char *out_path, struct faults *faults)
{
    struct arena arena = {0};
    struct adopted *list = NULL;
    const char **names = NULL;
    size_t count = 0, name_count = 0;
    int out = tree_open(AT_FDCWD, out_path);
    if (out < 0) {
        return OK; /* nothing stands there */
    }
    enum status status = list_folders(out, &arena, &names, &name_count) ? OK : faults_memory(faults);
    for (size_t i = 0; i < name_count && status == OK; i++) {
        int unit = tree_open(out, names[i]);
        if (unit >= 0) {
            const char *path = arena_format(&arena, "%s/%s", out_path, names[i]);
            status =
                path == NULL ? faults_memory(faults) : adopt_unit(ledger, unit, path, &arena, &list, &count, faults);
            (void)close(unit);
        }
    }
    (void)close(out);
    status = status == OK ? enter_adopted(ledger, list, count, &arena, faults) : status;
    arena_release(&arena);
    return status;
}

/* --- opening --- */

enum status ledger_open(const struct bay *bay, const char *out_path, struct ledger *ledger, struct faults *faults)
{
    *ledger = (struct ledger){.bay = bay};
    char *real = realpath(bay->folder, NULL);
    ledger->bay_path = real == NULL ? NULL : arena_text(&ledger->arena, real, strlen(real));
    free(real);
    if (ledger->bay_path == NULL || pthread_mutex_init(&ledger->lock, NULL) != 0) {
        arena_release(&ledger->arena);
        return faults_memory(faults);
    }
    ledger->open = true;
    const struct register_request request = {
        .bay = bay->folder, .write = true, .network = bay->rig.register_on_network};
    enum status status = register_open(&request, &ledger->book, faults);
    if (status == OK && out_path != NULL && register_created(ledger->book)) {
        status = adopt_out(ledger, out_path, faults);
    }
    if (status != OK) {
        ledger_close(ledger);
    }
    return status;
}

/* The way from one real path to another. */
static const char *way_between(const char *from, const char *to, struct arena *arena)
{
    size_t same = 0;
    for (size_t i = 0; (from[i] == to[i] || (from[i] == '\0' && to[i] == '/') || (from[i] == '/' && to[i] == '\0'));
         i++) {
        if (from[i] == '\0' || to[i] == '\0') {
            same = i;
            break;
        }
        same = from[i] == '/' ? i : same;
    }
    const char *rest = to + same + (to[same] == '/'), *up = "";
    for (const char *at = from + same; *at != '\0' && up != NULL; at++) {
        up = *at == '/' && at[1] != '\0' ? arena_format(arena, "../%s", up) : up;
    }
    return up == NULL ? NULL : up[0] == '\0' && rest[0] == '\0' ? "." : arena_format(arena, "%s%s", up, rest);
}

enum status ledger_bay(const struct ledger *ledger, const char *out_path, struct arena *arena, const char **way,
                       struct faults *faults)
{
    char *out = realpath(out_path, NULL);
    if (out == NULL) {
        return faults_add(faults, E_FILE, (struct place){.file = out_path}, "cannot be found: %s", strerror(errno));
    }
    const char *made = way_between(out, ledger->bay_path, arena);
    free(out);
    *way = made == NULL || strchr(made, '\n') != NULL ? NULL : made;
    return made == NULL ? faults_memory(faults) : OK;
}

void ledger_close(struct ledger *ledger)
{
    register_close(ledger->book);
    if (ledger->open) {
        (void)pthread_mutex_destroy(&ledger->lock);
    }
    arena_release(&ledger->arena);
    *ledger = (struct ledger){0};
}

/* --- looking --- */

/* Copies: the result goes before its entry does; the bay's own texts stay. */
static enum status copy_tables(const struct result *result, struct arena *arena, struct judgement_order *order)
{
    const struct inputs *inputs = &result->inputs;
    struct register_table *tables = arena_alloc(arena, inputs->count + 1, sizeof *tables);
    const char *asked = result->asked == NULL ? "" : result->asked;
    if (tables == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < inputs->count; i++) {
        const struct input *input = &inputs->items[i];
        tables[i] = (struct register_table){.name = input->name,
                                            .rows = arena_text(arena, input->rows, strlen(input->rows)),
                                            .text = input->text,
                                            .length = input->length};
        if (tables[i].rows == NULL) {
            return E_MEMORY;
        }
    }
    tables[inputs->count] = (struct register_table){.name = "asked", .rows = arena_text(arena, asked, strlen(asked))};
    order->tables = tables;
    order->table_count = inputs->count + 1;
    return tables[inputs->count].rows == NULL ? E_MEMORY : OK;
}

enum status ledger_issue(struct bay_register *book, const struct judgement *row, struct arena *arena,
                         struct issue *issue, struct faults *faults)
{
    struct judgement replaced;
    bool found = false;
    enum status status = row->revision < 2 ? OK
                                           : register_revision(book, row->serial, row->log_sha256, row->revision - 1,
                                                               arena, &replaced, &found, faults);
    *issue = (struct issue){.revision = row->revision, .changes = row->changes};
    if (found) {
        issue->replaced_at = replaced.at;
        issue->replaced = replaced.verdict;
    }
    return status;
}

/* Papers of the unit that were made without the register. */
static enum status adopt_standing(struct ledger *ledger, const struct unit_folder *unit, struct arena *arena,
                                  struct faults *faults)
{
    struct adopted *list = NULL;
    size_t count = 0;
    int folder = unit->before.owned && !unit->before.altered ? tree_open(AT_FDCWD, unit->path) : -1;
    if (folder < 0) {
        return OK;
    }
    enum status status = adopt_unit(ledger, folder, unit->path, arena, &list, &count, faults);
    (void)close(folder);
    return status == OK ? enter_adopted(ledger, list, count, arena, faults) : status;
}

static enum status look(struct ledger *ledger, const struct result *result, const struct unit_folder *unit,
                        struct arena *arena, struct ledger_entry *entry, struct faults *faults)
{
    struct judgement *row = &entry->order.judgement, before;
    char hex[65];
    bool found = false;
    sha256_hex(entry->order.document, entry->order.document_length, hex);
    enum status status = register_latest(ledger->book, row->serial, row->log_sha256, arena, &before, &found, faults);
    if (status == OK && !found) {
        status = adopt_standing(ledger, unit, arena, faults);
        status = status == OK
                     ? register_latest(ledger->book, row->serial, row->log_sha256, arena, &before, &found, faults)
                     : status;
    }
    if (status != OK) {
        return status;
    }
    entry->before = found ? before.id : 0;
    entry->known = found && strcmp(before.result_sha256, hex) == 0 ? before.id : 0;
    row->revision = found ? before.revision + (entry->known == 0) : 1;
    row->changes = "";
    if (entry->known != 0) {
        row->changes = before.changes;
    } else if (found) {
        status = revision_changes(ledger->book, &before, result, entry->order.document, entry->order.document_length,
                                  arena, &row->changes, faults);
    }
    return status == OK ? ledger_issue(ledger->book, row, arena, &entry->issue, faults) : status;
}

enum status ledger_look(struct ledger *ledger, const struct result *result, const char *document, size_t length,
                        const struct unit_folder *unit, struct arena *arena, struct ledger_entry *entry,
                        struct faults *faults)
{
    *entry = (struct ledger_entry){0};
    struct judgement_order *order = &entry->order;
    order->document = arena_text(arena, document, length);
    order->document_length = length;
    if (order->document == NULL || copy_tables(result, arena, order) != OK ||
        !judged_read(order->document, length, arena, &order->judgement)) {
        return faults_memory(faults);
    }
    order->judgement.libraries = judged_libraries(arena);
    order->judgement.log = from_bay(ledger, result->log.file, arena);
    if (order->judgement.libraries == NULL || order->judgement.log == NULL) {
        return faults_memory(faults);
    }
    (void)pthread_mutex_lock(&ledger->lock);
    enum status status = look(ledger, result, unit, arena, entry, faults);
    (void)pthread_mutex_unlock(&ledger->lock);
    return status;
}

/* --- entering --- */

/* Another OUT has its own locks: two programs may judge one log at once. */
static enum status enter_one(struct ledger *ledger, struct ledger_entry *entry, struct faults *faults)
{
    struct arena arena = {0};
    struct judgement now;
    const struct judgement *row = &entry->order.judgement;
    char hex[65];
    bool found = false;
    enum status status = register_latest(ledger->book, row->serial, row->log_sha256, &arena, &now, &found, faults);
    sha256_hex(entry->order.document, entry->order.document_length, hex);
    bool same = found && strcmp(now.result_sha256, hex) == 0;
    if (status == OK && same) {
        entry->known = now.id;
    } else if (status == OK && (found ? now.id : 0) != entry->before) {
        status = faults_add(faults, E_FILE, (struct place){.file = register_file(ledger->book)},
                            "another program has judged '%.80s' at the same time: run again", row->serial);
    } else if (status == OK) {
        status = register_add(ledger->book, &entry->order, &entry->known, faults);
    }
    arena_release(&arena);
    return status;
}

static bool any_new(struct ledger_entry *const *entries, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (entries[i]->known == 0) {
            return true;
        }
    }
    return false;
}

enum status ledger_enter(struct ledger *ledger, struct ledger_entry *const *entries, size_t count,
                         struct faults *faults)
{
    if (!any_new(entries, count)) {
        return OK;
    }
    (void)pthread_mutex_lock(&ledger->lock);
    enum status status = register_begin(ledger->book, faults);
    for (size_t i = 0; i < count && status == OK; i++) {
        status = entries[i]->known == 0 ? enter_one(ledger, entries[i], faults) : OK;
    }
    status = status == OK ? register_commit(ledger->book, faults) : status;
    register_abandon(ledger->book);
    (void)pthread_mutex_unlock(&ledger->lock);
    return status;
}

/* --- papers --- */

/* The digest of a name among lines in the form of sha256sum. */
static bool find_line(const char *lines, const char *name, char hex[65])
{
    enum { DIGITS = 64 };
    for (const char *line = lines; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        if (length == DIGITS + 2 + strlen(name) && strncmp(line + DIGITS + 2, name, strlen(name)) == 0) {
            (void)snprintf(hex, DIGITS + 1, "%.*s", DIGITS, line);
            return true;
        }
        line += length + (line[length] == '\n');
    }
    return false;
}

enum status ledger_digest(struct ledger *ledger, long long judgement, const char *paper, char hex[65], bool *found,
                          struct faults *faults)
{
    struct arena arena = {0};
    struct judgement_papers papers;
    (void)pthread_mutex_lock(&ledger->lock);
    enum status status = register_papers(ledger->book, judgement, &arena, &papers, found, faults);
    (void)pthread_mutex_unlock(&ledger->lock);
    *found = status == OK && *found && find_line(papers.files, paper, hex);
    arena_release(&arena);
    return status;
}

/* The judgement whose papers these are; 0: none. */
static enum status judgement_of(struct ledger *ledger, const struct seal *seal, struct arena *arena, long long *id,
                                struct faults *faults)
{
    struct judgement row;
    bool found = false;
    *id = 0;
    for (size_t i = 0; i < seal->count; i++) {
        if (strcmp(seal->papers[i].name, "result.json") == 0) {
            enum status status = register_of_result(ledger->book, seal->papers[i].sha256, arena, &row, &found, faults);
            *id = status == OK && found ? row.id : 0;
            return status;
        }
    }
    return OK;
}

static enum status enter_papers(struct ledger *ledger, const struct ledger_placed *placed, struct arena *arena,
                                bool *begun, struct faults *faults)
{
    struct judgement_papers last, papers = {0};
    const struct seal plain = {.count = placed->seal->count, .papers = placed->seal->papers};
    bool found = false;
    papers.folder = from_bay(ledger, placed->folder, arena);
    papers.files = seal_text(&plain, arena);
    if (papers.folder == NULL || papers.files == NULL) {
        return faults_memory(faults);
    }
    enum status status = judgement_of(ledger, placed->seal, arena, &papers.judgement, faults);
    if (status == OK && papers.judgement != 0) {
        status = register_papers(ledger->book, papers.judgement, arena, &last, &found, faults);
    }
    if (status != OK || papers.judgement == 0 ||
        (found && strcmp(last.folder, papers.folder) == 0 && strcmp(last.files, papers.files) == 0)) {
        return status;
    }
    status = *begun ? OK : register_begin(ledger->book, faults);
    *begun = status == OK;
    return status == OK ? register_add_papers(ledger->book, &papers, faults) : status;
}

enum status ledger_papers(struct ledger *ledger, const struct ledger_placed *placed, size_t count,
                          struct faults *faults)
{
    struct arena arena = {0};
    bool begun = false;
    enum status status = OK;
    (void)pthread_mutex_lock(&ledger->lock);
    for (size_t i = 0; i < count && status == OK; i++) {
        status = enter_papers(ledger, &placed[i], &arena, &begun, faults);
    }
    status = status == OK && begun ? register_commit(ledger->book, faults) : status;
    register_abandon(ledger->book);
    (void)pthread_mutex_unlock(&ledger->lock);
    arena_release(&arena);
    return status;
}
