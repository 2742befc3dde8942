#include "cli/start_tables.h"

#include "base/text.h"
#include "batch/batch_list.h"
#include "physics/reduce.h"
#include "tables/bay.h"

#include <string.h>

/* What a shop writes its quantities in. */
static const struct shop_units {
    const char *flow, *pressure, *differential, *bore, *height, *power, *volume, *mass, *temperature;
} shop_units[] = {
    [SHOP_METRIC] = {"m3/h", "bar", "kPa", "mm", "m", "kW", "L", "kg", "degC"},
    [SHOP_US] = {"US gpm", "psi", "in water", "in", "ft", "hp", "US gal", "lb", "degF"},
    [SHOP_INDIAN] = {"L/min", "kgf/cm2", "mm water", "mm", "m", "kW", "L", "kg", "degC"},
};

static const struct listing_row *row_named(const struct listing *listing, const char *name)
{
    for (size_t i = 0; i < listing->count; i++) {
        if (strcmp(listing->rows[i].name, name) == 0) {
            return &listing->rows[i];
        }
    }
    return NULL;
}

static const char *about(const struct listing *listing, const char *name)
{
    const struct listing_row *row = row_named(listing, name);
    return row == NULL ? "" : row->about;
}

/* --- rig.csv --- */

/* A row of rig.csv: value and unit, and as a note what the item is for. */
static void rig_row(const struct listing *listing, const char *item, const char *value, const char *unit, FILE *to)
{
    (void)fprintf(to, "%s,%s,%s,", item, value, unit);
    text_quote_csv(about(listing, item), to);
    (void)fputc('\n', to);
}

static void device_rows(const struct start_choice *choice, const struct listing *listing, FILE *to)
{
    const struct shop_units *units = &shop_units[choice->shop];
    switch (choice->method) {
    case FLOW_ORIFICE:
    case FLOW_VENTURI:
    case FLOW_VENTURI_NOZZLE:
    case FLOW_NOZZLE:
        rig_row(listing, "flow pipe bore", "", units->bore, to);
        rig_row(listing, "throat bore", "", units->bore, to);
        if (choice->method == FLOW_ORIFICE) {
            rig_row(listing, "pressure tappings", "", "", to);
        } else if (choice->method == FLOW_VENTURI) {
            rig_row(listing, "venturi kind", "", "", to);
        }
        break;
    case FLOW_V_NOTCH:
    case FLOW_RECTANGULAR_NOTCH:
        rig_row(listing, choice->method == FLOW_V_NOTCH ? "notch angle" : "notch width", "",
                choice->method == FLOW_V_NOTCH ? "deg" : units->height, to);
        rig_row(listing, "notch crest height", "", units->height, to);
        rig_row(listing, "approach width", "", units->height, to);
        break;
    case FLOW_METER:
    case FLOW_TANK_VOLUME:
    case FLOW_TANK_MASS: break;
    }
}

