/* The record in characters, for inspect --plot: flow, pressure and power over time, one below the other. What belongs
 * to a stretch is drawn in another character than the rest, and carries the number of its point. */
#include "papers/channel_shown.h"
#include "papers/gnuplot.h"
#include "papers/render_inspect.h"

#include <math.h>

#define MARGIN_BELOW 0.08 /* of the range, so that nothing lies on the frame; */
#define MARGIN_ABOVE 0.20 /* above there are the numbers */

struct panel {
    const struct inspection *inspection;
    enum trace_line line;
    enum channel channel;
    double low, high; /* as shown */
};

/* The stretch that the middle of a bin lies in; NULL: none. */
static const struct settled_stretch *stretch_at(const struct settled *settled, const struct trace_bin *bin)
{
    double time_s = 0.5 * (bin->from_s + bin->to_s);
    for (size_t i = 0; i < settled->stretch_count; i++) {
        if (time_s >= settled->stretches[i].from_s && time_s <= settled->stretches[i].to_s) {
            return &settled->stretches[i];
        }
    }
    return NULL;
}

static double shown(const struct panel *panel, double si)
{
    return channel_shown(&panel->inspection->log, panel->channel, si);
}

/* Returns: false where there is nothing to draw. */
static bool panel_find(const struct inspection *inspection, enum trace_line line, struct panel *panel)
{
    const struct settled *settled = &inspection->settled;
    *panel = (struct panel){inspection, line, settled->trace_channels[line], INFINITY, -INFINITY};
    for (size_t i = 0; i < settled->trace_count && panel->channel < CHANNEL_COUNT; i++) {
        if (settled->trace[i].lines[line].known) {
            double value = shown(panel, settled->trace[i].lines[line].mean);
            panel->low = fmin(panel->low, value);
            panel->high = fmax(panel->high, value);
        }
    }
    return panel->high >= panel->low;
}

/* The characters of one kind of bin, as a data block of time, value and character. */
static void write_trace(const struct panel *panel, FILE *to)
{
    const struct settled *settled = &panel->inspection->settled;
    (void)fputs("$T << END\n", to);
    for (size_t i = 0; i < settled->trace_count; i++) {
        const struct trace_bin *bin = &settled->trace[i];
        const struct settled_stretch *stretch = stretch_at(settled, bin);
        if (bin->lines[panel->line].known) {
            (void)fprintf(to, "%.9g %.6g %c\n", 0.5 * (bin->from_s + bin->to_s),
                          shown(panel, bin->lines[panel->line].mean),
                          stretch == NULL   ? '.'
                          : stretch->steady ? '='
                                            : '?');
        }
    }
    (void)fputs("END\n", to);
}

/* The number of each stretch, above its middle. */
static void write_numbers(const struct panel *panel, FILE *to)
{
    const struct settled *settled = &panel->inspection->settled;
    double range = panel->high > panel->low ? panel->high - panel->low : 1.0;
    (void)fputs("$N << END\n", to);
    for (size_t i = 0; i < settled->stretch_count; i++) {
        const struct settled_stretch *stretch = &settled->stretches[i];
        const struct channel_stats *stats = NULL;
        for (size_t p = 0; p < settled->count; p++) {
            stats = settled->points[p].number == stretch->number ? &settled->points[p].channels[panel->channel] : stats;
        }
        if (stats != NULL && stats->n > 0) {
            (void)fprintf(to, "%.9g %.6g %d\n", 0.5 * (stretch->from_s + stretch->to_s),
                          shown(panel, stats->mean) + 0.6 * MARGIN_ABOVE * range, stretch->number);
        }
    }
    (void)fputs("END\n", to);
}

static void write_panel(const struct panel *panel, FILE *to)
{
    const struct settled *settled = &panel->inspection->settled;
    double range = panel->high > panel->low ? panel->high - panel->low : 1.0;
    double end_s = settled->trace[settled->trace_count - 1].to_s;
    write_trace(panel, to);
    write_numbers(panel, to);
    (void)fprintf(to, "set title '%s, %s'\nset xlabel 'time, s'\n", channel_info(panel->channel)->name,
                  channel_unit_name(&panel->inspection->log, panel->channel));
    (void)fprintf(to, "set xrange [0:%.9g]\nset yrange [%.9g:%.9g]\n", end_s > 0.0 ? end_s : 1.0,
                  panel->low - MARGIN_BELOW * range, panel->high + MARGIN_ABOVE * range);
    (void)fputs("plot $T using 1:2:3 with labels notitle", to);
    (void)fputs(settled->stretch_count > 0 ? ", $N using 1:2:3 with labels notitle\n" : "\n", to);
}

void render_record_script(const struct inspection *inspection, int columns, int rows, FILE *to)
{
    (void)fprintf(to, "reset\nset encoding utf8\nset terminal dumb noenhanced nofeed size %d,%d\nunset key\n", columns,
                  rows);
    for (enum trace_line line = 0; line < TRACE_LINES; line++) {
        struct panel panel;
        if (panel_find(inspection, line, &panel)) {
            write_panel(&panel, to);
        }
    }
}
