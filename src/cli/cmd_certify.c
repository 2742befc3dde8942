/* dutyproof certify UNITS.csv: a batch becomes papers for each unit, a batch table and a certificate */
#include "cli/console.h"
#include "cli/progress.h"
#include "cli/session.h"

#include "base/files.h"
#include "base/text.h"
#include "batch/batch.h"
#include "batch/batch_list.h"
#include "batch/batch_stats.h"
#include "filing/batch_filing.h"
#include "filing/batch_papers.h"
#include "filing/exchange.h"
#include "papers/render_batch.h"

#include <stdlib.h>
#include <unistd.h>

enum { JOBS_MAX = 256 };

/* The command under way. */
struct certification {
    const struct options *options;
    struct arena arena;
    struct bay bay;
    struct batch_list list;
    struct batch batch;
    struct batch_summary summary;
    struct progress progress;
    struct ledger ledger;
    const char *out; /* NULL: no papers */
    size_t jobs;
    struct out papers;
    struct batch_filing filing;
};

static enum status read_jobs(const struct options *options, size_t *jobs, struct faults *faults)
{
    const char *text = options->value[OPTION_JOBS];
    if (text == NULL) {
        long cores = sysconf(_SC_NPROCESSORS_ONLN);
        *jobs = cores < 1 ? 1 : cores > JOBS_MAX ? JOBS_MAX : (size_t)cores;
        return OK;
    }
    char *end;
    unsigned long number = strtoul(text, &end, 10);
    if (text[0] < '0' || text[0] > '9' || *end != '\0' || number < 1 || number > JOBS_MAX) {
        return faults_add(faults, E_USAGE, (struct place){0},
                          "'--jobs' is '%.40s', expected a whole number from 1 to %d", text, JOBS_MAX);
    }
    *jobs = number;
    return OK;
}

static enum status check_request(struct certification *run, struct faults *faults)
{
    const struct options *options = run->options;
    bool papers = !option_given(options, OPTION_NO_PAPERS);
    if (options->operand_count != 1) {
        return faults_add(faults, E_USAGE, (struct place){0}, "expected one table of units, got %zu",
                          options->operand_count);
    }
    if (!papers && (option_given(options, OPTION_OUT) || option_given(options, OPTION_RESUME))) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--no-papers' excludes '--out' and '--resume'");
    }
    run->out = !papers ? NULL : option_given(options, OPTION_OUT) ? options->value[OPTION_OUT] : "reports";
    return read_jobs(options, &run->jobs, faults);
}

/* The bay of the table of units, else that of its first log that lies in one. */
static enum status read_bay(struct certification *run, struct faults *faults)
{
    return session_bay(run->options, run->options->operands[0], &run->arena, &run->bay, faults);
}

static void print_document(void *listener, const struct batch_test *test, const char *document)
{
    struct certification *run = listener;
    char *text = NULL;
    size_t length;
    progress_take(&run->progress, test);
    if (!option_given(run->options, OPTION_JSON)) {
        return;
    }
    if (document == NULL && render_batch_test_json(test, &text, &length) == OK) {
        (void)fputs(text, stdout);
    } else if (document != NULL && test->superseded) {
        (void)printf("{\"superseded\":true,%s", document + 1);
    } else if (document != NULL) {
        (void)fputs(document, stdout);
    }
    free(text);
}

static void print_notes(const struct notes *notes, const struct options *options)
{
    for (size_t i = 0; i < notes->count && !option_given(options, OPTION_QUIET); i++) {
        (void)fprintf(stderr, "note: %s\n", notes->items[i].text);
    }
}

/* One batch at a time: its own papers speak of all units. */
static enum status open_out(struct certification *run, struct faults *faults)
{
    enum status status = session_out(run->out, "certify", &run->papers, faults);
    if (status == OK) {
        status = out_lock(&run->papers, "", "the batch", faults);
    }
    if (status == OK) {
        out_sweep(&run->papers);
    }
    return status;
}

static enum status prepare(struct certification *run, struct faults *faults)
{
    struct notes notes = {0};
    enum status status = read_bay(run, faults);
    if (status == OK) {
        status = batch_list_read(run->options->operands[0], &run->bay, &run->arena, &run->list, &notes, faults);
    }
    if (status == OK) {
        print_notes(&notes, run->options);
    }
    if (status == OK && run->out != NULL) {
        status = ledger_open(&run->bay, run->out, &run->ledger, faults);
    }
    if (status == OK && run->out != NULL) {
        status = open_out(run, faults);
    }
    return status;
}

