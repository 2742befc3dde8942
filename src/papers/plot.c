#include "papers/plot.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- description --- */

struct panel *plot_panel(struct plot *plot, struct arena *arena, double left, double bottom, double width,
                         double height)
{
    struct panel *panel = arena_push(arena, &plot->panels, &plot->panel_count, sizeof *panel);
    if (panel != NULL) {
        *panel = (struct panel){.empty = "", .left = left, .bottom = bottom, .width = width, .height = height};
        panel->x.name = panel->y.name = "";
        panel->x.parts = 5.0;
        panel->y.parts = height < 0.4 ? 2.0 : height < 0.6 ? 3.0 : 6.0;
    }
    return panel;
}

struct series *panel_series(struct panel *panel, struct arena *arena, enum series_kind kind, enum series_style look,
                            const char *name)
{
    struct series *series =
        panel == NULL ? NULL : arena_push(arena, &panel->series, &panel->series_count, sizeof *series);
    if (series != NULL) {
        *series = (struct series){.kind = kind, .look = look, .name = name, .in_key = name[0] != '\0'};
    }
    return series;
}

bool panel_word(struct panel *panel, struct arena *arena, double x, double height, const char *text)
{
    struct panel_word *word = arena_push(arena, &panel->words, &panel->word_count, sizeof *word);
    if (word != NULL) {
        *word = (struct panel_word){x, height, text};
    }
    return word != NULL;
}

bool series_add(struct series *series, struct arena *arena, double x, double y, double y2)
{
    if (series == NULL) {
        return false;
    }
    size_t xs = series->count, ys = series->count, seconds = series->count; /* one more of each, or of none */
    double *at = arena_push(arena, &series->x, &xs, sizeof *at);
    double *value = at == NULL ? NULL : arena_push(arena, &series->y, &ys, sizeof *value);
    double *other = value == NULL ? NULL : arena_push(arena, &series->y2, &seconds, sizeof *other);
    if (other == NULL) {
        return false;
    }
    series->count = xs;
    *at = x;
    *value = y;
    *other = y2;
    return true;
}

/* --- the script --- */

static const char *const colours[LOOKS] = {
    [LOOK_MAIN] = "#0072B2",  [LOOK_SECOND] = "#009E73", [LOOK_THIRD] = "#D55E00",  [LOOK_GUARANTEE] = "#000000",
    [LOOK_LIMIT] = "#000000", [LOOK_ASIDE] = "#808080",  [LOOK_FAILED] = "#000000", [LOOK_RING] = "#000000",
};
static const char *const dashes[LOOKS] = {
    [LOOK_MAIN] = "1",       [LOOK_SECOND] = "(12,4)", [LOOK_THIRD] = "(12,4,2,4)", [LOOK_GUARANTEE] = "1",
    [LOOK_LIMIT] = "(16,6)", [LOOK_ASIDE] = "1",       [LOOK_FAILED] = "1",         [LOOK_RING] = "1",
};
static const double widths[LOOKS] = {
    [LOOK_MAIN] = 1.5,  [LOOK_SECOND] = 1.5, [LOOK_THIRD] = 1.5,  [LOOK_GUARANTEE] = 2.0,
    [LOOK_LIMIT] = 1.0, [LOOK_ASIDE] = 0.8,  [LOOK_FAILED] = 2.2, [LOOK_RING] = 1.0,
};
static const int shapes[LOOKS] = {
    [LOOK_MAIN] = 7,  [LOOK_SECOND] = 4, [LOOK_THIRD] = 8,   [LOOK_GUARANTEE] = 1,
    [LOOK_LIMIT] = 1, [LOOK_ASIDE] = 2,  [LOOK_FAILED] = 13, [LOOK_RING] = 6,
};

/* A number as gnuplot reads it; NaN, its word for a gap, where there is none. */
static void write_number(double value, char end, FILE *to)
{
    char text[64] = "";
    if (isfinite(value)) {
        (void)number_format(value, 7, text, sizeof text);
    }
    (void)fprintf(to, "%s%c", text[0] != '\0' ? text : "NaN", end);
}

/* A place that is nowhere ends a path: a blank line. */
static void write_series(const struct series *series, FILE *to)
{
    bool two = series->kind == SERIES_BAND;
    for (size_t i = 0; i < series->count; i++) {
        if (!isfinite(series->x[i])) {
            (void)fputs(i + 1 < series->count ? "\n" : "", to);
            continue;
        }
        write_number(series->x[i], '\t', to);
        write_number(series->y[i], two ? '\t' : '\n', to);
        if (two) {
            write_number(series->y2[i], '\n', to);
        }
    }
    (void)fputs(series->count == 0 ? "NaN\tNaN\tNaN\n" : "", to); /* so that each block keeps its number */
}

void plot_write_data(const struct plot *plot, FILE *to)
{
    size_t number = 0;
    for (size_t p = 0; p < plot->panel_count; p++) {
        const struct panel *panel = &plot->panels[p];
        for (size_t s = 0; s < panel->series_count; s++) {
            const struct series *series = &panel->series[s];
            (void)fprintf(to, "%s# index %zu: %s; %s; %s\n", number > 0 ? "\n\n" : "", number, panel->y.name,
                          series->name, panel->x.name);
            write_series(series, to);
            number++;
        }
    }
}

