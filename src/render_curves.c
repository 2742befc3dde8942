#include "chart.h"
#include "dutyproof/figures.h"
#include "dutyproof/gnuplot.h"
#include "dutyproof/render.h"
#include "dutyproof/text.h"

#include <math.h>

/* --- the data: everything in the units of the papers --- */

/* A number in the papers' unit; NaN, gnuplot's word for a gap, where it is absent. */
static void cell(const struct figure_units *units, enum figure figure, struct quantity si, char end, FILE *to)
{
    char text[FIGURE_TEXT] = "";
    if (si.known) {
        (void)number_format(figure_shown(figure, units, si.value), 7, text, sizeof text);
    }
    (void)fprintf(to, "%s%c", text[0] != '\0' ? text : "NaN", end);
}

/* Points that took part in the curves, or (fitted false) those that did not, after a line that names the block.
 * Returns: their number; nothing is written for none. */
static size_t write_points(const struct result *result, const struct figure_units *units, bool fitted, const char *name,
                           FILE *to)
{
    size_t written = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        const struct rated_point *rated = chart_point(result, i);
        if (rated == NULL || result->points[i].fitted != fitted) {
            continue;
        }
        (void)fputs(written++ == 0 ? name : "", to);
        cell(units, FIGURE_FLOW, rated->flow_m3s, '\t', to);
        cell(units, FIGURE_HEAD, rated->head_m, '\t', to);
        cell(units, FIGURE_EFFICIENCY, rated->set_efficiency, '\t', to);
        cell(units, FIGURE_EFFICIENCY, rated->pump_efficiency, '\t', to);
        cell(units, FIGURE_POWER, rated->input_power_w, '\n', to);
    }
    return written;
}

/* Returns: number of rows. */
static size_t write_curve_rows(const struct result *result, const struct figure_units *units, const char *name,
                               FILE *to)
{
    struct chart_row rows[CHART_ROWS];
    size_t count = chart_rows(&result->curves, rows);
    (void)fputs(count > 0 ? name : "", to);
    for (size_t i = 0; i < count; i++) {
        cell(units, FIGURE_FLOW, quantity_of(rows[i].flow_m3s), '\t', to);
        cell(units, FIGURE_HEAD, rows[i].head_m, '\t', to);
        cell(units, FIGURE_HEAD, rows[i].head_low_m, '\t', to);
        cell(units, FIGURE_HEAD, rows[i].head_high_m, '\t', to);
        cell(units, FIGURE_EFFICIENCY, rows[i].set_efficiency, '\t', to);
        cell(units, FIGURE_EFFICIENCY, rows[i].pump_efficiency, '\t', to);
        cell(units, FIGURE_POWER, rows[i].power_w, '\t', to);
        cell(units, FIGURE_POWER, rows[i].power_low_w, '\t', to);
        cell(units, FIGURE_POWER, rows[i].power_high_w, '\n', to);
    }
    return count;
}

/* Returns: number of marks. */
static size_t write_marks(const struct result *result, const struct figure_units *units, const char *name, FILE *to)
{
    size_t written = 0;
    for (size_t i = 0; i < result->duty_count; i++) {
        struct chart_vertex vertices[MARK_VERTICES];
        size_t count = chart_mark(&result->duties[i], vertices);
        (void)fputs(count > 0 && written++ == 0 ? name : "", to);
        for (size_t k = 0; k < count; k++) {
            (void)fputs(vertices[k].start && k > 0 ? "\n" : "", to);
            cell(units, FIGURE_FLOW, quantity_of(vertices[k].flow_m3s), '\t', to);
            cell(units, FIGURE_HEAD, quantity_of(vertices[k].head_m), '\n', to);
        }
        (void)fputs(count > 0 ? "\n" : "", to);
    }
    return written;
}

/* --- curves.dat, curves.gp and the plot for a terminal --- */

static const char
    point_columns[] = "flow\thead\tset efficiency\tpump efficiency\tinput power",
    curve_columns[] =
        "flow\thead\thead low\thead high\tset efficiency\tpump efficiency\tinput power\tpower low\tpower high";

void render_curves_data(const struct result *result, FILE *to)
{
    static const char gap[] = "NaN\tNaN\tNaN\tNaN\tNaN\tNaN\tNaN\tNaN\tNaN\n"; /* so that each block keeps its index */
    struct figure_units units = figure_units_of(result->model);
    (void)fprintf(to, "# at rated speed; flow in %s, head in %s, efficiency in %%, power in %s; NaN: not known\n",
                  units.flow->name, units.head->name, units.power->name);
    (void)fprintf(to, "# index 0: measured points that were fitted\n# %s\n", point_columns);
    (void)fputs(write_points(result, &units, true, "", to) > 0 ? "" : gap, to);
    (void)fprintf(to, "\n\n# index 1: measured points that were not fitted\n# %s\n", point_columns);
    (void)fputs(write_points(result, &units, false, "", to) > 0 ? "" : gap, to);
    (void)fprintf(to, "\n\n# index 2: fitted curves with their 95 %% band\n# %s\n", curve_columns);
    (void)fputs(write_curve_rows(result, &units, "", to) > 0 ? "" : gap, to);
    (void)fputs("\n\n# index 3: guaranteed points and their tolerance marks\n# flow\thead\n", to);
    (void)fputs(write_marks(result, &units, "", to) > 0 ? "" : gap, to);
}

