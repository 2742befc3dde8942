/* figures.h - how the papers write a number
 *
 * Every paper writes a quantity by these functions, so that the same number is the same text on the terminal, the sheet
 * and the certificate. A quantity has a fixed number of decimals, given by the size of the unit that it is shown in:
 * numbers in a column line up, and a margin has the decimals of its value.
 */
#ifndef DUTYPROOF_FIGURES_H
#define DUTYPROOF_FIGURES_H

#include "base/date.h"
#include "base/quantity.h"
#include "base/units.h"
#include "verdict/judge.h"

/* What kind of number it is; the comment is how it looks. */
enum figure {
    FIGURE_FLOW,         /* 12.34 m³/h, 3.428 L/s, in the model's own unit */
    FIGURE_HEAD,         /* 45.67 m, in the model's own unit */
    FIGURE_POWER,        /* 5.512 kW, in the model's own unit */
    FIGURE_EFFICIENCY,   /* 58.3 % */
    FIGURE_CURRENT,      /* 12.34 A */
    FIGURE_VOLTAGE,      /* 415.2 V */
    FIGURE_POWER_FACTOR, /* 0.853 */
    FIGURE_FREQUENCY,    /* 50.02 Hz */
    FIGURE_SPEED,        /* 2875 rpm */
    FIGURE_TEMPERATURE,  /* 27.4 °C */
    FIGURE_DENSITY,      /* 996.4 kg/m³ */
    FIGURE_GRAVITY,      /* 9.7842 m/s² */
    FIGURE_AIR_PRESSURE, /* 97.4 kPa */
    FIGURE_UNCERTAINTY,  /* 0.62 %: relative uncertainty, fluctuation, unbalance, instrument accuracy */
    FIGURE_PROBABILITY,  /* 97.5 % */
    FIGURE_RATED_POWER,  /* 5.50 kW: nameplate power */
    FIGURE_COUNT
};

/* The units that a model's papers speak in, each found once; never NULL. */
struct figure_units {
    const struct unit *flow, *head, *power;
    const struct unit *of[FIGURE_COUNT];
};

enum { FIGURE_TEXT = 64 };

/* The units that the model's first guaranteed point is written in; m³/h, m and kW where it names none. model may be
 * NULL. */
struct figure_units figure_units_of(const struct model *model);

/* The unit that a figure is shown in, and its name ("m³/h"; "" for a plain number). Never NULL. */
const struct unit *figure_unit(enum figure figure, const struct figure_units *units);
const char *figure_unit_name(enum figure figure, const struct figure_units *units);

/* The value as a number in the shown unit, for an axis. */
double figure_shown(enum figure figure, const struct figure_units *units, double si);

/* The number alone, "12.34"; "-" when it is absent. Locale-independent. Returns: out. */
char *figure_number(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT]);

/* The number with its unit, "12.34 m³/h"; "-" when it is absent. Returns: out. */
char *figure_text(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT]);

/* A margin, "+0.62", "-0.03": signed, with as many decimals more (at most 4) as it takes not to read as nothing.
 * Returns: out. */
char *figure_margin(enum figure figure, const struct figure_units *units, struct quantity si, char out[FIGURE_TEXT]);

/* A signed number, "+0.62", "-1.20"; "0.00" for what rounds to nothing, never "-0.00". Returns: out. */
char *figure_signed(double value, int decimals, char out[FIGURE_TEXT]);

/* The probability that a unit conforms, "97.5 %"; "97 %" where it was drawn and its last digit would be chance.
 * Returns: out. */
char *figure_conformance(struct quantity probability, bool drawn, char out[FIGURE_TEXT]);

/* An index of a label scheme, cut (not rounded) to two decimals so that it never shows a class that was not reached;
 * "-" when absent. Returns: out. */
char *figure_index(struct quantity index, char out[FIGURE_TEXT]);

/* "2024-03-01" or "2024-03-01 14:05"; "-" when the date is absent. Returns: out. */
char *figure_date(const struct date *date, char out[FIGURE_TEXT]);

/* The numbers of one check. They have as many decimals more (at most 4) as it takes to tell the value from a limit that
 * it is not on, so that a value which misses its limit by a hair does not read as being on it. "-" where absent. */
struct check_figures {
    char value[FIGURE_TEXT], guaranteed[FIGURE_TEXT], low[FIGURE_TEXT], high[FIGURE_TEXT];
    char limits[2 * FIGURE_TEXT + 4]; /* "38.00 to 42.00", "≥ 58.2", "≤ 5.610" */
    char margin[FIGURE_TEXT];         /* signed: "+1.20", "-0.35"; never 0 where it is not */
    const char *margin_unit;          /* "m" for an ellipse, else unit */
    const char *unit;                 /* of all of them; "" for a plain number */
};
void check_figures_of(const struct check *check, const struct figure_units *units, struct check_figures *out);

#endif
