/* Running a batch: a queue of serials, served by threads
 *
 * A thread takes all tests of a serial, reduces them, decides which counts, and hands them to the sink.
 */
#include "batch/batch.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "batch/batch_plan.h"
#include "batch/batch_twins.h"
#include "papers/render.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

enum {
    AHEAD = 64, /* tests that may be finished before the first one that is not: bounds the documents held */
    CAUTIONS_KEPT = 200,
};

/* What all threads share; what changes is guarded by lock. */
struct run {
    const struct batch_list *list;
    const struct batch_order *order;
    const char **serials;           /* one a row */
    const struct batch_row **twins; /* one a row: of another serial and with the very same log; NULL: none */
    struct batch_group *groups;
    size_t group_count;
    pthread_mutex_t lock;
    pthread_cond_t moved; /* heard_count has risen, or the run is given up */
    struct arena *arena;  /* of the batch */
    struct batch *batch;
    struct faults *faults;
    enum status status;
    size_t next;                  /* group or row to take */
    bool *done;                   /* one a row */
    char **documents, **cautions; /* kept until the listener has heard of the row */
    size_t heard_count;           /* rows that the listener has heard of, in order */
};

/* What one thread owns. */
struct worker {
    struct run *run;
    pthread_t thread;
    struct arena unit;   /* the tests of the serial in hand */
    struct arena learnt; /* a serial that a log states */
    size_t job;
    struct faults faults;
};

/* One test in hand. */
struct trial {
    size_t row;
    bool reduced;
    struct result result;
    struct faults faults;
    char *document;
    bool superseded;
    size_t attempt;
};

static bool given_up(struct run *run)
{
    (void)pthread_mutex_lock(&run->lock);
    bool up = run->status != OK;
    (void)pthread_mutex_unlock(&run->lock);
    return up;
}

/* The first fault stands; the other threads end as soon as they see it. */
static void give_up(struct run *run, enum status status, const struct faults *faults)
{
    (void)pthread_mutex_lock(&run->lock);
    if (run->status == OK) {
        run->status = status;
        *run->faults = *faults;
        if (faults->count == 0) {
            (void)faults_memory(run->faults);
        }
    }
    (void)pthread_cond_broadcast(&run->moved);
    (void)pthread_mutex_unlock(&run->lock);
}

/* --- reducing --- */

/* A log that lies in another bay was measured with other instruments. */
static bool of_this_bay(const struct run *run, const struct batch_row *row, struct arena *arena, struct faults *faults)
{
    const char *own = run->order->bay_named ? NULL : bay_find(row->log_path, arena);
    if (own == NULL || strcmp(own, run->order->bay->folder) == 0) {
        return true;
    }
    (void)faults_add(faults, E_INPUT, (struct place){.file = row->log_path},
                     "lies in another bay, '%.200s': list each bay's logs apart, or name the bay with --bay",
                     file_base(own));
    return false;
}

static bool is_log_of_one(const struct run *run, size_t row, struct faults *faults)
{
    const struct batch_row *twin = run->twins[row];
    if (twin == NULL) {
        return true;
    }
    (void)faults_add(faults, E_INPUT, (struct place){.file = run->list->rows[row].log_path},
                     "is the log of serial '%.60s' too (line %zu of the list), expected a log of each serial's own",
                     run->serials[twin - run->list->rows], twin->line);
    return false;
}

static void reduce(struct worker *worker, struct trial *trial)
{
    struct run *run = worker->run;
    const struct batch_row *row = &run->list->rows[trial->row];
    struct unit_request request = {
        .log_path = row->log_path,
        .serial = run->serials != NULL ? run->serials[trial->row] : row->serial,
        .model = row->model,
        .tester = row->tester,
        .remarks = row->remarks,
        .tested = row->tested,
        .listed = true,
    };
    trial->reduced = is_log_of_one(run, trial->row, &trial->faults) &&
                     of_this_bay(run, row, &worker->unit, &trial->faults) &&
                     unit_reduce(run->order->bay, &request, &worker->unit, &trial->result, &trial->faults) == OK;
    bool wanted = run->order->documents && trial->reduced;
    size_t length;
    if (trial->faults.first == E_MEMORY ||
        (wanted && render_json(&trial->result, true, &trial->document, &length) != OK)) {
        give_up(run, E_MEMORY, &(struct faults){0});
    }
}

