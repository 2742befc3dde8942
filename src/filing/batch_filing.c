/* To sync is slow, so the papers of several units are synced together, and only then placed. */
#include "filing/batch_filing.h"

#include "base/files.h"
#include "filing/batch_papers.h"
#include "filing/tree.h"
#include "filing/unit_name.h"
#include "filing/unit_papers.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

enum {
    STAGED_MAX = 64,    /* units whose papers are synced together ... */
    STAGED_SECONDS = 2, /* ... or those of this time, so that little is lost when the power goes */
};

/* What one thread owns. */
struct filing_job {
    struct scratch scratch;
    struct press press;
    struct arena own;    /* the scratch folder's name */
    struct arena staged; /* the units that are not placed yet */
    size_t count;
    struct unit_folder units[STAGED_MAX];
    struct ledger_entry *entries[STAGED_MAX]; /* one a set of papers */
    struct timespec since;                    /* when the first of them was staged */
};

/* --- names for the folders of all units of a list --- */

struct taken {
    const char *name;
    size_t order;      /* 0: it lies in OUT already */
    const char **wish; /* whose name it is to be */
    const char *serial;
};

static int compare_taken(const void *a, const void *b)
{
    const struct taken *p = a, *q = b;
    int order = strcasecmp(p->name, q->name);
    return order != 0 ? order : p->order < q->order ? -1 : p->order > q->order;
}

static bool add_name(struct arena *arena, struct taken **names, size_t *count, struct taken taken)
{
    struct taken *made = taken.name == NULL ? NULL : arena_push(arena, names, count, sizeof *made);
    if (made != NULL) {
        *made = taken;
    }
    return made != NULL;
}

