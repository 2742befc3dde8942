#include "tables/table.h"

#include "base/files.h"
#include "base/grouped.h"
#include "base/text.h"
#include "base/utf16.h"
#include "tables/trade_names.h"

#include <csv.h>
#include <string.h>

enum { TABLE_BYTES_MAX = 64 * 1024 * 1024, SHOWN_BYTES = 60, COLUMNS_MAX = 1000, REMARKS_MAX = 1000, NAMES_MAX = 64 };

/* One physical line, without its end. */
struct line {
    const char *text;
    size_t length, number;
};

/* The cells of one line as libcsv hands them over. */
struct cells {
    struct arena *arena;
    const char **items;
    size_t count;
    bool no_memory;
};

struct parse {
    struct table *table;
    struct arena *arena;
    struct faults *faults;
    size_t skip_lines;
};

/* --- text to lines --- */

/* Length of the UTF-8 character at the start of text, 0 when it is none (or NUL). Source: RFC 3629, section 4. */
static size_t utf8_length(const unsigned char *text, size_t left)
{
    unsigned char lead = text[0];
    size_t length = lead < 0x80 ? 1 : lead < 0xc2 ? 0 : lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : lead < 0xf5 ? 4 : 0;
    if (lead == 0 || length == 0 || length > left) {
        return 0;
    }
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80) {
            return 0;
        }
    }
    bool overlong = (lead == 0xe0 && text[1] < 0xa0) || (lead == 0xf0 && text[1] < 0x90);
    bool beyond = (lead == 0xed && text[1] > 0x9f) || (lead == 0xf4 && text[1] > 0x8f);
    return overlong || beyond ? 0 : length;
}

/* A spreadsheet's older CSV forms are not UTF-8: their unit signs would be read wrongly, so the whole table is refused.
 */
static enum status check_utf8(const struct parse *p, const char *text, size_t length)
{
    size_t line = 1;
    for (size_t at = 0, step; at < length; at += step) {
        step = utf8_length((const unsigned char *)text + at, length - at);
        if (step == 0) {
            return faults_add(p->faults, E_INPUT, (struct place){p->table->file, line, 0},
                              "text is not UTF-8, expected the table saved as 'CSV UTF-8'");
        }
        line += text[at] == '\n';
    }
    return OK;
}

/* Lines end in LF, CRLF or a lone CR. */
static bool line_next(const char **rest, const char *end, struct line *line)
{
    if (*rest == end) {
        return false;
    }
    const char *at = *rest;
    while (at < end && *at != '\n' && *at != '\r') {
        at++;
    }
    line->text = *rest;
    line->length = (size_t)(at - *rest);
    line->number++;
    if (at < end) {
        at += *at == '\r' && at + 1 < end && at[1] == '\n' ? 2 : 1;
    }
    *rest = at;
    return true;
}

static bool is_space(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_padding(char c)
{
    return is_space(c) || c == ',' || c == ';';
}

/* Spreadsheets write a blank row as a row of delimiters. */
static bool line_blank(const struct line *line)
{
    for (size_t i = 0; i < line->length; i++) {
        if (!is_padding(line->text[i])) {
            return false;
        }
    }
    return true;
}

static void trim(const char **text, size_t *length)
{
    while (*length > 0 && is_space(**text)) {
        (*text)++;
        (*length)--;
    }
    while (*length > 0 && is_space((*text)[*length - 1])) {
        (*length)--;
    }
}

/* A comment's text after its '#'; NULL for other lines. A spreadsheet pads a comment with delimiters and may quote it.
 */
static const char *line_comment(const struct line *line, size_t *length)
{
    const char *text = line->text;
    *length = line->length;
    trim(&text, length);
    bool quoted = *length > 0 && *text == '"';
    text += quoted;
    *length -= quoted;
    trim(&text, length);
    if (*length == 0 || *text != '#') {
        return NULL;
    }
    while (*length > 0 && is_padding(text[*length - 1])) {
        (*length)--;
    }
    if (quoted && *length > 0 && text[*length - 1] == '"') {
        (*length)--;
    }
    (*length)--;
    return text + 1;
}

static bool is_utf8(const char *text, size_t length)
{
    size_t step = 1;
    for (size_t at = 0; at < length && step > 0; at += step) {
        step = utf8_length((const unsigned char *)text + at, length - at);
    }
    return step > 0;
}

/* The stated key of a comment's text. Returns: NULL when it is none. */
static const char *stated_key(const char *text, size_t length)
{
    static const char *const keys[] = {"serial", "model", "tested", "tester", "batch"};
    enum { KEY_MAX = 16 };
    char key[KEY_MAX];
    if (length >= sizeof key) {
        return NULL;
    }
    memcpy(key, text, length);
    key[length] = '\0';
    name_fold(key, key, sizeof key);
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        if (strcmp(key, keys[i]) == 0) {
            return keys[i];
        }
    }
    return NULL;
}