/* A step of 1, 2 or 5 times a power of ten that divides an axis into about its parts. */
static double tic_step(const struct axis *axis)
{
    double length = axis->high - axis->low;
    if (!(length > 0.0)) {
        return 1.0;
    }
    double ten = pow(10.0, floor(log10(length / axis->parts))), times = length / axis->parts / ten;
    double step = ten * (times < 1.5 ? 1.0 : times < 3.5 ? 2.0 : times < 7.5 ? 5.0 : 10.0);
    return axis->whole ? fmax(1.0, round(step)) : step;
}

static void write_axis(char letter, const struct axis *axis, FILE *to)
{
    (void)fprintf(to, "set %crange [", letter);
    write_number(axis->low, ':', to);
    write_number(axis->high, ']', to);
    (void)fprintf(to, "\nset %clabel ", letter);
    script_text(to, axis->name);
    (void)fprintf(to, " noenhanced%s\nset %ctics ", letter == 'y' ? " offset 1,0" : " offset 0,0.4", letter);
    write_number(tic_step(axis), '\n', to);
}

/* A size, whatever the locale. */
static void write_size(const char *before, double size, FILE *to)
{
    char text[32];
    (void)number_format(size, 5, text, sizeof text);
    (void)fprintf(to, "%s%s", before, text);
}

static void write_look(const struct series *series, FILE *to)
{
    enum series_style look = series->look;
    switch (series->kind) {
    case SERIES_BAND:
        (void)fputs("using 1:2:3 with filledcurves fillstyle solid noborder fillcolor '#D9D9D9'", to);
        break;
    case SERIES_CURVE:
        write_size("using 1:2 with lines linewidth ", widths[look], to);
        (void)fprintf(to, " linecolor '%s' dashtype %s", colours[look], dashes[look]);
        break;
    case SERIES_POINTS:
        (void)fprintf(to, "using 1:2 with points pointtype %d", shapes[look]);
        write_size(" pointsize ", look == LOOK_RING ? 1.3 : 0.55, to);
        (void)fprintf(to, " linewidth 1 linecolor '%s'", colours[look]);
        break;
    case SERIES_BARS:
        (void)fputs("using 1:2 with filledcurves closed fillstyle solid border linecolor '#404040' fillcolor '#C8C8C8'",
                    to);
        break;
    }
    (void)fputs(series->in_key ? " title " : " notitle", to);
    if (series->in_key) {
        script_text(to, series->name);
    }
}

/* What stands in a panel. first: the number of its first block of data. */
static void write_panel(const struct panel *panel, size_t first, FILE *to)
{
    write_axis('x', &panel->x, to);
    write_axis('y', &panel->y, to);
    (void)fputs("unset label\n", to);
    if (panel->empty[0] != '\0') {
        (void)fputs("set label 1 ", to);
        script_text(to, panel->empty);
        (void)fputs(" at graph 0.5,0.5 center noenhanced\n", to);
    }
    for (size_t i = 0; i < panel->word_count; i++) {
        (void)fputs("set label ", to);
        script_text(to, panel->words[i].text);
        (void)fputs(" at first ", to);
        write_number(panel->words[i].x, ',', to);
        write_size(" graph ", panel->words[i].height, to);
        (void)fputs(" left offset character 0.6,0 noenhanced\n", to);
    }
    (void)fputs("plot NaN notitle", to);
    for (size_t s = 0; s < panel->series_count; s++) {
        (void)fprintf(to, ", \\\n    data index %zu ", first + s);
        write_look(&panel->series[s], to);
    }
    (void)fputc('\n', to);
}

static void write_name(const char *data_name, FILE *to)
{
    (void)fputs("data = ", to);
    script_text(to, data_name);
    (void)fputs("\nset encoding utf8\nset datafile separator \"\\t\"\n", to);
}

void plot_write_commands(const struct plot *plot, const char *data_name, FILE *to)
{
    size_t first = 0;
    write_name(data_name, to);
    (void)fputs("set key outside above horizontal left Left reverse samplen 2 spacing 0.9 width -1 noenhanced\n"
                "set grid linecolor '#E4E4E4' linewidth 0.6 dashtype 1\nset border 3 linewidth 0.8\n"
                "set tics nomirror out scale 0.5\nset lmargin 7\nset rmargin 1.5\nset multiplot\n",
                to);
    for (size_t p = 0; p < plot->panel_count; p++) {
        const struct panel *panel = &plot->panels[p];
        write_size("set origin ", panel->left, to);
        write_size(",", panel->bottom, to);
        write_size("\nset size ", panel->width, to);
        write_size(",", panel->height, to);
        (void)fputc('\n', to);
        write_panel(panel, first, to);
        first += panel->series_count;
    }
    (void)fputs("unset multiplot\n", to);
}

