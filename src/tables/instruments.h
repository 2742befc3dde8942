/* instruments.h - accuracy, gain, zero, range and calibration of each instrument
 */
#ifndef DUTYPROOF_INSTRUMENTS_H
#define DUTYPROOF_INSTRUMENTS_H

#include "base/arena.h"
#include "base/date.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/channel.h"
#include "tables/listing.h"

struct bay;

enum accuracy_basis { ACCURACY_OF_READING, ACCURACY_OF_RANGE };

/* How a stated accuracy limit a becomes a standard uncertainty. */
enum accuracy_distribution {
    DISTRIBUTION_RECTANGULAR, /* u = a / sqrt(3): limits without a stated confidence (JCGM 100 4.3.7); the default */
    DISTRIBUTION_NORMAL, /* u = a / 2: an expanded uncertainty with k = 2, as a calibration certificate states it */
};

/* One row of instruments.csv. corrected = gain x (reading - zero). */
struct instrument {
    enum channel channel;
    const char *serial, *certificate, *unit_text;
    struct quantity accuracy; /* fraction */
    enum accuracy_basis basis;
    enum accuracy_distribution distribution;
    struct quantity range_low_si, range_high_si;
    double gain, zero_si; /* 1 and 0 when not stated. corrected_si = gain x (reading_si - zero_si) */
    struct date calibrated, due;
    size_t line;
};

/* Accuracy limit of an instrument at a corrected reading, in SI: half-width of a rectangular error, or the k = 2
 * expanded uncertainty of a normal one. ratio: the transformer ratio of the channel. Absent when no accuracy is stated
 * (or it is of a range that is not stated). Source: JCGM 100:2008, 4.3.7 and 4.3.3. */
struct quantity instrument_limit(const struct instrument *instrument, double reading_si, double ratio);

/* Accuracy limit at zero, where one of the reading vanishes: then it is taken of the range. Absent as instrument_limit.
 */
struct quantity instrument_zero_limit(const struct instrument *instrument, double ratio);

/* Reads instruments.csv into a bay; every fault of the table is collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status instruments_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

/* The columns of instruments.csv. */
extern const struct table_form instruments_form;

#endif