static bool remark_of(const char *text, size_t length, struct remark *remark)
{
    trim(&text, &length);
    const char *colon = memchr(text, ':', length);
    remark->key = colon == NULL ? NULL : stated_key(text, (size_t)(colon - text));
    if (remark->key == NULL) {
        return false;
    }
    remark->value = colon + 1;
    remark->length = length - (size_t)(remark->value - text);
    trim(&remark->value, &remark->length);
    return is_utf8(remark->value, remark->length);
}

bool remark_split(const char *line, size_t length, struct remark *remark)
{
    const char *text = line_comment(&(struct line){.text = line, .length = length}, &length);
    return text != NULL && remark_of(text, length, remark);
}

/* Keeps a comment that states something. */
static enum status keep_remark(const struct parse *p, const char *text, size_t length, size_t line)
{
    struct remark stated;
    struct table *table = p->table;
    if (!remark_of(text, length, &stated)) {
        return OK;
    }
    if (table->remark_count == REMARKS_MAX) {
        return faults_add(p->faults, E_INPUT, (struct place){table->file, line, 0},
                          "more than %d lines such as '# %s: ...', expected it stated once", REMARKS_MAX, stated.key);
    }
    const char *value = arena_text(p->arena, stated.value, stated.length);
    struct table_remark *remark =
        value == NULL ? NULL : arena_push(p->arena, &table->remarks, &table->remark_count, sizeof *remark);
    if (remark == NULL) {
        return faults_memory(p->faults);
    }
    *remark = (struct table_remark){.key = stated.key, .value = value, .line = line};
    return OK;
}

/* --- lines to cells --- */

static void take_cell(void *text, size_t length, void *context)
{
    struct cells *cells = context;
    const char *start = text;
    if (cells->no_memory) {
        return;
    }
    trim(&start, &length);
    const char *copy = arena_text(cells->arena, start, length);
    const char **cell = copy == NULL ? NULL : arena_push(cells->arena, &cells->items, &cells->count, sizeof *cell);
    if (cell == NULL) {
        cells->no_memory = true;
        return;
    }
    *cell = copy;
}

static void take_row_end(int terminator, void *context)
{
    (void)terminator;
    (void)context;
}

/* Splits one line by a parser of its own, so that a bad quote cannot reach into the next line. */
static enum status line_split(const struct parse *p, const struct line *line, struct cells *cells)
{
    struct csv_parser parser;
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL) != 0) {
        return faults_memory(p->faults);
    }
    csv_set_delim(&parser, (unsigned char)p->table->delimiter);
    bool stray_quote = csv_parse(&parser, line->text, line->length, take_cell, take_row_end, cells) != line->length;
    bool open_quote = !stray_quote && csv_fini(&parser, take_cell, take_row_end, cells) != 0;
    int error = csv_error(&parser);
    csv_free(&parser);
    if (cells->no_memory || (error != CSV_SUCCESS && error != CSV_EPARSE)) {
        return faults_memory(p->faults);
    }
    struct place at = {p->table->file, line->number, cells->count + 1};
    if (stray_quote) {
        return faults_add(p->faults, E_INPUT, at,
                          "a quote inside a cell, expected the whole cell in quotes and its inner quotes doubled");
    }
    if (open_quote) {
        return faults_add(p->faults, E_INPUT, at,
                          "a quoted cell without its closing quote, expected it on the same line");
    }
    return OK;
}

/* --- the header row --- */

