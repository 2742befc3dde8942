/* The way of a row: a line of the buffer is split and its numbers converted in one walk (take_plain), or through libcsv
 * when it holds a quote (take_quoted); both hand each cell to the same functions, so they cannot differ. A cell that is
 * no number decides what the line is: the header again, the cut end of the file, or a fault.
 */
#include "log/log.h"

#include "base/grouped.h"
#include "base/text.h"
#include "log/log_clock.h"
#include "log/log_columns.h"
#include "log/log_heading.h"
#include "log/log_preamble.h"
#include "log/log_source.h"
#include "log/log_stamps.h"

#include <csv.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BUFFER_SIZE = 256 * 1024, SHOWN_BYTES = 60 };

struct text {
    const char *at;
    size_t length;
};

struct reader {
    struct log *log;
    struct arena *arena;
    struct faults *faults;
    struct log_sink sink;
    struct log_source source;
    struct log_columns columns;
    struct log_clock clock;
    char delimiter, line_end; /* line_end: '\r' in a file of old loggers that write no '\n' */
    const char *header_text;  /* the header row as it stands, without its line end */
    char *buffer;             /* BUFFER_SIZE and one more for the line end that the last line may lack */
    size_t used, begin;       /* bytes in the buffer; where the next line begins */
    bool at_end;              /* the file has no more */
    size_t line;              /* of the row under way, and the rest of it: */
    bool unterminated;        /* the file's last line, without a line end */
    struct text row;
    size_t cell, next; /* the cell that comes next; the column that it may belong to */
    enum row_fate { ROW_GOOD, ROW_FAULTY, ROW_HEADER, ROW_CUT, ROW_SKIPPED } fate;
    struct stamped_row now;
    struct log_stamps stamps;
    struct log_preamble preamble;
    size_t header_line;
    const char *units_text; /* the row of units beneath it; NULL: there is none */
    enum date_order date_order;
    bool decimal_comma; /* numbers with a decimal comma are there: each number takes the slow way, to be told apart */
    bool of_day;        /* the row's time is one of a day or a stop-watch */
    double date_s, last_of_day_s;
    size_t footers, footer_line;
};

/* --- cells --- */

static struct place row_place(const struct reader *r, size_t cell)
{
    return (struct place){r->log->file, r->line, cell + 1};
}

static int shown(struct text text)
{
    return (int)(text.length < SHOWN_BYTES ? text.length : SHOWN_BYTES);
}

static struct text trimmed(struct text text)
{
    while (text.length > 0 && (*text.at == ' ' || *text.at == '\t')) {
        text.at++;
        text.length--;
    }
    while (text.length > 0 && (text.at[text.length - 1] == ' ' || text.at[text.length - 1] == '\t')) {
        text.length--;
    }
    return text;
}

static bool row_is(const struct reader *r, const char *text)
{
    return text != NULL && strlen(text) == r->row.length && memcmp(text, r->row.at, r->row.length) == 0;
}

static bool is_header_again(const struct reader *r)
{
    return row_is(r, r->header_text);
}

static const char *column_name(const struct log_column *column)
{
    return column->channel == CHANNEL_COUNT ? "date" : channel_info(column->channel)->name;
}

/* A cell that cannot be read. */
static void cell_fault(struct reader *r, const struct log_column *column, struct text cell, const char *expected)
{
    if (r->fate == ROW_GOOD && is_header_again(r)) {
        r->fate = ROW_HEADER;
    } else if (r->fate == ROW_GOOD && row_is(r, r->units_text)) {
        r->fate = ROW_SKIPPED;
    } else if (r->fate == ROW_GOOD && r->unterminated) {
        r->fate = ROW_CUT;
    }
    if (r->fate == ROW_GOOD || r->fate == ROW_FAULTY) {
        r->fate = ROW_FAULTY;
        faults_add(r->faults, E_INPUT, row_place(r, column->cell), "%s is '%.*s', expected %s", column_name(column),
                   shown(cell), cell.at, expected);
    }
}

/* A number outside its column's usual limits. Returns: true when it is still a reading. */
static bool is_reading(struct reader *r, const struct log_column *column, double number, struct text cell)
{
    if (column->channel == CHANNEL_COUNT) {
        cell_fault(r, column, cell, "a date such as 2024-05-31");
        return false;
    }
    if (!(number >= column->lowest && number <= column->highest)) {
        char expected[96];
        (void)snprintf(expected, sizeof expected, "a reading between %g and %g in its unit", column->lowest,
                       column->highest);
        cell_fault(r, column, cell, expected);
        return false;
    }
    r->log->below_range[column->channel] += number < column->range_low;
    r->log->above_range[column->channel] += number > column->range_high;
    return true;
}

