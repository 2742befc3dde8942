#include "tables/rig.h"
#include "base/text.h"

#include "tables/bay.h"
#include "tables/cells.h"
#include "tables/listing.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

enum { R_ITEM, R_VALUE, R_UNIT, R_NOTE, R_COUNT };

static const struct table_field rig_fields[R_COUNT] = {
    [R_ITEM] = {"item", DIM_NONE, true},
    [R_VALUE] = {"value", DIM_NONE, true},
    [R_UNIT] = {"unit", DIM_NONE, false},
    [R_NOTE] = {"note", DIM_NONE, false},
};

static const struct word flow_methods[] = {
    {"meter", FLOW_METER},
    {"orifice", FLOW_ORIFICE},
    {"venturi", FLOW_VENTURI},
    {"venturi nozzle", FLOW_VENTURI_NOZZLE},
    {"nozzle", FLOW_NOZZLE},
    {"v notch", FLOW_V_NOTCH},
    {"rectangular notch", FLOW_RECTANGULAR_NOTCH},
    {"tank volume", FLOW_TANK_VOLUME},
    {"tank mass", FLOW_TANK_MASS},
    {0},
};
static const struct word tapping_words[] = {
    {"corner", TAPPINGS_CORNER},
    {"flange", TAPPINGS_FLANGE},
    {"d and d/2", TAPPINGS_D_D2},
    {"d d/2", TAPPINGS_D_D2},
    {0},
};
static const struct word venturi_words[] = {
    {"as cast", VENTURI_AS_CAST},
    {"machined", VENTURI_MACHINED},
    {"welded", VENTURI_WELDED},
    {"rough welded", VENTURI_WELDED},
    {0},
};
static const struct word register_words[] = {
    {"local", 0},
    {"network", 1},
    {0},
};
static const struct word speed_words[] = {
    {"measured", SPEED_MEASURED},
    {"frequency", SPEED_FREQUENCY},
    {"motor", SPEED_MOTOR},
    {0},
};

static const struct word date_order_words[] = {
    {"day first", DATE_DAY_FIRST},
    {"month first", DATE_MONTH_FIRST},
    {"year first", DATE_YEAR_FIRST},
    {0},
};

enum item_kind {
    ITEM_QUANTITY,
    ITEM_NAME,
    ITEM_TRANSFORMER_RATIO,
    ITEM_LINE_COUNT,
    ITEM_FLOW_METHOD,
    ITEM_TAPPINGS,
    ITEM_VENTURI_KIND,
    ITEM_SPEED_BASIS,
    ITEM_DATE_ORDER,
    ITEM_LOG_LINE, /* offset: which of enum log_line */
    ITEM_REGISTER,
};

#define PI 3.14159265358979323846

