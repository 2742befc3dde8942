#include "tables/grade.h"

#include "base/text.h"
#include "tables/builtin.h"
#include "tables/cells.h"

#include <string.h>

enum { NAME_BUFFER = 128 };

enum {
    G_NAME,
    G_STANDARD,
    G_ALIASES,
    G_GEOMETRY,
    G_FLOW_PLUS,
    G_FLOW_MINUS,
    G_HEAD_PLUS,
    G_HEAD_MINUS,
    G_POWER_PLUS,
    G_CURRENT_PLUS,
    G_EFFICIENCY_SET,
    G_EFFICIENCY_PUMP,
    G_EFFICIENCY_RULE,
    G_EFFICIENCY_AT,
    G_POWER_AT,
    G_ROUNDING,
    G_CLASS,
    G_CONFIDENCE,
    G_SOURCE,
    G_COUNT
};

static const struct table_field grade_fields[G_COUNT] = {
    [G_NAME] = {"grade", DIM_NONE, true},
    [G_STANDARD] = {"standard", DIM_NONE, false},
    [G_ALIASES] = {"aliases", DIM_NONE, false},
    [G_GEOMETRY] = {"geometry", DIM_NONE, true},
    [G_FLOW_PLUS] = {"flow plus", DIM_RATIO, false},
    [G_FLOW_MINUS] = {"flow minus", DIM_RATIO, false},
    [G_HEAD_PLUS] = {"head plus", DIM_RATIO, false},
    [G_HEAD_MINUS] = {"head minus", DIM_RATIO, false},
    [G_POWER_PLUS] = {"power plus", DIM_RATIO, false},
    [G_CURRENT_PLUS] = {"current plus", DIM_RATIO, false},
    [G_EFFICIENCY_SET] = {"efficiency minus set", DIM_RATIO, false},
    [G_EFFICIENCY_PUMP] = {"efficiency minus pump", DIM_RATIO, false},
    [G_EFFICIENCY_RULE] = {"efficiency rule", DIM_NONE, false},
    [G_EFFICIENCY_AT] = {"efficiency at", DIM_NONE, false},
    [G_POWER_AT] = {"power at", DIM_NONE, false},
    [G_ROUNDING] = {"rounding", DIM_NONE, false},
    [G_CLASS] = {"class", DIM_NONE, false},
    [G_CONFIDENCE] = {"confidence", DIM_NONE, false},
    [G_SOURCE] = {"source", DIM_NONE, true},
};

static const struct word geometries[] = {
    {"bilateral", GEOMETRY_BILATERAL},
    {"unilateral", GEOMETRY_UNILATERAL},
    {"ellipse", GEOMETRY_ELLIPSE},
    {"minimum", GEOMETRY_MINIMUM},
    {0},
};
static const struct word readings_at[] = {
    {"duty line", READ_DUTY_LINE},
    {"guaranteed flow", READ_GUARANTEED_FLOW},
    {"at guaranteed flow", READ_GUARANTEED_FLOW},
    {0},
};
static const struct word roundings[] = {{"none", ROUND_NONE}, {"is 2", ROUND_IS2}, {"is2", ROUND_IS2}, {0}};
static const struct word efficiency_rules[] = {{"fixed", EFFICIENCY_FIXED}, {"small pump", EFFICIENCY_SMALL_PUMP}, {0}};

/* Half the guaranteed value is more than any grade allows: a larger figure is a unit mixed up. */
static const struct range tolerance_range = RANGE_FROM(0, 0.5);