static const struct date *date_of(const struct run *run, const struct trial *trial)
{
    return trial->reduced ? &trial->result.tested : &run->list->rows[trial->row].tested;
}

/* Orders the tests of one serial in time; where the dates do not tell, by their place in the list. Returns: true when
 * every test has a date. */
static bool order_trials(const struct run *run, struct trial *trials, size_t count)
{
    bool dated = true;
    for (size_t i = 0; i < count; i++) {
        dated = dated && date_of(run, &trials[i])->known;
    }
    for (size_t i = 0; i < count; i++) {
        size_t before = 0;
        for (size_t k = 0; k < count; k++) {
            int order = dated ? date_compare(date_of(run, &trials[k]), date_of(run, &trials[i])) : 0;
            before += order < 0 || (order == 0 && k < i);
        }
        trials[i].attempt = before + 1;
    }
    /* The same day with and without a time of day can tie: the last in order is then the last in the list. */
    size_t latest = 0;
    for (size_t i = 1; i < count; i++) {
        latest = trials[i].attempt >= trials[latest].attempt ? i : latest;
    }
    for (size_t i = 0; i < count; i++) {
        trials[i].superseded = i != latest;
    }
    return dated;
}

/* --- the sink --- */

static enum status keep_folder(struct run *run, struct batch_group *group, const char *folder)
{
    (void)pthread_mutex_lock(&run->lock);
    group->folder = folder == NULL ? NULL : arena_text(run->arena, folder, strlen(folder));
    (void)pthread_mutex_unlock(&run->lock);
    return folder != NULL && group->folder == NULL ? E_MEMORY : OK;
}

/* The papers of this unit cannot be written, and the fault says why: its tests are not judged. */
static void refuse(struct trial *trials, size_t count, const struct faults *faults)
{
    for (size_t i = 0; i < count; i++) {
        if (trials[i].reduced) {
            trials[i].reduced = false;
            trials[i].faults = *faults;
            free(trials[i].document);
            trials[i].document = NULL;
        }
    }
}

static enum status hand_over(struct worker *worker, struct batch_group *group, struct trial *trials)
{
    const struct batch_sink *sink = worker->run->order->sink;
    struct batch_given *given = arena_alloc(&worker->unit, group->count, sizeof *given);
    struct faults faults = {0};
    const char *folder = NULL;
    size_t count = 0;
    if (given == NULL) {
        return faults_memory(&worker->faults);
    }
    for (size_t i = 0; i < group->count; i++) {
        if (trials[i].reduced) {
            given[count++] = (struct batch_given){&trials[i].result, trials[i].superseded};
        }
    }
    size_t unit = (size_t)(group - worker->run->groups);
    enum status status = count == 0 ? OK : sink->take(sink->context, worker->job, unit, given, count, &folder, &faults);
    if (status == E_INPUT) {
        refuse(trials, group->count, &faults);
        return OK;
    }
    worker->faults = faults;
    return status == OK ? keep_folder(worker->run, group, folder) : status;
}

/* --- recording --- */

static enum status count_caution(struct run *run, const char *text, size_t length, const char *serial)
{
    struct batch *batch = run->batch;
    for (size_t k = 0; k < batch->caution_count; k++) {
        struct batch_caution *caution = &batch->cautions[k];
        if (strncmp(caution->text, text, length) == 0 && caution->text[length] == '\0') {
            caution->tests++;
            return OK;
        }
    }
    if (batch->caution_count == CAUTIONS_KEPT) {
        batch->further_cautions++;
        return OK;
    }
    const char *copy = arena_text(run->arena, text, length);
    struct batch_caution *caution =
        copy == NULL ? NULL : arena_push(run->arena, &batch->cautions, &batch->caution_count, sizeof *caution);
    if (caution == NULL) {
        return E_MEMORY;
    }
    *caution = (struct batch_caution){.text = copy, .tests = 1, .first_serial = serial};
    return OK;
}

