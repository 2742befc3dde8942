/* dutyproof find WORDS: what the registers of one or several bays hold of a serial, an order, a model, a day, a verdict
 */
#include "cli/console.h"

#include "papers/render_register.h"
#include "tables/bay.h"

#include <string.h>

enum { SHOWN_MOST = 100 }; /* rows on the terminal; JSON and CSV give all */

/* The command under way. */
struct finding {
    const struct options *options;
    size_t found, more; /* rows given; rows that were not */
    bool known;         /* a bay knows every word */
    const char *unknown;
};

static enum status take(void *context, const struct found_judgement *found)
{
    struct finding *finding = context;
    bool json = option_given(finding->options, OPTION_JSON), csv = option_given(finding->options, OPTION_CSV);
    if (finding->found++ == 0 && !json) {
        (csv ? render_found_csv_heading : render_found_text_heading)(stdout);
    }
    return (json ? render_found_json : csv ? render_found_csv : render_found_text)(found, stdout);
}

static enum status search(struct finding *finding, const char *bay, struct faults *faults)
{
    const struct options *options = finding->options;
    bool all = option_given(options, OPTION_JSON) || option_given(options, OPTION_CSV);
    struct register_question question = {
        .words = (const char *const *)options->operands, .count = options->operand_count, .most = all ? 0 : SHOWN_MOST};
    struct register_answer answer = {0};
    struct bay_register *book = NULL;
    enum status status = register_open(&(struct register_request){.bay = bay}, &book, faults);
    if (status == OK) {
        status = register_find(book, &question, (struct register_listener){finding, take}, &answer, faults);
        status = status == E_MEMORY && faults->count == 0 ? faults_memory(faults) : status;
    }
    register_close(book);
    finding->more += answer.all - answer.given;
    finding->known = finding->known || (status == OK && answer.unknown == NULL);
    finding->unknown = answer.unknown != NULL ? answer.unknown : finding->unknown;
    return status;
}

/* The bays that are named, else the one that the program was started in. */
static enum status search_all(struct finding *finding, struct faults *faults)
{
    const struct options *options = finding->options;
    struct arena arena = {0};
    enum status status = OK;
    if (options->bay_count == 0) {
        const char *bay = bay_find("./rig.csv", &arena);
        status = bay == NULL ? faults_add(faults, E_USAGE, (struct place){0},
                                          "no rig.csv in this folder or any above it, name the bay's folder with --bay")
                             : search(finding, bay, faults);
    }
    for (size_t i = 0; i < options->bay_count && status == OK; i++) {
        status = search(finding, options->bays[i], faults);
    }
    arena_release(&arena);
    return status;
}

static void tell(const struct finding *finding)
{
    if (finding->more > 0) {
        (void)fprintf(stderr, "dutyproof: and %zu more: ask with further words, or with --csv for all\n",
                      finding->more);
    } else if (finding->found == 0 && !finding->known && finding->unknown != NULL) {
        (void)fprintf(stderr, "dutyproof: nothing is known of '%.80s': no such serial, order, model, day or verdict\n",
                      finding->unknown);
    } else if (finding->found == 0) {
        (void)fputs("dutyproof: no judgement is all of that at once\n", stderr);
    }
}

enum exit_status cmd_find(const struct options *options)
{
    struct finding finding = {.options = options};
    struct faults faults = {0};
    if (option_given(options, OPTION_JSON) && option_given(options, OPTION_CSV)) {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "'--json' and '--csv' exclude each other");
        return console_usage(&faults, "find");
    }
    enum status status = search_all(&finding, &faults);
    (void)fflush(stdout);
    if (status != OK) {
        return status == E_USAGE ? console_usage(&faults, "find") : console_trouble(&faults, NULL);
    }
    tell(&finding);
    return finding.found > 0 ? EXIT_PASSED : EXIT_NOT_PASSED;
}
