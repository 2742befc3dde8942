/* routine.h - the routine results of a motor, judged against what its model states
 *
 * They stand beside the performance test as a block with a verdict of its own; a unit that fails one of them fails. A
 * result for which the model states no limit is shown, not judged; a test piece that broke down or leaked fails all the
 * same.
 */
#ifndef DUTYPROOF_ROUTINE_H
#define DUTYPROOF_ROUTINE_H

#include "tables/bay.h"
#include "verdict/judge.h"

enum { ROUTINE_CHECKS_MAX = 9 };

/* Values and limits in SI, a rise of temperature in K. Texts are static or in the arena. */
struct routine_check {
    const char *name;        /* "winding at 20 °C", "insulation resistance", ... */
    const struct unit *unit; /* that it is shown in */
    struct quantity value, limit_low, limit_high;
    bool limited; /* counts for the verdict of the block */
    bool safety;  /* one that fails it must not be energised: insulation, withstand voltage, pressure */
    enum verdict verdict;
    const char *reason; /* why it fails or is not judged where the numbers alone do not say; NULL otherwise */
    const char
        *detail; /* the readings and how they were taken: "ry 1.204, yb 1.207, br 1.201 Ω at 27.0 °C"; "" when none */
    const char *source; /* of the formula; "" when there is none */
};

struct routine_result {
    const struct routine *row; /* NULL: none recorded, and nothing else holds */
    size_t rows;               /* of this serial; the latest is judged */
    size_t check_count;
    struct routine_check checks[ROUTINE_CHECKS_MAX];
    enum verdict verdict; /* not judged when no limit is stated, or one is whose result was not recorded */
};

/* The latest row of a serial (the later in the file of one day; a row without a date counts as the earliest); NULL when
 * there is none. rows: how many there are. */
const struct routine *routine_of(const struct bay *bay, const char *serial, size_t *rows);

/* Resistance of a copper winding at 20 degC, ohm: R 255 / (235 + t), t from -30 to 200 degC. Absent if either is.
 * Source: IEC 60034-1 (k = 235 for copper; from memory, confirm). */
struct quantity winding_at_20c(struct quantity ohm, struct quantity winding_c);

/* Rise of a copper winding over its coolant, K: (R2 - R1) / R1 (235 + t1) + t1 - ta, with R1 cold at t1 and R2 hot at
 * the end, the coolant then at ta. Absent if any is. Source: IEC 60034-1 (from memory, confirm). */
struct quantity rise_by_resistance(struct quantity cold_ohm, struct quantity cold_c, struct quantity hot_ohm,
                                   struct quantity coolant_c);

/* High-voltage test level of a winding for up to 1 kV, V: 2 U + 1000 V, at least 1500 V, for 1 min.
 * Source: IEC 60034-1 (from memory, confirm). */
double high_voltage_level(double rated_voltage_v);

/* Judges a row (NULL: result->row is NULL) against the model's limits. Status: E_MEMORY. */
enum status routine_judge(const struct model *model, const struct routine *row, struct arena *arena,
                          struct routine_result *result);

/* A check's numbers as the papers write them, in its unit and in digits enough to tell the value from a limit that it
 * is not on. "-" where absent. */
struct routine_figures {
    char value[64], limits[140];
    const char *unit;
};
void routine_figures_of(const struct routine_check *check, struct routine_figures *out);

#endif