/* The cautions of a test, a line each. *text is freed by the caller. */
static bool gather_cautions(const struct notes *notes, char **text, size_t *count)
{
    size_t length;
    FILE *to = memory_stream_open(text, &length);
    if (to == NULL) {
        return false;
    }
    *count = 0;
    for (size_t i = 0; i < notes->count; i++) {
        if (notes->items[i].kind == NOTE_CAUTION) {
            (void)fprintf(to, "%s\n", notes->items[i].text);
            *count += 1;
        }
    }
    bool good = ferror(to) == 0;
    return fclose(to) == 0 && good;
}

/* Tells the listener of every test that is finished and has none before it that is not. Needs the lock. */
static enum status hear(struct run *run)
{
    enum status status = OK;
    for (; run->heard_count < run->list->count && run->done[run->heard_count]; run->heard_count++) {
        size_t row = run->heard_count;
        const struct batch_test *test = &run->batch->tests[row];
        for (const char *line = run->cautions[row]; line != NULL && *line != '\0' && status == OK;) {
            size_t length = strcspn(line, "\n");
            status = count_caution(run, line, length, test->serial);
            line += length + 1;
        }
        if (run->order->heard != NULL) {
            run->order->heard(run->order->listener, test, run->documents[row]);
        }
        free(run->cautions[row]);
        free(run->documents[row]);
        run->cautions[row] = run->documents[row] = NULL;
    }
    return status;
}

/* Keeps what is to be kept of a test. Needs the lock. */
static enum status keep(struct run *run, const struct batch_group *group, struct trial *trial, bool dated)
{
    struct batch_test *test = &run->batch->tests[trial->row];
    const struct batch_row *row = &run->list->rows[trial->row];
    *test = (struct batch_test){
        .row = row,
        .serial = group->serial,
        .superseded = trial->superseded,
        .undated = !dated,
        .tests = group->count,
        .attempt = trial->attempt,
        .model = row->model[0] != '\0' ? bay_model(run->order->bay, row->model) : NULL,
        .folder = group->folder,
    };
    enum status status = trial->reduced ? batch_record(&trial->result, run->arena, test)
                                        : batch_record_unread(&trial->faults, run->arena, test);
    if (status == OK && trial->reduced &&
        !gather_cautions(&trial->result.notes, &run->cautions[trial->row], &test->cautions)) {
        status = E_MEMORY;
    }
    run->documents[trial->row] = trial->document;
    trial->document = NULL;
    run->done[trial->row] = true;
    return status;
}

/* --- threads --- */

static enum status serve_trials(struct worker *worker, struct batch_group *group, struct trial *trials)
{
    struct run *run = worker->run;
    for (size_t i = 0; i < group->count && !given_up(run); i++) {
        trials[i].row = group->rows[i];
        reduce(worker, &trials[i]);
    }
    if (given_up(run)) {
        return OK;
    }
    bool dated = order_trials(run, trials, group->count);
    enum status status = run->order->sink != NULL ? hand_over(worker, group, trials) : OK;
    if (status == OK) {
        (void)pthread_mutex_lock(&run->lock);
        for (size_t i = 0; i < group->count && status == OK; i++) {
            status = keep(run, group, &trials[i], dated);
        }
        status = status == OK ? hear(run) : status;
        (void)pthread_cond_broadcast(&run->moved);
        (void)pthread_mutex_unlock(&run->lock);
    }
    return status;
}

