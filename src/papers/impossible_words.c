#include "papers/impossible_words.h"

#include "base/text.h"

#include <math.h>

static const char *const slip_words[SLIP_KINDS] = {
    [SLIP_THOUSAND] = "a unit (such as W for kW) or a thousands mark",
    [SLIP_MINUTE] = "per minute and per second",
    [SLIP_HOUR] = "L/s and m³/h",
    [SLIP_MINUTE_HOUR] = "L/min and m³/h",
    [SLIP_PSI] = "psi and bar",
    [SLIP_KGF] = "kgf/cm² and bar",
    [SLIP_WATER_COLUMN] = "m of water and bar",
    [SLIP_ROOT_THREE] = "a value of one phase and one between lines",
    [SLIP_THREE] = "one phase for all three",
    [SLIP_CURRENT_RATIO] = "the current transformers' ratio",
    [SLIP_VOLTAGE_RATIO] = "the voltage transformers' ratio",
    [SLIP_BOTH_RATIOS] = "the ratios of current and voltage transformers",
    [SLIP_POWER_OF_TEN] = "a decimal sign",
};

static const struct unit *unit_of(const struct odd_value *odd, const struct result *result,
                                  const struct figure_units *units)
{
    if (odd->item == PLAUSIBLE_INSTRUMENT) {
        return result->log.units[odd->channel];
    }
    switch (odd->dimension) {
    case DIM_RATIO: return unit_find(DIM_RATIO, "%");
    case DIM_FLOW: return units->flow;
    case DIM_LENGTH: return units->head;
    case DIM_POWER: return units->power;
    case DIM_VOLTAGE: return unit_find(DIM_VOLTAGE, "V");
    case DIM_CURRENT: return unit_find(DIM_CURRENT, "A");
    case DIM_FREQUENCY: return unit_find(DIM_FREQUENCY, "Hz");
    case DIM_SPEED: return unit_find(DIM_SPEED, "rpm");
    case DIM_TEMPERATURE: return unit_find(DIM_TEMPERATURE, "degC");
    default: return NULL;
    }
}

/* "251.6 %", to four digits. */
static char *shown(double si, const struct unit *unit, char out[FIGURE_TEXT])
{
    char number[32];
    double value = unit == NULL ? si : unit_from_si(unit, si);
    if (value == 0.0) {
        (void)snprintf(number, sizeof number, "0");
    } else {
        number_format(value, 4, number, sizeof number);
    }
    const char *name = unit == NULL ? "" : unit->name;
    (void)snprintf(out, FIGURE_TEXT, "%s%s%.20s", number, *name == '\0' ? "" : " ", name);
    return out;
}

char *odd_words(const struct document *document, const struct odd_value *odd, const struct result *result,
                const struct figure_units *units, char out[ODD_WORDS])
{
    char value[FIGURE_TEXT], limit[FIGURE_TEXT], where[64];
    const struct unit *unit = unit_of(odd, result, units);
    bool instrument = odd->item == PLAUSIBLE_INSTRUMENT;
    if (odd->point == 0) {
        (void)snprintf(where, sizeof where, "%s",
                       odd->item == PLAUSIBLE_BEST_EFFICIENCY ? say(document, "best point")
                                                              : say(document, "greatest of all points"));
    } else {
        (void)snprintf(where, sizeof where, say(document, "point %d (log line %zu)"), odd->point, odd->line);
    }
    const char *fmt = instrument && odd->above ? say(document, "%s: %s reads %s, far above its instrument's range (%s)")
                      : instrument             ? say(document, "%s: %s reads %s, far below its instrument's range (%s)")
                      : odd->above             ? say(document, "%s: %s %s, no such set gives more than %s")
                                               : say(document, "%s: %s %s, no such set gives less than %s");
    const char *name = instrument ? channel_info(odd->channel)->name : plausible_name(odd->item);
    (void)snprintf(out, ODD_WORDS, fmt, where, say(document, name), shown(odd->value, unit, value),
                   shown(odd->limit, unit, limit));
    return out;
}

/* "all currents", "input power", where that is not plain. */
static const char *touched(const struct document *document, const struct likely_slip *slip)
{
    const char *name = channel_info(slip->channel)->name;
    if (slip->together) {
        name = slip->channel == CH_VOLTAGE_RY  ? "all voltages"
               : slip->channel == CH_CURRENT_R ? "all currents"
                                               : "all wattmeters";
    }
    return say(document, name);
}

char *likely_words(const struct document *document, const struct result *result, char out[ODD_WORDS])
{
    const struct likely_slip *slip = &result->slip;
    char times[32], where[48];
    out[0] = '\0';
    if (result->impossible.count == 0) {
        return out;
    }
    if (!slip->known) {
        (void)snprintf(out, ODD_WORDS, "%s", say(document, "no one slip of unit, decimal sign or ratio explains it"));
        return out;
    }
    bool small = slip->factor > 1.0;
    double factor = small ? slip->factor : 1.0 / slip->factor;
    if (factor == round(factor)) {
        (void)snprintf(times, sizeof times, "%.0f", factor);
    } else {
        number_format(factor, 4, times, sizeof times);
    }
    if (slip->every_point) {
        (void)snprintf(where, sizeof where, "%s", say(document, "throughout"));
    } else if (slip->points == 1) {
        (void)snprintf(where, sizeof where, say(document, "at point %d"), slip->point);
    } else {
        (void)snprintf(where, sizeof where, say(document, "at point %d and %zu more"), slip->point, slip->points - 1);
    }
    (void)snprintf(out, ODD_WORDS,
                   slip->together ? small ? say(document, "likely %s are %s times too small %s: %s")
                                          : say(document, "likely %s are %s times too large %s: %s")
                   : small ? say(document, "likely %s is %s times too small %s: %s")
                                  : say(document, "likely %s is %s times too large %s: %s"),
                   touched(document, slip), times, where, say(document, slip_words[slip->kind]));
    return out;
}

char *impossible_words(const struct document *document, const struct result *result, const struct figure_units *units,
                       char out[IMPOSSIBLE_WORDS])
{
    char first[ODD_WORDS], likely[ODD_WORDS], more[48] = "";
    out[0] = '\0';
    if (result->impossible.count == 0) {
        return out;
    }
    if (result->impossible.count > 1) {
        (void)snprintf(more, sizeof more, say(document, " (and %zu more)"), result->impossible.count - 1);
    }
    (void)snprintf(out, IMPOSSIBLE_WORDS, "%s%s; %s",
                   odd_words(document, &result->impossible.items[0], result, units, first), more,
                   likely_words(document, result, likely));
    return out;
}