static inline void put_number(struct reader *r, const struct log_column *column, double number, struct text cell)
{
    bool usual = number >= column->range_low && number <= column->range_high;
    if (!usual && !is_reading(r, column, number, cell)) {
        return;
    }
    if (column->channel == CH_POINT && number != floor(number)) {
        cell_fault(r, column, cell, "a whole number");
        return;
    }
    r->now.reading.value[column->channel] = column->scale * number + column->shift;
    r->now.reading.present |= UINT32_C(1) << column->channel;
}

/* A stamp such as 10:05 tells the minute only. */
static bool has_seconds(struct text stamp)
{
    const char *colon = memchr(stamp.at, ':', stamp.length);
    return colon != NULL && memchr(colon + 1, ':', stamp.length - (size_t)(colon + 1 - stamp.at)) != NULL;
}

/* A date that can be read two ways is never guessed. */
static void fault_two_dates(struct reader *r, const struct log_column *column, struct text cell,
                            const struct date *date, const struct date *other)
{
    char expected[160];
    (void)snprintf(
        expected, sizeof expected,
        "one reading, but it is %04d-%02d-%02d or %04d-%02d-%02d: state 'date order' in rig.csv, 'day first' "
        "or 'month first'",
        date->year, date->month, date->day, other->year, other->month, other->day);
    cell_fault(r, column, cell, expected);
}

/* A cell of the date column; blank: that of the row before. */
static void take_date(struct reader *r, const struct log_column *column, struct text cell)
{
    struct date date, other;
    switch (date_read(cell.at, cell.length, r->date_order, &date, &other)) {
    case DATE_READ:
        r->date_s = date_seconds(&date);
        if (!r->log->tested.known) {
            r->log->tested = date;
        }
        break;
    case DATE_TWO_WAYS: fault_two_dates(r, column, cell, &date, &other); break;
    case DATE_NONE: cell_fault(r, column, cell, "a date such as 2024-05-31"); break;
    }
}

/* A time that is no number. Returns: false when it may be one. */
static bool take_stamp(struct reader *r, const struct log_column *column, struct text cell)
{
    struct date date, other;
    double seconds;
    enum date_reading reading = date_read(cell.at, cell.length, r->date_order, &date, &other);
    const char *colon = memchr(cell.at, ':', cell.length);
    bool iso = reading == DATE_READ && cell.length > 4 && cell.at[4] == '-';
    if (reading == DATE_READ && (iso || date.has_time)) {
        r->clock.may_repeat = !has_seconds(cell);
        r->log->first_stamp = r->log->first_stamp.known ? r->log->first_stamp : date;
        put_number(r, column, date_seconds(&date), cell);
        return true;
    }
    if (reading == DATE_TWO_WAYS && date.has_time) {
        fault_two_dates(r, column, cell, &date, &other);
        return true;
    }
    if (clock_parse(cell.at, cell.length, &seconds)) {
        r->of_day = true;
        put_number(r, column, seconds, cell);
        return true;
    }
    if (colon != NULL && memchr(colon + 1, ':', cell.length - (size_t)(colon + 1 - cell.at)) == NULL) {
        cell_fault(r, column, cell, "h:mm:ss, as it could be hours and minutes or minutes and seconds");
        return true;
    }
    return false;
}

/* A number whose decimal sign could separate thousands. */
static void fault_two_numbers(struct reader *r, const struct log_column *column, struct text cell, double grouped,
                              double decimal)
{
    char expected[160];
    (void)snprintf(expected, sizeof expected,
                   "one reading, but it is %.10g or %.10g: "
                   "write it without a thousands separator, and one decimal sign in the whole log",
                   grouped, decimal);
    cell_fault(r, column, cell, expected);
}

static void fault_number(struct reader *r, const struct log_column *column, struct text cell)
{
    double number;
    if (r->delimiter == ',' && number_parse(cell.at, cell.length, ',', &number)) {
        cell_fault(r, column, cell, "a decimal point (a decimal comma needs semicolons or tabs between the cells)");
    } else if (column->channel == CH_TIME && r->columns.time_unstated) {
        cell_fault(r, column, cell, "seconds or a stamp such as 2024-05-31T10:20:30.5");
    } else {
        cell_fault(r, column, cell, "a number such as 12.5, without unit or thousands separator");
    }
}

