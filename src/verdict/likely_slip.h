/* likely_slip.h - the one factor on one channel that would make an impossible test plausible: a unit, a decimal sign,
 * a transformer ratio
 */
#ifndef DUTYPROOF_LIKELY_SLIP_H
#define DUTYPROOF_LIKELY_SLIP_H

#include "verdict/impossible.h"

/* What a factor stands for; with inverse, the other way round. */
enum slip_kind {
    SLIP_THOUSAND,      /* W and kW, L and m3, kPa and Pa, or a thousands mark */
    SLIP_MINUTE,        /* 60: per minute and per second */
    SLIP_HOUR,          /* 3.6: L/s and m3/h */
    SLIP_MINUTE_HOUR,   /* 16.67: L/min and m3/h */
    SLIP_PSI,           /* 14.5038: psi and bar */
    SLIP_KGF,           /* 1.01972: kgf/cm2 and bar */
    SLIP_WATER_COLUMN,  /* 10.2, 0.0980665: m of water and bar */
    SLIP_ROOT_THREE,    /* line and phase voltage, or the power of two wattmeters */
    SLIP_THREE,         /* one phase and three */
    SLIP_CURRENT_RATIO, /* of the rig's transformers */
    SLIP_VOLTAGE_RATIO,
    SLIP_BOTH_RATIOS,
    SLIP_POWER_OF_TEN, /* a decimal sign */
    SLIP_KINDS
};

struct likely_slip {
    bool known;
    enum slip_kind kind;
    double factor;        /* what the readings are to be multiplied by */
    enum channel channel; /* the first of them, where phases or wattmeters go together */
    bool together;        /* all phases or wattmeters */
    bool every_point;     /* else only at the points that are impossible */
    size_t points;        /* that it changes */
    int point;            /* the first of them */
};

/* Tries each factor and its inverse on each channel that was read, at all points and at the impossible ones alone. Of
 * those that leave nothing impossible, the one whose curves come nearest to what is guaranteed and rated; not known
 * when none does. impossible: what impossible_find gave for the chain and settled. scratch: may be released after.
 * Status: E_MEMORY. Source of the factors: exact conversions; common practice, no source, that they are looked for. */
enum status likely_slip_find(const struct chain *chain, const struct settled *settled,
                             const struct odd_values *impossible, struct arena *scratch, struct likely_slip *slip);

#endif