/* offset: where a quantity (or a ratio) goes in struct rig. */
static const struct rig_item {
    const char *name;
    enum item_kind kind;
    size_t offset;
    enum dimension dimension;
    struct range range;
    struct table_help help;
} items[] = {
/* clang-format off */
#define QUANTITY(name, field, dimension, range, tells) \
    {name, ITEM_QUANTITY, offsetof(struct rig, field), dimension, range, {.about = tells}}
/* clang-format on */
#define LOG_LINE(item, line)                                                                                           \
    {                                                                                                                  \
        .name = item, .kind = ITEM_LOG_LINE, .offset = line, .help = {                                                 \
            .about = "what the logger writes before it in the lines above its headings, as 'Set' of 'Set,TW/26-101'"   \
        }                                                                                                              \
    }
    {.name = "bay", .kind = ITEM_NAME, .help = {.about = "name of the bay, on the papers"}},
    {.name = "register",
     .kind = ITEM_REGISTER,
     .help = {"the register on a network file system: network says that its locks hold", NULL, register_words}},
    QUANTITY("site latitude", latitude_rad, DIM_ANGLE, RANGE_FROM(-PI / 2, PI / 2), "for gravity, with the altitude"),
    QUANTITY("site altitude", altitude_m, DIM_LENGTH, RANGE_FROM(-500, 9000), "for gravity and air pressure"),
    QUANTITY("gravity", gravity_m_s2, DIM_ACCELERATION, RANGE_FROM(9.7, 9.9),
             "where it is known better than from latitude and altitude"),
    QUANTITY("air pressure", air_pressure_pa, DIM_PRESSURE, RANGE_FROM(3e4, 1.1e5),
             "where it is known better than from the altitude"),
    QUANTITY("water density", water_density_kg_m3, DIM_DENSITY, RANGE_FROM(900, 1100),
             "where it is known; else from the water temperature"),
    {.name = "flow method", .kind = ITEM_FLOW_METHOD, .help = {"how flow is measured", "meter", flow_methods}},
    QUANTITY("flow pipe bore", flow_pipe_bore_m, DIM_LENGTH, RANGE_ABOVE(0, 5),
             "of the pipe before the throttling device"),
    QUANTITY("throat bore", throat_bore_m, DIM_LENGTH, RANGE_ABOVE(0, 5), "of the orifice, nozzle or venturi"),
    {.name = "pressure tappings", .kind = ITEM_TAPPINGS, .help = {"of the orifice", NULL, tapping_words}},
    {.name = "venturi kind", .kind = ITEM_VENTURI_KIND, .help = {"how its cone was made", "as cast", venturi_words}},
    QUANTITY("notch angle", notch_angle_rad, DIM_ANGLE, RANGE_ABOVE(0, PI * 0.99), "of the v-notch"),
    QUANTITY("notch width", notch_width_m, DIM_LENGTH, RANGE_ABOVE(0, 20), "of the rectangular notch"),
    QUANTITY("notch crest height", notch_crest_height_m, DIM_LENGTH, RANGE_ABOVE(0, 20),
             "of the notch above the channel floor"),
    QUANTITY("approach width", approach_width_m, DIM_LENGTH, RANGE_ABOVE(0, 50), "of the channel before the notch"),
    QUANTITY("discharge coefficient", discharge_coefficient, DIM_RATIO, RANGE_ABOVE(0, 1.5),
             "of the device, where it was calibrated; else from its standard"),
    QUANTITY("meter constant", meter_constant_per_j, DIM_METER_CONSTANT, RANGE_ABOVE(0, 1e3), "of the energy meter"),
    QUANTITY("delivery bore", delivery_bore_m, DIM_LENGTH, RANGE_ABOVE(0, 5), "at the gauge, for the velocity head"),
    QUANTITY("delivery length", delivery_length_m, DIM_LENGTH, RANGE_FROM(0, 5000),
             "from the set's outlet to the gauge, for friction"),
    QUANTITY("delivery roughness", delivery_roughness_m, DIM_LENGTH, RANGE_FROM(0, 0.01), "of that pipe"),
    QUANTITY("delivery loss coefficient", delivery_loss_coefficient, DIM_RATIO, RANGE_FROM(0, 1000),
             "of bends and valves up to the gauge"),
    QUANTITY("gauge height", gauge_height_m, DIM_LENGTH, RANGE_FROM(-9000, 9000),
             "centre of the delivery gauge above the datum"),
    QUANTITY("water level", water_level_m, DIM_LENGTH, RANGE_FROM(-9000, 9000),
             "above the same datum, where the log does not read it"),
    QUANTITY("suction bore", suction_bore_m, DIM_LENGTH, RANGE_ABOVE(0, 5), "at the suction gauge"),
    QUANTITY("suction gauge height", suction_gauge_height_m, DIM_LENGTH, RANGE_FROM(-9000, 9000),
             "centre of the suction gauge above the datum"),
    {"current ratio",
     ITEM_TRANSFORMER_RATIO,
     offsetof(struct rig, current_ratio),
     DIM_RATIO,
     RANGE_ABOVE(0, 1e5),
     {"of the current transformers, as 200/5 or 40", "1", NULL}},
    {"voltage ratio",
     ITEM_TRANSFORMER_RATIO,
     offsetof(struct rig, voltage_ratio),
     DIM_RATIO,
     RANGE_ABOVE(0, 1e5),
     {"of the voltage transformers", "1", NULL}},
    {.name = "speed basis",
     .kind = ITEM_SPEED_BASIS,
     .help = {"what the readings are taken to rated speed by",
              "measured if every point has it, else the motor's curve, else frequency", speed_words}},
    {.name = "log header row",
     .kind = ITEM_LINE_COUNT,
     .range = RANGE_WHOLE(1, 1000),
     .help = {"number of the line of the logger's files that holds the headings", "it is found by its headings", NULL}},
    {.name = "date order",
     .kind = ITEM_DATE_ORDER,
     .help = {"of dates such as 05/06/2026 in a log", "refused where a date could be read two ways", date_order_words}},
    LOG_LINE("log line serial", LOG_LINE_SERIAL),
    LOG_LINE("log line model", LOG_LINE_MODEL),
    LOG_LINE("log line tested", LOG_LINE_TESTED),
    LOG_LINE("log line tester", LOG_LINE_TESTER),
#undef LOG_LINE
#undef QUANTITY
};