/* Any cell: blank, a number in any form, or a time stamp. */
static void take_cell(struct reader *r, const struct log_column *column, struct text cell)
{
    double number, grouped, decimal;
    cell = trimmed(cell);
    if (cell.length == 0) {
        return;
    }
    if (column->channel == CHANNEL_COUNT) {
        take_date(r, column, cell);
        return;
    }
    if (column->channel == CH_TIME && r->columns.time_unstated && take_stamp(r, column, cell)) {
        return;
    }
    bool comma = memchr(cell.at, ',', cell.length) != NULL,
         doubtful = r->decimal_comma || (r->delimiter == ',' && comma);
    if (doubtful && number_two_ways(cell.at, cell.length, &grouped, &decimal) && (!comma || r->delimiter == ',')) {
        fault_two_numbers(r, column, cell, grouped, decimal);
    } else if (number_parse(cell.at, cell.length, comma && r->delimiter != ',' ? ',' : '.', &number) ||
               number_grouped(cell.at, cell.length, &number)) {
        put_number(r, column, number, cell);
    } else {
        fault_number(r, column, cell);
    }
}

/* --- rows --- */

static void begin_row(struct reader *r)
{
    r->cell = r->next = 0;
    r->fate = ROW_GOOD;
    r->of_day = false;
    r->now.reading.present = 0;
    r->now.reading.line = r->line;
}

static const struct log_column *column_at(const struct reader *r)
{
    bool mapped = r->next < r->columns.count && r->columns.items[r->next].cell == r->cell;
    return mapped ? &r->columns.items[r->next] : NULL;
}

/* Hands one cell to its column. */
static void take_next_cell(struct reader *r, struct text cell)
{
    const struct log_column *column = column_at(r);
    if (column != NULL) {
        take_cell(r, column, cell);
        r->next++;
    } else if (r->cell >= r->columns.cell_count && trimmed(cell).length > 0 && r->fate == ROW_GOOD) {
        r->fate = ROW_FAULTY;
        faults_add(r->faults, E_INPUT, row_place(r, r->columns.cell_count),
                   "a row of more than %zu cells, expected at most as many as in the header row",
                   r->columns.cell_count);
    }
    r->cell++;
}

/* The plain numbers that nearly every cell holds: [-]digits[.digits] of at most 15 digits. Their quotient of two exact
 * doubles is correctly rounded (Clinger 1990), so it equals number_parse. The line end stops the scan.
 * Returns: the character after the number; NULL when it is of another form. */
static inline const char *plain_number(const char *text, double *number)
{
    static const double power_of_ten[] = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                          1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};
    enum { DIGITS_MAX = 15 };
    const char *c = text;
    bool negative = *c == '-';
    c += negative;
    const char *first = c;
    uint64_t digits = 0;
    for (; (unsigned char)(*c - '0') < 10; c++) {
        digits = digits * 10 + (uint64_t)(*c - '0');
    }
    size_t before = (size_t)(c - first), after = 0;
    if (*c == '.' && before > 0) {
        const char *point = c++;
        for (; (unsigned char)(*c - '0') < 10; c++) {
            digits = digits * 10 + (uint64_t)(*c - '0');
        }
        after = (size_t)(c - point) - 1;
    }
    if (before == 0 || before + after > DIGITS_MAX) {
        return NULL;
    }
    double magnitude = (double)digits / power_of_ten[after];
    *number = negative ? -magnitude : magnitude;
    return c;
}

/* Splits and converts a line without quotes. */
static void take_plain(struct reader *r)
{
    const char *at = r->row.at, *end = at + r->row.length;
    const char delimiter = r->delimiter;
    begin_row(r);
    for (;; at++) {
        const struct log_column *column = column_at(r);
        double number;
        const char *stop = column == NULL || r->decimal_comma ? NULL : plain_number(at, &number);
        if (stop != NULL && (stop == end || *stop == delimiter)) {
            put_number(r, column, number, (struct text){at, (size_t)(stop - at)});
            r->next++;
            r->cell++;
        } else {
            stop = memchr(at, delimiter, (size_t)(end - at));
            stop = stop == NULL ? end : stop;
            take_next_cell(r, (struct text){at, (size_t)(stop - at)});
        }
        at = stop;
        if (at == end) {
            return;
        }
    }
}

