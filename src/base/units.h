/* units.h - the units that a test bay writes, each with its exact factor
 *
 * Readings are converted twice only: to SI after they are read and from SI before they are shown. A unit is always
 * stated by the heading; it is never guessed from the size of a number.
 */
#ifndef DUTYPROOF_UNITS_H
#define DUTYPROOF_UNITS_H

#include <stdbool.h>
#include <stddef.h>

/* What is measured, and the unit that the library computes in. */
enum dimension {
    DIM_NONE,           /* text or a count: takes no unit */
    DIM_RATIO,          /* fraction (efficiency, accuracy, power factor) */
    DIM_FLOW,           /* m3/s */
    DIM_PRESSURE,       /* Pa; metres and feet of water and mm of mercury are the conventional ones */
    DIM_LENGTH,         /* m; a head stated as a guarantee is a length */
    DIM_VOLUME,         /* m3 */
    DIM_MASS,           /* kg */
    DIM_TIME,           /* s */
    DIM_POWER,          /* W */
    DIM_VOLTAGE,        /* V */
    DIM_CURRENT,        /* A */
    DIM_FREQUENCY,      /* Hz */
    DIM_SPEED,          /* rpm (1/min), the trade's unit, kept as such */
    DIM_TEMPERATURE,    /* degree Celsius */
    DIM_RESISTANCE,     /* ohm */
    DIM_ANGLE,          /* rad */
    DIM_DENSITY,        /* kg/m3 */
    DIM_ACCELERATION,   /* m/s2 */
    DIM_METER_CONSTANT, /* 1/J: revolutions or impulses per energy */
    DIM_COUNT
};

struct unit {
    const char *name; /* as it is shown: "m³/h" */
    enum dimension dimension;
    double factor, offset; /* SI = factor * reading + offset */
};

/* Finds a unit of a dimension by any spelling that a bay uses: "m3/h", "m³/h", "m^3/h", "cum/hr", "M3/HR" ...; spaces
 * around and inside are ignored. Case is ignored except where it tells units apart (mΩ and MΩ, mL and ML); mW and mPa
 * are refused, as slips for MW and MPa. "gpm" alone is the US one, as data sheets and GNU units have it, and is shown
 * as "US gpm"; any other gallon must say whose, since US and imperial gallons are 20 % apart. "hp" is 550 ft lbf/s.
 * Returns: the unit; NULL when it is not known or is of another dimension. */
const struct unit *unit_find(enum dimension dimension, const char *text);

/* A few spellings of a dimension's units, for a message: "L/s, L/min, m³/h, US gpm, ...". */
const char *unit_examples(enum dimension dimension);

/* The dimension's name for a message: "flow", "pressure", ... */
const char *dimension_name(enum dimension dimension);

/* Every unit of the library, for the tables command and the tests. Returns: the unit number index, NULL past the last.
 */
const struct unit *unit_at(size_t index);

double unit_to_si(const struct unit *unit, double reading);
double unit_from_si(const struct unit *unit, double si);

/* A difference of two readings (a zero error, an accuracy) in SI: the factor without the offset. */
double unit_difference_to_si(const struct unit *unit, double difference);

#endif