/* From 0, or from below it where something lies there, to a little more than there is to show. */
static void plot_axis(char letter, struct chart_span span, enum figure figure, const struct figure_units *units,
                      FILE *to)
{
    double length = span.high - span.low;
    (void)fprintf(to, "set %crange [", letter);
    cell(units, figure, quantity_of(span.low < 0.0 ? span.low - 0.02 * length : 0.0), ':', to);
    cell(units, figure, quantity_of(length > 0.0 ? span.high + 0.06 * length : 1.0), ']', to);
    (void)fputc('\n', to);
}

void render_curves_script(const struct result *result, FILE *to)
{
    struct figure_units units = figure_units_of(result->model);
    struct chart_spans spans = chart_spans_of(result);
    (void)fputs("# Draws the curves in curves.dat: gnuplot -persist curves.gp\n"
                "# For a file: set terminal pdfcairo noenhanced; set output 'curves.pdf'\n"
                "set encoding utf8\nset datafile separator \"\\t\"\nset grid\nset key bottom left\n",
                to);
    plot_axis('x', spans.flow_m3s, FIGURE_FLOW, &units, to);
    (void)fprintf(to, "set xlabel 'Flow, %s' noenhanced\nset multiplot layout 3,1\nset title ", units.flow->name);
    script_text(to, result->serial);
    (void)fprintf(to, " noenhanced\nset ylabel 'Head, %s' noenhanced\n", units.head->name);
    plot_axis('y', spans.head_m, FIGURE_HEAD, &units, to);
    (void)fputs("plot NaN notitle, \\\n"
                "     'curves.dat' index 2 using 1:3:4 with filledcurves fillcolor 'light-gray' title '95 % band', \\\n"
                "     '' index 2 using 1:2 with lines title 'fitted', \\\n"
                "     '' index 0 using 1:2 with points title 'measured', \\\n"
                "     '' index 1 using 1:2 with points title 'not fitted', \\\n"
                "     '' index 3 using 1:2 with lines title 'guarantee and tolerance'\n"
                "unset title\nset ylabel 'Efficiency, %' noenhanced\n",
                to);
    plot_axis('y', spans.efficiency, FIGURE_EFFICIENCY, &units, to);
    (void)fputs("plot NaN notitle, \\\n"
                "     'curves.dat' index 2 using 1:5 with lines title 'set', \\\n"
                "     '' index 2 using 1:6 with lines title 'pump', \\\n"
                "     '' index 0 using 1:3 with points title 'set, measured', \\\n"
                "     '' index 0 using 1:4 with points title 'pump, measured'\n",
                to);
    (void)fprintf(to, "set ylabel 'Input power, %s' noenhanced\n", units.power->name);
    plot_axis('y', spans.power_w, FIGURE_POWER, &units, to);
    (void)fputs("plot NaN notitle, 'curves.dat' index 2 using 1:7 with lines title 'fitted', \\\n"
                "     '' index 0 using 1:5 with points title 'measured'\nunset multiplot\n",
                to);
}

void render_plot_script(const struct result *result, int columns, int rows, FILE *to)
{
    struct figure_units units = figure_units_of(result->model);
    struct chart_spans spans = chart_spans_of(result);
    (void)fprintf(to, "reset\nset encoding utf8\nset terminal dumb noenhanced nofeed size %d,%d\n", columns, rows);
    (void)fputs("set datafile separator \"\\t\"\nset key top right\nset xlabel ", to);
    (void)fprintf(to, "'flow, %s'\nset title 'head, %s'\n", units.flow->name, units.head->name);
    plot_axis('x', spans.flow_m3s, FIGURE_FLOW, &units, to);
    plot_axis('y', spans.head_m, FIGURE_HEAD, &units, to);
    bool fitted = write_points(result, &units, true, "$P << END\n", to) > 0;
    (void)fputs(fitted ? "END\n" : "", to);
    bool unfitted = write_points(result, &units, false, "$U << END\n", to) > 0;
    (void)fputs(unfitted ? "END\n" : "", to);
    bool curve = write_curve_rows(result, &units, "$C << END\n", to) > 0;
    (void)fputs(curve ? "END\n" : "", to);
    bool marks = write_marks(result, &units, "$M << END\n", to) > 0;
    (void)fputs(marks ? "END\n" : "", to);
    (void)fputs("plot NaN notitle", to);
    (void)fputs(curve ? ", $C using 1:2 with lines title 'fitted'" : "", to);
    (void)fputs(fitted ? ", $P using 1:2 with points title 'measured'" : "", to);
    (void)fputs(unfitted ? ", $U using 1:2 with points title 'not fitted'" : "", to);
    (void)fputs(marks ? ", $M using 1:2 with points title 'guarantee and tolerance'" : "", to);
    (void)fputc('\n', to);
}
