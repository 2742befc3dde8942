/* dutyproof watch FOLDER: each log that the logger finishes becomes a verdict and papers, until Ctrl-C */
#include "cli/console.h"
#include "cli/large.h"
#include "cli/session.h"

#include "base/files.h"
#include "base/text.h"
#include "filing/exchange.h"
#include "filing/unit_papers.h"
#include "filing/watch.h"
#include "papers/check_words.h"
#include "papers/figures.h"
#include "papers/impossible_words.h"
#include "papers/render.h"
#include "run/unit.h"

#include <ctype.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

/* The command under way. */
struct watching {
    const struct options *options;
    const char *folder, *out;
    struct drawing drawing;
    bool large; /* standard output is a terminal */
    size_t logs;
    enum exit_status worst;
};

static int terminal_columns(void)
{
    struct winsize size = {0};
    return ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
}

/* --- the verdict --- */

/* Green only where nothing stands against the unit. */
static const char *colour_of(enum verdict verdict, bool clear)
{
    if (!console_colour()) {
        return "";
    }
    return clear ? "\033[1;32m" : verdict == VERDICT_FAIL ? "\033[1;31m" : "\033[1;33m";
}

static void print_large(enum verdict verdict, bool clear)
{
    char word[32];
    size_t length = 0;
    for (const char *c = verdict_name(verdict); *c != '\0' && length + 1 < sizeof word; c++) {
        word[length++] = (char)toupper((unsigned char)*c);
    }
    word[length] = '\0';
    large_print(word, terminal_columns(), colour_of(verdict, clear), stdout);
}

static void print_check(const struct check *check, const struct duty *duty, const struct figure_units *units,
                        struct arena *arena)
{
    struct check_words words;
    (void)check_words_of(check, duty, arena, &words); /* without memory the verdict stands by itself */
    struct check_figures figures;
    check_figures_of(check, units, &figures);
    (void)printf("  %s: %s", check_name(check), verdict_name(check->verdict));
    if (check->verdict == VERDICT_NOT_JUDGED) {
        (void)printf("%s%s", words.reason[0] != '\0' ? ": " : "", words.reason);
    } else if (strcmp(figures.margin, "-") != 0) {
        (void)printf(", %s %s, limits %s, margin %s", figures.value, figures.unit, figures.limits, figures.margin);
    }
    (void)putchar('\n');
}

static void print_impossible(const struct result *result, const struct figure_units *units)
{
    static const struct document english;
    char words[IMPOSSIBLE_WORDS];
    if (result->impossible.count > 0) {
        (void)printf("  %s\n", impossible_words(&english, result, units, words));
    }
}

/* Whoever reads of a unit that does not pass goes to open it. */
static void print_safety(const struct result *result)
{
    static const struct document english;
    if (!result_is_clear(result)) {
        (void)printf("  %s\n", safety_words(&english));
    }
}

static void print_verdict(const struct watching *watching, const struct result *result, struct arena *arena)
{
    struct figure_units units = figure_units_of(result->model);
    const char *serial = text_shown(arena, result->serial, 80);
    serial = serial == NULL ? "" : serial;
    if (!watching->large) {
        (void)printf("%s: %s\n", serial, result_verdict_text(result));
    } else {
        char tested[FIGURE_TEXT];
        (void)printf("\n  %s  %s  %s\n\n", serial, result->model->name, figure_date(&result->tested, tested));
        print_large(result->verdict, result_is_clear(result));
        (void)printf("\n  %s\n", result_verdict_text(result));
    }
    print_impossible(result, &units);
    for (size_t d = 0; d < result->duty_count && result->impossible.count == 0; d++) {
        for (size_t i = 0; i < result->duties[d].check_count; i++) {
            print_check(&result->duties[d].checks[i], result->duties[d].duty, &units, arena);
        }
    }
    for (size_t i = 0; i < result->notes.count; i++) {
        if (result->notes.items[i].kind != NOTE_INPUT) {
            (void)printf("  %s: %s\n", note_kind_name(result->notes.items[i].kind), result->notes.items[i].text);
        }
    }
    print_safety(result);
}

