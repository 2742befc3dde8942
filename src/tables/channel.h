/* channel.h - the channels of a log: names, dimensions, and what a reading may be
 */
#ifndef DUTYPROOF_CHANNEL_H
#define DUTYPROOF_CHANNEL_H

#include "base/units.h"

#include <stdbool.h>

/* What a channel is read for: said here alone. */
enum channel_makes {
    MAKES_NOTHING,
    MAKES_FLOW,
    MAKES_HEAD,
    MAKES_POWER, /* by itself, or together with voltage and current */
    MAKES_CURRENT,
    MAKES_VOLTAGE,
    MAKES_SPEED,
    MAKES_DENSITY,
};

/*        channel              name in a heading        dimension         lowest and highest reading that can be real,
 * SI; what it is read for; whether each of its readings follows the valve at once, so that it shows a steady state */
#define CHANNEL_LIST(X)                                                                                                \
    X(CH_TIME, "time", DIM_TIME, -1e300, 1e300, MAKES_NOTHING, false)                                                  \
    X(CH_POINT, "point", DIM_NONE, 0, 1e6, MAKES_NOTHING, false)                                                       \
    X(CH_FLOW, "flow", DIM_FLOW, -1, 100, MAKES_FLOW, true)                                                            \
    X(CH_DIFFERENTIAL_PRESSURE, "differential pressure", DIM_PRESSURE, -1e6, 1e8, MAKES_FLOW, true)                    \
    X(CH_WEIR_HEAD, "weir head", DIM_LENGTH, -1, 10, MAKES_FLOW, true)                                                 \
    X(CH_TANK_VOLUME, "tank volume", DIM_VOLUME, 0, 1e4, MAKES_FLOW, false)                                            \
    X(CH_TANK_MASS, "tank mass", DIM_MASS, 0, 1e7, MAKES_FLOW, false)                                                  \
    X(CH_FILLING_TIME, "filling time", DIM_TIME, 0, 1e6, MAKES_FLOW, false)                                            \
    X(CH_GAUGE_PRESSURE, "gauge pressure", DIM_PRESSURE, -1.1e5, 1e9, MAKES_HEAD, true)                                \
    X(CH_SUCTION_PRESSURE, "suction pressure", DIM_PRESSURE, -1.1e5, 1e9, MAKES_HEAD, false)                           \
    X(CH_WATER_LEVEL, "water level", DIM_LENGTH, -1e4, 1e4, MAKES_HEAD, false)                                         \
    X(CH_VOLTAGE, "voltage", DIM_VOLTAGE, 0, 1e5, MAKES_VOLTAGE, false)                                                \
    X(CH_VOLTAGE_RY, "voltage ry", DIM_VOLTAGE, 0, 1e5, MAKES_VOLTAGE, false)                                          \
    X(CH_VOLTAGE_YB, "voltage yb", DIM_VOLTAGE, 0, 1e5, MAKES_VOLTAGE, false)                                          \
    X(CH_VOLTAGE_BR, "voltage br", DIM_VOLTAGE, 0, 1e5, MAKES_VOLTAGE, false)                                          \
    X(CH_CURRENT, "current", DIM_CURRENT, 0, 1e5, MAKES_CURRENT, true)                                                 \
    X(CH_CURRENT_R, "current r", DIM_CURRENT, 0, 1e5, MAKES_CURRENT, true)                                             \
    X(CH_CURRENT_Y, "current y", DIM_CURRENT, 0, 1e5, MAKES_CURRENT, true)                                             \
    X(CH_CURRENT_B, "current b", DIM_CURRENT, 0, 1e5, MAKES_CURRENT, true)                                             \
    X(CH_INPUT_POWER, "input power", DIM_POWER, -1e7, 1e9, MAKES_POWER, true)                                          \
    X(CH_WATTMETER_1, "wattmeter 1", DIM_POWER, -1e7, 1e9, MAKES_POWER, true)                                          \
    X(CH_WATTMETER_2, "wattmeter 2", DIM_POWER, -1e7, 1e9, MAKES_POWER, true)                                          \
    X(CH_WATTMETER_3, "wattmeter 3", DIM_POWER, -1e7, 1e9, MAKES_POWER, true)                                          \
    X(CH_METER_REVOLUTIONS, "meter revolutions", DIM_NONE, 0, 1e9, MAKES_POWER, false)                                 \
    X(CH_METER_TIME, "meter time", DIM_TIME, 0, 1e6, MAKES_POWER, false)                                               \
    X(CH_POWER_FACTOR, "power factor", DIM_RATIO, -2, 2, MAKES_POWER, false)                                           \
    X(CH_FREQUENCY, "frequency", DIM_FREQUENCY, 0, 1e4, MAKES_SPEED, false)                                            \
    X(CH_SPEED, "speed", DIM_SPEED, 0, 1e5, MAKES_SPEED, false)                                                        \
    X(CH_WATER_TEMPERATURE, "water temperature", DIM_TEMPERATURE, -1, 100, MAKES_DENSITY, false)

enum channel {
#define X(id, name, dimension, lowest, highest, makes, follows) id,
    CHANNEL_LIST(X)
#undef X
        CHANNEL_COUNT
};

/* name is folded ("gauge pressure"); lowest and highest bound what can be a reading at all: beyond them the cell is a
 * fault. */
struct channel_info {
    const char *name;
    enum dimension dimension;
    double lowest_si, highest_si;
    enum channel_makes makes;
    bool follows; /* each of its readings shows the state of the set at that moment */
};

/* channel 0 .. CHANNEL_COUNT - 1. Never NULL. */
const struct channel_info *channel_info(enum channel channel);

/* What a channel is read from, in a few words. */
const char *channel_about(enum channel channel);

/* The channel of a folded name. Returns: CHANNEL_COUNT when there is none. */
enum channel channel_find(const char *name);

/* The same by a name of the trade ("discharge"). *unit becomes the unit that the name itself says ("amps"), else NULL.
 */
enum channel channel_find_trade(const char *name, const char **unit);

#endif