static void take_csv_cell(void *text, size_t length, void *context)
{
    take_next_cell(context, (struct text){text, length});
}

static void take_csv_row_end(int terminator, void *context)
{
    (void)terminator;
    (void)context;
}

/* Splits a line with quotes. */
static enum status take_quoted(struct reader *r)
{
    struct csv_parser parser;
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL) != 0) {
        return faults_memory(r->faults);
    }
    csv_set_delim(&parser, (unsigned char)r->delimiter);
    begin_row(r);
    bool whole = csv_parse(&parser, r->row.at, r->row.length, take_csv_cell, take_csv_row_end, r) == r->row.length &&
                 csv_fini(&parser, take_csv_cell, take_csv_row_end, r) == 0;
    int error = csv_error(&parser);
    csv_free(&parser);
    if (error != CSV_SUCCESS && error != CSV_EPARSE) {
        return faults_memory(r->faults);
    }
    if (!whole && r->unterminated) {
        r->fate = ROW_CUT;
    } else if (!whole && r->fate != ROW_HEADER) {
        r->fate = ROW_FAULTY;
        faults_add(
            r->faults, E_INPUT, row_place(r, r->cell),
            "a quote that does not belong there, expected the whole cell in quotes and its inner quotes doubled");
    }
    return OK;
}

/* A row with its final stamp goes to the sink, unless the clock leaves it out. */
static enum status pass_row(void *context, struct stamped_row *row)
{
    struct reader *r = context;
    struct reading *reading = &row->reading;
    r->clock.restarted = r->clock.restarted || row->after_header;
    if (reading_has(reading, CH_TIME) &&
        !clock_take(&r->clock, reading->value[CH_TIME], r->log->defects, &reading->value[CH_TIME])) {
        return OK;
    }
    return r->sink.take(r->sink.context, reading);
}

/* A time of day becomes one that goes on: by the date beside it, else past midnight. A stop-watch that starts anew does
 * not step back by half a day. */
static void place_in_days(struct reader *r)
{
    enum { DAY_S = 86400 };
    double *time_s = &r->now.reading.value[CH_TIME], of_day_s = *time_s;
    if (!r->columns.has_date && of_day_s < r->last_of_day_s - DAY_S / 2) {
        r->date_s += DAY_S;
    }
    r->last_of_day_s = of_day_s;
    *time_s += r->date_s;
}

static enum status deliver(struct reader *r)
{
    bool timed = (r->log->channels >> CH_TIME & 1U) != 0;
    if (r->of_day) {
        place_in_days(r);
    }
    r->log->rows++;
    enum status status = timed ? stamps_take(&r->stamps, &r->now) : pass_row(r, &r->now);
    r->now.after_header = false;
    return status == E_MEMORY ? faults_memory(r->faults) : status;
}

static enum status end_row(struct reader *r)
{
    if (r->unterminated && r->fate == ROW_GOOD && r->cell < r->columns.cell_count) {
        r->fate = ROW_CUT;
    } else if (r->fate == ROW_GOOD && r->cell < r->columns.cell_count) {
        r->fate = ROW_FAULTY;
        faults_add(r->faults, E_INPUT, row_place(r, r->cell), "a row of %zu cells, expected %zu as in the header row",
                   r->cell, r->columns.cell_count);
    }
    switch (r->fate) {
    case ROW_GOOD: return deliver(r);
    case ROW_FAULTY: r->log->rows++; break;
    case ROW_SKIPPED: break;
    case ROW_CUT: r->log->defects[DEFECT_CUT_LAST_LINE]++; break;
    case ROW_HEADER:
        r->log->defects[DEFECT_REPEATED_HEADER]++;
        r->now.after_header = true;
        break;
    }
    return OK;
}

/* --- lines --- */

/* A spreadsheet writes a blank row as a row of delimiters. */
static bool is_blank(struct text line)
{
    for (size_t i = 0; i < line.length; i++) {
        if (memchr(" \t,;", line.at[i], 4) == NULL) {
            return false;
        }
    }
    return true;
}

static bool is_comment(struct text line)
{
    line = trimmed(line);
    bool quoted = line.length > 0 && *line.at == '"';
    return line.length > quoted && line.at[quoted] == '#';
}

/* A second statement of what the log has stated. */
static enum status stated_again(struct reader *r, const char *key, const char *first, struct text value, size_t line)
{
    return faults_add(r->faults, E_INPUT, (struct place){r->log->file, line, 0},
                      "%s is '%.*s' after '%.60s', expected the log of one test", key, shown(value), value.at, first);
}