static enum status print_result(const struct watching *watching, const struct result *result, struct arena *arena,
                                struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    if (!option_given(watching->options, OPTION_JSON)) {
        print_verdict(watching, result, arena);
    } else if (render_json(result, true, &text, &length) == OK) {
        (void)fwrite(text, 1, length, stdout);
        free(text);
    } else {
        return faults_memory(faults);
    }
    (void)fflush(stdout); /* a failure is told by console_end */
    return OK;
}

/* --- one log --- */

static enum status write_once(struct watching *watching, const struct result *result, struct arena *arena,
                              struct papers *papers, struct faults *faults)
{
    struct drawing *drawing = &watching->drawing;
    struct out out = {0};
    struct ledger ledger = {0};
    enum status status = ledger_open(result->bay, watching->out, &ledger, faults);
    status = status == OK ? session_out(watching->out, "watch", &out, faults) : status;
    enum status drawn = status == OK ? drawing_start(drawing, faults) : status;
    if (drawn == OK || (drawn == E_CHILD && drawing->scratch.path != NULL)) {
        struct papers_order order = {.result = result, .ledger = &ledger, .press = &drawing->press};
        status = papers_write(&order, &out, arena, papers, faults);
    }
    ledger_close(&ledger);
    enum status closed = out_close(&out, faults);
    return status != OK ? status : drawn != OK ? drawn : closed;
}

static void tell_papers(const struct watching *watching, const struct papers *papers)
{
    if (papers->folder == NULL || option_given(watching->options, OPTION_QUIET)) {
        return;
    }
    (void)fprintf(stderr, "papers: %s%s\n", papers->folder,
                  papers->later_in_front ? " (a later test of this serial stands in front)" : "");
}

/* What failed may have passed: OUT was deleted and is made again, a gnuplot has died and is started again. */
static enum status write_papers(struct watching *watching, const struct result *result, struct arena *arena,
                                struct faults *faults)
{
    struct papers papers = {0};
    struct faults first = {0};
    enum status status = write_once(watching, result, arena, &papers, &first);
    if (status == E_FILE || status == E_CHILD) {
        (void)drawing_stop(&watching->drawing, &(struct faults){0});
        status = write_once(watching, result, arena, &papers, faults);
    } else {
        *faults = first;
    }
    tell_papers(watching, &papers);
    if (status != OK) {
        (void)drawing_stop(&watching->drawing, &(struct faults){0});
    }
    return status;
}

static void worsen(struct watching *watching, enum exit_status end)
{
    watching->worst = exit_worse(watching->worst, end);
}

static enum status reduce_log(struct watching *watching, const char *path, struct arena *arena, struct result *result,
                              struct faults *faults)
{
    struct bay *bay = arena_alloc(arena, 1, sizeof *bay); /* read anew each time: its tables may have been mended */
    struct unit_request request = {.log_path = path, .model = watching->options->value[OPTION_MODEL]};
    if (bay == NULL) {
        return faults_memory(faults);
    }
    enum status status = session_bay(watching->options, path, arena, bay, faults);
    return status == OK ? unit_reduce(bay, &request, arena, result, faults) : status;
}

static void take_log(struct watching *watching, const char *path)
{
    struct arena arena = {0};
    struct result result;
    struct faults faults = {0};
    watching->logs++;
    if (reduce_log(watching, path, &arena, &result, &faults) != OK) {
        if (watching->large && !option_given(watching->options, OPTION_JSON)) {
            (void)putchar('\n');
            print_large(VERDICT_NOT_JUDGED, false);
        }
        (void)console_trouble(&faults, "'%.200s' gives no result; it is taken again when it changes", path);
        worsen(watching, EXIT_NOT_PASSED);
    } else {
        worsen(watching, result_passes(&result) ? EXIT_PASSED : EXIT_NOT_PASSED);
        enum status status = print_result(watching, &result, &arena, &faults);
        if (status == OK && watching->out != NULL) {
            status = write_papers(watching, &result, &arena, &faults);
        }
        if (status != OK) {
            worsen(watching, console_trouble(&faults, "unit '%.80s': its papers are not complete", result.serial));
        }
    }
    arena_release(&arena);
}