static struct grade read_grade(struct cells *cells, size_t row)
{
    return (struct grade){
        .name = cells_required(cells, row, G_NAME),
        .standard = cells_text(cells, row, G_STANDARD),
        .aliases = cells_text(cells, row, G_ALIASES),
        .geometry = (enum grade_geometry)cells_word(cells, row, G_GEOMETRY, "geometry", geometries, GEOMETRY_BILATERAL),
        .flow_plus = cells_quantity(cells, row, G_FLOW_PLUS, &tolerance_range),
        .flow_minus = cells_quantity(cells, row, G_FLOW_MINUS, &tolerance_range),
        .head_plus = cells_quantity(cells, row, G_HEAD_PLUS, &tolerance_range),
        .head_minus = cells_quantity(cells, row, G_HEAD_MINUS, &tolerance_range),
        .power_plus = cells_quantity(cells, row, G_POWER_PLUS, &tolerance_range),
        .current_plus = cells_quantity(cells, row, G_CURRENT_PLUS, &tolerance_range),
        .efficiency_minus_set = cells_quantity(cells, row, G_EFFICIENCY_SET, &tolerance_range),
        .efficiency_minus_pump = cells_quantity(cells, row, G_EFFICIENCY_PUMP, &tolerance_range),
        .efficiency_rule = (enum efficiency_rule)cells_word(cells, row, G_EFFICIENCY_RULE, "efficiency rule",
                                                            efficiency_rules, EFFICIENCY_FIXED),
        .efficiency_at =
            (enum grade_reading)cells_word(cells, row, G_EFFICIENCY_AT, "efficiency at", readings_at, READ_DUTY_LINE),
        .power_at = (enum grade_reading)cells_word(cells, row, G_POWER_AT, "power at", readings_at, READ_DUTY_LINE),
        .rounding = (enum grade_rounding)cells_word(cells, row, G_ROUNDING, "rounding", roundings, ROUND_NONE),
        .class_name = cells_text(cells, row, G_CLASS),
        .source = cells_required(cells, row, G_SOURCE),
    };
}

static struct grade *grade_named(const struct grade_book *book, const char *name)
{
    for (size_t i = 0; i < book->grade_count; i++) {
        if (name_equal(book->grades[i].name, name)) {
            return &book->grades[i];
        }
    }
    return NULL;
}

/* Adds the grades of a cells. A row replaces one of the same name from another table; twice in one table is a fault. */
static void take_grades(struct cells *cells, bool from_bay, struct grade_book *book)
{
    for (size_t row = 0; row < cells->table.row_count && cells->status != E_MEMORY; row++) {
        struct grade grade = read_grade(cells, row);
        grade.from_bay = from_bay;
        cells_required(cells, row, G_GEOMETRY);
        if (*grade.name == '\0') {
            continue;
        }
        struct grade *place = grade_named(book, grade.name);
        if (place != NULL && place->from_bay == from_bay) {
            cells_fault(cells, row, G_NAME, "grade '%.*s' is there twice, expected it once", cell_shown(grade.name),
                        grade.name);
            continue;
        }
        if (place == NULL) {
            place = arena_push(cells->arena, &book->grades, &book->grade_count, sizeof *place);
        }
        if (place == NULL) {
            cells_no_memory(cells);
            return;
        }
        *place = grade;
    }
}

/* --- classes: a row for each kind of figure --- */

enum {
    C_CLASS,
    C_KIND,
    C_FLOW,
    C_HEAD,
    C_POWER,
    C_SPEED,
    C_EFFICIENCY_SET,
    C_EFFICIENCY_PUMP,
    C_CONFIDENCE,
    C_SOURCE,
    C_COUNT
};

static const struct table_field class_fields[C_COUNT] = {
    [C_CLASS] = {"class", DIM_NONE, true},
    [C_KIND] = {"kind", DIM_NONE, true},
    [C_FLOW] = {"flow", DIM_RATIO, true},
    [C_HEAD] = {"head", DIM_RATIO, true},
    [C_POWER] = {"power", DIM_RATIO, true},
    [C_SPEED] = {"speed", DIM_RATIO, true},
    [C_EFFICIENCY_SET] = {"efficiency set", DIM_RATIO, true},
    [C_EFFICIENCY_PUMP] = {"efficiency pump", DIM_RATIO, true},
    [C_CONFIDENCE] = {"confidence", DIM_NONE, true},
    [C_SOURCE] = {"source", DIM_NONE, true},
};

enum class_kind { KIND_FLUCTUATION, KIND_SYSTEMATIC, KIND_OVERALL };

