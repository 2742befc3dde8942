/* models.h - what is guaranteed of each model
 */
#ifndef DUTYPROOF_MODELS_H
#define DUTYPROOF_MODELS_H

#include "base/arena.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/grade.h"
#include "tables/listing.h"
#include "tables/motors.h"

struct bay;

/* One guaranteed point: a row of models.csv. */
struct duty {
    struct quantity flow_m3s, head_m, efficiency, input_power_w;
    bool efficiency_of_pump; /* else of the set: so taken too where it is not stated */
    bool efficiency_of_stated;
    const char *flow_text, *head_text, *efficiency_text,
        *input_power_text;     /* as written: IS 2 rounding needs the places */
    const char *grade_name;    /* as written; "" when blank */
    const struct grade *grade; /* NULL when blank or unknown */
    const char *flow_unit, *head_unit,
        *power_unit; /* the headings' units as shown, NULL without such a column; papers speak in them */
    size_t line;
};

struct model {
    const char *name;
    struct quantity stages, nominal_bore_m, poles, phases;
    struct quantity rated_power_w, rated_voltage_v, rated_current_a, rated_frequency_hz, rated_speed_rpm;
    struct quantity head_low_m, head_high_m;
    const char *rated_current_text, *rated_power_text;
    const char *label_scheme; /* "" when none */
    struct quantity label_minimum_efficiency;
    const char *label_minimum_source;
    const char *motor_name;    /* "" when none */
    const struct motor *motor; /* NULL when none */
    struct quantity motor_efficiency;
    struct quantity winding_imbalance_max, insulation_min_ohm, high_voltage_v, no_load_current_max_a,
        no_load_power_max_w, locked_rotor_current_max_a, proof_pressure_min_pa, temperature_rise_max_k,
        winding_20c_low_ohm, winding_20c_high_ohm; /* routine limits, absent: shown, not judged */
    size_t duty_count;
    struct duty *duties; /* at least one */
    size_t line;
};

/* Reads models.csv into a bay; every fault of the table is collected. Needs the motors and grades of the bay. Status:
 * E_INPUT, E_FILE, E_MEMORY. */
enum status models_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

/* The columns of models.csv. */
extern const struct table_form models_form;

#endif
