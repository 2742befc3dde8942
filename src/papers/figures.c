#include "papers/figures.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { EXTRA_DECIMALS_MAX = 4 };

/* A figure shows the coarsest decimal place of its unit that is not coarser than about `resolution_si`. */
static const struct figure_rule {
    enum dimension dimension;
    const char *unit; /* as unit_find knows it; NULL: the model's own */
    double resolution_si;
} rules[FIGURE_COUNT] = {
    [FIGURE_FLOW] = {DIM_FLOW, NULL, 4e-6},
    [FIGURE_HEAD] = {DIM_LENGTH, NULL, 0.04},
    [FIGURE_POWER] = {DIM_POWER, NULL, 2.0},
    [FIGURE_EFFICIENCY] = {DIM_RATIO, "%", 0.001},
    [FIGURE_CURRENT] = {DIM_CURRENT, "A", 0.02},
    [FIGURE_VOLTAGE] = {DIM_VOLTAGE, "V", 0.2},
    [FIGURE_POWER_FACTOR] = {DIM_NONE, NULL, 0.002},
    [FIGURE_FREQUENCY] = {DIM_FREQUENCY, "Hz", 0.02},
    [FIGURE_SPEED] = {DIM_SPEED, "rpm", 1.0},
    [FIGURE_TEMPERATURE] = {DIM_TEMPERATURE, "°C", 0.2},
    [FIGURE_DENSITY] = {DIM_DENSITY, "kg/m³", 0.2},
    [FIGURE_GRAVITY] = {DIM_ACCELERATION, "m/s²", 0.0002},
    [FIGURE_AIR_PRESSURE] = {DIM_PRESSURE, "kPa", 200.0},
    [FIGURE_UNCERTAINTY] = {DIM_RATIO, "%", 0.0002},
    [FIGURE_PROBABILITY] = {DIM_RATIO, "%", 0.002},
    [FIGURE_RATED_POWER] = {DIM_POWER, NULL, 20.0},
};

static const struct unit plain_number = {.name = "", .dimension = DIM_NONE, .factor = 1.0};

static const struct unit *unit_or(enum dimension dimension, const char *text, const char *otherwise)
{
    const struct unit *unit = text == NULL || text[0] == '\0' ? NULL : unit_find(dimension, text);
    if (unit == NULL && otherwise != NULL) {
        unit = unit_find(dimension, otherwise);
    }
    return unit == NULL ? &plain_number : unit;
}

struct figure_units figure_units_of(const struct model *model)
{
    const struct duty *duty = model == NULL || model->duty_count == 0 ? NULL : &model->duties[0];
    struct figure_units units = {
        .flow = unit_or(DIM_FLOW, duty == NULL ? NULL : duty->flow_unit, "m³/h"),
        .head = unit_or(DIM_LENGTH, duty == NULL ? NULL : duty->head_unit, "m"),
        .power = unit_or(DIM_POWER, duty == NULL ? NULL : duty->power_unit, "kW"),
    };
    for (int figure = 0; figure < FIGURE_COUNT; figure++) {
        switch (rules[figure].dimension) {
        case DIM_FLOW: units.of[figure] = units.flow; break;
        case DIM_LENGTH: units.of[figure] = units.head; break;
        case DIM_POWER: units.of[figure] = units.power; break;
        default: units.of[figure] = unit_or(rules[figure].dimension, NULL, rules[figure].unit); break;
        }
    }
    return units;
}

const struct unit *figure_unit(enum figure figure, const struct figure_units *units)
{
    return units->of[figure];
}

const char *figure_unit_name(enum figure figure, const struct figure_units *units)
{
    return figure_unit(figure, units)->name;
}

double figure_shown(enum figure figure, const struct figure_units *units, double si)
{
    return unit_from_si(figure_unit(figure, units), si);
}

static int decimals_of(enum figure figure, const struct unit *unit)
{
    /* 1e-9: a ratio that is a power of ten but for the last bit must not cost a decimal. */
    double places = ceil(log10(unit->factor / rules[figure].resolution_si) - 1e-9);
    return places < 0.0 ? 0 : places > 9.0 ? 9 : (int)places;
}

/* printf's %.*f, but with a point whatever the locale. */
static char *write_decimals(double value, int decimals, bool sign, char out[FIGURE_TEXT])
{
    double scale = pow(10.0, decimals);
    double scaled = fabs(value) * scale;
    if (!(scaled < 9e15)) {
        (void)snprintf(out, FIGURE_TEXT, "%s", isfinite(value) ? "out of range" : "-");
        return out;
    }
    long long whole = llround(scaled), unit = llround(scale);
    const char *mark = whole == 0 ? "" : value < 0.0 ? "-" : sign ? "+" : "";
    if (decimals == 0) {
        (void)snprintf(out, FIGURE_TEXT, "%s%lld", mark, whole);
    } else {
        (void)snprintf(out, FIGURE_TEXT, "%s%lld.%0*lld", mark, whole / unit, decimals, whole % unit);
    }
    return out;
}

static char *write_quantity(struct quantity shown, int decimals, bool sign, char out[FIGURE_TEXT])
{
    return shown.known ? write_decimals(shown.value, decimals, sign, out) : text_put(out, FIGURE_TEXT, "-");
}

static struct quantity shown_of(const struct unit *unit, struct quantity si)
{
    return si.known ? quantity_of(unit_from_si(unit, si.value)) : si;
}

