/* dutyproof verify PAPER...: papers against the register, and recomputed from log and tables */
#include "cli/console.h"

#include "filing/verify.h"

#include <string.h>

static void tell(void *listener, enum verified outcome, const char *where, const char *text)
{
    const struct options *options = listener;
    static const char *const words[] = {
        [VERIFIED_SAME] = "same", [VERIFIED_DIFFERS] = "DIFFERS", [VERIFIED_NOT] = "cannot"};
    if (outcome == VERIFIED_SAME && option_given(options, OPTION_QUIET)) {
        return;
    }
    (void)printf("%-8s%s: ", words[outcome], where);
    for (const char *line = text;; line++) {
        size_t length = strcspn(line, "\n");
        (void)printf("%.*s\n", (int)length, line);
        line += length;
        if (*line == '\0') {
            return;
        }
        (void)printf("%8s", "");
    }
}

enum exit_status cmd_verify(const struct options *options)
{
    struct faults faults = {0};
    const struct verify_order order = {.bays = options->bays,
                                       .bay_count = options->bay_count,
                                       .log = options->value[OPTION_LOG],
                                       .tell = tell,
                                       .listener = (void *)options};
    enum verified worst = VERIFIED_SAME;
    if (options->operand_count == 0) {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "no paper, folder, bay or register is named");
        return console_usage(&faults, "verify");
    }
    for (size_t i = 0; i < options->operand_count; i++) {
        enum verified outcome = VERIFIED_SAME;
        if (verify_path(&order, options->operands[i], &outcome, &faults) != OK) {
            return console_trouble(&faults, NULL);
        }
        worst = outcome > worst ? outcome : worst;
    }
    return worst == VERIFIED_SAME ? EXIT_PASSED : worst == VERIFIED_DIFFERS ? EXIT_NOT_PASSED : EXIT_TROUBLE;
}
