#include "tables/instruments.h"
#include "base/text.h"

#include "tables/bay.h"
#include "tables/cells.h"

#include <math.h>
#include <string.h>

enum {
    I_CHANNEL,
    I_SERIAL,
    I_ACCURACY,
    I_BASIS,
    I_DISTRIBUTION,
    I_RANGE,
    I_UNIT,
    I_GAIN,
    I_ZERO,
    I_CALIBRATED,
    I_DUE,
    I_CERTIFICATE,
    I_COUNT
};

static const struct table_field instrument_fields[I_COUNT] = {
    [I_CHANNEL] = {"channel", DIM_NONE, true},
    [I_SERIAL] = {"serial", DIM_NONE, false},
    [I_ACCURACY] = {"accuracy", DIM_RATIO, false},
    [I_BASIS] = {"basis", DIM_NONE, false},
    [I_DISTRIBUTION] = {"distribution", DIM_NONE, false},
    [I_RANGE] = {"range", DIM_NONE, false},
    [I_UNIT] = {"unit", DIM_NONE, false},
    [I_GAIN] = {"gain", DIM_NONE, false},
    [I_ZERO] = {"zero", DIM_NONE, false},
    [I_CALIBRATED] = {"calibrated", DIM_NONE, false},
    [I_DUE] = {"due", DIM_NONE, false},
    [I_CERTIFICATE] = {"certificate", DIM_NONE, false},
};

static const struct word bases[] = {
    {"reading", ACCURACY_OF_READING}, {"of reading", ACCURACY_OF_READING}, {"range", ACCURACY_OF_RANGE},
    {"of range", ACCURACY_OF_RANGE},  {"full scale", ACCURACY_OF_RANGE},   {0},
};
static const struct word distributions[] = {
    {"rectangular", DISTRIBUTION_RECTANGULAR},
    {"normal", DISTRIBUTION_NORMAL},
    {0},
};

static const struct table_help instrument_help[I_COUNT] = {
    [I_CHANNEL] =
        {.about =
             "channel that it reads, 'dutyproof tables log' lists them; voltage and current stand for their phases"},
    [I_SERIAL] = {.about = "its number"},
    [I_ACCURACY] = {.about = "its error limit", .otherwise = "the channel is named as without accuracy"},
    [I_BASIS] = {.about = "what the accuracy is a share of", .otherwise = "reading", .words = bases},
    [I_DISTRIBUTION] = {.about = "rectangular: a limit; normal: a calibration certificate's k = 2",
                        .otherwise = "rectangular",
                        .words = distributions},
    [I_RANGE] = {.about = "its scale, as '0 to 100', in the row's unit"},
    [I_UNIT] = {.about = "of range and zero"},
    [I_GAIN] = {.about = "corrected = gain x (reading - zero)", .otherwise = "1"},
    [I_ZERO] = {.about = "what it shows at zero, in the row's unit", .otherwise = "0"},
    [I_CALIBRATED] = {.about = "date, as 2026-03-31"},
    [I_DUE] = {.about = "date; a later test carries a warning"},
    [I_CERTIFICATE] = {.about = "number of the calibration certificate"},
};

const struct table_form instruments_form = {
    "instruments",
    "instruments.csv: accuracy, correction and calibration of each instrument; the whole table may be missing",
    instrument_fields, instrument_help, I_COUNT};

enum { NAME_BUFFER = 128 };

/* Parts of a range are numbers like any other cell. */
static bool range_part(const struct table *table, const char *text, size_t length, double *value)
{
    char part[NAME_BUFFER];
    if (length >= sizeof part) {
        return false;
    }
    memcpy(part, text, length);
    part[length] = '\0';
    return table_number(table, part, value);
}

/* "0 to 100", "0..100", "-1 - 10" or "100" (from 0), in the row's unit. */
static bool range_parse(const struct table *table, const char *text, double *low, double *high)
{
    static const char *const separators[] = {" to ", "...", "..", "…", "–", "-"};
    *low = 0;
    if (table_number(table, text, high)) {
        return *high > 0;
    }
    for (size_t i = 0; i < sizeof separators / sizeof *separators; i++) {
        const char *at =
            *text == '\0' ? NULL : strstr(text + 1, separators[i]); /* a sign at the start is no separator */
        if (at != NULL && range_part(table, text, (size_t)(at - text), low)) {
            const char *rest = at + strlen(separators[i]);
            return range_part(table, rest, strlen(rest), high) && *low < *high;
        }
    }
    return false;
}

