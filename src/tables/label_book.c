#include "tables/label_book.h"

#include "base/text.h"
#include "tables/builtin.h"
#include "tables/cells.h"

#include <string.h>

enum {
    L_SCHEME,
    L_REVISION,
    L_FROM,
    L_TO,
    L_CLASS,
    L_AT_LEAST,
    L_BELOW,
    L_AT_MOST,
    L_TYPE,
    L_SPEED,
    L_SPEED_LOW,
    L_SPEED_HIGH,
    L_INDEX,
    L_C,
    L_PHASES,
    L_POLES,
    L_POWER_LOW,
    L_POWER_HIGH,
    L_BORE,
    L_OTHER_BORE,
    L_BORE_HIGH,
    L_STAGES_LOW,
    L_FLOW_LOW,
    L_HEAD_HIGH,
    L_RATED_POWER,
    L_MOTOR_EFFICIENCY,
    L_CONFIDENCE,
    L_SOURCE,
    L_COUNT
};

static const struct table_field label_fields[L_COUNT] = {
    [L_SCHEME] = {"scheme", DIM_NONE, true},
    [L_REVISION] = {"revision", DIM_NONE, false},
    [L_FROM] = {"valid from", DIM_NONE, false},
    [L_TO] = {"valid to", DIM_NONE, false},
    [L_CLASS] = {"class", DIM_NONE, false},
    [L_AT_LEAST] = {"index at least", DIM_NONE, false},
    [L_BELOW] = {"index below", DIM_NONE, false},
    [L_AT_MOST] = {"index at most", DIM_NONE, false},
    [L_TYPE] = {"type", DIM_NONE, false},
    [L_SPEED] = {"speed", DIM_SPEED, false},
    [L_SPEED_LOW] = {"speed from", DIM_SPEED, false},
    [L_SPEED_HIGH] = {"speed to", DIM_SPEED, false},
    [L_INDEX] = {"index", DIM_NONE, false},
    [L_C] = {"c", DIM_NONE, false},
    [L_PHASES] = {"phases", DIM_NONE, false},
    [L_POLES] = {"poles", DIM_NONE, false},
    [L_POWER_LOW] = {"rated power from", DIM_POWER, false},
    [L_POWER_HIGH] = {"rated power to", DIM_POWER, false},
    [L_BORE] = {"bore", DIM_LENGTH, false},
    [L_OTHER_BORE] = {"or bore", DIM_LENGTH, false},
    [L_BORE_HIGH] = {"bore to", DIM_LENGTH, false},
    [L_STAGES_LOW] = {"stages at least", DIM_NONE, false},
    [L_FLOW_LOW] = {"flow from", DIM_FLOW, false},
    [L_HEAD_HIGH] = {"head to", DIM_LENGTH, false},
    [L_RATED_POWER] = {"rated power", DIM_POWER, false},
    [L_MOTOR_EFFICIENCY] = {"motor efficiency", DIM_RATIO, false},
    [L_CONFIDENCE] = {"confidence", DIM_NONE, false},
    [L_SOURCE] = {"source", DIM_NONE, true},
};

/* An index on an edge is on it whatever the arithmetic's last bit. */
#define EDGE_RESOLUTION 1e-9

static const struct range index_range = RANGE_ABOVE(0, 10), constant_range = RANGE_ABOVE(0, 1000),
                          speed_range = RANGE_ABOVE(0, 1e5), power_range = RANGE_ABOVE(0, 1e7),
                          length_range = RANGE_ABOVE(0, 5000), flow_range = RANGE_ABOVE(0, 100),
                          count_range = RANGE_WHOLE(1, 500), efficiency_range = RANGE_ABOVE(0, 1);

static struct date read_date(struct cells *cells, size_t row, int field)
{
    struct date date = {0};
    const char *text = cells_text(cells, row, field);
    if (*text != '\0' && !date_parse(text, &date)) {
        cells_fault(cells, row, field, "'%s' is '%.*s', expected a date such as 2020-02-01", cells->fields[field].name,
                    cell_shown(text), text);
        return (struct date){0};
    }
    return date;
}

