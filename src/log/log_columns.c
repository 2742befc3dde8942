#include "log/log_columns.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

struct mapping {
    const struct table *header;
    const struct bay *bay;
    struct arena *arena;
    struct log *log;
    struct log_columns *columns;
    struct faults *faults;
    const char *unknown; /* "a, b" */
};

static struct place heading_place(const struct mapping *m, size_t cell)
{
    return (struct place){m->header->file, m->header->header_line, cell + 1};
}

/* The rig's own heading goes before the standard name: a logger may use a standard name for something else. */
static enum channel channel_of(const struct mapping *m, const struct table_column *column)
{
    for (int channel = 0; m->bay != NULL && channel < CHANNEL_COUNT; channel++) {
        const char *mapped = m->bay->rig.columns[channel].heading;
        if (mapped != NULL && (name_equal(mapped, column->heading) || name_equal(mapped, column->name))) {
            return (enum channel)channel;
        }
    }
    enum channel channel = channel_find(column->name);
    bool elsewhere = channel < CHANNEL_COUNT && m->bay != NULL && m->bay->rig.columns[channel].heading != NULL;
    return elsewhere ? CHANNEL_COUNT : channel;
}

/* Finds the unit; *unit stays NULL where the dimension takes none. */
static enum status unit_of(const struct mapping *m, size_t cell, enum channel channel, const struct unit **unit)
{
    const struct channel_info *info = channel_info(channel);
    const char *text = m->header->columns[cell].unit;
    if (m->bay != NULL && m->bay->rig.columns[channel].heading != NULL && *m->bay->rig.columns[channel].unit != '\0') {
        text = m->bay->rig.columns[channel].unit;
    }
    bool optional = info->dimension == DIM_RATIO || channel == CH_TIME;
    if (info->dimension == DIM_NONE || (optional && *text == '\0')) {
        return OK;
    }
    if (*text == '\0') {
        return faults_add(m->faults, E_INPUT, heading_place(m, cell),
                          "column '%s' has no unit, expected '%s [unit]' with %s", info->name, info->name,
                          unit_examples(info->dimension));
    }
    *unit = unit_find(info->dimension, text);
    if (*unit == NULL) {
        return faults_add(m->faults, E_INPUT, heading_place(m, cell),
                          "column '%s' has the unit '%.*s', expected a unit of %s: %s", info->name, cell_shown(text),
                          text, dimension_name(info->dimension), unit_examples(info->dimension));
    }
    return OK;
}

/* corrected = ratio x gain x (factor x number + offset - zero). */
static struct log_column column_of(const struct mapping *m, size_t cell, enum channel channel, const struct unit *unit)
{
    static const struct unit as_written = {.name = "", .dimension = DIM_NONE, .factor = 1.0, .offset = 0.0};
    const struct channel_info *info = channel_info(channel);
    const struct unit *u = unit == NULL ? &as_written : unit;
    struct log_column column = {.channel = channel,
                                .cell = cell,
                                .scale = u->factor,
                                .shift = u->offset,
                                .lowest = unit_from_si(u, info->lowest_si),
                                .highest = unit_from_si(u, info->highest_si)};
    const struct instrument *instrument = m->bay == NULL ? NULL : bay_instrument(m->bay, channel);
    if (instrument != NULL) {
        column.shift = instrument->gain * (column.shift - instrument->zero_si);
        column.scale *= instrument->gain;
    }
    if (m->bay != NULL) {
        double ratio = channel_ratio(&m->bay->rig, channel);
        column.scale *= ratio;
        column.shift *= ratio;
    }
    bool low = instrument != NULL && instrument->range_low_si.known;
    bool high = instrument != NULL && instrument->range_high_si.known;
    column.range_low = low ? fmax(column.lowest, unit_from_si(u, instrument->range_low_si.value)) : column.lowest;
    column.range_high = high ? fmin(column.highest, unit_from_si(u, instrument->range_high_si.value)) : column.highest;
    return column;
}

static enum status map_column(struct mapping *m, size_t cell, enum channel channel)
{
    struct log *log = m->log;
    if ((log->channels >> channel & 1U) != 0) {
        return faults_add(m->faults, E_INPUT, heading_place(m, cell),
                          "column '%.*s' is '%s' again, expected one column for it",
                          cell_shown(m->header->columns[cell].heading), m->header->columns[cell].heading,
                          channel_info(channel)->name);
    }
    const struct unit *unit = NULL;
    enum status status = unit_of(m, cell, channel, &unit);
    if (status != OK) {
        return status;
    }
    log->channels |= UINT32_C(1) << channel;
    log->headings[channel] = m->header->columns[cell].heading;
    log->units[channel] = unit;
    m->columns->items[m->columns->count++] = column_of(m, cell, channel, unit);
    m->columns->time_unstated = m->columns->time_unstated || (channel == CH_TIME && unit == NULL);
    return OK;
}

static enum status list_unknown(struct mapping *m, const struct table_column *column)
{
    const char *names[CHANNEL_COUNT];
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        names[channel] = channel_info((enum channel)channel)->name;
    }
    const char *near = name_nearest(column->name, names, CHANNEL_COUNT);
    const char *comma = *m->unknown == '\0' ? "" : ", ";
    const char *shown = column->heading;
    m->unknown = near == NULL ? arena_format(m->arena, "%s%s'%.*s'", m->unknown, comma, cell_shown(shown), shown)
                              : arena_format(m->arena, "%s%s'%.*s' (did you mean '%s'?)", m->unknown, comma,
                                             cell_shown(shown), shown, near);
    return m->unknown == NULL ? faults_memory(m->faults) : OK;
}

enum status log_columns_map(const struct table *header, const struct bay *bay, struct arena *arena, struct log *log,
                            struct log_columns *columns, struct notes *notes, struct faults *faults)
{
    struct mapping m = {
        .header = header, .bay = bay, .arena = arena, .log = log, .columns = columns, .faults = faults, .unknown = ""};
    enum status status = OK;
    *columns = (struct log_columns){.cell_count = header->column_count};
    for (size_t cell = 0; cell < header->column_count; cell++) {
        const struct table_column *column = &header->columns[cell];
        enum channel channel = *column->name == '\0' ? CHANNEL_COUNT : channel_of(&m, column);
        enum status of_column = OK;
        if (channel < CHANNEL_COUNT) {
            of_column = map_column(&m, cell, channel);
        } else if (*column->name != '\0') {
            of_column = list_unknown(&m, column);
        }
        status = status == OK ? of_column : status;
    }
    if (status == OK && columns->count == 0) {
        status =
            faults_add(faults, E_INPUT, (struct place){header->file, header->header_line, 0},
                       "no column is a channel of a log, expected headings such as 'flow [m³/h]'; found %s", m.unknown);
    }
    if (status == OK && *m.unknown != '\0' &&
        note_add(notes, arena, NOTE_INPUT, "columns of the log that are not used: %s", m.unknown) != OK) {
        status = faults_memory(faults);
    }
    return status;
}