/* The delimiter that occurs most outside quotes and brackets; a comma when there is none. */
static char delimiter_of(const struct line *line)
{
    size_t commas = 0, semicolons = 0, tabs = 0;
    bool quoted = false;
    int depth = 0;
    for (size_t i = 0; i < line->length; i++) {
        char c = line->text[i];
        quoted = quoted != (c == '"');
        depth += c == '[' || c == '(';
        depth -= (c == ']' || c == ')') && depth > 0;
        if (!quoted) {
            commas += c == ',' && depth == 0;
            semicolons += c == ';' && depth == 0;
            tabs += c == '\t';
        }
    }
    if (tabs > 0 && tabs >= semicolons && tabs >= commas) {
        return '\t';
    }
    return semicolons > 0 && semicolons >= commas ? ';' : ',';
}

/* Where the bracketed group at the end of a heading opens; NULL when it has none. */
static const char *unit_bracket(const char *heading, size_t length)
{
    if (length == 0 || (heading[length - 1] != ']' && heading[length - 1] != ')')) {
        return NULL;
    }
    int depth = 0;
    for (const char *at = heading + length - 1;; at--) {
        depth += *at == ']' || *at == ')';
        depth -= *at == '[' || *at == '(';
        if (depth == 0) {
            return at;
        }
        if (at == heading) {
            return NULL;
        }
    }
}

bool heading_split(const char *heading, struct arena *arena, struct table_column *column)
{
    const char *text = heading;
    size_t length = strlen(heading);
    trim(&text, &length);
    const char *bracket = unit_bracket(text, length);
    size_t name_length = bracket == NULL ? length : (size_t)(bracket - text);
    const char *unit = bracket == NULL ? "" : bracket + 1;
    size_t unit_length = bracket == NULL ? 0 : length - name_length - 2;
    trim(&unit, &unit_length);
    column->heading = arena_text(arena, text, length);
    column->unit = arena_text(arena, unit, unit_length);
    char *name = arena_text(arena, text, name_length);
    if (column->heading == NULL || column->unit == NULL || name == NULL) {
        return false;
    }
    column->name = name_fold(name, name, name_length + 1);
    return true;
}

static enum status check_headings(const struct parse *p)
{
    const struct table *table = p->table;
    enum status status = OK;
    for (size_t i = 1; i < table->column_count; i++) {
        const char *name = table->columns[i].name;
        for (size_t j = 0; j < i; j++) {
            if (*name != '\0' && strcmp(name, table->columns[j].name) == 0) {
                status = faults_add(p->faults, E_INPUT, (struct place){table->file, table->header_line, i + 1},
                                    "column '%.*s' is there twice (first in column %zu), expected it once",
                                    cell_shown(name), name, j + 1);
                break;
            }
        }
    }
    return status;
}

static size_t cells_used(const struct cells *cells)
{
    size_t used = cells->count;
    while (used > 0 && *cells->items[used - 1] == '\0') {
        used--;
    }
    return used;
}

static enum status take_header(const struct parse *p, const struct line *line)
{
    struct table *table = p->table;
    struct cells cells = {.arena = p->arena};
    table->delimiter = delimiter_of(line);
    enum status status = line_split(p, line, &cells);
    cells.count = cells_used(&cells);
    if (status != OK || cells.count == 0) {
        return status; /* blank cells in quotes are a blank row too */
    }
    if (cells.count > COLUMNS_MAX) {
        return faults_add(p->faults, E_INPUT, (struct place){table->file, line->number, COLUMNS_MAX + 1},
                          "a header row of %zu columns, expected at most %d", cells.count, COLUMNS_MAX);
    }
    table->header_line = line->number;
    table->columns = arena_alloc(p->arena, cells.count, sizeof *table->columns);
    if (table->columns == NULL) {
        return faults_memory(p->faults);
    }
    table->column_count = cells.count;
    for (size_t i = 0; i < cells.count; i++) {
        if (!heading_split(cells.items[i], p->arena, &table->columns[i])) {
            return faults_memory(p->faults);
        }
    }
    return check_headings(p);
}

/* --- the rows --- */