/* Loggers write their preamble again after a restart: the same again is no contradiction. */
static enum status take_name(struct reader *r, const char *key, const char **name, struct text value, size_t line)
{
    if (*name == NULL) {
        *name = arena_text(r->arena, value.at, value.length);
        return *name == NULL ? faults_memory(r->faults) : OK;
    }
    bool same = strlen(*name) == value.length && memcmp(*name, value.at, value.length) == 0;
    return same ? OK : stated_again(r, key, *name, value, line);
}

/* The day stands as it was first stated: a restart may write its own time of day. */
static enum status take_tested(struct reader *r, struct text value, size_t line)
{
    struct log *log = r->log;
    struct date date;
    if (!date_parse_n(value.at, value.length, &date)) {
        return faults_add(r->faults, E_INPUT, (struct place){log->file, line, 0},
                          "tested is '%.*s', expected a date such as 2024-05-31", shown(value), value.at);
    }
    if (log->tested.known && date_compare_days(&date, &log->tested) != 0) {
        return stated_again(r, "tested", "another day", value, line);
    }
    log->tested = log->tested.known ? log->tested : date;
    return OK;
}

/* Identity that the log states of itself. Status: E_MEMORY; faults are counted at the end. */
static enum status take_remark(struct reader *r, const char *key, struct text value, size_t line)
{
    struct log *log = r->log;
    enum status status = OK;
    if (value.length == 0) {
        return OK;
    }
    if (strcmp(key, "serial") == 0) {
        status = take_name(r, key, &log->serial, value, line);
    } else if (strcmp(key, "model") == 0) {
        status = take_name(r, key, &log->model, value, line);
    } else if (strcmp(key, "tester") == 0) {
        status = take_name(r, key, &log->tester, value, line);
    } else if (strcmp(key, "tested") == 0) {
        status = take_tested(r, value, line);
    }
    return status == E_MEMORY ? status : OK;
}

/* A comment line among the rows. */
static enum status take_comment(struct reader *r)
{
    struct remark remark;
    bool states = remark_split(r->row.at, r->row.length, &remark);
    return states ? take_remark(r, remark.key, (struct text){remark.value, remark.length}, r->line) : OK;
}

/* The line where a header row must come again, after a preamble that did. */
static void take_header_again(struct reader *r)
{
    if (is_header_again(r)) {
        r->log->defects[DEFECT_REPEATED_HEADER]++;
        r->now.after_header = true;
        return;
    }
    faults_add(r->faults, E_INPUT, row_place(r, 0),
               "'%.*s' after the lines that the logger writes above its header row, expected the row of line %zu again",
               shown(r->row), r->row.at, r->header_line);
}

static enum status take_line(struct reader *r)
{
    char first = r->row.length == 0 ? '\0' : *r->row.at;
    bool number = (first >= '0' && first <= '9') || first == '-';
    if (!number && is_blank(r->row)) {
        return OK;
    }
    if (!number && is_comment(r->row)) {
        return take_comment(r);
    }
    if (!number && is_footer(r->row.at, r->row.length, r->delimiter)) {
        r->footers++;
        r->footer_line = r->footers == 1 ? r->line : r->footer_line;
        return OK;
    }
    switch (r->preamble.first == NULL ? PREAMBLE_NO
                                      : preamble_take(&r->preamble, r->row.at, r->row.length, r->line, r->delimiter)) {
    case PREAMBLE_NO: break;
    case PREAMBLE_YES: return OK;
    case PREAMBLE_HEADER_DUE: take_header_again(r); return OK;
    }
    if (memchr(r->row.at, '"', r->row.length) == NULL) {
        take_plain(r);
    } else {
        enum status status = take_quoted(r);
        if (status != OK) {
            return status;
        }
    }
    return end_row(r);
}

/* --- the buffer --- */

/* Moves the rest to the front and fills the buffer. */
static enum status fill(struct reader *r)
{
    size_t rest = r->used - r->begin, got;
    memmove(r->buffer, r->buffer + r->begin, rest);
    r->begin = 0;
    enum status status = source_read(&r->source, r->buffer + rest, BUFFER_SIZE - rest, &got, r->faults);
    if (status != OK) {
        return status;
    }
    r->at_end = r->source.ended;
    r->used = rest + got;
    return OK;
}

