#include "drawn.h"

#include "base/units.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TITLES = 3 };

/* How each kind is drawn: with one of these titles, or from this block. */
static const struct {
    const char *titles[TITLES];
    char block;
} looks[DRAWN_KINDS] = {
    [DRAWN_CURVE] = {{"fitted", "set"}, 0},
    [DRAWN_PUMP_CURVE] = {{"pump"}, 0},
    [DRAWN_BAND] = {{"95 % band"}, 0},
    [DRAWN_POINT] = {{"measured", "measured, set"}, 0},
    [DRAWN_PUMP_POINT] = {{"measured, pump"}, 0},
    [DRAWN_UNFITTED_POINT] = {{"not fitted", "not fitted, set", "not fitted, pump"}, 0},
    [DRAWN_GUARANTEE] = {{"guarantee, tolerance", "guarantee", "limit of the grade"}, 0},
    [DRAWN_PASSED] = {{"passes"}, 0},
    [DRAWN_NOT_PASSED] = {{"fails or not judged"}, 0},
    [DRAWN_BAR] = {{"units in a bar"}, 0},
    [DRAWN_UNIT] = {{"units", "unit"}, 0},
    [DRAWN_CHANGED_UNIT] = {{"what if"}, 0},
    [DRAWN_RING] = {{"out of control"}, 0},
    [DRAWN_CONTROL_LIMIT] = {{"control limit"}, 0},
    [DRAWN_MEAN] = {{"mean"}, 0},
    [DRAWN_TRACE] = {{NULL}, 'T'},
    [DRAWN_NUMBER] = {{NULL}, 'N'},
};

static double to_si(enum dimension dimension, const char *name, double shown)
{
    const struct unit *unit = name == NULL ? NULL : unit_find(dimension, name);
    return unit == NULL ? shown : unit_to_si(unit, shown);
}

/* Flow lies along x, but for margins; along y what the unit says. */
static double si_of(const char *name, double shown)
{
    static const enum dimension dimensions[] = {DIM_FLOW, DIM_LENGTH, DIM_POWER, DIM_RATIO, DIM_PRESSURE, DIM_CURRENT};
    for (size_t i = 0; name != NULL && i < sizeof dimensions / sizeof dimensions[0]; i++) {
        if (unit_find(dimensions[i], name) != NULL) {
            return to_si(dimensions[i], name, shown);
        }
    }
    ck_assert_msg(name == NULL, "no unit '%s'", name != NULL ? name : "");
    return shown;
}

static void add(struct drawn *drawn, struct arena *arena, struct drawn_place place)
{
    struct drawn_place *at = arena_push(arena, &drawn->at, &drawn->count, sizeof *at);
    ck_assert_ptr_nonnull(at);
    *at = place;
}

static const char *next_line(const char *line)
{
    return line + strcspn(line, "\n") + (strchr(line, '\n') != NULL);
}

static bool begins(const char *line, const char *with)
{
    return strncmp(line, with, strlen(with)) == 0;
}

/* --- plots: places as they are --- */

struct plot {
    const char *data, *blocks[128]; /* by letter */
    char title[256], y_label[256];
    double x_low, x_high, y_low, y_high;
};

/* The text between the first and the last apostrophe of a line. */
static void take_quoted(const char *line, char text[256])
{
    size_t end = strcspn(line, "\n"), from = strcspn(line, "'") + 1;
    while (end > from && line[end - 1] != '\'') {
        end--;
    }
    (void)snprintf(text, 256, "%.*s", end > from ? (int)(end - 1 - from) : 0, line + from);
}

/* Takes what one line sets. Returns: the line itself, or the end of the block that it begins. */
static const char *take_setting(struct plot *plot, const char *line)
{
    char letter, end;
    (void)sscanf(line, "set xrange [%lf:%lf]", &plot->x_low, &plot->x_high);
    (void)sscanf(line, "set yrange [%lf:%lf]", &plot->y_low, &plot->y_high);
    if (begins(line, "set title '")) {
        take_quoted(line, plot->title);
    } else if (begins(line, "set ylabel '")) {
        take_quoted(line, plot->y_label);
    } else if (sscanf(line, "$%c << EN%c", &letter, &end) == 2) {
        plot->blocks[letter & 0x7f] = next_line(line);
        while (*line != '\0' && !begins(line, "END\n")) {
            line = next_line(line);
        }
    }
    return line;
}

