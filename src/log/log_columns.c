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
static enum channel channel_named(const struct table_column *column, const struct bay *bay)
{
    for (int channel = 0; bay != NULL && channel < CHANNEL_COUNT; channel++) {
        const char *mapped = bay->rig.columns[channel].heading;
        if (mapped != NULL && (name_equal(mapped, column->heading) || name_equal(mapped, column->name))) {
            return (enum channel)channel;
        }
    }
    enum channel channel = channel_find(column->name);
    bool elsewhere = channel < CHANNEL_COUNT && bay != NULL && bay->rig.columns[channel].heading != NULL;
    return elsewhere ? CHANNEL_COUNT : channel;
}

enum channel column_channel(const struct table *header, const struct table_column *column, const struct bay *bay)
{
    const char *unit;
    enum channel channel = channel_named(column, bay), trade;
    if (channel < CHANNEL_COUNT) {
        return channel;
    }
    trade = channel_find_trade(column->name, &unit);
    bool taken = trade < CHANNEL_COUNT && bay != NULL && bay->rig.columns[trade].heading != NULL;
    for (size_t i = 0; i < header->column_count && trade < CHANNEL_COUNT && !taken; i++) {
        taken = channel_named(&header->columns[i], bay) == trade;
    }
    return taken ? CHANNEL_COUNT : trade;
}

bool column_is_date(const struct table_column *column)
{
    return strcmp(column->name, "date") == 0;
}

static enum channel channel_of(const struct mapping *m, const struct table_column *column)
{
    return column_channel(m->header, column, m->bay);
}

/* What the heading says of the unit; a time's form (hh:mm:ss) is none. */
static const char *unit_stated(const struct mapping *m, size_t cell, enum channel channel)
{
    const struct table_column *column = &m->header->columns[cell];
    const char *of_name = NULL;
    if (m->bay != NULL && m->bay->rig.columns[channel].heading != NULL && *m->bay->rig.columns[channel].unit != '\0') {
        return m->bay->rig.columns[channel].unit;
    }
    if (channel == CH_TIME && strchr(column->unit, ':') != NULL) {
        return "";
    }
    if (*column->unit == '\0' && channel_find_trade(column->name, &of_name) == channel && of_name != NULL) {
        return of_name;
    }
    return column->unit;
}

/* Finds the unit; *unit stays NULL where the dimension takes none. */
static enum status unit_of(const struct mapping *m, size_t cell, enum channel channel, const struct unit **unit)
{
    const struct channel_info *info = channel_info(channel);
    const char *text = unit_stated(m, cell, channel);
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

/* A date is no number: its limits let none pass. */
static void map_date(struct mapping *m, size_t cell)
{
    m->columns->has_date = true;
    m->columns->items[m->columns->count++] = (struct log_column){.channel = CHANNEL_COUNT,
                                                                 .cell = cell,
                                                                 .lowest = INFINITY,
                                                                 .highest = -INFINITY,
                                                                 .range_low = INFINITY,
                                                                 .range_high = -INFINITY};
}

/* Columns that are no channel; those that the log lacks are what a misspelt one may mean. */
static enum status list_unknown(struct mapping *m)
{
    const char *names[CHANNEL_COUNT];
    size_t count = 0;
    enum status status = OK;
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        const char *mapped = m->bay == NULL ? NULL : m->bay->rig.columns[channel].heading;
        if ((m->log->channels >> channel & 1U) == 0) {
            names[count++] = mapped != NULL ? mapped : channel_info((enum channel)channel)->name;
        }
    }
    for (size_t cell = 0; cell < m->header->column_count && status != E_MEMORY; cell++) {
        const struct table_column *column = &m->header->columns[cell];
        if (*column->name != '\0' && channel_of(m, column) == CHANNEL_COUNT && !column_is_date(column)) {
            enum status known = heading_unknown(m->header, cell, names, count, &m->unknown, m->arena, m->faults);
            status = status == OK || known == E_MEMORY ? known : status;
        }
    }
    return status;
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
        enum status of_column = channel < CHANNEL_COUNT ? map_column(&m, cell, channel) : OK;
        if (channel == CHANNEL_COUNT && column_is_date(column)) {
            map_date(&m, cell); /* twice is a fault of the header row already */
        }
        status = status == OK ? of_column : status;
    }
    enum status unknown = list_unknown(&m);
    status = status == OK || unknown == E_MEMORY ? unknown : status;
    if (status == OK && columns->count == columns->has_date) {
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