/* Cuts the next line off the buffer, without its end. Returns: false when the buffer holds no whole line. */
static bool cut_line(struct reader *r)
{
    char *begin = r->buffer + r->begin;
    size_t rest = r->used - r->begin;
    char *end = memchr(begin, r->line_end, rest);
    r->unterminated = end == NULL;
    if (end == NULL) {
        if (!r->at_end || rest == 0) {
            return false;
        }
        end = begin + rest;
        *end = r->line_end;
        r->begin = r->used;
    } else {
        r->begin += (size_t)(end - begin) + 1;
    }
    r->line++;
    r->row = (struct text){begin, (size_t)(end - begin)};
    if (r->row.length > 0 && end[-1] == '\r') {
        r->row.length--;
        r->unterminated = false;
    }
    return true;
}

/* Where the reading of lines stands, to go back to. */
struct mark {
    size_t begin, line;
    bool unterminated;
};

static struct mark mark_of(const struct reader *r)
{
    return (struct mark){r->begin, r->line, r->unterminated};
}

static void go_back(struct reader *r, struct mark mark)
{
    r->begin = mark.begin;
    r->line = mark.line;
    r->unterminated = mark.unterminated;
}

/* The line that looks like the headings, among the first: the first that says something where it names a channel, else
 * one that names two. Returns: 0 when there is none. */
static size_t find_heading(struct reader *r, const struct bay *bay)
{
    enum { LINES_LOOKED_AT = 60, CHANNELS = 2 };
    struct mark start = mark_of(r);
    size_t found = 0, needed = 1;
    while (found == 0 && r->line < start.line + LINES_LOOKED_AT && cut_line(r)) {
        if (!is_blank(r->row) && !is_comment(r->row)) {
            found = heading_score(r->row.at, r->row.length, bay) >= needed ? r->line : 0;
            needed = CHANNELS;
        }
    }
    go_back(r, start);
    return found;
}

/* `Set,TW/26-101` or `Set: TW/26-101` above the headings, where rig.csv says what `Set` is. */
static enum status take_log_line(struct reader *r, const struct bay *bay, char delimiter)
{
    static const char *const keys[LOG_LINE_COUNT] = {"serial", "model", "tested", "tester"};
    size_t end = 0;
    while (end < r->row.length && r->row.at[end] != delimiter && r->row.at[end] != ':' && r->row.at[end] != '=') {
        end++;
    }
    if (end == r->row.length) {
        return OK;
    }
    const char *label = arena_text(r->arena, r->row.at, end);
    const char *rest = r->row.at + end + 1;
    size_t length = r->row.length - end - 1;
    while (length > 0 && (rest[length - 1] == delimiter || rest[length - 1] == ' ')) {
        length--;
    }
    struct text trimmed_rest = trimmed((struct text){rest, length});
    if (label == NULL) {
        return faults_memory(r->faults);
    }
    enum status status = OK;
    for (int i = 0; i < LOG_LINE_COUNT && status == OK; i++) {
        const char *stated = bay->rig.log_lines[i];
        if (stated != NULL && *stated != '\0' && name_equal(stated, label)) {
            status = take_remark(r, keys[i], trimmed_rest, r->line);
        }
    }
    return status;
}

/* A decimal comma among the numbers that the buffer holds. */
static bool has_decimal_comma(const struct reader *r)
{
    const char *at = r->buffer + r->begin, *end = r->buffer + r->used;
    const char ends[] = {r->delimiter, r->line_end, '\0'};
    double number;
    if (r->delimiter == ',' || memchr(at, ',', (size_t)(end - at)) == NULL) {
        return false;
    }
    while (at < end) {
        size_t length = 0;
        while (at + length < end && strchr(ends, at[length]) == NULL) {
            length++;
        }
        if (memchr(at, ',', length) != NULL && number_parse(at, length, ',', &number)) {
            return true;
        }
        at += length + 1;
    }
    return false;
}

/* The line below the headings, where it holds units. */
static enum status take_units(struct reader *r, const struct bay *bay, struct table *header)
{
    struct mark below = mark_of(r);
    enum units_row units = UNITS_NONE;
    size_t at = 0;
    enum status status = OK;
    if (cut_line(r) && !is_blank(r->row) && !is_comment(r->row)) {
        status = heading_units(header, r->row.at, r->row.length, bay, r->arena, &units, &at);
    }
    if (status != OK) {
        return faults_memory(r->faults);
    }
    if (units == UNITS_NONE) {
        go_back(r, below);
        return OK;
    }
    if (units == UNITS_CONTRADICT) {
        return faults_add(r->faults, E_INPUT, row_place(r, at),
                          "the unit of '%.*s' is another beneath it, expected one",
                          cell_shown(header->columns[at].heading), header->columns[at].heading);
    }
    r->units_text = arena_text(r->arena, r->row.at, r->row.length);
    return r->units_text == NULL ? faults_memory(r->faults) : OK;
}