/* Where the rows of an index of the data begin: two blank lines apart. */
static const char *rows_of_index(const char *data, int index)
{
    int blank = 0;
    const char *line = data;
    for (; line != NULL && *line != '\0' && index > 0; line = next_line(line)) {
        blank = *line == '\n' ? blank + 1 : 0;
        index -= blank == 2;
    }
    return line;
}

/* One row: its number in a column from 1, NaN where there is none. */
static double column_of(const char *line, int column)
{
    for (; column > 1; column--) {
        line += strcspn(line, " \t\n");
        line += strspn(line, " \t");
    }
    char *end;
    double value = *line == '\n' ? NAN : strtod(line, &end);
    return *line != '\n' && end > line ? value : NAN;
}

static void take_mark(const char *line, char mark[8])
{
    for (int column = 1; column < 3; column++) {
        line += strcspn(line, " \t\n");
        line += strspn(line, " \t");
    }
    (void)snprintf(mark, 8, "%.*s", (int)strcspn(line, "\n"), line);
}

static void read_rows(const struct plot *plot, const char *rows, int column, const struct drawn_chart *chart,
                      struct drawn *drawn, struct arena *arena)
{
    bool start = true;
    for (const char *line = rows; *line != '\0' && !begins(line, "END") && !begins(line, "\n\n");
         line = next_line(line)) {
        double x = *line == '#' ? NAN : column_of(line, 1), y = column_of(line, column);
        bool seen = x >= plot->x_low && x <= plot->x_high && y >= plot->y_low && y <= plot->y_high;
        struct drawn_place place = {.start = start};
        if (seen) {
            place.x = si_of(chart->x_unit, x);
            place.y = si_of(chart->y_unit, y);
            take_mark(line, place.mark);
            add(drawn, arena, place);
        }
        start = !seen;
    }
}

/* What the plot command says of a kind: "$C using 1:2 with lines title 'fitted'", "'' index 2 using 1:3:4 with ...". */
static void read_plot(const struct plot *plot, const char *command, enum drawn_kind kind,
                      const struct drawn_chart *chart, struct drawn *drawn, struct arena *arena)
{
    char sought[64];
    const char *end = NULL;
    for (size_t i = 0; i < TITLES && end == NULL && looks[kind].titles[i] != NULL; i++) {
        (void)snprintf(sought, sizeof sought, " title '%s'", looks[kind].titles[i]);
        end = strstr(command, sought);
    }
    (void)snprintf(sought, sizeof sought, "$%c using 1:2:3 ", looks[kind].block);
    const char *item = looks[kind].block != 0 ? strstr(command, sought) : end;
    while (item != NULL && item > command && *item != '$' && !begins(item, "index ")) {
        item--;
    }
    if (item == NULL) {
        return;
    }
    int index = 0, x_column = 0, columns[2] = {0};
    char letter = 0;
    bool own = sscanf(item, "$%c using %d:%d:%d", &letter, &x_column, &columns[0], &columns[1]) >= 3;
    ck_assert(own || sscanf(item, "index %d using %d:%d:%d", &index, &x_column, &columns[0], &columns[1]) >= 3);
    ck_assert_int_eq(x_column, 1);
    const char *rows = own ? plot->blocks[letter & 0x7f] : rows_of_index(plot->data, index);
    ck_assert_ptr_nonnull(rows);
    for (int i = 0; i < (kind == DRAWN_BAND ? 2 : 1); i++) {
        read_rows(plot, rows, columns[i], chart, drawn, arena);
    }
}

/* At least six digits are written. */
static void set_steps(struct drawn *drawn)
{
    double x = 0.0, y = 0.0;
    for (size_t i = 0; i < drawn->count; i++) {
        x = fmax(x, fabs(drawn->at[i].x));
        y = fmax(y, fabs(drawn->at[i].y));
    }
    drawn->x_step = 1e-5 * x;
    drawn->y_step = 1e-5 * y;
}

