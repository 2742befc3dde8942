#include "base/text.h"
#include "papers/channel_shown.h"
#include "papers/figures.h"
#include "papers/render.h"

#include <math.h>

/* A column of points.csv: a quantity of struct point. */
struct point_column {
    const char *name;
    enum figure figure;
    size_t at;
};

#define AT(member) offsetof(struct point, member)

static const struct point_column point_columns[] = {
    {"water temperature", FIGURE_TEMPERATURE, AT(as_tested.water_temperature_c)},
    {"water density", FIGURE_DENSITY, AT(as_tested.density_kg_m3)},
    {"flow as tested", FIGURE_FLOW, AT(as_tested.flow_m3s)},
    {"head as tested", FIGURE_HEAD, AT(as_tested.head_m)},
    {"input power as tested", FIGURE_POWER, AT(as_tested.input_power_w)},
    {"shaft power as tested", FIGURE_POWER, AT(as_tested.shaft_power_w)},
    {"voltage", FIGURE_VOLTAGE, AT(as_tested.voltage_v)},
    {"current", FIGURE_CURRENT, AT(as_tested.current_a)},
    {"power factor", FIGURE_POWER_FACTOR, AT(as_tested.power_factor)},
    {"frequency", FIGURE_FREQUENCY, AT(as_tested.frequency_hz)},
    {"speed", FIGURE_SPEED, AT(as_tested.speed_rpm)},
    {"speed by motor curve", FIGURE_SPEED, AT(as_tested.motor_speed_rpm)},
    {"voltage unbalance", FIGURE_UNCERTAINTY, AT(as_tested.voltage_unbalance)},
    {"current unbalance", FIGURE_UNCERTAINTY, AT(as_tested.current_unbalance)},
    {"set efficiency", FIGURE_EFFICIENCY, AT(as_tested.set_efficiency)},
    {"pump efficiency", FIGURE_EFFICIENCY, AT(as_tested.pump_efficiency)},
    {"flow at rated speed", FIGURE_FLOW, AT(at_rated.flow_m3s)},
    {"head at rated speed", FIGURE_HEAD, AT(at_rated.head_m)},
    {"input power at rated speed", FIGURE_POWER, AT(at_rated.input_power_w)},
    {"shaft power at rated speed", FIGURE_POWER, AT(at_rated.shaft_power_w)},
    {"set efficiency at rated speed", FIGURE_EFFICIENCY, AT(at_rated.set_efficiency)},
    {"pump efficiency at rated speed", FIGURE_EFFICIENCY, AT(at_rated.pump_efficiency)},
    {"flow fluctuation", FIGURE_UNCERTAINTY, AT(fluctuation.flow)},
    {"head fluctuation", FIGURE_UNCERTAINTY, AT(fluctuation.head)},
    {"input power fluctuation", FIGURE_UNCERTAINTY, AT(fluctuation.input_power)},
    {"flow spread", FIGURE_UNCERTAINTY, AT(spread.flow)},
    {"head spread", FIGURE_UNCERTAINTY, AT(spread.head)},
    {"input power spread", FIGURE_UNCERTAINTY, AT(spread.input_power)},
    {"flow uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.flow)},
    {"head uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.head)},
    {"input power uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.input_power)},
    {"set efficiency uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.set_efficiency)},
};

enum { POINT_COLUMNS = sizeof point_columns / sizeof point_columns[0] };

/* Channels whose statistics are written, where the log has them: what a point is made of, in the log's units. */
static bool has_statistics(const struct log *log, enum channel channel)
{
    const struct channel_info *info = channel_info(channel);
    bool makes = info->follows && info->makes != MAKES_CURRENT;
    return (makes || channel == CH_SPEED) && (log->channels >> channel & 1U) != 0;
}

static struct quantity quantity_at(const struct point *point, size_t at)
{
    return *(const struct quantity *)(const void *)((const char *)point + at);
}

static void statistics_heading(const struct log *log, FILE *to)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        enum channel channel = (enum channel)c;
        const char *name = channel_info(channel)->name, *unit = channel_unit_name(log, channel);
        if (has_statistics(log, channel)) {
            (void)fprintf(to, ",%s standard deviation [%s],%s standard error [%s],%s effective readings,%s drift [%s]",
                          name, unit, name, unit, name, name, unit);
        }
    }
}

/* Three digits are enough to tell how far a mean is to be trusted. */
static void spread_cell(double value, bool known, FILE *to)
{
    enum { DIGITS = 3 };
    char text[FIGURE_TEXT];
    (void)fprintf(to, ",%s", known ? number_format(value, DIGITS, text, sizeof text) : "");
}

static void statistics_row(const struct result *result, const struct settled_point *point, FILE *to)
{
    const struct log *log = &result->log;
    for (int k = 0; k < CHANNEL_COUNT; k++) {
        enum channel c = (enum channel)k;
        const struct channel_stats *stats = &point->channels[c];
        bool known = stats->n > 1;
        if (has_statistics(log, c)) {
            spread_cell(channel_difference_shown(log, c, stats->deviation), known, to);
            spread_cell(channel_difference_shown(log, c, stats->standard_error), known, to);
            spread_cell(stats->effective_n, known, to);
            spread_cell(channel_difference_shown(log, c, stats->drift), known && result->kind == LOG_CONTINUOUS_RECORD,
                        to);
        }
    }
}

static void time_cell(double time_s, FILE *to)
{
    (void)fprintf(to, isfinite(time_s) ? ",%.2f" : ",", time_s);
}

static void header_row(const struct result *result, const struct figure_units *units, FILE *to)
{
    (void)fputs("point,readings,from [s],to [s],steady,in curves", to);
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        const char *unit = figure_unit_name(point_columns[c].figure, units);
        (void)fprintf(to, ",%s", point_columns[c].name);
        if (unit[0] != '\0') {
            (void)fprintf(to, " [%s]", unit);
        }
    }
    statistics_heading(&result->log, to);
    (void)fputs(",remark\n", to);
}

static void point_row(const struct result *result, const struct point *point, const struct figure_units *units,
                      FILE *to)
{
    const struct settled_point *settled = point->settled;
    (void)fprintf(to, "%d,%zu", settled->number, settled->readings);
    time_cell(settled->from_s, to);
    time_cell(settled->to_s, to);
    (void)fprintf(to, ",%s,%s", settled->steady ? "yes" : "no", point->fitted ? "yes" : "no");
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        struct quantity q = quantity_at(point, point_columns[c].at);
        char number[FIGURE_TEXT];
        (void)fprintf(to, ",%s", q.known ? figure_number(point_columns[c].figure, units, q, number) : "");
    }
    statistics_row(result, settled, to);
    const char *remark = !settled->steady && settled->why_unsteady != NULL            ? settled->why_unsteady
                         : !point->fitted && point->why_not_fitted != NULL            ? point->why_not_fitted
                         : !point->at_rated.translated && point->at_rated.why != NULL ? point->at_rated.why
                                                                                      : "";
    (void)fputc(',', to);
    text_quote_csv(remark, to);
    (void)fputc('\n', to);
}

void render_points_csv(const struct result *result, FILE *to)
{
    struct figure_units units = figure_units_of(result->model);
    header_row(result, &units, to);
    for (size_t i = 0; i < result->point_count; i++) {
        point_row(result, &result->points[i], &units, to);
    }
}