static enum status take_row(const struct parse *p, const struct line *line)
{
    struct table *table = p->table;
    struct cells cells = {.arena = p->arena};
    enum status status = line_split(p, line, &cells);
    size_t used = cells_used(&cells);
    if (status != OK || used == 0) {
        return status;
    }
    if (used > table->column_count) {
        return faults_add(p->faults, E_INPUT, (struct place){table->file, line->number, table->column_count + 1},
                          "a row of %zu cells, expected at most %zu as in the header row", used, table->column_count);
    }
    if (cells.count < table->column_count) {
        return faults_add(p->faults, E_INPUT, (struct place){table->file, line->number, cells.count + 1},
                          "a row of %zu cells, expected %zu as in the header row (a blank cell is written too)",
                          cells.count, table->column_count);
    }
    struct table_row *row = arena_push(p->arena, &table->rows, &table->row_count, sizeof *row);
    const char **all = row == NULL ? NULL : arena_alloc(p->arena, table->column_count, sizeof *all);
    if (all == NULL) {
        return faults_memory(p->faults);
    }
    for (size_t i = 0; i < table->column_count; i++) {
        all[i] = i < used ? cells.items[i] : "";
    }
    *row = (struct table_row){.line = line->number, .cells = all};
    return OK;
}

static bool has_number_with(const struct table *table, char sign)
{
    double value;
    for (size_t i = 0; i < table->row_count; i++) {
        for (size_t j = 0; j < table->column_count; j++) {
            const char *cell = table->rows[i].cells[j];
            if (strchr(cell, sign) != NULL && number_parse(cell, strlen(cell), sign, &value)) {
                return true;
            }
        }
    }
    return false;
}

static enum status take_line(const struct parse *p, const struct line *line)
{
    size_t length;
    const char *comment = line_comment(line, &length);
    if (comment != NULL) {
        return keep_remark(p, comment, length, line->number);
    }
    if (line->number <= p->skip_lines || line_blank(line)) {
        return OK;
    }
    return p->table->header_line == 0 ? take_header(p, line) : take_row(p, line);
}

/* UTF-16 becomes UTF-8. Status: E_MEMORY. */
static enum status decode(const char **text, size_t *length, struct arena *arena, struct faults *faults)
{
    struct utf16 utf16 = {0};
    if (!utf16_begins(*text, *length, &utf16.big_endian)) {
        return OK;
    }
    char *decoded = arena_alloc(arena, (*length + 1) / 2 * UTF16_GROWTH + UTF16_GROWTH + 1, 1);
    if (decoded == NULL) {
        return faults_memory(faults);
    }
    *length = utf16_piece(&utf16, *text, *length, decoded);
    *text = decoded;
    return OK;
}

enum status table_parse(const char *file, const char *text, size_t length, size_t skip_lines, struct arena *arena,
                        struct table *table, struct faults *faults)
{
    static const char bom[] = "\xef\xbb\xbf";
    if (decode(&text, &length, arena, faults) != OK) {
        *table = (struct table){0};
        return E_MEMORY;
    }
    *table = (struct table){.file = arena_text(arena, file, strlen(file)), .text = text, .length = length};
    if (table->file == NULL) {
        return faults_memory(faults);
    }
    struct parse p = {.table = table, .arena = arena, .faults = faults, .skip_lines = skip_lines};
    if (table_is_workbook(text, length)) {
        return faults_add(faults, E_INPUT, (struct place){table->file, 0, 0}, TABLE_WORKBOOK_FAULT);
    }
    enum status status = check_utf8(&p, text, length);
    if (status != OK) {
        return status;
    }
    const char *rest = text, *end = text + length;
    if (length >= 3 && memcmp(text, bom, 3) == 0) {
        rest += 3;
    }
    struct line line = {0};
    while (line_next(&rest, end, &line)) {
        enum status this_line = take_line(&p, &line);
        if (this_line == E_MEMORY || (this_line != OK && table->column_count == 0)) {
            return this_line;
        }
        status = status == OK ? this_line : status;
    }
    if (table->header_line == 0) {
        return faults_add(faults, E_INPUT, (struct place){table->file, 0, 0},
                          "no header row, expected a row that names the columns");
    }
    table->mixed_signs = table->delimiter != ',' && has_number_with(table, '.') && has_number_with(table, ',');
    return status;
}

bool table_is_workbook(const char *text, size_t length)
{
    return length >= 4 && (memcmp(text, "PK\x03\x04", 4) == 0 || memcmp(text, "\xd0\xcf\x11\xe0", 4) == 0);
}

enum status table_read(const char *path, size_t skip_lines, struct arena *arena, struct table *table,
                       struct faults *faults)
{
    char *text;
    size_t length;
    enum status status = file_read(path, TABLE_BYTES_MAX, arena, &text, &length, faults);
    return status != OK ? status : table_parse(path, text, length, skip_lines, arena, table, faults);
}