enum { ITEM_COUNT = sizeof items / sizeof *items, NAME_BUFFER = 128 };

/* The reading of one rig.csv. row_of holds the row of an item + 1, 0 where it is not stated. */
struct rig_reader {
    struct cells cells;
    struct rig *rig;
    struct bay *bay;
    size_t row_of[ITEM_COUNT];
    size_t column_row_of[CHANNEL_COUNT];
};

static const char column_prefix[] = "column ";

static size_t item_find(const char *name)
{
    size_t i = 0;
    while (i < ITEM_COUNT && strcmp(items[i].name, name) != 0) {
        i++;
    }
    return i;
}

const char *flow_method_name(enum flow_method method)
{
    const struct word *word = flow_methods;
    while (word->value != (int)method) {
        word++;
    }
    return word->name;
}

const struct word *rig_words(const char *item)
{
    return items[item_find(item)].help.words;
}

enum status listing_of_rig(struct arena *arena, struct listing *listing)
{
    *listing = (struct listing){
        .name = "rig",
        .about = "The items of rig.csv, in the columns item, value, unit and note. "
                 "'column flow' and its like say what the logger calls a channel.",
    };
    enum status status = OK;
    for (size_t i = 0; i < ITEM_COUNT && status == OK; i++) {
        status = listing_add(listing, arena, items[i].name, items[i].dimension, &items[i].help, false);
        if (status == OK) {
            listing->rows[i].aliases = ""; /* the trade's names are those of columns */
        }
    }
    return status;
}

static bool row_is_first(struct rig_reader *r, size_t row, size_t *row_of, const char *name)
{
    if (*row_of != 0) {
        cells_fault(&r->cells, row, R_ITEM, "item '%.*s' is there twice (first on line %zu), expected it once",
                    cell_shown(name), name, r->cells.table.rows[*row_of - 1].line);
        return false;
    }
    *row_of = row + 1;
    return true;
}

static bool read_number(struct rig_reader *r, size_t row, const char *name, const char *text, double *value)
{
    if (table_number(&r->cells.table, text, value)) {
        return true;
    }
    cells_fault(&r->cells, row, R_VALUE, "'%s' is '%.*s', expected %s", name, cell_shown(text), text,
                table_number_expected(&r->cells.table, text));
    return false;
}

