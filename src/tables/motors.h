/* motors.h - load points of motors
 */
#ifndef DUTYPROOF_MOTORS_H
#define DUTYPROOF_MOTORS_H

#include "base/arena.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/listing.h"

struct bay;

/* motors.csv: load points at rated voltage and frequency, sorted by input power. */
struct motor {
    const char *name;
    size_t count;
    double *input_power_w, *shaft_power_w; /* both strictly rising */
    struct quantity *speed_rpm, *current_a;
};

/* Reads motors.csv into a bay; every fault of the table is collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status motors_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

/* The columns of motors.csv. */
extern const struct table_form motors_form;

#endif