static void serve_group(struct worker *worker, struct batch_group *group)
{
    struct trial *trials = arena_alloc(&worker->unit, group->count, sizeof *trials);
    enum status status = trials == NULL ? E_MEMORY : serve_trials(worker, group, trials);
    for (size_t i = 0; trials != NULL && i < group->count; i++) {
        free(trials[i].document);
    }
    arena_release(&worker->unit);
    if (status != OK) {
        give_up(worker->run, status, &worker->faults);
    }
}

/* The next group, once it is not too far ahead of the first test that is not finished. Returns: NULL when there is
 * none, or the run is given up. The thread that has that test never waits here, since it took it before. */
static struct batch_group *take_group(struct run *run)
{
    struct batch_group *group = NULL;
    (void)pthread_mutex_lock(&run->lock);
    if (run->next < run->group_count) {
        group = &run->groups[run->next++];
    }
    while (group != NULL && run->status == OK && group->rows[0] >= run->heard_count + AHEAD) {
        (void)pthread_cond_wait(&run->moved, &run->lock);
    }
    group = run->status == OK ? group : NULL;
    (void)pthread_mutex_unlock(&run->lock);
    return group;
}

static void *serve(void *context)
{
    struct worker *worker = context;
    for (struct batch_group *group; (group = take_group(worker->run)) != NULL;) {
        serve_group(worker, group);
    }
    const struct batch_sink *sink = worker->run->order->sink;
    enum status status = OK;
    if (sink != NULL && !given_up(worker->run)) {
        worker->faults = (struct faults){0};
        status = sink->flush(sink->context, worker->job, &worker->faults);
    }
    if (status != OK) {
        give_up(worker->run, status, &worker->faults);
    }
    return NULL;
}

/* A row that states no serial is known by what its log states. The log is read twice then. */
static const char *learn_serial(const struct run *run, size_t row, struct arena *keep_in, struct arena *scratch)
{
    const struct batch_row *listed = &run->list->rows[row];
    struct unit_request request = {.log_path = listed->log_path, .model = listed->model};
    struct result result;
    struct faults faults = {0};
    if (unit_reduce(run->order->bay, &request, scratch, &result, &faults) == OK) {
        return arena_text(keep_in, result.serial, strlen(result.serial));
    }
    const char *base = file_base(listed->log);
    return faults.first == E_MEMORY ? NULL : arena_text(keep_in, base, log_name_length(base));
}

static void *learn(void *context)
{
    struct worker *worker = context;
    struct run *run = worker->run;
    for (size_t row; !given_up(run);) {
        (void)pthread_mutex_lock(&run->lock);
        do {
            row = run->next++;
        } while (row < run->list->count && run->list->rows[row].serial[0] != '\0');
        (void)pthread_mutex_unlock(&run->lock);
        if (row >= run->list->count) {
            break;
        }
        const char *serial = learn_serial(run, row, &worker->learnt, &worker->unit);
        arena_release(&worker->unit);
        (void)pthread_mutex_lock(&run->lock);
        run->serials[row] = serial == NULL ? NULL : arena_text(run->arena, serial, strlen(serial));
        bool failed = run->serials[row] == NULL;
        (void)pthread_mutex_unlock(&run->lock);
        arena_release(&worker->learnt);
        if (failed) {
            give_up(run, E_MEMORY, &(struct faults){0});
        }
    }
    return NULL;
}

/* Runs all threads to their end. One that cannot be started is done without, as long as there is one. */
static void run_threads(struct run *run, struct worker *workers, void *(*work)(void *))
{
    size_t started = 0;
    run->next = 0;
    while (started + 1 < run->order->jobs &&
           pthread_create(&workers[started].thread, NULL, work, &workers[started]) == 0) {
        started++;
    }
    (void)work(&workers[run->order->jobs - 1]);
    for (size_t i = 0; i < started; i++) {
        (void)pthread_join(workers[i].thread, NULL);
    }
}

/* --- the run --- */

static void worker_release(struct worker *worker)
{
    arena_release(&worker->unit);
    arena_release(&worker->learnt);
}