static void take_range(struct cells *cells, size_t row, const struct unit *unit, struct instrument *instrument)
{
    const char *text = cells_text(cells, row, I_RANGE);
    double low, high;
    if (*text == '\0') {
        return;
    }
    if (!range_parse(&cells->table, text, &low, &high)) {
        cells_fault(cells, row, I_RANGE, "'range' is '%.*s', expected two rising numbers such as '0 to 100'",
                    cell_shown(text), text);
        return;
    }
    instrument->range_low_si = quantity_of(unit == NULL ? low : unit_to_si(unit, low));
    instrument->range_high_si = quantity_of(unit == NULL ? high : unit_to_si(unit, high));
}

/* corrected = gain x (reading - zero) holds in the row's unit. With SI = f x unit + o it becomes
 * corrected_si = gain x (reading_si - zero_si), where zero_si = f x zero + o (1 - 1/gain). */
static void take_correction(struct cells *cells, size_t row, const struct unit *unit, struct instrument *instrument)
{
    static const struct range gain_range = RANGE_FROM(-1e6, 1e6), zero_range = RANGE_FROM(-1e9, 1e9);
    double gain = quantity_or(cells_quantity(cells, row, I_GAIN, &gain_range), 1);
    double zero = quantity_or(cells_quantity(cells, row, I_ZERO, &zero_range), 0);
    if (gain == 0) {
        cells_fault(cells, row, I_GAIN, "'gain' is 0, expected 1 for a reading that needs no correction");
        return;
    }
    double offset_si = unit == NULL ? 0 : unit->offset;
    instrument->gain = gain;
    instrument->zero_si = (unit == NULL ? zero : unit_difference_to_si(unit, zero)) + offset_si * (1 - 1 / gain);
}

/* The row's unit; NULL where none is needed, or with a fault. */
static const struct unit *row_unit(struct cells *cells, size_t row, enum channel channel)
{
    enum dimension dimension = channel_info(channel)->dimension;
    const char *text = cells_text(cells, row, I_UNIT);
    if (dimension == DIM_NONE || (dimension == DIM_RATIO && *text == '\0')) {
        return NULL;
    }
    const struct unit *unit = unit_find(dimension, text);
    bool needed = *cells_text(cells, row, I_RANGE) != '\0' || *cells_text(cells, row, I_ZERO) != '\0';
    if (unit == NULL && *text != '\0') {
        cells_fault(cells, row, I_UNIT, "'%s' has the unit '%.*s', expected a unit of %s: %s",
                    channel_info(channel)->name, cell_shown(text), text, dimension_name(dimension),
                    unit_examples(dimension));
    } else if (unit == NULL && needed) {
        cells_fault(cells, row, I_UNIT, "'%s' has a range or a zero without a unit, expected a unit of %s: %s",
                    channel_info(channel)->name, dimension_name(dimension), unit_examples(dimension));
    }
    return unit;
}

static struct date read_date(struct cells *cells, size_t row, int field)
{
    struct date date = {0};
    const char *text = cells_text(cells, row, field);
    if (*text != '\0' && !date_parse(text, &date)) {
        cells_fault(cells, row, field, "'%s' is '%.*s', expected a date such as 2025-03-31", cells->fields[field].name,
                    cell_shown(text), text);
        return (struct date){0};
    }
    return date;
}

static void take_dates(struct cells *cells, size_t row, struct instrument *instrument)
{
    instrument->calibrated = read_date(cells, row, I_CALIBRATED);
    instrument->due = read_date(cells, row, I_DUE);
    if (instrument->calibrated.known && instrument->due.known &&
        date_compare_days(&instrument->due, &instrument->calibrated) < 0) {
        cells_fault(cells, row, I_DUE, "'due' is before 'calibrated', expected a later date");
    }
}