/* The unit of an item's row; NULL with *ok true where a plain number needs none. */
static const struct unit *read_unit(struct rig_reader *r, size_t row, const struct rig_item *item, bool *ok)
{
    const char *text = cells_text(&r->cells, row, R_UNIT);
    bool plain = item->dimension == DIM_RATIO && (*text == '\0' || strcmp(text, "-") == 0);
    const struct unit *unit = plain || *text == '\0' ? NULL : unit_find(item->dimension, text);
    *ok = plain || unit != NULL;
    if (!*ok && *text == '\0') {
        cells_fault(&r->cells, row, R_UNIT, "'%s' has no unit, expected a unit of %s: %s", item->name,
                    dimension_name(item->dimension), unit_examples(item->dimension));
    } else if (!*ok) {
        cells_fault(&r->cells, row, R_UNIT, "'%s' has the unit '%.*s', expected a unit of %s: %s", item->name,
                    cell_shown(text), text, dimension_name(item->dimension), unit_examples(item->dimension));
    }
    return unit;
}

static void take_quantity(struct rig_reader *r, size_t row, const struct rig_item *item)
{
    double value;
    bool unit_ok;
    const struct unit *unit = read_unit(r, row, item, &unit_ok);
    bool number_ok = read_number(r, row, item->name, cells_text(&r->cells, row, R_VALUE), &value);
    if (!unit_ok || !number_ok) {
        return;
    }
    double value_si = unit == NULL ? value : unit_to_si(unit, value);
    if (cells_in_range(&r->cells, row, R_VALUE, item->name, value_si, unit, &item->range)) {
        struct quantity quantity = quantity_of(value_si);
        memcpy((char *)r->rig + item->offset, &quantity, sizeof quantity);
    }
}

/* A ratio is a number ("40") or written as on the transformer's plate ("200/5"). */
static void take_transformer_ratio(struct rig_reader *r, size_t row, const struct rig_item *item)
{
    char primary_text[NAME_BUFFER];
    const char *text = cells_text(&r->cells, row, R_VALUE), *slash = strchr(text, '/');
    double ratio, secondary;
    if (slash == NULL || (size_t)(slash - text) >= sizeof primary_text) {
        if (!read_number(r, row, item->name, text, &ratio)) {
            return;
        }
    } else {
        memcpy(primary_text, text, (size_t)(slash - text));
        primary_text[slash - text] = '\0';
        if (!table_number(&r->cells.table, primary_text, &ratio) ||
            !table_number(&r->cells.table, slash + 1, &secondary) || !(secondary > 0)) {
            cells_fault(&r->cells, row, R_VALUE, "'%s' is '%.*s', expected a ratio such as 40 or 200/5", item->name,
                        cell_shown(text), text);
            return;
        }
        ratio /= secondary;
    }
    if (cells_in_range(&r->cells, row, R_VALUE, item->name, ratio, NULL, &item->range)) {
        memcpy((char *)r->rig + item->offset, &ratio, sizeof ratio);
    }
}

static void take_line_count(struct rig_reader *r, size_t row, const struct rig_item *item)
{
    double lines;
    if (read_number(r, row, item->name, cells_text(&r->cells, row, R_VALUE), &lines) &&
        cells_in_range(&r->cells, row, R_VALUE, item->name, lines, NULL, &item->range)) {
        r->rig->log_header_row = (size_t)lines;
    }
}

static void take_item(struct rig_reader *r, size_t row, const struct rig_item *item)
{
    struct cells *cells = &r->cells;
    struct rig *rig = r->rig;
    switch (item->kind) {
    case ITEM_QUANTITY: take_quantity(r, row, item); break;
    case ITEM_NAME: rig->name = cells_text(cells, row, R_VALUE); break;
    case ITEM_TRANSFORMER_RATIO: take_transformer_ratio(r, row, item); break;
    case ITEM_LINE_COUNT: take_line_count(r, row, item); break;
    case ITEM_FLOW_METHOD:
        rig->flow_method = (enum flow_method)cells_word(cells, row, R_VALUE, item->name, flow_methods, FLOW_METER);
        break;
    case ITEM_TAPPINGS:
        rig->tappings =
            (enum pressure_tappings)cells_word(cells, row, R_VALUE, item->name, tapping_words, TAPPINGS_CORNER);
        break;
    case ITEM_VENTURI_KIND:
        rig->venturi_kind =
            (enum venturi_kind)cells_word(cells, row, R_VALUE, item->name, venturi_words, VENTURI_AS_CAST);
        break;
    case ITEM_SPEED_BASIS:
        rig->speed_basis = (enum speed_basis)cells_word(cells, row, R_VALUE, item->name, speed_words, SPEED_UNSTATED);
        break;
    case ITEM_DATE_ORDER:
        rig->date_order =
            (enum date_order)cells_word(cells, row, R_VALUE, item->name, date_order_words, DATE_ORDER_UNSTATED);
        break;
    case ITEM_LOG_LINE: rig->log_lines[item->offset] = cells_text(cells, row, R_VALUE); break;
    case ITEM_REGISTER:
        rig->register_on_network = cells_word(cells, row, R_VALUE, item->name, register_words, 0) == 1;
        break;
    }
}