static const struct word class_kinds[] = {
    {"fluctuation", KIND_FLUCTUATION},
    {"systematic", KIND_SYSTEMATIC},
    {"overall", KIND_OVERALL},
    {0},
};

static struct grade_class *class_named(const struct grade_book *book, const char *name)
{
    for (size_t i = 0; i < book->class_count; i++) {
        if (name_equal(book->classes[i].name, name)) {
            return &book->classes[i];
        }
    }
    return NULL;
}

static void take_class_row(struct cells *cells, size_t row, struct grade_class *class)
{
    struct quantity flow = cells_quantity(cells, row, C_FLOW, &tolerance_range);
    struct quantity head = cells_quantity(cells, row, C_HEAD, &tolerance_range);
    struct quantity power = cells_quantity(cells, row, C_POWER, &tolerance_range);
    struct quantity speed = cells_quantity(cells, row, C_SPEED, &tolerance_range);
    const char *source = cells_required(cells, row, C_SOURCE);
    switch ((enum class_kind)cells_word(cells, row, C_KIND, "kind", class_kinds, KIND_FLUCTUATION)) {
    case KIND_FLUCTUATION:
        class->fluctuation_flow = flow;
        class->fluctuation_head = head;
        class->fluctuation_power = power;
        class->fluctuation_speed = speed;
        class->fluctuation_source = source;
        break;
    case KIND_SYSTEMATIC:
        class->systematic_flow = flow;
        class->systematic_head = head;
        class->systematic_power = power;
        class->systematic_speed = speed;
        class->systematic_source = source;
        break;
    case KIND_OVERALL:
        class->overall_flow = flow;
        class->overall_head = head;
        class->overall_power = power;
        class->overall_speed = speed;
        class->overall_efficiency_set = cells_quantity(cells, row, C_EFFICIENCY_SET, &tolerance_range);
        class->overall_efficiency_pump = cells_quantity(cells, row, C_EFFICIENCY_PUMP, &tolerance_range);
        class->overall_source = source;
        break;
    }
}

static void take_classes(struct cells *cells, struct grade_book *book)
{
    for (size_t row = 0; row < cells->table.row_count; row++) {
        const char *name = cells_required(cells, row, C_CLASS);
        struct grade_class *class = class_named(book, name);
        if (class == NULL) {
            class = arena_push(cells->arena, &book->classes, &book->class_count, sizeof *class);
            if (class == NULL) {
                cells_no_memory(cells);
                return;
            }
            *class = (struct grade_class){
                .name = name, .fluctuation_source = "", .systematic_source = "", .overall_source = ""};
        }
        take_class_row(cells, row, class);
    }
}

/* --- spreads --- */

enum { S_CLASS, S_READINGS, S_SPREAD, S_SPREAD_SPEED, S_CONFIDENCE, S_SOURCE, S_COUNT };

static const struct table_field spread_fields[S_COUNT] = {
    [S_CLASS] = {"class", DIM_NONE, true},           [S_READINGS] = {"readings", DIM_NONE, true},
    [S_SPREAD] = {"spread", DIM_RATIO, true},        [S_SPREAD_SPEED] = {"spread of speed", DIM_RATIO, true},
    [S_CONFIDENCE] = {"confidence", DIM_NONE, true}, [S_SOURCE] = {"source", DIM_NONE, true},
};

static void take_spreads(struct cells *cells, struct grade_book *book)
{
    static const struct range readings_range = RANGE_WHOLE(2, 1e6);
    for (size_t row = 0; row < cells->table.row_count; row++) {
        struct quantity readings = cells_quantity(cells, row, S_READINGS, &readings_range);
        struct grade_spread *spread = arena_push(cells->arena, &book->spreads, &book->spread_count, sizeof *spread);
        if (spread == NULL) {
            cells_no_memory(cells);
            return;
        }
        *spread = (struct grade_spread){
            .class_name = cells_required(cells, row, S_CLASS),
            .readings = (size_t)quantity_or(readings, 0),
            .spread_qhp = quantity_or(cells_quantity(cells, row, S_SPREAD, &tolerance_range), 0),
            .spread_speed = quantity_or(cells_quantity(cells, row, S_SPREAD_SPEED, &tolerance_range), 0),
            .source = cells_required(cells, row, S_SOURCE),
        };
    }
}