void plot_write_script(const struct plot *plot, const char *data_name, const char *pdf_name, FILE *to)
{
    (void)fprintf(to, "# Draws %s: \"gnuplot curves.gp\" leaves %s\n", data_name, pdf_name);
    (void)fputs("set terminal pdfcairo noenhanced size 18cm,12cm font 'DejaVu Sans,7.5'\nset output ", to);
    script_text(to, pdf_name);
    (void)fputc('\n', to);
    plot_write_commands(plot, data_name, to);
    (void)fputs("unset output\n", to);
}

static void write_block(const struct plot *plot, FILE *to)
{
    (void)fputs("$Data << END_OF_DATA\n", to);
    plot_write_data(plot, to);
    (void)fputs("END_OF_DATA\n", to);
}

void plot_write_characters(const struct plot *plot, int columns, int rows, FILE *to)
{
    if (plot->panel_count == 0) {
        return;
    }
    struct panel panel = plot->panels[0];
    const char *name = plot->title != NULL ? plot->title : panel.y.name;
    panel.y.name = plot->title != NULL ? panel.y.name : "";
    (void)fprintf(to, "reset\nset terminal dumb noenhanced nofeed size %d,%d\n", columns, rows);
    write_block(plot, to);
    write_name("$Data", to);
    (void)fputs("set key outside above horizontal left Left reverse noenhanced\nset title ", to);
    script_text(to, name);
    (void)fputs(" noenhanced\n", to);
    write_panel(&panel, 0, to);
}

/* --- drawing --- */

static char *whole_script(const struct plot *plot, const char *svg_name, double width_px, double height_px,
                          size_t *length)
{
    char *script = NULL;
    FILE *to = memory_stream_open(&script, length);
    if (to == NULL) {
        return NULL;
    }
    /* gnuplot goes on with the pen that the drawing before left: one that goes nowhere leaves it as it always is. */
    (void)fprintf(to,
                  "reset\nset terminal svg noenhanced size %.0f,%.0f fixed font 'DejaVu Sans,10'\n"
                  "set output '/dev/null'\nunset key\nunset tics\nplot [0:1][0:1] 0\nset output\nreset\nset output ",
                  width_px, height_px);
    script_text(to, svg_name);
    (void)fputc('\n', to);
    write_block(plot, to);
    plot_write_commands(plot, "$Data", to);
    (void)fputs("unset output\n", to);
    bool good = ferror(to) == 0;
    good = fclose(to) == 0 && good;
    if (!good) {
        free(script);
    }
    return good ? script : NULL;
}

/* Takes out what lies between two marks, wherever they stand: what gnuplot says of itself. */
static void cut_out(char *text, const char *from, const char *to)
{
    char *write = text, *read = text;
    for (char *start; (start = strstr(read, from)) != NULL;) {
        char *end = strstr(start, to);
        if (end == NULL) {
            break;
        }
        memmove(write, read, (size_t)(start - read));
        write += start - read;
        read = end + strlen(to);
    }
    memmove(write, read, strlen(read) + 1);
}

/* Reads what gnuplot has drawn: whole or not taken. */
static enum status take_svg(struct plot *plot, const char *path, struct arena *arena, struct faults *faults)
{
    enum { LARGEST = 64 << 20 };
    char *text = NULL;
    size_t length = 0;
    enum status status = file_read(path, LARGEST, arena, &text, &length, faults);
    if (status != OK) {
        return status;
    }
    while (length > 0 && (text[length - 1] == '\n' || text[length - 1] == ' ')) {
        text[--length] = '\0';
    }
    if (strlen(text) != length || strstr(text, "<svg") == NULL || length < 6 ||
        strcmp(text + length - 6, "</svg>") != 0) {
        return faults_add(faults, E_CHILD, (struct place){0}, "gnuplot's drawing of the %s is not whole", plot->name);
    }
    cut_out(text, "<title>", "</title>");
    cut_out(text, "<desc>", "</desc>");
    plot->svg = text;
    plot->svg_length = strlen(text);
    return OK;
}

enum status plot_draw(struct plot *plot, struct press *press, double width_px, double height_px, struct arena *arena,
                      struct faults *faults)
{
    char svg_name[64], script_name[64];
    size_t length = 0;
    if (plot->svg != NULL) {
        return OK;
    }
    press->drawn++;
    (void)snprintf(svg_name, sizeof svg_name, "plot-%lu.svg", press->drawn);
    (void)snprintf(script_name, sizeof script_name, "plot-%lu.gp", press->drawn);
    const char *svg = arena_format(arena, "%s/%s", press->folder, svg_name);
    const char *path = arena_format(arena, "%s/%s", press->folder, script_name);
    char *script = whole_script(plot, svg_name, width_px, height_px, &length);
    enum status status = svg == NULL || path == NULL || script == NULL ? faults_memory(faults) : OK;
    status = status == OK ? file_stage(path, script, length, faults) : status;
    free(script);
    if (status == OK) {
        status = gnuplot_load(press->gnuplot, script_name, faults);
        enum status removed = file_remove(path, faults);
        status = status == OK ? removed : status;
    }
    if (status == OK) {
        status = take_svg(plot, svg, arena, faults);
        enum status removed = file_remove(svg, faults);
        status = status == OK ? removed : status;
    }
    return status;
}