/* A number without which its row means nothing. */
static double needed(struct cells *cells, size_t row, int field, const struct range *range)
{
    (void)cells_required(cells, row, field);
    if (cells->at[field] < 0) {
        cells_fault(cells, row, L_SCHEME, "a row of scheme '%.*s' lacks the column '%s'",
                    cell_shown(cells_text(cells, row, L_SCHEME)), cells_text(cells, row, L_SCHEME),
                    cells->fields[field].name);
    }
    return quantity_or(cells_quantity(cells, row, field, range), range->high);
}

/* --- one reader a kind of row: a row replaces the one of the same key from another table --- */

static bool same(const char *a, const char *b)
{
    return name_equal(a, b);
}

/* Where a row goes: over one of the same key, or at the end. NULL after a fault: it is there twice, or memory is out.
 */
static void *place_for(struct cells *cells, size_t row, void *items, size_t *count, size_t size, void *found,
                       bool found_from_bay, bool from_bay)
{
    if (found != NULL && found_from_bay == from_bay) {
        cells_fault(cells, row, L_SCHEME, "the row says what another row of the table says already, expected it once");
        return NULL;
    }
    void *place = found != NULL ? found : arena_push(cells->arena, items, count, size);
    if (place == NULL) {
        cells_no_memory(cells);
    }
    return place;
}

static void take_class(struct cells *cells, size_t row, bool from_bay, struct label_book *book)
{
    struct label_class class = {.scheme = cells_required(cells, row, L_SCHEME),
                                .revision = cells_text(cells, row, L_REVISION),
                                .name = cells_required(cells, row, L_CLASS),
                                .from = read_date(cells, row, L_FROM),
                                .to = read_date(cells, row, L_TO),
                                .at_least = cells_quantity(cells, row, L_AT_LEAST, &index_range),
                                .below = cells_quantity(cells, row, L_BELOW, &index_range),
                                .at_most = cells_quantity(cells, row, L_AT_MOST, &index_range),
                                .source = cells_required(cells, row, L_SOURCE),
                                .from_bay = from_bay};
    if (class.at_least.known == class.at_most.known) {
        cells_fault(cells, row, L_CLASS, "class '%.*s' needs either 'index at least' or 'index at most'",
                    cell_shown(class.name), class.name);
        return;
    }
    struct label_class *found = NULL;
    for (size_t i = 0; i < book->class_count && found == NULL; i++) {
        struct label_class *other = &book->classes[i];
        bool equal =
            same(other->scheme, class.scheme) && same(other->revision, class.revision) && same(other->name, class.name);
        found = equal ? other : NULL;
    }
    struct label_class *place = place_for(cells, row, &book->classes, &book->class_count, sizeof class, found,
                                          found != NULL && found->from_bay, from_bay);
    if (place != NULL) {
        *place = class;
    }
}

static void take_constant(struct cells *cells, size_t row, bool from_bay, struct label_book *book)
{
    struct label_constant constant = {.scheme = cells_required(cells, row, L_SCHEME),
                                      .type = cells_required(cells, row, L_TYPE),
                                      .speed_rpm = needed(cells, row, L_SPEED, &speed_range),
                                      .speed_low_rpm = needed(cells, row, L_SPEED_LOW, &speed_range),
                                      .speed_high_rpm = needed(cells, row, L_SPEED_HIGH, &speed_range),
                                      .index = cells_quantity(cells, row, L_INDEX, &index_range),
                                      .c = needed(cells, row, L_C, &constant_range),
                                      .source = cells_required(cells, row, L_SOURCE),
                                      .from_bay = from_bay};
    struct label_constant *found = NULL;
    for (size_t i = 0; i < book->constant_count && found == NULL; i++) {
        struct label_constant *other = &book->constants[i];
        bool equal = same(other->scheme, constant.scheme) && same(other->type, constant.type) &&
                     other->speed_rpm == constant.speed_rpm && other->index.known == constant.index.known &&
                     other->index.value == constant.index.value;
        found = equal ? other : NULL;
    }
    struct label_constant *place = place_for(cells, row, &book->constants, &book->constant_count, sizeof constant,
                                             found, found != NULL && found->from_bay, from_bay);
    if (place != NULL) {
        *place = constant;
    }
}