/* --- the book --- */

static void builtin_sheet(struct cells *cells, const char *name, const struct table_field *fields, size_t count,
                          struct arena *arena, struct faults *faults)
{
    const struct builtin_table *table = builtin_find(name);
    const char *file = table == NULL ? name : table->name;
    cells_parse(cells, file, table == NULL ? "" : table->text, table == NULL ? 0 : table->length, fields, count, arena,
                faults);
}

enum status grade_book_read(const char *bay_grades_path, struct arena *arena, struct grade_book *book,
                            struct faults *faults)
{
    struct cells cells;
    *book = (struct grade_book){0};
    builtin_sheet(&cells, "grades", grade_fields, G_COUNT, arena, faults);
    take_grades(&cells, false, book);
    enum status status = cells.status;
    if (status == OK) {
        builtin_sheet(&cells, "classes", class_fields, C_COUNT, arena, faults);
        take_classes(&cells, book);
        status = cells.status;
    }
    if (status == OK) {
        builtin_sheet(&cells, "spreads", spread_fields, S_COUNT, arena, faults);
        take_spreads(&cells, book);
        status = cells.status;
    }
    if (status == OK && bay_grades_path != NULL) {
        cells_read(&cells, bay_grades_path, grade_fields, G_COUNT, arena, faults);
        take_grades(&cells, true, book);
        cells_keep(&cells, &book->kept);
        status = cells.status;
    }
    return status;
}

/* Steps over a leading word of a folded name. Returns: true when it was there. */
static bool step_over(const char **name, const char *word)
{
    size_t length = strlen(word);
    if (strncmp(*name, word, length) != 0 || ((*name)[length] != ' ' && (*name)[length] != '\0')) {
        return false;
    }
    *name += length + ((*name)[length] == ' ');
    return true;
}

/* True when one of the names between ';' is name, once folded. */
static bool is_alias(const char *aliases, const char *name)
{
    char alias[NAME_BUFFER];
    while (*aliases != '\0') {
        size_t length = strcspn(aliases, ";");
        if (length > 0 && length < sizeof alias) {
            memcpy(alias, aliases, length);
            alias[length] = '\0';
            if (name_equal(alias, name)) {
                return true;
            }
        }
        aliases += length + (aliases[length] == ';');
    }
    return false;
}

static const struct grade *find_exactly(const struct grade_book *book, const char *name)
{
    const struct grade *grade = grade_named(book, name);
    for (size_t i = 0; grade == NULL && i < book->grade_count; i++) {
        grade = is_alias(book->grades[i].aliases, name) ? &book->grades[i] : NULL;
    }
    return grade;
}

const struct grade *grade_find(const struct grade_book *book, const char *name)
{
    char folded[NAME_BUFFER];
    if (strlen(name) >= sizeof folded) {
        return NULL;
    }
    const char *rest = name_fold(name, folded, sizeof folded);
    if (*rest == '\0') {
        return NULL;
    }
    const struct grade *grade = find_exactly(book, rest);
    if (grade != NULL) {
        return grade;
    }
    while (step_over(&rest, "iso 9906:2012") || step_over(&rest, "iso 9906") || step_over(&rest, "grade")) {
    }
    return *rest == '\0' ? NULL : find_exactly(book, rest);
}

const struct grade_class *grade_class_of(const struct grade_book *book, const struct grade *grade)
{
    return *grade->class_name == '\0' ? NULL : class_named(book, grade->class_name);
}

const struct grade_spread *grade_spread_of(const struct grade_book *book, const struct grade *grade, size_t readings)
{
    const struct grade_spread *found = NULL;
    for (size_t i = 0; readings >= 2 && i < book->spread_count; i++) {
        const struct grade_spread *spread = &book->spreads[i];
        bool of_class = name_equal(spread->class_name, grade->class_name);
        if (of_class && (found == NULL || found->readings < readings)) {
            found = spread; /* rows of a class rise: the first that covers the readings, else the last */
        }
    }
    return found;
}
