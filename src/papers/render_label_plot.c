/* The distribution of a line's indices against the edges of its classes: a dot a unit, piled up where they fall
 * together. */
#include "base/memory_stream.h"
#include "papers/gnuplot.h"
#include "papers/render_label.h"
#include "papers/render_label_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { BINS = 60, PAGE_LINES = 52 };

struct axis {
    double low, high;
};

static void widen(struct axis *axis, double value)
{
    axis->low = fmin(axis->low, value);
    axis->high = fmax(axis->high, value);
}

/* All units, before and after the change, and the edges on either side of the mean. */
static struct axis axis_of(const struct label_batch *batch, const struct label_line *line)
{
    struct axis axis = {line->mean.value, line->mean.value};
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &batch->units[line->units[i]];
        widen(&axis, unit->label.index.value);
        if (unit->changed.known) {
            widen(&axis, unit->changed.index.value);
        }
    }
    double below = -INFINITY, above = INFINITY;
    for (size_t c = 0; c < line->tally_count; c++) {
        double edge = line->tallies[c].edge;
        below = edge <= line->mean.value ? fmax(below, edge) : below;
        above = edge > line->mean.value ? fmin(above, edge) : above;
    }
    widen(&axis, isfinite(below) ? below : axis.low);
    widen(&axis, isfinite(above) ? above : axis.high);
    double pad = axis.high > axis.low ? 0.08 * (axis.high - axis.low) : 0.05;
    return (struct axis){axis.low - pad, axis.high + pad};
}

/* Writes the dots of one kind as a data block. Returns: the greatest pile. */
static size_t write_dots(const struct label_batch *batch, const struct label_line *line, const struct axis *axis,
                         bool changed, FILE *to)
{
    size_t piles[BINS + 1] = {0}, greatest = 0;
    double width = (axis->high - axis->low) / BINS;
    (void)fprintf(to, "$%c << END\n", changed ? 'C' : 'U');
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &batch->units[line->units[i]];
        const struct label_result *label = changed ? &unit->changed : &unit->label;
        double at = label->known ? floor((label->index.value - axis->low) / width) : -1.0;
        if (at >= 0.0 && at <= BINS) {
            size_t pile = ++piles[(size_t)at];
            greatest = pile > greatest ? pile : greatest;
            (void)fprintf(to, "%.6f %zu\n", axis->low + (at + 0.5) * width, pile);
        }
    }
    (void)fputs(greatest == 0 ? "NaN NaN\nEND\n" : "END\n", to);
    return greatest;
}

static void write_edges(const struct label_line *line, const struct axis *axis, FILE *to)
{
    for (size_t c = 0; c < line->tally_count; c++) {
        const struct label_tally *tally = &line->tallies[c];
        if (tally->edge < axis->low || tally->edge > axis->high) {
            continue;
        }
        (void)fprintf(to, "set arrow from first %.6f, graph 0 to first %.6f, graph 0.9 nohead dashtype 2\nset label ",
                      tally->edge, tally->edge);
        script_text(to, tally->class_name);
        (void)fprintf(to, " at first %.6f, graph 0.95 %s\n", tally->edge,
                      line->typical->less_is_better ? "right offset character -1,0" : "left offset character 1,0");
    }
}

static void write_plot(const struct label_batch *batch, const struct label_line *line, FILE *to)
{
    struct axis axis = axis_of(batch, line);
    size_t most = write_dots(batch, line, &axis, false, to);
    size_t changed = batch->changed ? write_dots(batch, line, &axis, true, to) : 0;
    most = changed > most ? changed : most;
    write_edges(line, &axis, to);
    (void)fprintf(
        to, "set xrange [%.6f:%.6f]\nset yrange [0:%.6f]\nset ytics %zu\nset ylabel 'units'\nset xlabel 'index'\n",
        axis.low, axis.high, 1.35 * (double)(most < 3 ? 3 : most) + 0.5, most / 5 + 1);
    (void)fprintf(to, "set arrow from first %.6f, graph 0 to first %.6f, graph 0.8 nohead dashtype 3\n",
                  line->mean.value, line->mean.value);
    (void)fprintf(to, "set label 'mean' at first %.6f, graph 0.83 center\n", line->mean.value);
    (void)fputs("set key at graph 0.97, graph 0.72\n"
                "plot $U using 1:2 with points pointtype 15 title 'units'",
                to);
    (void)fputs(batch->changed ? ", $C using 1:2 with points pointtype 8 title 'what if'\n" : "\n", to);
}

static void write_title(const struct label_line *line, FILE *to)
{
    char title[256];
    (void)snprintf(title, sizeof title, "%.80s, model %.80s: %zu unit%s", line->typical->scheme, line->model->name,
                   line->count, line->count == 1 ? "" : "s");
    (void)fputs("set title ", to);
    script_text(to, title);
    (void)fputc('\n', to);
}

void render_label_plot(const struct label_batch *batch, const struct label_line *line, int columns, int rows, FILE *to)
{
    (void)fprintf(to,
                  "reset\nset encoding utf8\nset terminal dumb noenhanced nofeed size %d,%d\nset output 'plot.txt'\n",
                  columns, rows);
    write_title(line, to);
    write_plot(batch, line, to);
    (void)fputs("set output\n", to);
}

/* The figures of a line as they are on the terminal, below its plot. */
static enum status write_text(const struct label_batch *batch, const struct label_line *line, FILE *to)
{
    char *text = NULL;
    size_t length = 0, number = 0;
    FILE *memory = memory_stream_open(&text, &length);
    if (memory == NULL) {
        return E_MEMORY;
    }
    enum status status = label_line_text(batch, line, memory);
    bool written = ferror(memory) == 0;
    written = fclose(memory) == 0 && written;
    char *rest = NULL;
    for (char *row = status == OK && written ? strtok_r(text, "\n", &rest) : NULL; row != NULL && number < PAGE_LINES;
         row = strtok_r(NULL, "\n", &rest)) {
        bool full = number + 1 == PAGE_LINES && rest != NULL && *rest != '\0';
        (void)fputs("set label ", to);
        script_text(to, full ? "  ... the rest is in label.csv" : row);
        (void)fprintf(to, " at screen 0.07, screen %.5f font 'DejaVu Sans Mono,8.3'\n", 0.60 - 0.0112 * (double)number);
        number++;
    }
    free(text);
    return written ? status : E_MEMORY;
}

enum status render_label_pdf(const struct label_batch *batch, FILE *to)
{
    enum status status = OK;
    (void)fputs("reset\nset encoding utf8\nset terminal pdfcairo noenhanced size 21cm,29.7cm font 'DejaVu Sans,9'\n"
                "set output 'label.pdf'\n",
                to);
    for (size_t i = 0; i < batch->line_count && status == OK; i++) {
        (void)fputs("reset\nset lmargin at screen 0.1\nset rmargin at screen 0.93\nset tmargin at screen 0.95\n"
                    "set bmargin at screen 0.69\n",
                    to);
        write_title(&batch->lines[i], to);
        status = write_text(batch, &batch->lines[i], to);
        write_plot(batch, &batch->lines[i], to);
    }
    (void)fputs("set output\n", to);
    return status;
}