static const char *nearest_channel(const char *name)
{
    const char *names[CHANNEL_COUNT];
    for (int i = 0; i < CHANNEL_COUNT; i++) {
        names[i] = channel_info((enum channel)i)->name;
    }
    return name_nearest(name, names, CHANNEL_COUNT);
}

/* `column NAME`: the logger's own heading, and unit, of a channel. */
static void take_column(struct rig_reader *r, size_t row, const char *name)
{
    enum channel channel = channel_find(name);
    if (channel == CHANNEL_COUNT) {
        const char *near = nearest_channel(name);
        cells_fault(&r->cells, row, R_ITEM, "'%.*s' is not a channel, expected %s%s%s", cell_shown(name), name,
                    near == NULL ? "a channel such as 'flow' or 'gauge pressure'" : "'", near == NULL ? "" : near,
                    near == NULL ? "" : "'");
        return;
    }
    if (!row_is_first(r, row, &r->column_row_of[channel], cells_text(&r->cells, row, R_ITEM))) {
        return;
    }
    const char *unit = cells_text(&r->cells, row, R_UNIT);
    const char *heading = cells_required(&r->cells, row, R_VALUE);
    enum dimension dimension = channel_info(channel)->dimension;
    if (*unit != '\0' && dimension != DIM_NONE && unit_find(dimension, unit) == NULL) {
        cells_fault(&r->cells, row, R_UNIT, "column '%s' has the unit '%.*s', expected a unit of %s: %s", name,
                    cell_shown(unit), unit, dimension_name(dimension), unit_examples(dimension));
    }
    for (int i = 0; i < CHANNEL_COUNT && *heading != '\0'; i++) {
        if (r->rig->columns[i].heading != NULL && name_equal(r->rig->columns[i].heading, heading)) {
            cells_fault(&r->cells, row, R_VALUE,
                        "heading '%.*s' is mapped to '%s' already, expected one channel a heading", cell_shown(heading),
                        heading, channel_info((enum channel)i)->name);
        }
    }
    if (*heading != '\0') {
        r->rig->columns[channel] = (struct rig_column){.heading = heading, .unit = unit};
    }
}

/* An item that is not known is a fault: what it was to state would silently be missing from every result. */
static void fault_unknown(struct rig_reader *r, size_t row, const char *name)
{
    const char *names[ITEM_COUNT];
    for (size_t i = 0; i < ITEM_COUNT; i++) {
        names[i] = items[i].name;
    }
    const char *near = name_nearest(name, names, ITEM_COUNT);
    if (near != NULL) {
        cells_fault(&r->cells, row, R_ITEM, "item '%.*s' is not known, did you mean '%s'?", cell_shown(name), name,
                    near);
    } else {
        cells_fault(&r->cells, row, R_ITEM,
                    "item '%.*s' is not known, expected an item such as 'flow method' or 'column flow'",
                    cell_shown(name), name);
    }
}