/* Finds the header row; the lines above it that rig.csv maps are taken. found: the line that looks like it. */
static enum status seek_header(struct reader *r, const struct bay *bay, size_t skip, struct text *first)
{
    bool found = false;
    while (!found && cut_line(r)) {
        bool says_something = !is_blank(r->row) && !is_comment(r->row);
        found = r->line > skip && says_something;
        if (!found && says_something && first->length == 0) {
            *first = r->row;
            r->preamble.line = r->line;
        }
        char delimiter = memchr(r->row.at, ';', r->row.length) != NULL    ? ';'
                         : memchr(r->row.at, '\t', r->row.length) != NULL ? '\t'
                                                                          : ',';
        enum status status = !found && says_something && bay != NULL ? take_log_line(r, bay, delimiter) : OK;
        if (status != OK) {
            return status;
        }
    }
    return OK;
}

/* What the header row says, once it is parsed. */
static enum status take_header(struct reader *r, const struct bay *bay, struct table *header, struct notes *notes)
{
    r->delimiter = header->delimiter;
    enum status status = OK;
    for (size_t i = 0; i < header->remark_count && status == OK; i++) {
        const struct table_remark *remark = &header->remarks[i];
        status = take_remark(r, remark->key, (struct text){remark->value, strlen(remark->value)}, remark->line);
    }
    status = status == OK ? take_units(r, bay, header) : status;
    r->decimal_comma = has_decimal_comma(r);
    return status == OK ? log_columns_map(header, bay, r->arena, r->log, &r->columns, notes, r->faults) : status;
}

/* The header row: everything up to it is given to the table's reader, which knows the delimiter, headings and remarks.
 */
static enum status read_header(struct reader *r, const struct bay *bay, struct notes *notes)
{
    static const char bom[] = "\xef\xbb\xbf";
    enum status status = fill(r);
    if (status != OK) {
        return status;
    }
    if (table_is_workbook(r->buffer, r->used)) {
        return faults_add(r->faults, E_INPUT, (struct place){r->log->file, 0, 0}, TABLE_WORKBOOK_FAULT);
    }
    if (r->used >= 3 && memcmp(r->buffer, bom, 3) == 0) {
        r->begin = 3;
    }
    r->line_end = memchr(r->buffer, '\n', r->used) == NULL && memchr(r->buffer, '\r', r->used) != NULL ? '\r' : '\n';
    size_t stated = bay == NULL ? 0 : bay->rig.log_header_row, looks = find_heading(r, bay);
    size_t skip = stated > 0 ? stated - 1 : looks > 0 ? looks - 1 : 0;
    struct text first = {0};
    status = seek_header(r, bay, skip, &first);
    if (status != OK) {
        return status;
    }
    r->preamble.lines = first.length > 0 ? skip : 0;
    r->header_line = r->line;
    struct table header;
    status = table_parse(r->log->file, r->buffer, r->begin, skip, r->arena, &header, r->faults);
    if (status != OK) {
        return status;
    }
    r->header_text = arena_text(r->arena, r->row.at, r->row.length);
    r->preamble.first = first.length > 0 ? arena_text(r->arena, first.at, first.length) : NULL;
    r->preamble.first_length = first.length;
    if (r->header_text == NULL || (first.length > 0 && r->preamble.first == NULL)) {
        return faults_memory(r->faults);
    }
    if (stated > 0 && looks > 0 && looks != r->header_line && heading_score(r->row.at, r->row.length, bay) == 0) {
        return faults_add(r->faults, E_INPUT, row_place(r, 0),
                          "no heading of a log, but line %zu looks like the headings: "
                          "set 'log header row' to %zu in rig.csv",
                          looks, looks);
    }
    if (stated == 0 && first.length > 0 &&
        note_add(notes, r->arena, NOTE_INPUT,
                 "the headings of the log are on line %zu: the lines above are no readings", r->header_line) != OK) {
        return faults_memory(r->faults);
    }
    return take_header(r, bay, &header, notes);
}

