/* translate.h - from the speed of the test to the rated speed by the affinity laws (stage 5)
 */
#ifndef DUTYPROOF_TRANSLATE_H
#define DUTYPROOF_TRANSLATE_H

#include "physics/reduce.h"

/* Permitted test speed, as a fraction of rated. Source: ISO 9906:2012, 6.1 (from memory, confirm). */
#define TEST_SPEED_LOW  0.5
#define TEST_SPEED_HIGH 1.2

/* Beyond these deviations from rated a caution is due. Source: ISO 9906:2012, motor-pump units (from memory, confirm).
 */
#define FREQUENCY_DEVIATION 0.01
#define VOLTAGE_DEVIATION   0.05

/* A point at rated speed. */
struct rated_point {
    bool translated; /* false: why says what is missing or out of range, and nothing else holds */
    const char *why;
    double ratio;         /* k = rated / test speed (or frequency) */
    bool current_brought; /* the current to rated voltage too; else the voltage was not read or is not rated */
    struct quantity flow_m3s, head_m, input_power_w, shaft_power_w, current_a, set_efficiency, pump_efficiency;
};

/* The basis that a test uses: the rig's, or, where it states none, measured speed if every point has it, else the
 * motor's curve if every point has it, else frequency. */
enum speed_basis translate_basis(const struct rig *rig, const struct operating_point *points, size_t count);

/* "measured speed", "frequency", "motor curve". */
const char *speed_basis_name(enum speed_basis basis);

/* Q k, H k^2, P k^3; efficiency unchanged. Current I k^3 V / V_rated: at rated voltage the same motor draws the rated
 * point's power with the power factor that it had (common practice, no source); without a voltage I k^3. A ratio
 * outside TEST_SPEED_LOW .. HIGH is refused. */
struct rated_point translate_point(const struct operating_point *point, const struct model *model,
                                   enum speed_basis basis);

#endif