/* A batch whose papers cannot be made is refused before any test is read. */
static enum status start_sink(struct run *run)
{
    const struct batch_sink *sink = run->order->sink;
    enum status status = OK;
    for (size_t i = 0; sink != NULL && i < run->order->jobs && status == OK; i++) {
        struct faults faults = {0};
        status = sink->start(sink->context, i, &faults);
        if (status != OK) {
            give_up(run, status, &faults);
        }
    }
    return status;
}

static enum status plan_sink(struct run *run, struct faults *faults)
{
    const struct batch_sink *sink = run->order->sink;
    const char **serials = arena_alloc(run->arena, run->group_count, sizeof *serials);
    if (serials == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < run->group_count; i++) {
        serials[i] = run->groups[i].serial;
    }
    return sink->plan(sink->context, serials, run->group_count, faults);
}

static enum status plan(struct run *run, struct worker *workers)
{
    bool nameless = false;
    for (size_t row = 0; row < run->list->count; row++) {
        run->serials[row] = run->list->rows[row].serial;
        nameless = nameless || run->serials[row][0] == '\0';
    }
    if (nameless) {
        run_threads(run, workers, learn);
    }
    if (run->status != OK) {
        return run->status;
    }
    enum status status = batch_group_rows(run->serials, run->list->count, run->arena, &run->groups, &run->group_count);
    struct faults faults = {0};
    if (status == OK && run->order->sink != NULL) {
        status = plan_sink(run, &faults);
    }
    status = status == OK ? batch_find_twins(run->list, run->serials, run->twins) : status;
    if (status != OK) {
        give_up(run, status, &faults);
    }
    return status;
}

static bool prepare(struct run *run, struct arena *scratch)
{
    size_t count = run->list->count;
    run->serials = arena_alloc(run->arena, count, sizeof *run->serials);
    run->batch->tests = arena_alloc(run->arena, count, sizeof *run->batch->tests);
    run->twins = arena_alloc(scratch, count, sizeof *run->twins);
    run->done = arena_alloc(scratch, count, sizeof *run->done);
    run->documents = arena_alloc(scratch, count, sizeof *run->documents);
    run->cautions = arena_alloc(scratch, count, sizeof *run->cautions);
    return run->serials != NULL && run->twins != NULL && run->batch->tests != NULL && run->done != NULL &&
           run->documents != NULL && run->cautions != NULL;
}

static void run_all(struct run *run, struct worker *workers)
{
    for (size_t i = 0; i < run->order->jobs; i++) {
        workers[i].run = run;
        workers[i].job = i;
    }
    if (start_sink(run) == OK && plan(run, workers) == OK) {
        run_threads(run, workers, serve);
    }
    for (size_t i = 0; i < run->order->jobs; i++) {
        worker_release(&workers[i]);
    }
    for (size_t row = 0; row < run->list->count; row++) { /* not heard of when the run was given up */
        free(run->documents[row]);
        free(run->cautions[row]);
    }
}

enum status batch_run(const struct batch_list *list, const struct batch_order *order, struct arena *arena,
                      struct batch *batch, struct faults *faults)
{
    struct arena scratch = {0};
    *batch = (struct batch){.list = list, .bay = order->bay, .count = list->count};
    struct run run = {.list = list, .order = order, .arena = arena, .batch = batch, .faults = faults};
    struct worker *workers = calloc(order->jobs, sizeof *workers);
    if (workers == NULL || !prepare(&run, &scratch) || pthread_mutex_init(&run.lock, NULL) != 0) {
        free(workers);
        arena_release(&scratch);
        return faults_memory(faults);
    }
    if (pthread_cond_init(&run.moved, NULL) == 0) {
        run_all(&run, workers);
        (void)pthread_cond_destroy(&run.moved);
    } else {
        run.status = faults_memory(faults);
    }
    (void)pthread_mutex_destroy(&run.lock);
    free(workers);
    arena_release(&scratch);
    return run.status;
}
