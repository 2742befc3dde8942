/* table.c: the same table in every form that a spreadsheet or logger writes, and each fault at its true place */
#include "near.h"
#include "tables/table.h"

#include <stdio.h>
#include <string.h>

static struct arena arena;
static struct faults faults;

static void setup(void)
{
    arena = (struct arena){0};
    faults = (struct faults){0};
}

static void teardown(void)
{
    arena_release(&arena);
}

/* --- one table in every form --- */

static const char delimiters[] = {',', ';', '\t'};
static const char *const line_ends[] = {"\n", "\r\n", "\r"};

/* The forms, as the digits of a number. */
struct form {
    char delimiter, decimal;
    const char *line_end;
    bool bom, final_end, blank_lines, quoted, padded;
};

enum { FORMS = 3 * 3 * 2 * 2 * 2 * 2 * 2 * 2 };

static struct form form_number(int n)
{
    struct form form = {.delimiter = delimiters[n % 3], .line_end = line_ends[n / 3 % 3]};
    n /= 9;
    form.bom = n & 1;
    form.final_end = n & 2;
    form.blank_lines = n & 4;
    form.quoted = n & 8;
    form.padded = n & 16;
    form.decimal = (n & 32) && form.delimiter != ',' ? ',' : '.';
    return form;
}

struct text {
    char bytes[2048];
    size_t length, line; /* the line that the next put_line writes */
};

static void put(struct text *text, const char *piece)
{
    size_t length = strlen(piece);
    ck_assert_uint_lt(text->length + length, sizeof text->bytes);
    memcpy(text->bytes + text->length, piece, length);
    text->length += length;
}

static void end_line(struct text *text, const struct form *form)
{
    put(text, form->line_end);
    text->line++;
}

/* Writes cells that are given with '|' between them and '.' as the decimal sign. Returns: the line's number. */
static size_t put_row(struct text *text, const struct form *form, const char *cells)
{
    char piece[2] = "";
    bool blank = form->blank_lines;
    for (; blank; blank = false) {
        end_line(text, form);
        put(text, form->delimiter == ',' ? ",,," : " \t ");
        end_line(text, form);
    }
    put(text, form->quoted ? "\"" : "");
    for (const char *c = cells; *c != '\0'; c++) {
        if (*c == '|') {
            put(text, form->quoted ? "\"" : form->padded ? "  " : "");
            piece[0] = form->delimiter;
            put(text, piece);
            put(text, form->quoted ? "\"" : form->padded ? " " : "");
        } else {
            piece[0] = *c == '.' ? form->decimal : *c;
            put(text, piece);
        }
    }
    put(text, form->quoted ? "\"" : "");
    size_t line = text->line + 1;
    end_line(text, form);
    return line;
}

static void put_comment(struct text *text, const struct form *form, const char *comment)
{
    put(text, comment);
    end_line(text, form);
}

START_TEST(reads_every_form)
{
    static const struct table_field fields[] = {
        {"name", DIM_NONE, true}, {"flow", DIM_FLOW, true}, {"gauge height", DIM_LENGTH, true}};
    struct form form = form_number(_i);
    struct text text = {0};
    put(&text, form.bom ? "\xef\xbb\xbf" : "");
    put_comment(&text, &form, "# SERIAL: DN-7, second half");
    put_comment(&text, &form, "# nothing to keep");
    size_t header = put_row(&text, &form, "Name|FLOW [L/s]|Gauge_Height (mm)");
    size_t first = put_row(&text, &form, "bowl assembly|2.5|1500");
    put_comment(&text, &form, "#tester: R. Iyer");
    size_t second = put_row(&text, &form, "x|0.25|");
    if (!form.final_end) {
        text.length -= strlen(form.line_end);
    }
    struct table table;
    ck_assert_int_eq(table_parse("t.csv", text.bytes, text.length, 0, &arena, &table, &faults), OK);
    ck_assert_int_eq(table.delimiter, form.delimiter);
    ck_assert_uint_eq(table.header_line, header);
    ck_assert_uint_eq(table.column_count, 3);
    ck_assert_str_eq(table.columns[2].name, "gauge height");
    ck_assert_str_eq(table.columns[2].unit, "mm");
    ck_assert_uint_eq(table.row_count, 2);
    ck_assert_uint_eq(table.rows[0].line, first);
    ck_assert_uint_eq(table.rows[1].line, second);
    ck_assert_str_eq(table.rows[0].cells[0], "bowl assembly");
    ck_assert_str_eq(table.rows[1].cells[2], "");
    ck_assert_uint_eq(table.remark_count, 2);
    ck_assert_str_eq(table.remarks[0].key, "serial");
    ck_assert_str_eq(table.remarks[0].value, "DN-7, second half");
    ck_assert_str_eq(table.remarks[1].value, "R. Iyer");

    int at[3];
    const struct unit *units[3];
    const char *unknown;
    ck_assert_int_eq(table_match(&table, fields, 3, at, units, &unknown, &arena, &faults), OK);
    ck_assert_str_eq(unknown, "");
    /* 1e-15: the last bits of one multiplication */
    near_rel(table_quantity(&table, 0, at[1], units[1], &faults).value, 0.0025, 1e-15);
    near_rel(table_quantity(&table, 1, at[1], units[1], &faults).value, 0.00025, 1e-15);
    near_rel(table_quantity(&table, 0, at[2], units[2], &faults).value, 1.5, 1e-15);
    ck_assert(!table_quantity(&table, 1, at[2], units[2], &faults).known);
    ck_assert_uint_eq(faults.count, 0);
}
END_TEST