static enum status reduce_all(struct certification *run, struct faults *faults)
{
    const struct options *options = run->options;
    size_t jobs = run->jobs < run->list.count ? run->jobs : run->list.count;
    run->filing = (struct batch_filing){
        .out = &run->papers, .ledger = &run->ledger, .resume = option_given(options, OPTION_RESUME), .jobs = jobs};
    const struct batch_sink sink = batch_filing_sink(&run->filing);
    if (batch_filing_begin(&run->filing, faults) != OK) {
        return E_MEMORY;
    }
    struct batch_order order = {
        .bay = &run->bay,
        .bay_named = option_given(options, OPTION_BAY),
        .sink = run->out != NULL ? &sink : NULL,
        .documents = option_given(options, OPTION_JSON),
        .jobs = jobs,
        .heard = print_document,
        .listener = run,
    };
    run->progress = progress_begin(run->list.count, option_given(options, OPTION_QUIET));
    enum status status = batch_run(&run->list, &order, &run->arena, &run->batch, faults);
    progress_end(&run->progress);
    enum status ended = batch_filing_end(&run->filing, faults);
    status = status == OK ? ended : status;
    if (status == OK && batch_sum_up(&run->batch, &run->arena, &run->summary) != OK) {
        status = faults_memory(faults);
    }
    return status;
}

static enum status print_table(struct certification *run, struct faults *faults)
{
    const struct options *options = run->options;
    if (option_given(options, OPTION_JSON) || option_given(options, OPTION_QUIET)) {
        return OK;
    }
    enum status status = render_batch_text(&run->batch, &run->summary, console_colour(), stdout);
    (void)fflush(stdout); /* a failure is told by console_end */
    return status == OK ? OK : faults_memory(faults);
}

static void tell_papers(const struct certification *run)
{
    if (run->out == NULL || option_given(run->options, OPTION_QUIET)) {
        return;
    }
    (void)fprintf(stderr, "papers: %s: certificate.pdf, batch.html, batch.csv, batch.json and a folder for each serial",
                  run->out);
    if (run->filing.kept > 0) {
        (void)fprintf(stderr, " (%zu written, %zu unchanged)", run->filing.drawn, run->filing.kept);
    }
    (void)fputc('\n', stderr);
    if (run->filing.later_in_front > 0) {
        (void)fprintf(stderr, "papers: a later test stands in front of %zu of them, '%.80s' first; see its earlier/\n",
                      run->filing.later_in_front, run->filing.first_later);
    }
}

static enum status certify(struct certification *run, struct faults *faults)
{
    enum status status = prepare(run, faults);
    if (status == OK) {
        status = reduce_all(run, faults);
    }
    if (status == OK) {
        status = print_table(run, faults);
    }
    run->batch.passes_only = option_given(run->options, OPTION_PASSES_ONLY);
    if (status == OK && run->out != NULL) {
        status = batch_papers_write(&run->batch, &run->summary, &run->papers, faults);
    }
    if (status == OK) {
        tell_papers(run);
    }
    return status;
}

/* What to do about it. */
static const char *advice(enum status status)
{
    switch (status) {
    case E_CHILD: return "the certificate was not made; --no-papers judges the batch without drawing";
    case E_FILE: return "the certificate was not made; files that are there are whole, run it again with --resume";
    default: return "the certificate was not made";
    }
}

enum exit_status cmd_certify(const struct options *options)
{
    struct certification run = {.options = options};
    struct faults faults = {0}, left = {0};
    if (check_request(&run, &faults) != OK) {
        return console_usage(&faults, "certify");
    }
    enum status status = certify(&run, &faults);
    enum exit_status end = EXIT_PASSED;
    if (status != OK) {
        end = console_trouble(&faults, "%s", advice(status));
    } else if (run.summary.counts.passed < run.summary.counts.units || run.summary.counts.routine_failed > 0) {
        end = EXIT_NOT_PASSED;
    }
    ledger_close(&run.ledger);
    if (out_close(&run.papers, &left) != OK) {
        end = console_trouble(&left, NULL);
    }
    arena_release(&run.arena);
    return end;
}