const struct kept_table *kept_table_find(const struct kept_tables *kept, const char *name)
{
    for (size_t i = 0; i < kept->count; i++) {
        if (strcmp(kept->items[i].name, name) == 0) {
            return &kept->items[i];
        }
    }
    return NULL;
}

/* --- columns to fields --- */

static int column_of(const struct table *table, const char *name)
{
    for (size_t i = 0; i < table->column_count; i++) {
        if (strcmp(table->columns[i].name, name) == 0) {
            return (int)i;
        }
    }
    for (size_t i = 0; i < table->column_count; i++) {
        if (trade_name_find(table->columns[i].name, name) != NULL) {
            return (int)i;
        }
    }
    return -1;
}

static bool is_field(const struct table *table, size_t column, const struct table_field *fields, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (column_of(table, fields[i].name) == (int)column) {
            return true;
        }
    }
    return false;
}

static enum status match_unit(const struct table *table, const struct table_field *field, int at,
                              const struct unit **unit, struct faults *faults)
{
    const struct table_column *column = &table->columns[at];
    struct place place = {table->file, table->header_line, (size_t)at + 1};
    enum dimension dimension = field->dimension;
    if (dimension == DIM_NONE || (dimension == DIM_RATIO && *column->unit == '\0')) {
        return OK;
    }
    if (*column->unit == '\0') {
        return faults_add(faults, E_INPUT, place, "column '%s' has no unit, expected '%s [unit]' with %s", field->name,
                          field->name, unit_examples(dimension));
    }
    *unit = unit_find(dimension, column->unit);
    if (*unit == NULL) {
        return faults_add(faults, E_INPUT, place, "column '%s' has the unit '%.*s', expected a unit of %s: %s",
                          field->name, cell_shown(column->unit), column->unit, dimension_name(dimension),
                          unit_examples(dimension));
    }
    return OK;
}

/* `current n` is a neighbour of `current r`, and `voltage rn` of `voltage`: another quantity, not a misspelling. */
static bool are_neighbours(const char *a, const char *b)
{
    enum { MARK = 2 }; /* a phase or a number */
    size_t la = strlen(a), lb = strlen(b), same = 0;
    if (la != lb && strncmp(a, b, la < lb ? la : lb) == 0 && (la < lb ? b[la] : a[lb]) == ' ') {
        return true;
    }
    for (size_t i = 0; a[i] != '\0' && a[i] == b[i]; i++) {
        same = a[i] == ' ' ? i + 1 : same;
    }
    return same > 0 && la - same <= MARK && lb - same <= MARK;
}

/* `due date` says no more than `due`. */
static bool says_no_more(const char *name, const char *candidate)
{
    static const char *const idle[] = {" date", " no", " no.", " number", " name", " file"};
    size_t length = strlen(candidate);
    for (size_t i = 0; i < sizeof idle / sizeof *idle && strncmp(name, candidate, length) == 0; i++) {
        if (strcmp(name + length, idle[i]) == 0) {
            return true;
        }
    }
    return false;
}

const char *heading_near(const char *name, const char *const *candidates, size_t count)
{
    const char *others[NAMES_MAX];
    size_t other_count = 0;
    for (size_t i = 0; i < count && other_count < NAMES_MAX; i++) {
        if (says_no_more(name, candidates[i])) {
            return candidates[i];
        }
        if (!are_neighbours(name, candidates[i])) {
            others[other_count++] = candidates[i];
        }
    }
    return name_nearest(name, others, other_count);
}

enum status heading_unknown(const struct table *table, size_t at, const char *const *candidates, size_t count,
                            const char **list, struct arena *arena, struct faults *faults)
{
    const struct table_column *column = &table->columns[at];
    const char *near = heading_near(column->name, candidates, count);
    if (near != NULL) {
        return faults_add(faults, E_INPUT, (struct place){table->file, table->header_line, at + 1},
                          "column '%.*s' is not known, did you mean '%s'?", cell_shown(column->name), column->name,
                          near);
    }
    const char *comma = **list == '\0' ? "" : ", ";
    *list = arena_format(arena, "%s%s'%.*s'", *list, comma, cell_shown(column->heading), column->heading);
    return *list == NULL ? faults_memory(faults) : OK;
}