/* --- headings --- */

static const struct {
    const char *heading, *name, *unit;
} headings[] = {
    {"flow [m3/h]", "flow", "m3/h"},
    {"Flow (m³/h)", "flow", "m³/h"},
    {"  input__power  [ kW ] ", "input power", "kW"},
    {"no-load-current [A]", "no load current", "A"},
    {"flow [kg/(m s)]", "flow", "kg/(m s)"},
    {"flow (main) [L/s]", "flow (main)", "L/s"},
    {"flow [L/s", "flow [l/s", ""},
    {"flow L/s]", "flow l/s]", ""},
    {"[L/s]", "", "L/s"},
    {"speed []", "speed", ""},
    {"]", "]", ""},
    {"", "", ""},
};

START_TEST(splits_heading)
{
    struct table_column column;
    ck_assert(heading_split(headings[_i].heading, &arena, &column));
    ck_assert_str_eq(column.name, headings[_i].name);
    ck_assert_str_eq(column.unit, headings[_i].unit);
}
END_TEST

/* --- numbers --- */

static const struct {
    const char *table; /* header, then cells of one column */
    size_t row;
    bool ok;
    double value;
} numbers[] = {
    {"a,b\n1.5,\n", 0, true, 1.5},
    {"a,b\n\"1,5\",\n", 0, false, 0},         /* a decimal comma in a comma table: perhaps 15 */
    {"a,b\n\"1,234\",\n", 0, false, 0},       /* a thousands separator */
    {"a,b\n\"1,234.5\",\n", 0, true, 1234.5}, /* both signs: no doubt */
    {"a;b\n1,5;\n", 0, true, 1.5},
    {"a;b\n1.5;\n", 0, true, 1.5},
    {"a;b\n1.234,5;\n", 0, true, 1234.5}, /* both signs in one number: no doubt */
    {"a;b\n1,234.5;\n", 0, true, 1234.5},
    {"a;b\n1 234;\n", 0, true, 1234},
    {"a;b\n1\u202f234,5;\n", 0, true, 1234.5}, /* a narrow no-break space */
    {"a;b\n1 23;\n", 0, false, 0},
    {"a;b\n1234 567;\n", 0, false, 0}, /* groups begin with at most three digits */
    {"a,b\n\"1,234,567\",\n", 0, true, 1234567},
    {"a;b\n1'234;\n", 0, true, 1234},
    {"a;b\n1,234;\n", 0, true, 1.234}, /* the table's only decimal sign */
    {"a;b\n1,234;\n2,5;\n", 0, true, 1.234},
    {"a;b\n1.234;\n2,5;\n", 0, false, 0}, /* 1.234 or 1234: not told by the table */
    {"a;b\n1,234;\n2.5;\n", 0, false, 0},
    {"a;b\n12.25;\n2,5;\n", 0, true, 12.25}, /* no group of three digits: no doubt */
    {"a;b\n0.125;\n2,5;\n", 0, true, 0.125}, /* a thousand does not start with 0 */
    {"a;b\n-12.345;\n2,5;\n", 0, false, 0},
    {"a;b\n1234.567;\n2,5;\n", 0, true, 1234.567}, /* four digits before the sign: not grouped */
    {"a;b\n1.2345;\n2,5;\n", 0, true, 1.2345},
    {"a;b\n1.23;\n2,5;\n", 0, true, 1.23},
    {"a\tb\n-12,5e1\t\n", 0, true, -125},
    {"a,b\n0x10,\n", 0, false, 0},
    {"a,b\nnan,\n", 0, false, 0},
    {"a,b\ninf,\n", 0, false, 0},
    {"a,b\n1e999,\n", 0, false, 0},
    {"a,b\n12.4x,\n", 0, false, 0},
    {"a,b\n62 %,\n", 0, false, 0},
};