static void take_row(struct rig_reader *r, size_t row)
{
    char name[NAME_BUFFER];
    name_fold(cells_required(&r->cells, row, R_ITEM), name, sizeof name);
    if (strncmp(name, column_prefix, sizeof column_prefix - 1) == 0) {
        take_column(r, row, name + sizeof column_prefix - 1);
        return;
    }
    size_t i = item_find(name);
    if (i == ITEM_COUNT) {
        if (*name != '\0') {
            fault_unknown(r, row, name);
        }
    } else if (row_is_first(r, row, &r->row_of[i], name) && *cells_text(&r->cells, row, R_VALUE) != '\0') {
        take_item(r, row, &items[i]);
    }
}

static bool is_stated(const struct rig_reader *r, const char *name)
{
    size_t row = r->row_of[item_find(name)];
    return row != 0 && *cells_text(&r->cells, row - 1, R_VALUE) != '\0';
}

/* The flow method needs an item. The fault is reported where the method is stated. */
static void need(struct rig_reader *r, const char *method, const char *name)
{
    bool blank = !is_stated(r, name) && r->row_of[item_find(name)] != 0;
    if (blank && r->bay->unfilled_allowed) {
        const char **item = arena_push(r->cells.arena, &r->bay->blanks, &r->bay->blank_count, sizeof *item);
        if (item == NULL) {
            cells_no_memory(&r->cells);
            return;
        }
        *item = name;
    } else if (!is_stated(r, name)) {
        cells_fault(&r->cells, r->row_of[item_find("flow method")] - 1, R_VALUE,
                    "flow method '%s' without '%s', expected a row for it", method, name);
    }
}

static void check_throttle(struct rig_reader *r, const char *method)
{
    const struct rig *rig = r->rig;
    need(r, method, "flow pipe bore");
    need(r, method, "throat bore");
    if (rig->flow_method == FLOW_ORIFICE && !rig->discharge_coefficient.known) {
        need(r, method, "pressure tappings");
    }
    if (rig->flow_pipe_bore_m.known && rig->throat_bore_m.known &&
        rig->throat_bore_m.value >= rig->flow_pipe_bore_m.value) {
        cells_fault(&r->cells, r->row_of[item_find("throat bore")] - 1, R_VALUE,
                    "'throat bore' is not smaller than 'flow pipe bore', expected a smaller bore");
    }
}

static void check_flow_method(struct rig_reader *r)
{
    switch (r->rig->flow_method) {
    case FLOW_ORIFICE: check_throttle(r, "orifice"); break;
    case FLOW_VENTURI: check_throttle(r, "venturi"); break;
    case FLOW_VENTURI_NOZZLE: check_throttle(r, "venturi nozzle"); break;
    case FLOW_NOZZLE: check_throttle(r, "nozzle"); break;
    case FLOW_V_NOTCH: need(r, "v-notch", "notch angle"); break;
    case FLOW_RECTANGULAR_NOTCH: need(r, "rectangular notch", "notch width"); break;
    case FLOW_METER:
    case FLOW_TANK_VOLUME:
    case FLOW_TANK_MASS: break;
    }
}

enum status rig_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults)
{
    struct rig_reader r = {.rig = &bay->rig, .bay = bay};
    *r.rig = (struct rig){.name = "", .current_ratio = 1, .voltage_ratio = 1};
    cells_read(&r.cells, path, rig_fields, R_COUNT, arena, faults);
    if (r.cells.at[R_ITEM] < 0 || r.cells.at[R_VALUE] < 0) {
        return r.cells.status;
    }
    for (size_t row = 0; row < r.cells.table.row_count; row++) {
        take_row(&r, row);
    }
    check_flow_method(&r);
    if (r.rig->flow_method == FLOW_VENTURI && !r.rig->discharge_coefficient.known && !is_stated(&r, "venturi kind") &&
        note_add(&bay->notes, arena, NOTE_INPUT, "rig.csv: 'venturi kind' is not stated, taken as 'as cast'") != OK) {
        cells_no_memory(&r.cells);
    }
    cells_keep(&r.cells, &bay->kept);
    cells_note_unknown(&r.cells, &bay->notes);
    return r.cells.status;
}
