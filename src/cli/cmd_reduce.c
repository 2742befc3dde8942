/* dutyproof reduce LOG...: each log becomes a sheet on the terminal and papers in a folder */
#include "cli/console.h"
#include "cli/session.h"

#include "filing/exchange.h"
#include "filing/unit_papers.h"
#include "papers/render.h"
#include "run/unit.h"

#include <stdlib.h>

/* The command under way. */
struct reduction {
    const struct options *options;
    const char *out;
    struct arena arena; /* the settle rule */
    struct settle_rule settle;
    struct quantity trials, guard; /* of --monte-carlo and --guard */
    struct drawing drawing;
    struct out papers; /* opened when the first papers are written */
};

/* One document for one log; of several, one a line. */
static enum status print_json(const struct reduction *reduction, const struct result *result, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    if (render_json(result, reduction->options->operand_count > 1, &text, &length) != OK) {
        return faults_memory(faults);
    }
    (void)fwrite(text, 1, length, stdout); /* checked at the end, by console_end */
    free(text);
    return OK;
}

static enum status print_sheet(const struct result *result, bool first, struct faults *faults)
{
    (void)fputs(first ? "" : "\n", stdout);
    return render_sheet_text(result, console_colour(), stdout) == OK ? OK : faults_memory(faults);
}

static enum status print_result(const struct reduction *reduction, const struct result *result, bool first,
                                struct faults *faults)
{
    enum status status = OK;
    if (option_given(reduction->options, OPTION_JSON)) {
        status = print_json(reduction, result, faults);
    } else if (!option_given(reduction->options, OPTION_QUIET)) {
        status = print_sheet(result, first, faults);
    }
    (void)fflush(stdout); /* the verdict is seen before anything is drawn; a failure is told by console_end */
    return status;
}

static void curves_script(const void *result, int columns, int rows, FILE *to)
{
    render_plot_script(result, columns, rows, to);
}

/* The curves in characters. */
static enum exit_status plot(struct reduction *reduction, const struct result *result)
{
    const struct plot curves = {.script = curves_script, .what = result, .columns = 100, .rows = 30};
    struct faults faults = {0};
    enum status status = drawing_plot(&reduction->drawing, &curves, stdout, &faults);
    (void)fflush(stdout);
    return status == OK ? EXIT_PASSED : console_trouble(&faults, "unit '%.80s': no plot was drawn", result->serial);
}

static void tell_papers(const struct papers *papers)
{
    (void)fprintf(stderr, "papers: %s\n", papers->folder);
    if (papers->kept != NULL) {
        (void)fprintf(stderr, "papers: those that stood there before are kept in %s\n", papers->kept);
    }
    if (papers->issue.replaced_at != NULL) {
        (void)fprintf(stderr, "papers: revision %lld, in place of that of %s (%s):\n%s", papers->issue.revision,
                      papers->issue.replaced_at, papers->issue.replaced, papers->issue.changes);
    }
    if (papers->later_in_front) {
        (void)fprintf(stderr, "papers: a later test of this serial stands in front, and stays there\n");
    }
}

static enum status open_out(struct reduction *reduction, struct faults *faults)
{
    if (reduction->papers.path != NULL) {
        return OK;
    }
    enum status status = session_out(reduction->out, "reduce", &reduction->papers, faults);
    if (status == OK) {
        out_sweep(&reduction->papers);
    }
    return status;
}

/* Without gnuplot every paper but sheet.pdf is still written; that this one is missing is trouble all the same. */
static enum exit_status write_papers(struct reduction *reduction, const struct result *result, struct arena *arena)
{
    struct drawing *drawing = &reduction->drawing;
    struct papers papers = {0};
    struct ledger ledger = {0};
    struct faults faults = {0};
    enum status status = ledger_open(result->bay, reduction->out, &ledger, &faults);
    status = status == OK ? open_out(reduction, &faults) : status;
    enum status drawn = status == OK ? drawing_start(drawing, &faults) : status;
    if (drawn == OK || drawn == E_CHILD) {
        struct papers_order order = {.result = result, .ledger = &ledger, .press = &drawing->press};
        status = papers_write(&order, &reduction->papers, arena, &papers, &faults);
    } else {
        status = drawn;
    }
    ledger_close(&ledger);
    bool written = status == OK || status == E_CHILD;
    if (written && !option_given(reduction->options, OPTION_QUIET)) {
        tell_papers(&papers);
    }
    if (status == OK && drawn == OK) {
        return EXIT_PASSED;
    }
    return written
               ? console_trouble(&faults, "unit '%.80s': sheet.pdf is missing, the other papers are written",
                                 result->serial)
               : console_trouble(&faults,
                                 "unit '%.80s': its papers in '%.200s' are not written, try another folder with --out",
                                 result->serial, reduction->out);
}

