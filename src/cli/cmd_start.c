/* dutyproof start DIR: the tables of a new bay, and what is still to fill */
#include "cli/console.h"
#include "cli/start_tables.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"
#include "papers/render_readiness.h"
#include "tables/cells.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const struct word shops[] = {{"metric", SHOP_METRIC}, {"us", SHOP_US}, {"indian", SHOP_INDIAN}, {0}};
static const struct word phases[] = {{"1", 1}, {"3", 3}, {0}};

/* "a, b": the first name of each value. */
static const char *words_text(const struct word *words, struct arena *arena)
{
    const char *text = "";
    for (const struct word *word = words; word->name != NULL && text != NULL; word++) {
        if (word == words || word->value != word[-1].value) {
            text = arena_format(arena, "%s%s%s", text, *text == '\0' ? "" : ", ", word->name);
        }
    }
    return text;
}

static bool find_word(const struct word *words, const char *text, int *value)
{
    for (const struct word *word = words; word->name != NULL; word++) {
        if (name_equal(word->name, text)) {
            *value = word->value;
            return true;
        }
    }
    return false;
}

/* Asks until an answer is one of the words. Returns: false when the input ends. */
static bool ask(const char *question, const char *choices, const struct word *words, int *value)
{
    enum { ANSWER_MAX = 64 };
    char answer[ANSWER_MAX];
    for (;;) {
        (void)printf("%s (%s): ", question, choices);
        (void)fflush(stdout);
        if (fgets(answer, sizeof answer, stdin) == NULL) {
            return false;
        }
        answer[strcspn(answer, "\r\n")] = '\0';
        if (find_word(words, answer, value)) {
            return true;
        }
    }
}

/* One choice: by its option, else asked on a terminal. */
static enum status choose(const struct options *options, enum option_id option, const char *question,
                          const struct word *words, int *value, struct arena *arena, struct faults *faults)
{
    const char *given = options->value[option], *choices = words_text(words, arena);
    if (choices == NULL) {
        return faults_memory(faults);
    }
    if (given != NULL && !find_word(words, given, value)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--%s %.40s' is not one of: %s",
                          option_info(option)->name, given, choices);
    }
    if (given == NULL && (isatty(STDIN_FILENO) != 1 || !ask(question, choices, words, value))) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--%s' is needed, one of: %s", option_info(option)->name,
                          choices);
    }
    return OK;
}

static enum status choose_all(const struct options *options, struct start_choice *choice, struct arena *arena,
                              struct faults *faults)
{
    int method = 0, shop = 0, basis = 0;
    const struct {
        enum option_id option;
        const char *question;
        const struct word *words;
        int *value;
    } questions[] = {
        {OPTION_FLOW, "How is flow measured", rig_words("flow method"), &method},
        {OPTION_PHASES, "Phases of the motors", phases, &choice->phases},
        {OPTION_UNITS, "Units of the shop", shops, &shop},
        {OPTION_SPEED, "Readings are taken to rated speed by", rig_words("speed basis"), &basis},
    };
    enum status status = OK;
    for (size_t i = 0; i < sizeof questions / sizeof *questions && status == OK; i++) {
        status = choose(options, questions[i].option, questions[i].question, questions[i].words, questions[i].value,
                        arena, faults);
    }
    choice->method = (enum flow_method)method;
    choice->shop = (enum shop)shop;
    choice->basis = (enum speed_basis)basis;
    return status;
}

static enum status write_table(const struct start_table *table, const char *path, const struct start_choice *choice,
                               struct arena *arena, struct faults *faults)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&text, &length);
    if (to == NULL) {
        return faults_memory(faults);
    }
    enum status status = table->write(choice, arena, to);
    bool written = ferror(to) == 0;
    written = fclose(to) == 0 && written;
    status = status == OK && written ? file_write(path, text, length, faults) : faults_memory(faults);
    free(text);
    return status;
}

/* What is there is kept. */
static enum status write_tables(const char *folder, const struct start_choice *choice, struct arena *arena,
                                struct faults *faults)
{
    const char *logs = arena_format(arena, "%s/logs", folder);
    enum status status = logs == NULL ? faults_memory(faults) : folder_make(logs, faults);
    for (const struct start_table *table = start_tables; table->path != NULL && status == OK; table++) {
        const char *path = arena_format(arena, "%s/%s", folder, table->path);
        if (path == NULL) {
            return faults_memory(faults);
        }
        bool there = access(path, F_OK) == 0;
        if (!there && errno != ENOENT) {
            return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be made: %s", strerror(errno));
        }
        status = there ? OK : write_table(table, path, choice, arena, faults);
        if (status == OK) {
            (void)printf("%s %s\n", there ? "kept    " : "written ", path);
        }
    }
    return status;
}

static enum status list_to_fill(const char *folder, struct arena *arena, struct faults *faults)
{
    struct bay bay;
    struct readiness readiness;
    enum status status = bay_read_unfilled(folder, arena, &bay, faults);
    if (status == OK && (readiness_find(&bay, arena, &readiness) != OK || render_to_fill(&readiness, stdout) != OK)) {
        status = faults_memory(faults);
    }
    if (status == OK) {
        (void)printf("\nThen: dutyproof inspect %s\n", folder);
    }
    return status;
}

enum exit_status cmd_start(const struct options *options)
{
    struct arena arena = {0};
    struct faults faults = {0};
    struct start_choice choice = {0};
    enum status status = options->operand_count == 1
                             ? choose_all(options, &choice, &arena, &faults)
                             : faults_add(&faults, E_USAGE, (struct place){0},
                                          "one folder is needed, but %zu are given", options->operand_count);
    if (status == OK) {
        status = write_tables(options->operands[0], &choice, &arena, &faults);
    }
    if (status == OK) {
        status = list_to_fill(options->operands[0], &arena, &faults);
    }
    arena_release(&arena);
    if (status == E_USAGE) {
        return console_usage(&faults, "start");
    }
    return status == OK ? EXIT_PASSED : console_trouble(&faults, NULL);
}
