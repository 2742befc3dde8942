#include "tables/cause_table.h"

#include "base/text.h"
#include "tables/builtin.h"
#include "tables/cells.h"

#include <string.h>

enum {
    C_NAME,
    C_FAMILY,
    C_PLACE,
    C_PRIOR,
    C_SEVERITIES,
    C_MEANS,
    C_FORM,
    C_DISCRETE,
    C_CHECK,
    C_TOLD_BY,
    C_TWINS,
    C_CAUTION,
    C_SOURCE,
    C_CONFIDENCE,
    C_COUNT
};

static const struct table_field cause_fields[C_COUNT] = {
    [C_NAME] = {"cause", DIM_NONE, true},
    [C_FAMILY] = {"family", DIM_NONE, false},
    [C_PLACE] = {"place", DIM_NONE, false},
    [C_PRIOR] = {"prior", DIM_RATIO, false},
    [C_SEVERITIES] = {"severities", DIM_NONE, false},
    [C_MEANS] = {"severity means", DIM_NONE, false},
    [C_FORM] = {"form", DIM_RATIO, false},
    [C_DISCRETE] = {"discrete", DIM_NONE, false},
    [C_CHECK] = {"check first", DIM_NONE, false},
    [C_TOLD_BY] = {"told by", DIM_NONE, false},
    [C_TWINS] = {"twins", DIM_NONE, false},
    [C_CAUTION] = {"caution", DIM_NONE, false},
    [C_SOURCE] = {"source", DIM_NONE, false},
    [C_CONFIDENCE] = {"confidence", DIM_NONE, false},
};

static const struct word families[] = {
#define X(name, text) {text, FAMILY_##name},
    CAUSE_FAMILY_LIST(X)
#undef X
        {0},
};
static const struct word places[] = {
    {"record", PLACE_RECORD}, {"supply", PLACE_SUPPLY}, {"rig", PLACE_RIG}, {"set", PLACE_SET}, {0},
};
static const struct word cautions[] = {
    {"none", CAUTION_NONE}, {"terminals", CAUTION_TERMINALS}, {"open", CAUTION_OPEN}, {"rotate", CAUTION_ROTATE}, {0},
};
static const struct word yes_no[] = {{"no", 0}, {"yes", 1}, {0}};

/* A cause that half of all units have is the model as it is built, not a fault. */
static const double prior_most = 0.5;
static const struct range prior_range = RANGE_FROM(0, 0.5);
static const struct range form_range = RANGE_FROM(0, 1);

static bool number_of(const struct cells *cells, const char *text, double *value)
{
    return table_number(&cells->table, text, value);
}

/* "1", "0.03..0.4", "-0.1..-0.01": ends of one sign, none of them 0. The text is cut at the dots. */
static bool read_range(const struct cells *cells, char *text, struct severity_range *range)
{
    char *dots = strstr(text, "..");
    if (dots != NULL) {
        *dots = '\0';
    }
    if (!number_of(cells, text, &range->low) || !number_of(cells, dots == NULL ? text : dots + 2, &range->high)) {
        return false;
    }
    return range->low <= range->high && range->low * range->high > 0.0;
}

static bool read_ranges(const struct cells *cells, char *text, struct cause_row *row)
{
    row->range_count = 0;
    for (char *item = text; item != NULL;) {
        char *end = strchr(item, ';');
        if (end != NULL) {
            *end = '\0';
        }
        item += strspn(item, " ");
        if (row->range_count == CAUSE_SEVERITIES_MAX || !read_range(cells, item, &row->ranges[row->range_count++])) {
            return false;
        }
        item = end == NULL ? NULL : end + 1;
    }
    return true;
}

static void read_severities(struct cells *cells, size_t at, struct cause_row *row)
{
    const char *text = cells_text(cells, at, C_SEVERITIES);
    if (*text == '\0') {
        return;
    }
    char *copy = arena_text(cells->arena, text, strlen(text));
    if (copy == NULL) {
        cells_no_memory(cells);
    } else if (!read_ranges(cells, copy, row)) {
        cells_fault(cells, at, C_SEVERITIES,
                    "'severities' is '%.*s', expected at most %d values or ranges a..b of one sign, separated by ';'",
                    cell_shown(text), text, CAUSE_SEVERITIES_MAX);
    }
}

static void read_text(struct cells *cells, size_t at, int field, const char **text)
{
    const char *stated = cells_text(cells, at, field);
    if (*stated != '\0' || *text == NULL) {
        *text = stated;
    }
}

