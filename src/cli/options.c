#include "cli/options.h"

#include "base/text.h"

#include <getopt.h>
#include <string.h>

static const struct option_info option_table[OPTION_COUNT] = {
#define X(id, name, argument, help) {name, argument, help},
    OPTION_LIST(X)
#undef X
};

/* What getopt_long returns for option 0; beyond every character. */
enum { FIRST_OPTION = 256 };

const struct option_info *option_info(enum option_id option)
{
    return &option_table[option];
}

static enum status unknown(const char *word, uint32_t allowed, struct faults *faults)
{
    const char *names[OPTION_COUNT];
    size_t count = 0;
    for (size_t i = 0; i < OPTION_COUNT; i++) {
        if ((allowed >> i & 1U) != 0) {
            names[count++] = option_table[i].name;
        }
    }
    char name[64];
    (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(word, "="), word);
    const char *near = name_nearest(name + strspn(name, "-"), names, count);
    return near != NULL
               ? faults_add(faults, E_USAGE, (struct place){0}, "unknown option '%s', did you mean '--%s'?", name, near)
               : faults_add(faults, E_USAGE, (struct place){0}, "unknown option '%s'", name);
}

static enum status take(struct options *options, int found, const char *command, uint32_t allowed, uint32_t several,
                        struct faults *faults)
{
    size_t id = (size_t)(found == 'h' ? OPTION_HELP : found - FIRST_OPTION);
    if ((allowed >> id & 1U) == 0) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'%s' takes no option '--%s'", command,
                          option_table[id].name);
    }
    if (options->value[id] != NULL && ((several >> id & 1U) == 0 || options->bay_count == BAYS_MAX)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "option '--%s' is given twice", option_table[id].name);
    }
    if (option_table[id].argument != NULL && optarg[0] == '\0') {
        return faults_add(faults, E_USAGE, (struct place){0}, "option '--%s' needs a %s, not an empty text",
                          option_table[id].name, option_table[id].argument);
    }
    options->value[id] = option_table[id].argument != NULL ? optarg : "";
    if (id == OPTION_BAY) {
        options->bays[options->bay_count++] = optarg;
    }
    return OK;
}

enum status options_read(int argc, char **argv, uint32_t allowed, uint32_t several, struct options *options,
                         struct faults *faults)
{
    struct option long_options[OPTION_COUNT + 1] = {{0}};
    for (int i = 0; i < OPTION_COUNT; i++) {
        long_options[i].name = option_table[i].name;
        long_options[i].has_arg = option_table[i].argument != NULL ? required_argument : no_argument;
        long_options[i].val = FIRST_OPTION + i;
    }
    *options = (struct options){0};
    opterr = 0; /* the messages are ours */
    enum status status = OK;
    for (int found; status == OK && (found = getopt_long(argc, argv, ":h", long_options, NULL)) != -1;) {
        if (found == '?') {
            status = unknown(argv[optind - 1], allowed, faults);
        } else if (found == ':') {
            status = faults_add(faults, E_USAGE, (struct place){0}, "option '%s' needs a value", argv[optind - 1]);
        } else {
            status = take(options, found, argv[0], allowed, several, faults);
        }
    }
    options->operands = argv + optind;
    options->operand_count = (size_t)(argc - optind);
    return status;
}

/* "120-150" with seconds from the first row of the log. */
static bool stretch_parse(const char *text, size_t length, struct stretch *stretch)
{
    const char *dash = memchr(text, '-', length);
    if (dash == NULL) {
        return false;
    }
    size_t before = (size_t)(dash - text);
    return number_parse(text, before, '.', &stretch->from_s) &&
           number_parse(dash + 1, length - before - 1, '.', &stretch->to_s) && stretch->from_s < stretch->to_s;
}

enum status options_number(const struct options *options, enum option_id option, double low, double high,
                           struct quantity *number, struct faults *faults)
{
    const char *text = options->value[option];
    double value;
    *number = quantity_absent();
    if (text == NULL) {
        return OK;
    }
    if (!number_parse(text, strlen(text), '.', &value) || !(value >= low && value <= high)) {
        return faults_add(faults, E_USAGE, (struct place){0}, "'--%s %.80s' is not a number from %g to %g",
                          option_info(option)->name, text, low, high);
    }
    *number = quantity_of(value);
    return OK;
}

enum status options_settle(const struct options *options, struct arena *arena, struct settle_rule *rule,
                           struct faults *faults)
{
    *rule = (struct settle_rule){0};
    struct stretch *stretches = NULL;
    for (const char *text = options->value[OPTION_POINTS]; text != NULL;) {
        size_t length = strcspn(text, ",");
        struct stretch *stretch = arena_push(arena, &stretches, &rule->stretch_count, sizeof *stretch);
        if (stretch == NULL) {
            return faults_memory(faults);
        }
        if (!stretch_parse(text, length, stretch)) {
            return faults_add(faults, E_USAGE, (struct place){0},
                              "'%.*s' is not a stretch of time, expected seconds from the start as 120-150",
                              (int)length, text);
        }
        text = text[length] == ',' ? text + length + 1 : NULL;
    }
    rule->stretches = stretches;
    return OK;
}