static bool find_plot(const char *script, const char *data, const struct drawn_chart *chart, enum drawn_kind kind,
                      struct drawn *drawn, struct arena *arena)
{
    struct plot plot = {.data = data, .x_low = -INFINITY, .x_high = INFINITY, .y_low = -INFINITY, .y_high = INFINITY};
    for (const char *line = script; *line != '\0'; line = next_line(line)) {
        bool here = strcmp(plot.title, chart->name) == 0 || strcmp(plot.y_label, chart->name) == 0;
        if (begins(line, "plot ") && here) {
            const char *end = line;
            do {
                end = next_line(end);
            } while (end > line && end[-1] == '\n' && end - line > 1 && end[-2] == '\\');
            read_plot(&plot, arena_text(arena, line, (size_t)(end - line)), kind, chart, drawn, arena);
            set_steps(drawn);
            return true;
        }
        line = take_setting(&plot, line);
    }
    return false;
}

/* --- blocks of data that say what they are: "# index 3: Head H, m; measured; Flow Q, m³/h" --- */

static bool is_sought(const char *comment, const struct drawn_chart *chart, enum drawn_kind kind)
{
    char sought[256];
    int number = 0, from = 0;
    if (sscanf(comment, "# index %d: %n", &number, &from) != 1 || from == 0) {
        return false;
    }
    for (size_t i = 0; i < TITLES && looks[kind].titles[i] != NULL; i++) {
        (void)snprintf(sought, sizeof sought, "%s; %s; ", chart->name, looks[kind].titles[i]);
        if (begins(comment + from, sought)) {
            return true;
        }
        (void)snprintf(sought, sizeof sought, "; %s; %s\n", looks[kind].titles[i], chart->name); /* along x */
        const char *found = strstr(comment + from, sought);
        if (found != NULL && found < next_line(comment)) {
            return true;
        }
    }
    return false;
}

/* Returns: false when the text has no such blocks. */
static bool find_blocks(const char *text, const struct drawn_chart *chart, enum drawn_kind kind, struct drawn *drawn,
                        struct arena *arena)
{
    static const struct plot all = {.x_low = -INFINITY, .x_high = INFINITY, .y_low = -INFINITY, .y_high = INFINITY};
    bool any = false;
    for (const char *line = text; *line != '\0'; line = next_line(line)) {
        any = any || begins(line, "# index 0: ");
        if (is_sought(line, chart, kind)) {
            for (int column = 2; column <= (kind == DRAWN_BAND ? 3 : 2); column++) {
                read_rows(&all, next_line(line), column, chart, drawn, arena);
            }
        }
    }
    set_steps(drawn);
    return any;
}

/* --- all --- */

struct drawn drawn_read(const char *script, const char *data, const struct drawn_chart *chart, enum drawn_kind kind,
                        struct arena *arena)
{
    struct drawn drawn = {0};
    if (find_blocks(data != NULL ? data : script, chart, kind, &drawn, arena)) {
        return drawn;
    }
    if (find_plot(script, data, chart, kind, &drawn, arena)) {
        return drawn;
    }
    ck_abort_msg("there is no chart '%s'", chart->name);
    return drawn;
}

/* A text above the axis, and a line that stands at the same place. */
size_t drawn_uprights(const char *script, struct drawn_upright *uprights, size_t most)
{
    size_t count = 0;
    for (const char *line = script; *line != '\0'; line = next_line(line)) {
        char text[64], place[64], foot[80];
        if (count < most && sscanf(line, "set label '%63[^']' at first %63[^,],", text, place) == 2) {
            (void)snprintf(foot, sizeof foot, "\n%s\t0", place);
            ck_assert_msg(strstr(script, foot) != NULL, "no line stands at '%s'", text);
            uprights[count].x = strtod(place, NULL);
            memcpy(uprights[count++].text, text, sizeof text);
        }
    }
    return count;
}