static void read_words(struct cells *cells, size_t at, struct cause_row *row)
{
    read_text(cells, at, C_MEANS, &row->severity_means);
    read_text(cells, at, C_CHECK, &row->check_first);
    read_text(cells, at, C_TOLD_BY, &row->told_by);
    read_text(cells, at, C_TWINS, &row->twins);
    read_text(cells, at, C_SOURCE, &row->source);
    read_text(cells, at, C_CONFIDENCE, &row->confidence);
}

static void read_row(struct cells *cells, size_t at, struct cause_row *row)
{
    row->family = (enum cause_family)cells_word(cells, at, C_FAMILY, "family", families, (int)row->family);
    row->place = (enum cause_place)cells_word(cells, at, C_PLACE, "place", places, (int)row->place);
    row->caution = (enum cause_caution)cells_word(cells, at, C_CAUTION, "caution", cautions, (int)row->caution);
    row->discrete = cells_word(cells, at, C_DISCRETE, "discrete", yes_no, row->discrete) != 0;
    row->prior = quantity_or(cells_quantity(cells, at, C_PRIOR, &prior_range), row->prior);
    row->form = quantity_or(cells_quantity(cells, at, C_FORM, &form_range), row->form);
    read_severities(cells, at, row);
    read_words(cells, at, row);
}

/* A new cause states what it cannot do without. */
static void check_new(struct cells *cells, size_t at, const struct cause_row *row)
{
    static const int needed[] = {C_FAMILY, C_PRIOR, C_CHECK};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        if (*cells_text(cells, at, needed[i]) == '\0') {
            cells_fault(cells, at, needed[i], "'%s' is blank, expected it to be stated for the new cause '%.*s'",
                        cause_fields[needed[i]].name, cell_shown(row->name), row->name);
        }
    }
    if (row->family != FAMILY_SIGN && row->family != FAMILY_NONE && row->range_count == 0) {
        cells_fault(cells, at, C_SEVERITIES, "'severities' is blank, expected them for the new cause '%.*s'",
                    cell_shown(row->name), row->name);
    }
}

static struct cause_row *find(struct cause_table *causes, const char *name)
{
    for (size_t i = 0; i < causes->count; i++) {
        if (name_equal(causes->rows[i].name, name)) {
            return &causes->rows[i];
        }
    }
    return NULL;
}

static void take_row(struct cells *cells, size_t at, struct cause_table *causes)
{
    const char *name = cells_required(cells, at, C_NAME);
    struct cause_row *row = find(causes, name);
    if (row != NULL) {
        read_row(cells, at, row);
        return;
    }
    if (causes->count == CAUSES_MAX) {
        cells_fault(cells, at, C_NAME, "more than %d causes, expected fewer", CAUSES_MAX);
        return;
    }
    row = &causes->rows[causes->count++];
    *row = (struct cause_row){.name = name, .family = FAMILY_NONE, .place = PLACE_SET, .caution = CAUTION_OPEN};
    read_row(cells, at, row);
    check_new(cells, at, row);
}

static void take_rows(struct cells *cells, struct cause_table *causes)
{
    for (size_t i = 0; i < cells->table.row_count; i++) {
        take_row(cells, i, causes);
    }
}

static void check_priors(struct cells *cells, const struct cause_table *causes)
{
    double sum = 0.0;
    for (size_t i = 0; i < causes->count; i++) {
        sum += causes->rows[i].prior;
    }
    if (cells->status == OK && sum >= prior_most) {
        struct place at = {.file = cells->table.file};
        cells->status = faults_add(cells->faults, E_INPUT, at,
                                   "the priors of all causes add up to %.3g %%, expected less than %.3g %%",
                                   100.0 * sum, 100.0 * prior_most);
    }
}

enum status cause_table_read(const char *path, struct arena *arena, struct cause_table *causes, struct notes *notes,
                             struct faults *faults)
{
    const struct builtin_table *builtin = builtin_find("causes");
    struct cells cells;
    *causes = (struct cause_table){0};
    cells_parse(&cells, "causes (built in)", builtin->text, builtin->length, cause_fields, C_COUNT, arena, faults);
    take_rows(&cells, causes);
    if (cells.status != OK || path == NULL) {
        return cells.status;
    }
    cells_read(&cells, path, cause_fields, C_COUNT, arena, faults);
    cells_note_unknown(&cells, notes);
    take_rows(&cells, causes);
    check_priors(&cells, causes);
    cells_keep(&cells, &causes->kept);
    return cells.status;
}

const struct cause_row *cause_find(const struct cause_table *causes, const char *name)
{
    for (size_t i = 0; i < causes->count; i++) {
        if (name_equal(causes->rows[i].name, name)) {
            return &causes->rows[i];
        }
    }
    return NULL;
}