static bool list_out(const struct out *out, struct arena *arena, struct taken **names, size_t *count)
{
    int again = tree_open(out->folder, ".");
    DIR *folder = again >= 0 ? fdopendir(again) : NULL;
    bool good = true;
    for (struct dirent *entry; folder != NULL && good && (entry = readdir(folder)) != NULL;) {
        good = add_name(arena, names, count,
                        (struct taken){.name = arena_text(arena, entry->d_name, strlen(entry->d_name))});
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    return good;
}

/* True when a name before names[at] is the same but for the case of its letters, and not the folder that may be this
 * serial's own from an earlier run. */
static bool is_taken(const struct taken *names, size_t at)
{
    for (size_t i = at; i > 0 && strcasecmp(names[i - 1].name, names[at].name) == 0; i--) {
        if (names[i - 1].order > 0 || strcmp(names[i - 1].name, names[at].name) != 0) {
            return true;
        }
    }
    return false;
}

static enum status choose_names(struct batch_filing *filing, size_t count, struct arena *scratch)
{
    struct taken *names = NULL;
    size_t name_count = 0;
    bool good = list_out(filing->out, scratch, &names, &name_count);
    for (size_t i = 0; i < count && good; i++) {
        struct taken taken = {unit_name_plain(&filing->arena, filing->serials[i]), i + 1, &filing->names[i],
                              filing->serials[i]};
        good = add_name(scratch, &names, &name_count, taken);
    }
    if (good && name_count > 1) {
        qsort(names, name_count, sizeof *names, compare_taken);
    }
    for (size_t i = 0; i < name_count && good; i++) {
        if (names[i].wish != NULL) {
            bool marked = is_taken(names, i) || unit_name_reserved(names[i].name);
            *names[i].wish =
                marked ? unit_name_marked(&filing->arena, names[i].serial, UNIT_NAME_DIGITS) : names[i].name;
            good = *names[i].wish != NULL;
        }
    }
    return good ? OK : E_MEMORY;
}

static enum status plan(void *context, const char *const *serials, size_t count, struct faults *faults)
{
    struct batch_filing *filing = context;
    struct arena scratch = {0};
    filing->serials = arena_alloc(&filing->arena, count, sizeof *filing->serials);
    filing->names = arena_alloc(&filing->arena, count, sizeof *filing->names);
    enum status status = filing->serials == NULL || filing->names == NULL ? E_MEMORY : OK;
    if (status == OK) {
        memcpy(filing->serials, serials, count * sizeof *serials);
        status = choose_names(filing, count, &scratch);
    }
    arena_release(&scratch);
    return status == OK ? OK : faults_memory(faults);
}

/* --- drawing --- */

static enum status start(void *context, size_t number, struct faults *faults)
{
    struct batch_filing *filing = context;
    struct filing_job *job = &filing->job[number];
    enum status status = OK;
    if (job->scratch.path == NULL) {
        status = scratch_make(filing->out->path, &job->own, &job->scratch, faults);
    }
    if (status == OK && job->press.gnuplot == NULL) {
        status = press_start(&job->press, job->scratch.path, faults);
    }
    return status;
}

/* A gnuplot that has died is replaced once: whatever killed it may have been passing. */
static enum status stage(struct batch_filing *filing, size_t number, struct papers_order *order,
                         struct unit_folder *unit, struct ledger_entry *entry, struct faults *faults)
{
    struct filing_job *job = &filing->job[number];
    struct faults first = {0};
    enum status status = start(filing, number, faults);
    if (status != OK) {
        return status;
    }
    order->press = &job->press;
    status = papers_stage(order, unit, entry, &first);
    if (status == E_CHILD) {
        unit_folder_drop(unit);
        (void)press_stop(&job->press, &first);
        first = (struct faults){0};
        status = start(filing, number, &first);
        status = status == OK ? papers_stage(order, unit, entry, &first) : status;
    }
    return status == OK ? OK
                        : faults_add(faults, status, (struct place){0}, "unit '%.80s': %s", order->result->serial,
                                     first.text[0]);
}

/* --- a unit --- */

static struct papers_order *orders_of(const struct batch_filing *filing, const struct batch_given *tests, size_t count,
                                      struct arena *arena)
{
    struct papers_order *orders = arena_alloc(arena, count, sizeof *orders);
    for (size_t i = 0; i < count && orders != NULL; i++) {
        orders[i] = (struct papers_order){
            .result = tests[i].result, .superseded = tests[i].superseded, .ledger = filing->ledger};
    }
    return orders;
}

static void count_papers(struct batch_filing *filing, const struct unit_folder *unit, size_t drawn, size_t kept)
{
    (void)pthread_mutex_lock(&filing->lock);
    filing->drawn += drawn;
    filing->kept += kept;
    filing->later_in_front += unit->later_in_front;
    if (unit->later_in_front && (filing->first_later == NULL || strcmp(unit->serial, filing->first_later) < 0)) {
        filing->first_later = unit->serial; /* the batch's: it outlives the unit */
    }
    (void)pthread_mutex_unlock(&filing->lock);
}

/* True when the papers of all tests stand as they would be written. */
static enum status all_stand(const struct papers_order *orders, size_t count, const struct unit_folder *unit,
                             struct ledger_entry *entries, bool *stand, struct faults *faults)
{
    enum status status = OK;
    for (size_t i = 0; i < count && *stand && status == OK; i++) {
        status = papers_stand(&orders[i], unit, &entries[i], stand, faults);
    }
    return status;
}

/* The tests are all made again, or none. */
static enum status stage_unit(struct batch_filing *filing, size_t number, const struct batch_given *tests, size_t count,
                              struct unit_folder *unit, struct faults *faults)
{
    struct filing_job *job = &filing->job[number];
    struct papers_order *orders = orders_of(filing, tests, count, unit->arena);
    struct ledger_entry *entries = arena_alloc(unit->arena, count, sizeof *entries);
    if (orders == NULL || entries == NULL) {
        return faults_memory(faults);
    }
    bool done = filing->resume;
    enum status status = all_stand(orders, count, unit, entries, &done, faults);
    for (size_t i = 0; i < count && !done && status == OK; i++) {
        status = stage(filing, number, &orders[i], unit, &entries[i], faults);
    }
    if (status == OK && !done) {
        status = unit_folder_settle(unit, faults);
    }
    if (status == OK) {
        job->entries[job->count] = entries;
        count_papers(filing, unit, done ? 0 : count, done ? count : 0);
    }
    return status;
}

/* Before the first unit changes, the certificate that stands is set aside: it speaks of other papers. */
static enum status retire_once(struct batch_filing *filing, const struct filing_job *job, struct faults *faults)
{
    bool changed = false;
    for (size_t i = 0; i < job->count; i++) {
        changed = changed || job->units[i].changed;
    }
    (void)pthread_mutex_lock(&filing->lock);
    enum status status = changed && !filing->retired ? batch_papers_retire(filing->out, faults) : OK;
    filing->retired = filing->retired || (changed && status == OK);
    (void)pthread_mutex_unlock(&filing->lock);
    return status;
}

static void drop_staged(struct filing_job *job)
{
    for (size_t i = 0; i < job->count; i++) {
        unit_folder_close(&job->units[i]);
    }
    job->count = 0;
    arena_release(&job->staged);
}

/* What is to be entered of the staged units. */
struct staged_entries {
    size_t count, placed_count;
    struct ledger_entry **entries;
    struct ledger_placed *placed;
};

static bool add_placed(struct filing_job *job, struct staged_entries *staged, const char *folder,
                       const struct seal *seal)
{
    struct ledger_placed *placed = arena_push(&job->staged, &staged->placed, &staged->placed_count, sizeof *placed);
    if (placed != NULL) {
        *placed = (struct ledger_placed){folder, seal};
    }
    return placed != NULL;
}

/* Every set of papers that is staged, and those that they set aside. Returns: false when memory is out. */
static bool list_staged(struct filing_job *job, struct staged_entries *staged)
{
    bool good = true;
    for (size_t i = 0; i < job->count; i++) {
        const struct unit_folder *unit = &job->units[i];
        good = good && (unit->kept == NULL || add_placed(job, staged, unit->kept, &unit->before.actual));
        for (size_t k = 0; k < unit->set_count && good; k++) {
            struct ledger_entry **entry = arena_push(&job->staged, &staged->entries, &staged->count, sizeof *entry);
            good = entry != NULL && add_placed(job, staged, unit->sets[k].folder, &unit->sets[k].seal);
            if (good) {
                *entry = &job->entries[i][k];
            }
        }
    }
    return good;
}

/* What is new is entered before its papers stand, and that they stand afterwards. */
static enum status place(struct batch_filing *filing, struct filing_job *job, struct faults *faults)
{
    struct staged_entries staged = {0};
    if (!list_staged(job, &staged)) {
        return faults_memory(faults);
    }
    enum status status =
        filing->ledger == NULL ? OK : ledger_enter(filing->ledger, staged.entries, staged.count, faults);
    status = status == OK ? unit_folders_place(job->units, job->count, faults) : status;
    return status == OK && filing->ledger != NULL
               ? ledger_papers(filing->ledger, staged.placed, staged.placed_count, faults)
               : status;
}

static enum status flush(void *context, size_t number, struct faults *faults)
{
    struct batch_filing *filing = context;
    struct filing_job *job = &filing->job[number];
    enum status status = retire_once(filing, job, faults);
    status = status == OK ? place(filing, job, faults) : status;
    drop_staged(job);
    return status == E_INPUT ? E_FILE : status; /* too late to cost this unit alone */
}

static bool is_due(const struct filing_job *job)
{
    struct timespec now = job->since;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return job->count == STAGED_MAX || (job->count > 0 && now.tv_sec - job->since.tv_sec >= STAGED_SECONDS);
}

static enum status take(void *context, size_t number, size_t index, const struct batch_given *tests, size_t count,
                        const char **folder, struct faults *faults)
{
    struct batch_filing *filing = context;
    struct filing_job *job = &filing->job[number];
    struct unit_folder *unit = &job->units[job->count];
    enum status status =
        unit_folder_open(filing->out, filing->serials[index], filing->names[index], &job->staged, unit, faults);
    if (status == OK) {
        status = stage_unit(filing, number, tests, count, unit, faults);
    }
    if (status != OK) {
        unit_folder_close(unit);
        return status;
    }
    *folder = arena_text(&job->own, unit->path, strlen(unit->path));
    if (job->count++ == 0) {
        (void)clock_gettime(CLOCK_MONOTONIC, &job->since);
    }
    status = is_due(job) ? flush(filing, number, faults) : OK;
    return status == OK && *folder == NULL ? faults_memory(faults) : status;
}

/* --- beginning and ending --- */

enum status batch_filing_begin(struct batch_filing *filing, struct faults *faults)
{
    filing->job = calloc(filing->jobs, sizeof *filing->job);
    if (filing->job == NULL || pthread_mutex_init(&filing->lock, NULL) != 0) {
        free(filing->job);
        filing->job = NULL;
        return faults_memory(faults);
    }
    return OK;
}

struct batch_sink batch_filing_sink(struct batch_filing *filing)
{
    return (struct batch_sink){.context = filing, .start = start, .plan = plan, .take = take, .flush = flush};
}

enum status batch_filing_end(struct batch_filing *filing, struct faults *faults)
{
    enum status status = OK;
    for (size_t i = 0; filing->job != NULL && i < filing->jobs; i++) {
        struct filing_job *job = &filing->job[i];
        drop_staged(job);
        enum status stopped = press_stop(&job->press, faults);
        enum status removed = scratch_remove(&job->scratch, faults);
        arena_release(&job->own);
        status = status != OK ? status : stopped != OK ? stopped : removed;
    }
    if (filing->job != NULL) {
        (void)pthread_mutex_destroy(&filing->lock);
    }
    free(filing->job);
    arena_release(&filing->arena);
    filing->job = NULL;
    return status;
}