static void take_scope(struct cells *cells, size_t row, bool from_bay, struct label_book *book)
{
    struct label_scope scope = {.scheme = cells_required(cells, row, L_SCHEME),
                                .type = cells_text(cells, row, L_TYPE),
                                .phases = cells_quantity(cells, row, L_PHASES, &count_range),
                                .poles = cells_quantity(cells, row, L_POLES, &count_range),
                                .power_low_w = cells_quantity(cells, row, L_POWER_LOW, &power_range),
                                .power_high_w = cells_quantity(cells, row, L_POWER_HIGH, &power_range),
                                .bore_m = cells_quantity(cells, row, L_BORE, &length_range),
                                .other_bore_m = cells_quantity(cells, row, L_OTHER_BORE, &length_range),
                                .bore_high_m = cells_quantity(cells, row, L_BORE_HIGH, &length_range),
                                .stages_low = cells_quantity(cells, row, L_STAGES_LOW, &count_range),
                                .flow_low_m3s = cells_quantity(cells, row, L_FLOW_LOW, &flow_range),
                                .head_high_m = cells_quantity(cells, row, L_HEAD_HIGH, &length_range),
                                .source = cells_required(cells, row, L_SOURCE),
                                .from_bay = from_bay};
    struct label_scope *found = NULL;
    for (size_t i = 0; i < book->scope_count && found == NULL; i++) {
        struct label_scope *other = &book->scopes[i];
        found = same(other->scheme, scope.scheme) && same(other->type, scope.type) ? other : NULL;
    }
    struct label_scope *place = place_for(cells, row, &book->scopes, &book->scope_count, sizeof scope, found,
                                          found != NULL && found->from_bay, from_bay);
    if (place != NULL) {
        *place = scope;
    }
}

static void take_motor(struct cells *cells, size_t row, bool from_bay, struct label_book *book)
{
    struct label_motor motor = {.scheme = cells_required(cells, row, L_SCHEME),
                                .rated_power_w = needed(cells, row, L_RATED_POWER, &power_range),
                                .efficiency = needed(cells, row, L_MOTOR_EFFICIENCY, &efficiency_range),
                                .source = cells_required(cells, row, L_SOURCE),
                                .from_bay = from_bay};
    struct label_motor *found = NULL;
    for (size_t i = 0; i < book->motor_count && found == NULL; i++) {
        struct label_motor *other = &book->motors[i];
        found = same(other->scheme, motor.scheme) && other->rated_power_w == motor.rated_power_w ? other : NULL;
    }
    struct label_motor *place = place_for(cells, row, &book->motors, &book->motor_count, sizeof motor, found,
                                          found != NULL && found->from_bay, from_bay);
    if (place != NULL) {
        *place = motor;
    }
}

static void take_rows(struct cells *cells, bool from_bay, struct label_book *book)
{
    for (size_t row = 0; row < cells->table.row_count && cells->status != E_MEMORY; row++) {
        if (*cells_text(cells, row, L_CLASS) != '\0') {
            take_class(cells, row, from_bay, book);
        } else if (*cells_text(cells, row, L_C) != '\0') {
            take_constant(cells, row, from_bay, book);
        } else if (*cells_text(cells, row, L_MOTOR_EFFICIENCY) != '\0') {
            take_motor(cells, row, from_bay, book);
        } else {
            take_scope(cells, row, from_bay, book);
        }
    }
}

/* --- the classes of a revision must make one ladder --- */

/* From the least demanding class to the best, revision by revision. */
static bool goes_before(const struct label_class *a, const struct label_class *b)
{
    if (!same(a->scheme, b->scheme)) {
        return strcmp(a->scheme, b->scheme) < 0;
    }
    if (!same(a->revision, b->revision)) {
        long from_a = a->from.known ? date_days(&a->from) : 0, from_b = b->from.known ? date_days(&b->from) : 0;
        return from_a != from_b ? from_a < from_b : strcmp(a->revision, b->revision) < 0;
    }
    return a->at_least.known ? a->at_least.value < b->at_least.value : a->at_most.value > b->at_most.value;
}

static void sort_classes(struct label_book *book)
{
    for (size_t i = 1; i < book->class_count; i++) {
        struct label_class class = book->classes[i];
        size_t at = i;
        for (; at > 0 && goes_before(&class, &book->classes[at - 1]); at--) {
            book->classes[at] = book->classes[at - 1];
        }
        book->classes[at] = class;
    }
}

static bool same_day(const struct date *a, const struct date *b)
{
    return a->known == b->known && (!a->known || date_compare_days(a, b) == 0);
}