static enum status write_rig(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    static const char *const bases[] = {"", "measured", "frequency", "motor"};
    const struct shop_units *units = &shop_units[choice->shop];
    struct listing listing;
    if (listing_of_rig(arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs(
        "# The rig: an item a row. Fill in the values, and change a unit where yours is another.\n"
        "# Heights are above one datum, such as the floor of the sump. 'dutyproof tables rig' lists every item.\n"
        "# Before work on the rig: isolate and lock off the supply, prove the terminals dead, let the pressure down.\n"
        "# Local codes and the licensed electrician's instructions go before anything written here.\n"
        "item,value,unit,note\n",
        to);
    rig_row(&listing, "bay", "", "", to);
    rig_row(&listing, "site latitude", "", "deg", to);
    rig_row(&listing, "site altitude", "", units->height, to);
    rig_row(&listing, "flow method", flow_method_name(choice->method), "", to);
    device_rows(choice, &listing, to);
    rig_row(&listing, "delivery bore", "", units->bore, to);
    rig_row(&listing, "delivery length", "", units->height, to);
    rig_row(&listing, "delivery roughness", "", units->bore, to);
    rig_row(&listing, "delivery loss coefficient", "", "", to);
    rig_row(&listing, "gauge height", "", units->height, to);
    rig_row(&listing, "water level", "", units->height, to);
    rig_row(&listing, "current ratio", "", "", to);
    rig_row(&listing, "voltage ratio", "", "", to);
    rig_row(&listing, "speed basis", bases[choice->basis], "", to);
    return OK;
}

/* --- tables with headings --- */

struct heading {
    const char *name, *unit; /* unit "": none */
};

/* A comment for each heading, then the headings. */
static void headings(const struct listing *listing, const struct heading *list, size_t count, FILE *to)
{
    for (size_t i = 0; i < count; i++) {
        const struct listing_row *row = row_named(listing, list[i].name);
        (void)fprintf(
            to, "# %s - %s%s%s\n", list[i].name, row == NULL ? "" : row->about,
            row == NULL || *row->otherwise == '\0' ? "" : "; when blank: ", row == NULL ? "" : row->otherwise);
    }
    for (size_t i = 0; i < count; i++) {
        bool unit = *list[i].unit != '\0';
        (void)fprintf(to, "%s%s%s%s%s", i == 0 ? "" : ",", list[i].name, unit ? " [" : "", list[i].unit,
                      unit ? "]" : "");
    }
    (void)fputc('\n', to);
}

static void blank_cells(size_t count, FILE *to)
{
    for (size_t i = 0; i < count; i++) {
        (void)fputc(',', to);
    }
    (void)fputc('\n', to);
}

static enum status write_models(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    const struct shop_units *units = &shop_units[choice->shop];
    const struct heading list[] = {
        {"model", ""},
        {"phases", ""},
        {"stages", ""},
        {"rated power", units->power},
        {"rated voltage", "V"},
        {"rated current", "A"},
        {"rated frequency", "Hz"},
        {"rated speed", "rpm"},
        {"guaranteed flow", units->flow},
        {"guaranteed head", units->height},
        {"guaranteed efficiency", "%"},
        {"efficiency of", ""},
        {"guaranteed input power", "kW"},
        {"head low", units->height},
        {"head high", units->height},
        {"grade", ""},
        {"motor", ""},
        {"motor efficiency", "%"},
    };
    const size_t count = sizeof list / sizeof *list;
    struct listing listing;
    if (listing_of_form(&models_form, arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs(
        "# A row for each guaranteed point of a model; MODEL-1 is to be renamed. A blank cell is not guaranteed.\n",
        to);
    headings(&listing, list, count, to);
    (void)fprintf(to, "MODEL-1,%d", choice->phases);
    blank_cells(count - 2, to);
    return OK;
}

static enum status write_motors(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    const struct heading list[] = {{"motor", ""},
                                   {"input power", "kW"},
                                   {"shaft power", shop_units[choice->shop].power},
                                   {"speed", "rpm"},
                                   {"current", "A"}};
    struct listing listing;
    if (listing_of_form(&motors_form, arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs("# A row for each load point of a motor, from no load to beyond full load; may stay empty.\n", to);
    headings(&listing, list, sizeof list / sizeof *list, to);
    return OK;
}

static enum status write_units(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    static const struct heading list[] = {{"serial", ""}, {"model", ""},  {"log", ""},
                                          {"tested", ""}, {"tester", ""}, {"remarks", ""}};
    struct listing listing;
    (void)choice;
    if (listing_of_form(&units_form, arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs("# A batch: a row for each test, as A-1,MODEL-1,logs/A-1.csv,2026-03-01,crew A,\n", to);
    headings(&listing, list, sizeof list / sizeof *list, to);
    return OK;
}

/* --- the reading sheet and its instruments --- */

enum { SHEET_COLUMNS_MAX = 20, SHEET_POINTS = 7 };

struct sheet {
    size_t count;
    struct heading columns[SHEET_COLUMNS_MAX];
};

static void add(struct sheet *sheet, enum channel channel, const char *unit)
{
    sheet->columns[sheet->count++] = (struct heading){channel_info(channel)->name, unit};
}

static void add_flow(struct sheet *sheet, const struct start_choice *choice)
{
    const struct shop_units *units = &shop_units[choice->shop];
    enum channel channel = flow_channel(choice->method);
    const char *unit = channel == CH_FLOW                    ? units->flow
                       : channel == CH_DIFFERENTIAL_PRESSURE ? units->differential
                       : channel == CH_WEIR_HEAD             ? units->bore
                       : channel == CH_TANK_VOLUME           ? units->volume
                                                             : units->mass;
    add(sheet, channel, unit);
    if (channel == CH_TANK_VOLUME || channel == CH_TANK_MASS) {
        add(sheet, CH_FILLING_TIME, "s");
    }
}

/* What is read at each point. */
static struct sheet sheet_of(const struct start_choice *choice)
{
    const struct shop_units *units = &shop_units[choice->shop];
    struct sheet sheet = {0};
    add(&sheet, CH_POINT, "");
    add_flow(&sheet, choice);
    add(&sheet, CH_GAUGE_PRESSURE, units->pressure);
    add(&sheet, CH_WATER_LEVEL, units->height);
    if (choice->phases == 1) {
        add(&sheet, CH_VOLTAGE, "V");
        add(&sheet, CH_CURRENT, "A");
    } else {
        for (int i = 0; i < 3; i++) {
            add(&sheet, (enum channel)(CH_VOLTAGE_RY + i), "V");
        }
        for (int i = 0; i < 3; i++) {
            add(&sheet, (enum channel)(CH_CURRENT_R + i), "A");
        }
    }
    add(&sheet, CH_INPUT_POWER, "kW");
    add(&sheet, CH_FREQUENCY, "Hz");
    if (choice->basis == SPEED_MEASURED) {
        add(&sheet, CH_SPEED, "rpm");
    }
    add(&sheet, CH_WATER_TEMPERATURE, units->temperature);
    return sheet;
}

static enum status write_sheet(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    struct sheet sheet = sheet_of(choice);
    struct listing listing;
    if (listing_of_log(arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs(
        "# A sheet for the readings of one unit: copy it, and write the unit after the colons. From shut-off to beyond\n"
        "# the guaranteed flow, four points at three flows or more. Live terminals and pressurised pipes: read with care.\n"
        "# serial:\n# model:\n# tested:\n# tester:\n",
        to);
    headings(&listing, sheet.columns, sheet.count, to);
    for (int point = 1; point <= SHEET_POINTS; point++) {
        (void)fprintf(to, "%d", point);
        blank_cells(sheet.count - 1, to);
    }
    return OK;
}

static enum status write_instruments(const struct start_choice *choice, struct arena *arena, FILE *to)
{
    static const struct heading list[] = {
        {"channel", ""}, {"serial", ""}, {"accuracy", "%"},  {"basis", ""}, {"range", ""},       {"unit", ""},
        {"gain", ""},    {"zero", ""},   {"calibrated", ""}, {"due", ""},   {"certificate", ""},
    };
    struct sheet sheet = sheet_of(choice);
    struct listing listing;
    if (listing_of_form(&instruments_form, arena, &listing) != OK) {
        return E_MEMORY;
    }
    (void)fputs("# A row for each instrument, from its calibration certificate; blank: not known.\n", to);
    headings(&listing, list, sizeof list / sizeof *list, to);
    for (size_t i = 1; i < sheet.count; i++) { /* all but the point */
        (void)fprintf(to, "%s,,,,,%s,,,,,\n", sheet.columns[i].name, sheet.columns[i].unit);
    }
    return OK;
}

const struct start_table start_tables[] = {
    {"rig.csv", write_rig},
    {"instruments.csv", write_instruments},
    {"models.csv", write_models},
    {"motors.csv", write_motors},
    {"units.csv", write_units},
    {"logs/reading-sheet.csv", write_sheet},
    {NULL, NULL},
};