/* --- watching --- */

static void hear(struct watching *watching, enum watch_event event, const char *path)
{
    switch (event) {
    case WATCH_LOG: take_log(watching, path); break;
    case WATCH_STALLED:
        (void)fprintf(stderr, "%s: its last line is not ended yet: waiting for the logger\n", path);
        break;
    case WATCH_GONE: (void)fprintf(stderr, "%s: the folder has vanished: waiting for it\n", watching->folder); break;
    case WATCH_BACK: (void)fprintf(stderr, "%s: the folder is there again\n", watching->folder); break;
    case WATCH_NOTHING: break;
    }
}

/* The signals that ask for the end are held back and looked for between two logs, so that papers are not cut. */
static void hold_signals(sigset_t *held)
{
    (void)sigemptyset(held);
    (void)sigaddset(held, SIGINT);
    (void)sigaddset(held, SIGTERM);
    (void)sigaddset(held, SIGHUP);
    (void)sigprocmask(SIG_BLOCK, held, NULL);
}

static bool asked_to_stop(const sigset_t *held)
{
    struct timespec at_once = {0};
    return sigtimedwait(held, NULL, &at_once) > 0;
}

static enum status run(struct watching *watching, struct watch *watch, struct faults *faults)
{
    sigset_t held;
    enum status status = OK;
    hold_signals(&held);
    while (status == OK && !asked_to_stop(&held)) {
        enum watch_event event = WATCH_NOTHING;
        const char *path = NULL;
        status = watch_next(watch, &event, &path, faults);
        if (status == OK) {
            hear(watching, event, path);
        }
    }
    return status;
}

static void greet(const struct watching *watching, bool polled)
{
    if (option_given(watching->options, OPTION_QUIET)) {
        return;
    }
    (void)fprintf(stderr, "watching %s%s: papers %s%s; Ctrl-C ends it\n", watching->folder,
                  polled ? " (no notices of changes here: it is looked at every second)" : "",
                  watching->out != NULL ? "go to " : "are not written", watching->out != NULL ? watching->out : "");
}

static enum status check_request(struct watching *watching, struct faults *faults)
{
    const struct options *options = watching->options;
    bool papers = !option_given(options, OPTION_NO_PAPERS);
    if (options->operand_count != 1) {
        return faults_add(faults, E_USAGE, (struct place){0}, "expected one folder, got %zu", options->operand_count);
    }
    if (!papers && option_given(options, OPTION_OUT)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--out' and '--no-papers' exclude each other");
    }
    watching->folder = options->operands[0];
    watching->out = !papers ? NULL : option_given(options, OPTION_OUT) ? options->value[OPTION_OUT] : "reports";
    watching->drawing.parent = watching->out;
    watching->large = isatty(STDOUT_FILENO) == 1;
    return OK;
}

/* Finishes and clears what a dead run has left. */
static void clear_remains(const char *path)
{
    struct out out = {0};
    if (out_open(path, "watch", &out, &(struct faults){0}) == OK) {
        out_sweep(&out);
        (void)out_close(&out, &(struct faults){0});
    }
}

enum exit_status cmd_watch(const struct options *options)
{
    struct watching watching = {.options = options};
    struct watch *watch = NULL;
    struct faults faults = {0};
    bool polled = false;
    if (check_request(&watching, &faults) != OK) {
        return console_usage(&faults, "watch");
    }
    enum status status = watch_start(watching.folder, false, &watch, &polled, &faults);
    if (status == OK) {
        if (watching.out != NULL) {
            clear_remains(watching.out);
        }
        greet(&watching, polled);
        status = run(&watching, watch, &faults);
    }
    watch_stop(watch);
    enum status stopped = drawing_stop(&watching.drawing, &faults);
    if (status != OK || stopped != OK) {
        return console_trouble(&faults, NULL);
    }
    if (!option_given(options, OPTION_QUIET)) {
        (void)fprintf(stderr, "stopped: %zu %s taken\n", watching.logs, watching.logs == 1 ? "log" : "logs");
    }
    return watching.worst;
}
