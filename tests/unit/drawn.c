#include "drawn.h"

#include "base/units.h"
#include "papers/page.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PEN(pen) (1U << (pen))

enum { TITLES = 3 };

/* How each kind is drawn: on a page with these pens and (unless 0) so many vertices to a path; in a plot with one of
 * these titles, or from this block. */
static const struct {
    unsigned pens;
    size_t vertices;
    const char *titles[TITLES];
    char block;
} looks[DRAWN_KINDS] = {
    [DRAWN_CURVE] = {PEN(PEN_HEAD) | PEN(PEN_EFFICIENCY) | PEN(PEN_POWER), 0, {"fitted", "set"}, 0},
    [DRAWN_PUMP_CURVE] = {PEN(PEN_PUMP), 0, {"pump"}, 0},
    [DRAWN_BAND] = {PEN(PEN_FILL_BAND), 0, {"95 % band"}, 0},
    [DRAWN_POINT] = {PEN(PEN_HEAD_POINT) | PEN(PEN_EFFICIENCY_POINT) | PEN(PEN_POWER_POINT),
                     0,
                     {"measured", "measured, set"},
                     0},
    [DRAWN_PUMP_POINT] = {PEN(PEN_PUMP_POINT), 0, {"measured, pump"}, 0},
    [DRAWN_UNFITTED_POINT] = {PEN(PEN_UNFITTED_POINT), 0, {"not fitted", "not fitted, set", "not fitted, pump"}, 0},
    [DRAWN_GUARANTEE] = {PEN(PEN_GUARANTEE), 0, {"guarantee, tolerance", "guarantee"}, 0},
    [DRAWN_PASSED] = {PEN(PEN_ONE_OF_MANY), 0, {NULL}, 0},
    [DRAWN_NOT_PASSED] = {PEN(PEN_FAILED), 0, {NULL}, 0},
    [DRAWN_BAR] = {PEN(PEN_FILL_BAND), 5, {NULL}, 0},
    [DRAWN_UNIT] = {PEN(PEN_UNIT_POINT), 0, {"units"}, 0},
    [DRAWN_CHANGED_UNIT] = {0, 0, {"what if"}, 0},
    [DRAWN_RING] = {PEN(PEN_RING), 0, {NULL}, 0},
    [DRAWN_CONTROL_LIMIT] = {PEN(PEN_PUMP), 2, {NULL}, 0},
    [DRAWN_MEAN] = {PEN(PEN_THIN), 2, {NULL}, 0},
    [DRAWN_TRACE] = {0, 0, {NULL}, 'T'},
    [DRAWN_NUMBER] = {0, 0, {NULL}, 'N'},
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

/* --- pages: places in hundredths of a millimetre --- */

struct vertex {
    double x, y;
    unsigned pen;
    size_t path; /* vertices of its path */
    bool start;
};

struct words {
    double x, y;
    int align;
    const char *text;
};

struct sheet {
    struct arena *arena;
    size_t vertex_count, word_count;
    struct vertex *vertices;
    struct words *words;
};

/* Reads the rows of a block of places. Returns: the line after it. */
static const char *take_path(struct sheet *sheet, unsigned pen, const char *line)
{
    bool start = true;
    size_t first = sheet->vertex_count;
    for (; *line != '\0' && !begins(line, "END\n"); line = next_line(line)) {
        double x, y;
        start = start || *line == '\n';
        if (*line != '\n') {
            ck_assert_int_eq(sscanf(line, "%lf %lf", &x, &y), 2);
            struct vertex *vertex = arena_push(sheet->arena, &sheet->vertices, &sheet->vertex_count, sizeof *vertex);
            ck_assert_ptr_nonnull(vertex);
            first = start ? sheet->vertex_count - 1 : first;
            *vertex = (struct vertex){x, y, pen, 0, start};
            start = false;
        }
        for (size_t i = first; i < sheet->vertex_count; i++) {
            sheet->vertices[i].path = sheet->vertex_count - first;
        }
    }
    return line;
}

static const char *take_words(struct sheet *sheet, int align, const char *line)
{
    for (; *line != '\0' && !begins(line, "END\n"); line = next_line(line)) {
        double x, y;
        int from = 0;
        ck_assert_int_eq(sscanf(line, "%lf\t%lf\t%n", &x, &y, &from), 2);
        struct words *words = arena_push(sheet->arena, &sheet->words, &sheet->word_count, sizeof *words);
        ck_assert_ptr_nonnull(words);
        *words = (struct words){x, y, align, arena_text(sheet->arena, line + from, strcspn(line + from, "\t\n"))};
    }
    return line;
}

/* Reads the next page. Returns: where it ends; NULL when there is none. */
static const char *take_page(struct sheet *sheet, const char *script)
{
    sheet->vertex_count = sheet->word_count = 0;
    sheet->vertices = NULL;
    sheet->words = NULL;
    for (const char *line = script; *line != '\0'; line = next_line(line)) {
        unsigned pen;
        int type, align;
        if (begins(line, "plot ")) {
            return next_line(line);
        }
        if (sscanf(line, "$P%u <<", &pen) == 1) {
            line = take_path(sheet, pen, next_line(line));
        } else if (sscanf(line, "$T%1d%1d <<", &type, &align) == 2) {
            line = take_words(sheet, align, next_line(line));
        }
    }
    return NULL;
}

static const struct words *words_find(const struct sheet *sheet, const char *text)
{
    for (size_t i = 0; i < sheet->word_count; i++) {
        if (strcmp(sheet->words[i].text, text) == 0) {
            return &sheet->words[i];
        }
    }
    return NULL;
}

/* A frame is a path of three: upper left, lower left, lower right. */
struct frame {
    double left, top, right, bottom;
};

static bool frame_at(const struct sheet *sheet, size_t i, struct frame *frame)
{
    const struct vertex *vertex = &sheet->vertices[i];
    if (vertex->pen != PEN_THIN || !vertex->start || vertex->path != 3) {
        return false;
    }
    *frame = (struct frame){vertex[0].x, vertex[0].y, vertex[2].x, vertex[1].y};
    return vertex[1].x == vertex[0].x && vertex[2].y == vertex[1].y;
}

/* The frame below and to the right of a name. */
static struct frame frame_of(const struct sheet *sheet, const struct words *name)
{
    struct frame found = {0}, frame;
    double nearest = INFINITY;
    for (size_t i = 0; i < sheet->vertex_count; i++) {
        if (frame_at(sheet, i, &frame) && frame.left > name->x && frame.top > name->y &&
            frame.left - name->x + frame.top - name->y < nearest) {
            nearest = frame.left - name->x + frame.top - name->y;
            found = frame;
        }
    }
    ck_assert_msg(isfinite(nearest), "'%s' has no frame", name->text);
    return found;
}

/* An axis: number = at + per (place - from). */
struct axis {
    double at, per, from;
};

static double on(const struct axis *axis, double place)
{
    return axis->at + axis->per * (place - axis->from);
}

/* From the first and the last number that stand at an axis of a frame. Returns: false when there are not two. */
static bool axis_of(const struct sheet *sheet, const struct frame *frame, bool upright, struct axis *axis)
{
    double first = INFINITY, last = -INFINITY, first_value = 0.0, last_value = 0.0;
    for (size_t i = 0; i < sheet->word_count; i++) {
        const struct words *words = &sheet->words[i];
        bool at_y = words->align == ALIGN_RIGHT && fabs(words->x - (frame->left - 120.0)) < 5.0 &&
                    words->y >= frame->top - 1.0 && words->y <= frame->bottom + 1.0;
        bool at_x = words->align == ALIGN_CENTRE && fabs(words->y - (frame->bottom + 220.0)) < 5.0 &&
                    words->x >= frame->left - 1.0 && words->x <= frame->right + 1.0;
        double place = upright ? words->y : words->x;
        if (!(upright ? at_y : at_x)) {
            continue;
        }
        first_value = place < first ? strtod(words->text, NULL) : first_value;
        last_value = place > last ? strtod(words->text, NULL) : last_value;
        first = fmin(first, place);
        last = fmax(last, place);
    }
    *axis = (struct axis){first_value, last > first ? (last_value - first_value) / (last - first) : 0.0, first};
    return last > first;
}

/* Charts one below the other have their numbers of flow below the last. */
static struct axis flow_axis(const struct sheet *sheet, const struct frame *frame)
{
    struct frame other;
    struct axis axis;
    bool found = axis_of(sheet, frame, false, &axis);
    for (size_t i = 0; i < sheet->vertex_count && !found; i++) {
        found = frame_at(sheet, i, &other) && other.left == frame->left && other.right == frame->right &&
                other.top > frame->bottom && axis_of(sheet, &other, false, &axis);
    }
    ck_assert_msg(found, "an axis lacks its numbers");
    return axis;
}

/* Within a frame, with room for the bar across a guaranteed value; names and legends stand further off. */
static bool within(const struct frame *frame, const struct vertex *vertex)
{
    static const double room = 120.0;
    return vertex->x >= frame->left - room && vertex->x <= frame->right + room && vertex->y >= frame->top - room &&
           vertex->y <= frame->bottom + room;
}

static void read_chart(const struct sheet *sheet, const struct words *name, const struct drawn_chart *chart,
                       enum drawn_kind kind, struct drawn *drawn)
{
    struct frame frame = frame_of(sheet, name);
    struct axis x = flow_axis(sheet, &frame), y;
    ck_assert_msg(axis_of(sheet, &frame, true, &y), "the axis of '%s' lacks its numbers", chart->name);
    drawn->x_step = 2.0 * fabs(si_of(chart->x_unit, x.per) - si_of(chart->x_unit, 0.0));
    drawn->y_step = 2.0 * fabs(si_of(chart->y_unit, y.per) - si_of(chart->y_unit, 0.0));
    for (size_t i = 0; i < sheet->vertex_count; i++) {
        const struct vertex *vertex = &sheet->vertices[i];
        bool right_length = looks[kind].vertices == 0 || vertex->path == looks[kind].vertices;
        if ((looks[kind].pens & PEN(vertex->pen)) != 0 && right_length && within(&frame, vertex)) {
            add(drawn, sheet->arena,
                (struct drawn_place){.x = si_of(chart->x_unit, on(&x, vertex->x)),
                                     .y = si_of(chart->y_unit, on(&y, vertex->y)),
                                     .start = vertex->start});
        }
    }
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
    struct sheet sheet = {.arena = arena};
    if (find_blocks(data != NULL ? data : script, chart, kind, &drawn, arena)) {
        return drawn;
    }
    if (find_plot(script, data, chart, kind, &drawn, arena)) {
        return drawn;
    }
    const struct words *name = NULL;
    for (const char *at = script; name == NULL && (at = take_page(&sheet, at)) != NULL;) {
        name = words_find(&sheet, chart->name);
    }
    ck_assert_msg(name != NULL, "there is no chart '%s'", chart->name);
    read_chart(&sheet, name, chart, kind, &drawn);
    return drawn;
}

size_t drawn_uprights(const char *script, struct drawn_upright *uprights, size_t most)
{
    size_t count = 0;
    for (const char *line = script; *line != '\0'; line = next_line(line)) {
        double from, to, at;
        char text[64];
        if (count < most && sscanf(line, "set arrow from first %lf, graph 0 to first %lf, graph", &from, &to) == 2) {
            ck_assert(from == to);
            uprights[count++] = (struct drawn_upright){.x = from};
        } else if (sscanf(line, "set label '%63[^']' at first %lf,", text, &at) == 2) {
            ck_assert(count > 0 && uprights[count - 1].x == at); /* right after its line */
            memcpy(uprights[count - 1].text, text, sizeof text);
        }
    }
    return count;
}