/* The fields that no column is, as candidates for a misspelt one. */
static size_t missing_fields(const struct table *table, const struct table_field *fields, size_t count,
                             const char *names[NAMES_MAX])
{
    size_t missing = 0;
    for (size_t i = 0; i < count && missing < NAMES_MAX; i++) {
        if (column_of(table, fields[i].name) < 0) {
            names[missing++] = fields[i].name;
        }
    }
    return missing;
}

enum status table_match(const struct table *table, const struct table_field *fields, size_t count, int *at,
                        const struct unit **units, const char **unknown_text, struct arena *arena,
                        struct faults *faults)
{
    enum status status = OK;
    const char *missing[NAMES_MAX];
    size_t missing_count = missing_fields(table, fields, count, missing);
    *unknown_text = "";
    for (size_t i = 0; i < table->column_count; i++) {
        const char *name = table->columns[i].name;
        if (*name != '\0' && !is_field(table, i, fields, count)) {
            enum status known = heading_unknown(table, i, missing, missing_count, unknown_text, arena, faults);
            if (known == E_MEMORY) {
                return known;
            }
            status = status == OK ? known : status;
        }
    }
    for (size_t i = 0; i < count; i++) {
        units[i] = NULL;
        at[i] = column_of(table, fields[i].name);
        if (at[i] >= 0) {
            enum status unit_status = match_unit(table, &fields[i], at[i], &units[i], faults);
            if (unit_status != OK) {
                at[i] = -1;
                status = unit_status;
            }
        } else if (fields[i].required) {
            status = faults_add(faults, E_INPUT, (struct place){table->file, table->header_line, 0},
                                "no column '%s', expected one%s%s", fields[i].name,
                                **unknown_text == '\0' ? "" : "; not known: ", *unknown_text);
        }
    }
    return status;
}

/* --- cells to values --- */

const char *table_text(const struct table *table, size_t row, int at)
{
    return at < 0 ? "" : table->rows[row].cells[at];
}

struct place table_place(const struct table *table, size_t row, int at)
{
    return (struct place){table->file, table->rows[row].line, at < 0 ? 0 : (size_t)at + 1};
}

int cell_shown(const char *text)
{
    size_t length = strlen(text);
    if (length > SHOWN_BYTES) {
        length = SHOWN_BYTES;
        while (length > 0 && ((unsigned char)text[length] & 0xc0) == 0x80) {
            length--;
        }
    }
    return (int)length;
}

/* True for digits grouped as "1.234" or "12,345": in a table that mixes decimal signs it could be a whole number. */
static bool could_be_thousands(const char *text)
{
    text += strspn(text, "+-");
    size_t whole = strspn(text, "0123456789");
    if (whole < 1 || whole > 3 || *text == '0' || (text[whole] != '.' && text[whole] != ',')) {
        return false;
    }
    return strspn(text + whole + 1, "0123456789") == 3 && text[whole + 4] == '\0';
}

bool table_number(const struct table *table, const char *text, double *value)
{
    bool comma = table->delimiter != ',' && strchr(text, ',') != NULL;
    if (table->mixed_signs && could_be_thousands(text)) {
        return false;
    }
    return number_parse(text, strlen(text), comma ? ',' : '.', value) || number_grouped(text, strlen(text), value);
}

const char *table_number_expected(const struct table *table, const char *text)
{
    double value;
    if (table->delimiter == ',' && number_parse(text, strlen(text), ',', &value)) {
        return "a number with a decimal point (a decimal comma needs a table with semicolons or tabs)";
    }
    if (table->mixed_signs && could_be_thousands(text)) {
        return "one decimal sign in the whole table (here it could be a thousands separator)";
    }
    return "a number such as 12.5, without unit or thousands separator";
}

struct quantity table_quantity(const struct table *table, size_t row, int at, const struct unit *unit,
                               struct faults *faults)
{
    const char *text = table_text(table, row, at);
    double value;
    if (*text == '\0') {
        return quantity_absent();
    }
    if (!table_number(table, text, &value)) {
        faults_add(faults, E_INPUT, table_place(table, row, at), "'%s' is '%.*s', expected %s", table->columns[at].name,
                   cell_shown(text), text, table_number_expected(table, text));
        return quantity_absent();
    }
    struct quantity si = quantity_of(unit == NULL ? value : unit_to_si(unit, value));
    if (!si.known) {
        faults_add(faults, E_INPUT, table_place(table, row, at), "'%s' is '%.*s', expected a smaller number",
                   table->columns[at].name, cell_shown(text), text);
    }
    return si;
}
