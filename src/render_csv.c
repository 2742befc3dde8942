#include "dutyproof/figures.h"
#include "dutyproof/render.h"

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
    {"flow uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.flow)},
    {"head uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.head)},
    {"input power uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.input_power)},
    {"set efficiency uncertainty", FIGURE_UNCERTAINTY, AT(uncertainty.set_efficiency)},
};

enum { POINT_COLUMNS = sizeof point_columns / sizeof point_columns[0] };

static struct quantity quantity_at(const struct point *point, size_t at)
{
    return *(const struct quantity *)(const void *)((const char *)point + at);
}

/* A cell in quotes, which any text may stand in. */
static void quoted(const char *text, FILE *to)
{
    (void)fputc('"', to);
    for (; *text != '\0'; text++) {
        (void)fputs(*text == '"' ? "\"" : "", to);
        (void)fputc((unsigned char)*text < ' ' ? ' ' : *text, to);
    }
    (void)fputc('"', to);
}

static void header_row(const struct figure_units *units, FILE *to)
{
    (void)fputs("point,readings,steady,in curves", to);
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        const char *unit = figure_unit_name(point_columns[c].figure, units);
        (void)fprintf(to, ",%s", point_columns[c].name);
        if (unit[0] != '\0') {
            (void)fprintf(to, " [%s]", unit);
        }
    }
    (void)fputs(",remark\n", to);
}

static void point_row(const struct point *point, const struct figure_units *units, FILE *to)
{
    const struct settled_point *settled = point->settled;
    (void)fprintf(to, "%d,%zu,%s,%s", settled->number, settled->readings, settled->steady ? "yes" : "no",
                  point->fitted ? "yes" : "no");
    for (size_t c = 0; c < POINT_COLUMNS; c++) {
        struct quantity q = quantity_at(point, point_columns[c].at);
        char number[FIGURE_TEXT];
        (void)fprintf(to, ",%s", q.known ? figure_number(point_columns[c].figure, units, q, number) : "");
    }
    const char *remark = !settled->steady && settled->why_unsteady != NULL            ? settled->why_unsteady
                         : !point->fitted && point->why_not_fitted != NULL            ? point->why_not_fitted
                         : !point->at_rated.translated && point->at_rated.why != NULL ? point->at_rated.why
                                                                                      : "";
    (void)fputc(',', to);
    quoted(remark, to);
    (void)fputc('\n', to);
}

void render_points_csv(const struct result *result, FILE *to)
{
    struct figure_units units = figure_units_of(result->model);
    header_row(&units, to);
    for (size_t i = 0; i < result->point_count; i++) {
        point_row(&result->points[i], &units, to);
    }
}