/* The channel of a row; CHANNEL_COUNT with a fault: a correction must not get lost by a slip of the pen. */
static enum channel read_channel(struct cells *cells, size_t row)
{
    char name[NAME_BUFFER];
    const char *names[CHANNEL_COUNT];
    const char *text = cells_required(cells, row, I_CHANNEL);
    enum channel channel = channel_find(name_fold(text, name, sizeof name));
    if (channel == CHANNEL_COUNT && *text != '\0') {
        for (int i = 0; i < CHANNEL_COUNT; i++) {
            names[i] = channel_info((enum channel)i)->name;
        }
        const char *near = name_nearest(name, names, CHANNEL_COUNT);
        cells_fault(cells, row, I_CHANNEL, "'%.*s' is not a channel, expected %s%s%s", cell_shown(text), text,
                    near == NULL ? "a channel such as 'flow' or 'gauge pressure'" : "'", near == NULL ? "" : near,
                    near == NULL ? "" : "'");
    }
    return channel;
}

static void take_row(struct cells *cells, size_t row, struct bay *bay)
{
    static const struct range accuracy_range = RANGE_FROM(0, 0.2);
    enum channel channel = read_channel(cells, row);
    struct instrument instrument = {.channel = channel, .gain = 1, .line = cells->table.rows[row].line};
    for (size_t i = 0; i < bay->instrument_count && channel != CHANNEL_COUNT; i++) {
        if (bay->instruments[i].channel == channel) {
            cells_fault(cells, row, I_CHANNEL,
                        "channel '%s' is there twice (first on line %zu), expected one instrument a channel",
                        channel_info(channel)->name, bay->instruments[i].line);
        }
    }
    const struct unit *unit = channel == CHANNEL_COUNT ? NULL : row_unit(cells, row, channel);
    instrument.serial = cells_text(cells, row, I_SERIAL);
    instrument.certificate = cells_text(cells, row, I_CERTIFICATE);
    instrument.unit_text = cells_text(cells, row, I_UNIT);
    instrument.accuracy = cells_quantity(cells, row, I_ACCURACY, &accuracy_range);
    instrument.basis = (enum accuracy_basis)cells_word(cells, row, I_BASIS, "basis", bases, ACCURACY_OF_READING);
    instrument.distribution = (enum accuracy_distribution)cells_word(cells, row, I_DISTRIBUTION, "distribution",
                                                                     distributions, DISTRIBUTION_RECTANGULAR);
    take_range(cells, row, unit, &instrument);
    take_correction(cells, row, unit, &instrument);
    take_dates(cells, row, &instrument);
    struct instrument *place = arena_push(cells->arena, &bay->instruments, &bay->instrument_count, sizeof *place);
    if (place == NULL) {
        cells_no_memory(cells);
        return;
    }
    *place = instrument;
}

enum status instruments_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults)
{
    struct cells cells;
    cells_read(&cells, path, instrument_fields, I_COUNT, arena, faults);
    for (size_t row = 0; row < cells.table.row_count && cells.status != E_MEMORY; row++) {
        take_row(&cells, row, bay);
    }
    cells_keep(&cells, &bay->kept);
    cells_note_unknown(&cells, &bay->notes);
    return cells.status;
}

double channel_ratio(const struct rig *rig, enum channel channel)
{
    switch (channel) {
    case CH_CURRENT:
    case CH_CURRENT_R:
    case CH_CURRENT_Y:
    case CH_CURRENT_B: return rig->current_ratio;
    case CH_VOLTAGE:
    case CH_VOLTAGE_RY:
    case CH_VOLTAGE_YB:
    case CH_VOLTAGE_BR: return rig->voltage_ratio;
    case CH_INPUT_POWER:
    case CH_WATTMETER_1:
    case CH_WATTMETER_2:
    case CH_WATTMETER_3: return rig->current_ratio * rig->voltage_ratio;
    default: return 1.0;
    }
}

static struct quantity limit_of_range(const struct instrument *instrument, double ratio)
{
    if (!instrument->range_high_si.known) {
        return quantity_absent();
    }
    double span = instrument->range_high_si.value - quantity_or(instrument->range_low_si, 0.0);
    return quantity_of(instrument->accuracy.value * fabs(span) * fabs(ratio));
}

struct quantity instrument_limit(const struct instrument *instrument, double reading_si, double ratio)
{
    if (instrument == NULL || !instrument->accuracy.known) {
        return quantity_absent();
    }
    return instrument->basis == ACCURACY_OF_READING ? quantity_of(instrument->accuracy.value * fabs(reading_si))
                                                    : limit_of_range(instrument, ratio);
}

struct quantity instrument_zero_limit(const struct instrument *instrument, double ratio)
{
    bool stated = instrument != NULL && instrument->accuracy.known;
    return stated ? limit_of_range(instrument, ratio) : quantity_absent();
}