/* What is done with a finished result. */
static enum exit_status give(struct reduction *reduction, const struct result *result, bool first, struct arena *arena)
{
    const struct options *options = reduction->options;
    struct faults faults = {0};
    enum exit_status end = result_passes(result) ? EXIT_PASSED : EXIT_NOT_PASSED;
    if (print_result(reduction, result, first, &faults) != OK) {
        end = console_trouble(&faults, NULL);
    }
    if (option_given(options, OPTION_PLOT)) {
        end = exit_worse(end, plot(reduction, result));
    }
    if (!option_given(options, OPTION_NO_PAPERS)) {
        end = exit_worse(end, write_papers(reduction, result, arena));
    }
    return end;
}

static enum exit_status reduce_log(struct reduction *reduction, const char *log_path, bool first)
{
    const struct options *options = reduction->options;
    struct arena arena = {0};
    struct bay bay = {0};
    struct result result = {0};
    struct faults faults = {0};
    struct unit_request request = {.log_path = log_path,
                                   .serial = options->value[OPTION_SERIAL],
                                   .model = options->value[OPTION_MODEL],
                                   .settle = reduction->settle,
                                   .monte_carlo_trials = (size_t)quantity_or(reduction->trials, 0.0),
                                   .guard = reduction->guard};
    enum status status = session_bay(options, log_path, &arena, &bay, &faults);
    if (status == OK) {
        status = unit_reduce(&bay, &request, &arena, &result, &faults);
    }
    enum exit_status end =
        status == OK ? give(reduction, &result, first, &arena)
                     : console_trouble(&faults, "'%.200s' gives no result, nothing is written for it", log_path);
    arena_release(&arena);
    return end;
}

static enum status exclude(const struct options *options, enum option_id a, enum option_id b, struct faults *faults)
{
    if (!option_given(options, a) || !option_given(options, b)) {
        return OK;
    }
    return faults_add(faults, E_USAGE, (struct place){0}, "'--%s' and '--%s' exclude each other", option_info(a)->name,
                      option_info(b)->name);
}

static enum status check_request(const struct options *options, struct faults *faults)
{
    if (options->operand_count == 0) {
        return faults_add(faults, E_USAGE, (struct place){0}, "no log is named");
    }
    if (options->operand_count > 1 && option_given(options, OPTION_SERIAL)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--serial' names one unit, but %zu logs are given",
                          options->operand_count);
    }
    enum status status = exclude(options, OPTION_JSON, OPTION_PLOT, faults);
    status = status == OK ? exclude(options, OPTION_QUIET, OPTION_PLOT, faults) : status;
    return status == OK ? exclude(options, OPTION_OUT, OPTION_NO_PAPERS, faults) : status;
}

enum exit_status cmd_reduce(const struct options *options)
{
    struct reduction reduction = {.options = options,
                                  .out = option_given(options, OPTION_OUT) ? options->value[OPTION_OUT] : "reports"};
    struct faults faults = {0};
    if (check_request(options, &faults) != OK ||
        options_settle(options, &reduction.arena, &reduction.settle, &faults) != OK ||
        options_number(options, OPTION_MONTE_CARLO, 100, 1e7, &reduction.trials, &faults) != OK ||
        options_number(options, OPTION_GUARD, 0.5, 1, &reduction.guard, &faults) != OK) {
        arena_release(&reduction.arena);
        return console_usage(&faults, "reduce");
    }
    reduction.drawing.parent = option_given(options, OPTION_NO_PAPERS) ? temporary_folder() : reduction.out;
    enum exit_status end = EXIT_PASSED;
    for (size_t i = 0; i < options->operand_count; i++) {
        end = exit_worse(end, reduce_log(&reduction, options->operands[i], i == 0));
    }
    enum status stopped = drawing_stop(&reduction.drawing, &faults);
    if (out_close(&reduction.papers, &faults) != OK || stopped != OK) {
        end = console_trouble(&faults, NULL);
    }
    arena_release(&reduction.arena);
    return end;
}