START_TEST(reads_number_or_refuses)
{
    struct table table;
    const char *text = numbers[_i].table;
    ck_assert_int_eq(table_parse("n.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    struct quantity q = table_quantity(&table, numbers[_i].row, 0, NULL, &faults);
    ck_assert_int_eq(q.known, numbers[_i].ok);
    ck_assert_uint_eq(faults.count, numbers[_i].ok ? 0 : 1);
    if (numbers[_i].ok) {
        ck_assert(q.value == numbers[_i].value); /* exact: each is the nearest double to the decimal text */
    } else {
        ck_assert_ptr_nonnull(strstr(faults.text[0], "n.csv:2:1: 'a' is '"));
    }
}
END_TEST

START_TEST(refuses_number_too_large_in_si)
{
    const char *text = "power [kW]\n1e306\n1e300\n"; /* the largest double is 1.8e308 */
    struct table table;
    ck_assert_int_eq(table_parse("n.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    const struct unit *unit = unit_find(DIM_POWER, "kW");
    ck_assert(!table_quantity(&table, 0, 0, unit, &faults).known);
    ck_assert_uint_eq(faults.count, 1);
    ck_assert_str_eq(faults.text[0], "n.csv:2:1: 'power' is '1e306', expected a smaller number");
    near_rel(table_quantity(&table, 1, 0, unit, &faults).value, 1e303, 1e-15); /* the last bits of one product */
    ck_assert_uint_eq(faults.count, 1);
}
END_TEST

/* --- faults --- */

static const struct {
    const char *text;
    const char *faults[3];
} bad[] = {
    {"", {"f.csv: no header row, expected a row that names the columns"}},
    {"# only a comment\n\n", {"f.csv: no header row, expected a row that names the columns"}},
    {"\"\"\n\"\",\"\"\n", {"f.csv: no header row, expected a row that names the columns"}},
    {"a,b\n1,2,3\n4,5\n", {"f.csv:2:3: a row of 3 cells, expected at most 2 as in the header row"}},
    {"a,b,A\n", {"f.csv:1:3: column 'a' is there twice (first in column 1), expected it once"}},
    {"a,b\n1,2\"3\n4,5\n6,\"7\n8,9\n",
     {"f.csv:2:2: a quote inside a cell, expected the whole cell in quotes and its inner quotes doubled",
      "f.csv:4:2: a quoted cell without its closing quote, expected it on the same line"}},
    {"a,b\n1,\"two\nlines\"\n",
     {"f.csv:2:2: a quoted cell without its closing quote, expected it on the same line",
      "f.csv:3:1: a quote inside a cell, expected the whole cell in quotes and its inner quotes doubled"}},
    {"a,b\n1,\xe0\x9f\xbf"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* overlong: U+07FF in three bytes */
    {"a,b\n1,\xf0\x8f\xbf\xbf"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* overlong: U+FFFF in four */
    {"a,b\n1,\xf4\x90\x80\x80"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* beyond U+10FFFF */
    {"a,b\n1,\xc1\xbf"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* overlong: U+007F in two */
    {"a,b\n1,\xf5\x80\x80\x80"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* no lead byte */
    {"a,b\n1,\xe2\x82"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* cut */
    {"a,b\n1,\x80"
     "\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* a continuation alone */
    {"a,b\n1,2 m\xb3/h\n", {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}},
    {"\xff\xfe"
     "a",
     {"f.csv: no header row, expected a row that names the columns"}}, /* UTF-16, half a character */
    {"a,b\n1,\xed\xa0\x80\n",
     {"f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'"}}, /* a surrogate */
};

START_TEST(names_fault)
{
    struct table table;
    ck_assert_int_eq(table_parse("f.csv", bad[_i].text, strlen(bad[_i].text), 0, &arena, &table, &faults), E_INPUT);
    size_t expected = 0;
    for (; expected < 3 && bad[_i].faults[expected] != NULL; expected++) {
        ck_assert_uint_gt(faults.count, expected);
        ck_assert_str_eq(faults.text[expected], bad[_i].faults[expected]);
    }
    ck_assert_uint_eq(faults.count, expected);
}
END_TEST

/* The first and last characters on either side of what UTF-8 leaves out. Source: RFC 3629, section 4. */
static const char *const characters[] = {
    "\xc2\x80",         /* U+0080 */
    "\xe0\xa0\x80",     /* U+0800 */
    "\xed\x9f\xbf",     /* U+D7FF, before the surrogates */
    "\xee\x80\x80",     /* U+E000, after them */
    "\xf0\x90\x80\x80", /* U+10000 */
    "\xf4\x8f\xbf\xbf", /* U+10FFFF */
};

START_TEST(takes_every_character)
{
    struct table table;
    char text[32];
    (void)snprintf(text, sizeof text, "a,b\n1,%s", characters[_i]);
    ck_assert_int_eq(table_parse("f.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    ck_assert_str_eq(table.rows[0].cells[1], characters[_i]);
}
END_TEST

START_TEST(nul_byte_is_no_text)
{
    struct table table;
    ck_assert_int_eq(table_parse("f.csv", "a,b\n1,\0", 7, 0, &arena, &table, &faults), E_INPUT);
}
END_TEST

START_TEST(reads_nothing_behind_the_end)
{
    struct table table;
    ck_assert_int_eq(table_parse("f.csv", "a,b\n1,\xe2\x82\xac", 8, 0, &arena, &table, &faults), E_INPUT); /* 8 of 9 */
    ck_assert_str_eq(faults.text[0], "f.csv:2: text is not UTF-8, expected the table saved as 'CSV UTF-8'");
}
END_TEST

static const struct {
    const char *header;
    const char *fault;
} headers[] = {
    {"flow,head [m]", "f.csv:1:1: column 'flow' has no unit, expected 'flow [unit]' with "},
    {"flow [kPa],head [m]", "f.csv:1:1: column 'flow' has the unit 'kPa', expected a unit of flow: "},
    {"flow [furlong],head [m]", "f.csv:1:1: column 'flow' has the unit 'furlong', expected a unit of flow: "},
    {"flwo [L/s],head [m]", "f.csv:1:1: column 'flwo' is not known, did you mean 'flow'?"},
};

START_TEST(names_header_fault)
{
    static const struct table_field fields[] = {{"flow", DIM_FLOW, true}, {"head", DIM_LENGTH, false}};
    struct table table;
    int at[2];
    const struct unit *units[2];
    const char *unknown, *text = headers[_i].header;
    ck_assert_int_eq(table_parse("f.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    ck_assert_int_eq(table_match(&table, fields, 2, at, units, &unknown, &arena, &faults), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], headers[_i].fault) == faults.text[0], "%s", faults.text[0]);
    ck_assert_int_eq(at[0], -1);
    ck_assert_int_eq(at[1], 1);
}
END_TEST

static const struct {
    const char *name, *near; /* near: NULL, it is a quantity of its own */
} near_headings[] = {
    {"inptu power", "input power"},
    {"flwo", "flow"},
    {"due date", "due"},
    {"curent r", "current r"},
    {"current n", NULL},
    {"voltage rn", NULL},
    {"voltage 1", NULL},
    {"flow rate", NULL},
    {"colour", NULL},
    {"due to", NULL},
    {"wattmeter 4", NULL},
};

START_TEST(headings_that_were_meant)
{
    static const char *const known[] = {"flow",       "due",     "input power", "current r",
                                        "voltage ry", "voltage", "wattmeter 1"};
    const char *near = heading_near(near_headings[_i].name, known, sizeof known / sizeof *known);
    ck_assert_msg((near == NULL) == (near_headings[_i].near == NULL), "%s: %s", near_headings[_i].name,
                  near == NULL ? "none" : near);
    ck_assert(near == NULL || strcmp(near, near_headings[_i].near) == 0);
}
END_TEST

START_TEST(columns_are_bounded)
{
    enum { MOST = 1000 };
    struct table table;
    for (size_t columns = MOST; columns <= MOST + 1; columns++) {
        char text[8 * (MOST + 1)];
        size_t used = 0;
        for (size_t i = 0; i < columns; i++) {
            used += (size_t)snprintf(text + used, sizeof text - used, "%sc%zu", i > 0 ? "," : "", i);
        }
        ck_assert_int_eq(table_parse("f.csv", text, used, 0, &arena, &table, &faults), columns > MOST ? E_INPUT : OK);
    }
    ck_assert_str_eq(faults.text[0], "f.csv:1:1001: a header row of 1001 columns, expected at most 1000");
}
END_TEST

START_TEST(lists_unknown_columns)
{
    static const struct table_field fields[] = {{"flow", DIM_FLOW, true}, {"efficiency", DIM_RATIO, false}};
    const char *text = "colour,flow [L/s],efficiency,eficiency\nred,1,0.5,2\n"; /* the one that is meant is there */
    struct table table;
    int at[2];
    const struct unit *units[2];
    const char *unknown;
    ck_assert_int_eq(table_parse("f.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    ck_assert_int_eq(table_match(&table, fields, 2, at, units, &unknown, &arena, &faults), OK);
    ck_assert_str_eq(unknown, "'colour', 'eficiency'");
    ck_assert(table_quantity(&table, 0, at[1], units[1], &faults).value ==
              0.5); /* a ratio without unit is a fraction */
}
END_TEST

START_TEST(skips_preamble_and_spreadsheet_padding)
{
    const char *text = "Logger 4, site 2\n\"# serial: K-1\",,\nstarted; by hand\na,b,,\n1,2,,\n,,,\n3,\n";
    struct table table;
    ck_assert_int_eq(table_parse("f.csv", text, strlen(text), 3, &arena, &table, &faults), OK);
    ck_assert_uint_eq(table.header_line, 4);
    ck_assert_uint_eq(table.column_count, 2);
    ck_assert_uint_eq(table.row_count, 2);
    ck_assert_str_eq(table.rows[1].cells[0], "3");
    ck_assert_str_eq(table.rows[1].cells[1], "");
    ck_assert_str_eq(table.remarks[0].value, "K-1");
}
END_TEST

START_TEST(unescapes_doubled_quotes)
{
    const char *text = "a,b\n\"6\"\" pipe, old\",2\n";
    struct table table;
    ck_assert_int_eq(table_parse("f.csv", text, strlen(text), 0, &arena, &table, &faults), OK);
    ck_assert_str_eq(table.rows[0].cells[0], "6\" pipe, old");
}
END_TEST

START_TEST(missing_file_is_a_file_fault)
{
    struct table table;
    ck_assert_int_eq(table_read("no/such/table.csv", 0, &arena, &table, &faults), E_FILE);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "no/such/table.csv"));
}
END_TEST

START_TEST(shown_cell_splits_no_character)
{
    char text[64];
    memset(text, 'x', 59);
    memcpy(text + 59, "³", 3); /* two bytes and the NUL: 61 bytes, the 60th starts the character */
    ck_assert_int_eq(cell_shown(text), 59);
    ck_assert_int_eq(cell_shown("m³"), 3);
    memset(text, '\x80', 63); /* no character begins anywhere */
    text[63] = '\0';
    ck_assert_int_eq(cell_shown(text), 0);
}
END_TEST

Suite *table_suite(void);
Suite *table_suite(void)
{
    Suite *suite = suite_create("table");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_loop_test(core, reads_every_form, 0, FORMS);
    tcase_add_loop_test(core, splits_heading, 0, sizeof headings / sizeof *headings);
    tcase_add_loop_test(core, reads_number_or_refuses, 0, sizeof numbers / sizeof *numbers);
    tcase_add_test(core, refuses_number_too_large_in_si);
    tcase_add_loop_test(core, takes_every_character, 0, sizeof characters / sizeof *characters);
    tcase_add_test(core, lists_unknown_columns);
    tcase_add_loop_test(core, headings_that_were_meant, 0, sizeof near_headings / sizeof near_headings[0]);
    tcase_add_test(core, columns_are_bounded);
    tcase_add_test(core, skips_preamble_and_spreadsheet_padding);
    tcase_add_test(core, unescapes_doubled_quotes);
    tcase_add_test(core, shown_cell_splits_no_character);
    suite_add_tcase(suite, core);
    TCase *errors = tcase_create("errors");
    tcase_add_checked_fixture(errors, setup, teardown);
    tcase_add_loop_test(errors, names_fault, 0, sizeof bad / sizeof *bad);
    tcase_add_loop_test(errors, names_header_fault, 0, sizeof headers / sizeof *headers);
    tcase_add_test(errors, nul_byte_is_no_text);
    tcase_add_test(errors, reads_nothing_behind_the_end);
    tcase_add_test(errors, missing_file_is_a_file_fault);
    suite_add_tcase(suite, errors);
    return suite;
}