static enum status read_rows(struct reader *r)
{
    for (;;) {
        while (cut_line(r)) {
            enum status status = take_line(r);
            if (status != OK) {
                return status;
            }
        }
        if (r->at_end) {
            return OK;
        }
        if (r->begin == 0) {
            return faults_add(r->faults, E_INPUT, (struct place){r->log->file, r->line + 1, 0},
                              "a line of more than %d characters, expected the rows of a log", BUFFER_SIZE - 1);
        }
        enum status status = fill(r);
        if (status != OK) {
            return status;
        }
    }
}

static enum status note_coarse(const struct reader *r, struct notes *notes)
{
    enum status status =
        note_add(notes, r->arena, NOTE_INPUT,
                 "the log stamps %zu samples alike, every %g s: they are spread evenly over the time to the next stamp",
                 r->stamps.per_stamp, r->stamps.step_s);
    return status == OK ? OK : faults_memory(r->faults);
}

static enum status read_all(struct reader *r, const struct bay *bay, struct notes *notes)
{
    size_t faults_before = r->faults->count;
    enum status status = read_header(r, bay, notes);
    if (status == OK) {
        status = read_rows(r);
    }
    if (status == OK) {
        status = stamps_finish(&r->stamps);
        status = status == E_MEMORY ? faults_memory(r->faults) : status;
    }
    if (status == OK && r->stamps.kind == STAMPS_COARSE) {
        status = note_coarse(r, notes);
    }
    if (status == OK && r->footers > 0 &&
        note_add(notes, r->arena, NOTE_INPUT,
                 "rows of averages and the like in the log: %zu, first on line %zu, left out", r->footers,
                 r->footer_line) != OK) {
        status = faults_memory(r->faults);
    }
    if (status != OK) {
        return status;
    }
    if (r->faults->count > faults_before) {
        return E_INPUT;
    }
    if (r->log->rows == 0) {
        return faults_add(r->faults, E_INPUT, (struct place){r->log->file, 0, 0},
                          "no row below the header row, expected readings");
    }
    return OK;
}

enum status log_read(const char *path, const struct bay *bay, struct log_sink sink, struct arena *arena,
                     struct log *log, struct notes *notes, struct faults *faults)
{
    struct reader *r = calloc(1, sizeof *r);
    *log = (struct log){.file = arena_text(arena, path, strlen(path)), .first_time_s = NAN, .last_time_s = NAN};
    if (r == NULL || log->file == NULL) {
        free(r);
        return faults_memory(faults);
    }
    r->log = log;
    r->arena = arena;
    r->faults = faults;
    r->sink = sink;
    r->date_order = bay == NULL ? DATE_ORDER_UNSTATED : bay->rig.date_order;
    r->stamps = (struct log_stamps){.take = pass_row, .context = r};
    enum status status = source_open(&r->source, path, faults);
    if (status == OK) {
        r->buffer = malloc(BUFFER_SIZE + 1);
        status = r->buffer == NULL ? faults_memory(faults) : read_all(r, bay, notes);
        source_digest(&r->source, log->sha256);
        source_close(&r->source);
    }
    if (r->clock.started) {
        log->first_time_s = r->clock.first_s;
        log->last_time_s = r->clock.last_s;
    }
    stamps_release(&r->stamps);
    free(r->buffer);
    free(r);
    return status;
}

enum status log_defects_note(const struct log *log, struct arena *arena, struct notes *notes)
{
    static const char *const what[DEFECT_COUNT][2] = {
        [DEFECT_DROPPED_SAMPLE] = {"samples missing from the record", "nothing is filled in"},
        [DEFECT_REPEATED_TIME] = {"samples with the time stamp of the one before", "left out"},
        [DEFECT_CLOCK_BACK] = {"samples at which the clock stepped back",
                               "left out until it has caught up; where it was set anew the record goes on"},
        [DEFECT_REPEATED_HEADER] = {"header rows again within the log (logger restart)", "skipped"},
        [DEFECT_CUT_LAST_LINE] = {"last line cut off", "left out"},
        [DEFECT_SPIKE] = {"spikes of a single sample", "left out of the means"},
        [DEFECT_STUCK_CHANNEL] = {"channels that repeat one value while others vary", "kept, look at the instrument"},
    };
    for (int d = 0; d < DEFECT_COUNT; d++) {
        if (log->defects[d] > 0 &&
            note_add(notes, arena, NOTE_INPUT, "%s: %zu, %s", what[d][0], log->defects[d], what[d][1]) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}