char *figure_number(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT])
{
    const struct unit *unit = figure_unit(figure, units);
    return write_quantity(shown_of(unit, si), decimals_of(figure, unit), false, out);
}

char *figure_text(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT])
{
    char number[FIGURE_TEXT];
    const char *name = figure_unit_name(figure, units);
    (void)figure_number(figure, units, si, number);
    (void)snprintf(out, FIGURE_TEXT, "%.40s%s%.20s", number, si.known && name[0] != '\0' ? " " : "",
                   si.known ? name : "");
    return out;
}

/* Decimals, from these on, with which a number that is not 0 does not read as 0. */
static int decimals_to_show(double value, int decimals)
{
    int most = decimals + EXTRA_DECIMALS_MAX;
    while (decimals < most && value != 0.0 && fabs(value) * pow(10.0, decimals) < 0.5) {
        decimals++;
    }
    return decimals;
}

char *figure_signed(double value, int decimals, char out[FIGURE_TEXT])
{
    return write_decimals(value, decimals, true, out);
}

char *figure_margin(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT])
{
    const struct unit *unit = figure_unit(figure, units);
    struct quantity shown = si.known ? quantity_of(si.value / unit->factor) : si;
    return write_quantity(shown, decimals_to_show(quantity_or(shown, 0.0), decimals_of(figure, unit)), true, out);
}

char *figure_conformance(struct quantity probability, bool drawn, char out[FIGURE_TEXT])
{
    char number[FIGURE_TEXT];
    if (!probability.known) {
        return text_put(out, FIGURE_TEXT, "-");
    }
    (void)write_decimals(100.0 * probability.value, drawn ? 0 : 1, false, number);
    (void)snprintf(out, FIGURE_TEXT, "%.40s %%", number);
    return out;
}

char *figure_index(struct quantity index, char out[FIGURE_TEXT])
{
    /* 1e-9: an index that is a whole hundredth but for the last bit is not cut to the one below. */
    struct quantity cut = index.known ? quantity_of(floor(index.value * 100.0 + 1e-9) / 100.0) : index;
    return write_quantity(cut, 2, false, out);
}

char *figure_date(const struct date *date, char out[FIGURE_TEXT])
{
    if (!date->known) {
        return text_put(out, FIGURE_TEXT, "-");
    }
    int used = snprintf(out, FIGURE_TEXT, "%04d-%02d-%02d", date->year, date->month, date->day);
    if (date->has_time && used > 0) {
        int minutes = (int)(date->seconds / 60.0);
        (void)snprintf(out + used, FIGURE_TEXT - (size_t)used, " %02d:%02d", minutes / 60, minutes % 60);
    }
    return out;
}

static enum figure figure_of_dimension(enum dimension dimension)
{
    switch (dimension) {
    case DIM_FLOW: return FIGURE_FLOW;
    case DIM_LENGTH: return FIGURE_HEAD;
    case DIM_POWER: return FIGURE_POWER;
    case DIM_CURRENT: return FIGURE_CURRENT;
    case DIM_RATIO: return FIGURE_EFFICIENCY;
    default: return FIGURE_POWER_FACTOR;
    }
}

/* True when the two are different numbers but would be the same text. */
static bool looks_equal(struct quantity a, struct quantity b, int decimals)
{
    char text_a[FIGURE_TEXT], text_b[FIGURE_TEXT];
    return a.known && b.known && fabs(a.value - b.value) > JUDGE_RESOLUTION * fabs(b.value) &&
           strcmp(write_decimals(a.value, decimals, false, text_a), write_decimals(b.value, decimals, false, text_b)) ==
               0;
}

void check_figures_of(const struct check *check, const struct figure_units *units, struct check_figures *out)
{
    enum figure figure = figure_of_dimension(check->dimension);
    const struct unit *unit = figure_unit(figure, units);
    struct quantity value = shown_of(unit, check->compared.known ? check->compared : check->value);
    struct quantity low = shown_of(unit, check->limit_low), high = shown_of(unit, check->limit_high);
    struct quantity margin = check->margin.known ? quantity_of(check->margin.value / unit->factor) : check->margin;
    int decimals = decimals_of(figure, unit), most = decimals + EXTRA_DECIMALS_MAX;
    while (decimals < most && (looks_equal(value, low, decimals) || looks_equal(value, high, decimals))) {
        decimals++;
    }
    *out = (struct check_figures){.unit = unit->name, .margin_unit = unit->name};
    (void)write_quantity(value, decimals, false, out->value);
    (void)write_quantity(shown_of(unit, check->guaranteed), decimals, false, out->guaranteed);
    (void)write_quantity(low, decimals, false, out->low);
    (void)write_quantity(high, decimals, false, out->high);
    (void)write_quantity(margin, decimals_to_show(quantity_or(margin, 0.0), decimals), true, out->margin);
    if (check->place == PLACE_ELLIPSE) {
        out->margin_unit = figure_unit_name(FIGURE_HEAD, units);
        (void)figure_margin(FIGURE_HEAD, units, check->margin, out->margin);
    }
    if (low.known && high.known) {
        (void)snprintf(out->limits, sizeof out->limits, "%s to %s", out->low, out->high);
    } else if (low.known) {
        (void)snprintf(out->limits, sizeof out->limits, "≥ %s", out->low);
    } else if (high.known) {
        (void)snprintf(out->limits, sizeof out->limits, "≤ %s", out->high);
    } else {
        (void)text_put(out->limits, sizeof out->limits, "-");
    }
}
