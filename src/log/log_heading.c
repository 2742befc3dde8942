#include "log/log_heading.h"

#include "base/text.h"
#include "log/log_columns.h"

#include <string.h>

size_t heading_score(const char *text, size_t length, const struct bay *bay)
{
    struct arena arena = {0};
    struct faults unused = {0};
    struct table line = {0};
    size_t score = 0;
    (void)table_parse("", text, length, 0, &arena, &line, &unused); /* what is no table scores nothing */
    for (size_t i = 0; i < line.column_count && line.columns != NULL; i++) {
        const struct table_column *column = &line.columns[i];
        score += column->name != NULL && *column->name != '\0' &&
                 (column_is_date(column) || column_channel(&line, column, bay) < CHANNEL_COUNT);
    }
    arena_release(&arena);
    return score;
}

/* The text of a cell without brackets around it. */
static const char *unit_text(const char *cell, struct arena *arena)
{
    size_t length = strlen(cell);
    bool brackets =
        length > 1 && (cell[0] == '[' || cell[0] == '(') && (cell[length - 1] == ']' || cell[length - 1] == ')');
    return brackets ? arena_text(arena, cell + 1, length - 2) : cell;
}

enum units_row_cell { CELL_BLANK, CELL_UNIT, CELL_OTHER, CELL_NEITHER };

/* What a cell beneath a heading is. */
static enum units_row_cell cell_kind(const char *text, enum channel channel)
{
    double number;
    if (*text == '\0' || strcmp(text, "-") == 0) {
        return CELL_BLANK;
    }
    if (number_parse(text, strlen(text), '.', &number) || number_parse(text, strlen(text), ',', &number)) {
        return CELL_NEITHER;
    }
    if (channel == CHANNEL_COUNT || channel_info(channel)->dimension == DIM_NONE || channel == CH_TIME) {
        return unit_find(DIM_TIME, text) != NULL ? CELL_UNIT : CELL_OTHER;
    }
    return unit_find(channel_info(channel)->dimension, text) != NULL ? CELL_UNIT : CELL_NEITHER;
}

static bool contradicts(const struct table_column *column, const char *unit, enum channel channel)
{
    enum dimension dimension = channel_info(channel)->dimension;
    return *column->unit != '\0' && unit_find(dimension, column->unit) != unit_find(dimension, unit);
}

enum status heading_units(struct table *header, const char *text, size_t length, const struct bay *bay,
                          struct arena *arena, enum units_row *found, size_t *at)
{
    struct faults unused = {0};
    struct table line = {0};
    size_t units = 0;
    *found = UNITS_NONE;
    if (table_parse("", text, length, 0, arena, &line, &unused) == E_MEMORY) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < line.column_count; i++) {
        enum channel channel =
            i < header->column_count ? column_channel(header, &header->columns[i], bay) : CHANNEL_COUNT;
        const char *cell = unit_text(line.columns[i].heading, arena);
        enum units_row_cell kind = cell == NULL ? CELL_NEITHER : cell_kind(cell, channel);
        if (kind == CELL_NEITHER) {
            return cell == NULL ? E_MEMORY : OK;
        }
        units += kind == CELL_UNIT && channel < CHANNEL_COUNT;
    }
    for (size_t i = 0; i < line.column_count && i < header->column_count && units > 0; i++) {
        enum channel channel = column_channel(header, &header->columns[i], bay);
        const char *cell = unit_text(line.columns[i].heading, arena);
        if (cell == NULL) {
            return E_MEMORY;
        }
        if (channel == CHANNEL_COUNT || cell_kind(cell, channel) != CELL_UNIT) {
            continue;
        }
        if (contradicts(&header->columns[i], cell, channel)) {
            *found = UNITS_CONTRADICT;
            *at = i;
            return OK;
        }
        header->columns[i].unit = *header->columns[i].unit == '\0' ? cell : header->columns[i].unit;
    }
    *found = units > 0 ? UNITS_TAKEN : UNITS_NONE;
    return OK;
}

bool is_footer(const char *text, size_t length, char delimiter)
{
    static const char *const words[] = {
        "average", "averages", "avg", "mean",  "means", "min",     "minimum",
        "max",     "maximum",  "sum", "total", "range", "std dev", "standard deviation"};
    enum { WORD_MAX = 24 };
    char word[WORD_MAX];
    size_t begin = 0;
    while (begin < length && (text[begin] == delimiter || text[begin] == ' ' || text[begin] == '"')) {
        begin++;
    }
    size_t end = begin;
    while (end < length && text[end] != delimiter && text[end] != '"' && text[end] != ':' && text[end] != '.') {
        end++;
    }
    if (end - begin >= sizeof word || end == begin) {
        return false;
    }
    memcpy(word, text + begin, end - begin);
    word[end - begin] = '\0';
    name_fold(word, word, sizeof word);
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(word, words[i]) == 0) {
            return true;
        }
    }
    return false;
}