/* Returns: what is wrong between a class and the next better one of its revision; NULL: nothing. */
static const char *ladder_fault(const struct label_class *class, const struct label_class *next)
{
    if (!same_day(&class->from, &next->from) || !same_day(&class->to, &next->to)) {
        return "are valid at different times";
    }
    if (class->at_least.known != next->at_least.known) {
        return "count in different directions";
    }
    if (!class->at_least.known) {
        return class->at_most.value > next->at_most.value ? NULL : "have the same edge";
    }
    if (!(class->at_least.value < next->at_least.value)) {
        return "have the same edge";
    }
    bool joined = class->below.known && class->below.value == next->at_least.value;
    return joined ? NULL : "leave a gap or overlap";
}

static enum status check_ladders(const struct label_book *book, const char *file, struct faults *faults)
{
    enum status status = OK;
    for (size_t i = 0; i + 1 < book->class_count; i++) {
        const struct label_class *class = &book->classes[i], *next = class + 1;
        bool neighbours = same(class->scheme, next->scheme) && same(class->revision, next->revision);
        const char *wrong = neighbours ? ladder_fault(class, next) : NULL;
        if (wrong != NULL) {
            status = faults_add(faults, E_INPUT, (struct place){.file = file},
                                "scheme '%.*s', revision '%.*s': the classes '%.*s' and '%.*s' %s",
                                cell_shown(class->scheme), class->scheme, cell_shown(class->revision), class->revision,
                                cell_shown(class->name), class->name, cell_shown(next->name), next->name, wrong);
        }
    }
    return status;
}

enum status label_book_read(const char *bay_labels_path, struct arena *arena, struct label_book *book,
                            struct faults *faults)
{
    static const char *const names[] = {"label_star", "label_eu", "label_us", "label_scope"};
    struct cells cells = {0};
    *book = (struct label_book){0};
    for (size_t i = 0; i < sizeof names / sizeof *names && cells.status == OK; i++) {
        const struct builtin_table *table = builtin_find(names[i]);
        cells_parse(&cells, names[i], table == NULL ? "" : table->text, table == NULL ? 0 : table->length, label_fields,
                    L_COUNT, arena, faults);
        take_rows(&cells, false, book);
    }
    if (cells.status == OK && bay_labels_path != NULL) {
        cells_read(&cells, bay_labels_path, label_fields, L_COUNT, arena, faults);
        take_rows(&cells, true, book);
        cells_keep(&cells, &book->kept);
    }
    sort_classes(book);
    const char *file = bay_labels_path == NULL ? "label tables" : bay_labels_path;
    return cells.status == OK ? check_ladders(book, file, faults) : cells.status;
}

bool label_source_unsure(const char *source)
{
    return strstr(source, "from memory") != NULL;
}

/* --- looking up --- */

static bool starts_by(const struct label_class *class, const struct date *day)
{
    return !class->from.known || !day->known || date_compare_days(&class->from, day) <= 0;
}

struct label_ladder label_ladder_of(const struct label_book *book, const char *scheme, const struct date *day)
{
    struct label_ladder ladder = {0};
    for (size_t i = 0; i < book->class_count; i++) {
        const struct label_class *class = &book->classes[i];
        if (!same(class->scheme, scheme) || !starts_by(class, day)) {
            continue;
        }
        if (ladder.count > 0 && same(class->revision, ladder.classes->revision)) {
            ladder.count++;
        } else {
            ladder = (struct label_ladder){.classes = class, .count = 1};
        }
    }
    if (ladder.count > 0 && day->known && ladder.classes->to.known) {
        ladder.ended = date_compare_days(day, &ladder.classes->to) > 0;
    }
    return ladder;
}

double label_edge(const struct label_class *class)
{
    return class->at_least.known ? class->at_least.value : class->at_most.value;
}

static bool holds(const struct label_class *class, double index)
{
    double edge = label_edge(class);
    return class->at_least.known ? index >= edge * (1.0 - EDGE_RESOLUTION) : index <= edge * (1.0 + EDGE_RESOLUTION);
}

size_t label_rungs_held(const struct label_ladder *ladder, double index)
{
    size_t held = 0;
    while (held < ladder->count && holds(&ladder->classes[held], index)) {
        held++;
    }
    return held;
}
