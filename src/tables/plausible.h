/* plausible.h - between which limits a reading is one that a set can give, and between which it is beyond doubt
 */
#ifndef DUTYPROOF_PLAUSIBLE_H
#define DUTYPROOF_PLAUSIBLE_H

#include "base/units.h"
#include "tables/table.h"

/*     item                           quantity            scope    relative to                unit  value's dimension */
#define PLAUSIBLE_LIST(X)                                                                                              \
    X(PLAUSIBLE_SET_EFFICIENCY, "set efficiency", "point", "", "1", DIM_RATIO)                                         \
    X(PLAUSIBLE_BEST_EFFICIENCY, "set efficiency", "curve", "", "1", DIM_RATIO)                                        \
    X(PLAUSIBLE_PUMP_EFFICIENCY, "pump efficiency", "point", "", "1", DIM_RATIO)                                       \
    X(PLAUSIBLE_POWER_FACTOR, "power factor", "point", "", "1", DIM_NONE)                                              \
    X(PLAUSIBLE_HEAD, "head", "point", "greatest guaranteed head", "1", DIM_LENGTH)                                    \
    X(PLAUSIBLE_GREATEST_HEAD, "head", "curve", "greatest guaranteed head", "1", DIM_LENGTH)                           \
    X(PLAUSIBLE_FLOW, "flow", "point", "greatest guaranteed flow", "1", DIM_FLOW)                                      \
    X(PLAUSIBLE_VOLTAGE, "voltage", "point", "rated voltage", "1", DIM_VOLTAGE)                                        \
    X(PLAUSIBLE_FREQUENCY, "frequency", "point", "", "Hz", DIM_FREQUENCY)                                              \
    X(PLAUSIBLE_SPEED, "speed", "point", "synchronous speed", "1", DIM_SPEED)                                          \
    X(PLAUSIBLE_CURRENT, "current", "point", "rated current", "1", DIM_CURRENT)                                        \
    X(PLAUSIBLE_INPUT_POWER, "input power", "point", "rated input power", "1", DIM_POWER)                              \
    X(PLAUSIBLE_VOLTAGE_UNBALANCE, "voltage unbalance", "point", "", "1", DIM_RATIO)                                   \
    X(PLAUSIBLE_WATER_TEMPERATURE, "water temperature", "point", "", "°C", DIM_TEMPERATURE)                            \
    X(PLAUSIBLE_INSTRUMENT, "instrument", "point", "range", "1", DIM_NONE)

enum plausible_item {
#define X(id, quantity, scope, relative, unit, dimension) id,
    PLAUSIBLE_LIST(X)
#undef X
        PLAUSIBLE_COUNT
};

/* Limits as parts of what they are relative to, or in SI (°C for a temperature); absent: no limit. */
struct plausible_limits {
    struct quantity impossible_low, impossible_high, doubtful_low, doubtful_high;
    bool from_bay;
};

/* {0} limits nothing. */
struct plausible_book {
    struct plausible_limits of[PLAUSIBLE_COUNT];
    struct kept_tables kept; /* the bay's own table */
};

/* "set efficiency", "head"; and whether it is one of the curve, not of a point. */
const char *plausible_name(enum plausible_item item);
bool plausible_of_curve(enum plausible_item item);

/* In what a value of the item is shown. */
enum dimension plausible_dimension(enum plausible_item item);

/* The built-in table, and the bay's own rows (path NULL: none) in place of those of their quantity and scope.
 * Status: E_INPUT, E_FILE, E_MEMORY. */
enum status plausible_book_read(const char *bay_path, struct arena *arena, struct plausible_book *book,
                                struct faults *faults);

#endif
