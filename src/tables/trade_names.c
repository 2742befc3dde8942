#include "tables/trade_names.h"

#include <string.h>

/* Common practice, no source. A delivery head that is read is that of the gauge, in metres or feet of water. */
static const struct trade_name trade_names[] = {
    {"discharge", "flow", NULL},
    {"capacity", "flow", NULL},
    {"flow rate", "flow", NULL},
    {"q", "flow", NULL},
    {"orifice dp", "differential pressure", NULL},
    {"dp", "differential pressure", NULL},
    {"head over notch", "weir head", NULL},
    {"hook gauge", "weir head", NULL},
    {"delivery pressure", "gauge pressure", NULL},
    {"discharge pressure", "gauge pressure", NULL},
    {"delivery gauge", "gauge pressure", NULL},
    {"delivery head", "gauge pressure", NULL},
    {"suction gauge", "suction pressure", NULL},
    {"dynamic water level", "water level", NULL},
    {"volts", "voltage", "V"},
    {"volt", "voltage", "V"},
    {"l1 l2", "voltage ry", NULL},
    {"l2 l3", "voltage yb", NULL},
    {"l3 l1", "voltage br", NULL},
    {"r y", "voltage ry", NULL},
    {"y b", "voltage yb", NULL},
    {"b r", "voltage br", NULL},
    {"amps", "current", "A"},
    {"amp", "current", "A"},
    {"current l1", "current r", NULL},
    {"current l2", "current y", NULL},
    {"current l3", "current b", NULL},
    {"power input", "input power", NULL},
    {"motor input", "input power", NULL},
    {"watts", "input power", "W"},
    {"kw", "input power", "kW"},
    {"w1", "wattmeter 1", NULL},
    {"w2", "wattmeter 2", NULL},
    {"w3", "wattmeter 3", NULL},
    {"pf", "power factor", NULL},
    {"cos phi", "power factor", NULL},
    {"hz", "frequency", "Hz"},
    {"rpm", "speed", "rpm"},
    {"water temp", "water temperature", NULL},
    {"volume collected", "tank volume", NULL},
    {"mass collected", "tank mass", NULL},
    {"weight", "tank mass", NULL},
    {"kgs", "tank mass", "kg"},
    {"time to fill", "filling time", NULL},
    {"test point", "point", NULL},
    {"discharge", "guaranteed flow", NULL},
    {"capacity", "guaranteed flow", NULL},
    {"duty flow", "guaranteed flow", NULL},
    {"rated flow", "guaranteed flow", NULL},
    {"head", "guaranteed head", NULL},
    {"total head", "guaranteed head", NULL},
    {"duty head", "guaranteed head", NULL},
    {"rated head", "guaranteed head", NULL},
    {"overall efficiency", "guaranteed efficiency", NULL},
    {"pump model", "model", NULL},
    {"serial no", "serial", NULL},
    {"serial number", "serial", NULL},
};

enum { TRADE_NAME_COUNT = sizeof trade_names / sizeof *trade_names };

const struct trade_name *trade_name_at(size_t index)
{
    return index < TRADE_NAME_COUNT ? &trade_names[index] : NULL;
}

const struct trade_name *trade_name_find(const char *alias, const char *name)
{
    for (size_t i = 0; i < TRADE_NAME_COUNT; i++) {
        if (strcmp(trade_names[i].alias, alias) == 0 && strcmp(trade_names[i].name, name) == 0) {
            return &trade_names[i];
        }
    }
    return NULL;
}
