#include "tables/channel.h"

#include "tables/trade_names.h"

#include <string.h>

static const struct channel_info channels[CHANNEL_COUNT] = {
#define X(id, name, dimension, lowest, highest, makes, follows)                                                        \
    [id] = {name, dimension, lowest, highest, makes, follows},
    CHANNEL_LIST(X)
#undef X
};

const struct channel_info *channel_info(enum channel channel)
{
    return &channels[channel];
}

enum channel channel_find(const char *name)
{
    for (int i = 0; i < CHANNEL_COUNT; i++) {
        if (strcmp(channels[i].name, name) == 0) {
            return (enum channel)i;
        }
    }
    return CHANNEL_COUNT;
}

enum channel channel_find_trade(const char *name, const char **unit)
{
    *unit = NULL;
    for (int i = 0; i < CHANNEL_COUNT; i++) {
        const struct trade_name *trade = trade_name_find(name, channels[i].name);
        if (trade != NULL) {
            *unit = trade->unit;
            return (enum channel)i;
        }
    }
    return CHANNEL_COUNT;
}

const char *channel_about(enum channel channel)
{
    static const char *const about[CHANNEL_COUNT] = {
        [CH_TIME] = "a stamp as 2026-03-01T14:05:30.5, a time as 14:05:30 or 0:00:05, or seconds",
        [CH_POINT] = "number of the point that a row belongs to; without it steady stretches are found",
        [CH_FLOW] = "reading of the flow meter",
        [CH_DIFFERENTIAL_PRESSURE] = "across the orifice, nozzle or venturi",
        [CH_WEIR_HEAD] = "head over the notch",
        [CH_TANK_VOLUME] = "collected in the filling time",
        [CH_TANK_MASS] = "collected in the filling time",
        [CH_FILLING_TIME] = "of the tank, by the stop-watch",
        [CH_GAUGE_PRESSURE] = "of the delivery gauge",
        [CH_SUCTION_PRESSURE] = "of a gauge at the inlet, where there is one",
        [CH_WATER_LEVEL] = "above the datum of the gauge heights; rig.csv may state it instead",
        [CH_VOLTAGE] = "mean of the lines, or of a single phase",
        [CH_VOLTAGE_RY] = "between lines R and Y",
        [CH_VOLTAGE_YB] = "between lines Y and B",
        [CH_VOLTAGE_BR] = "between lines B and R",
        [CH_CURRENT] = "mean of the lines, or of a single phase",
        [CH_CURRENT_R] = "of line R",
        [CH_CURRENT_Y] = "of line Y",
        [CH_CURRENT_B] = "of line B",
        [CH_INPUT_POWER] = "of a power analyser, or of one wattmeter that shows all",
        [CH_WATTMETER_1] = "first of two or three wattmeters",
        [CH_WATTMETER_2] = "second wattmeter",
        [CH_WATTMETER_3] = "third wattmeter",
        [CH_METER_REVOLUTIONS] = "turns or pulses of the energy meter in the meter time",
        [CH_METER_TIME] = "that the counted turns took",
        [CH_POWER_FACTOR] = "where power is not read",
        [CH_FREQUENCY] = "of the supply",
        [CH_SPEED] = "of the shaft, where it is measured",
        [CH_WATER_TEMPERATURE] = "for the density of the water",
    };
    return about[channel];
}
