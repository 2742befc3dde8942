/* bay.h - what a test bay is: its rig, its instruments, the models it tests, their motors and the grades it judges by
 *
 * A bay is a folder that holds rig.csv, and beside it instruments.csv, models.csv, motors.csv and, if the bay has them,
 * grades.csv, labels.csv and routine.csv. All text lives in the arena given to bay_read.
 */
#ifndef DUTYPROOF_BAY_H
#define DUTYPROOF_BAY_H

#include "base/date.h"
#include "base/notes.h"
#include "tables/channel.h"
#include "tables/grade.h"
#include "tables/label_book.h"
#include "tables/table.h"

enum flow_method {
    FLOW_METER,
    FLOW_ORIFICE,
    FLOW_VENTURI,        /* classical venturi tube, ISO 5167-4 */
    FLOW_VENTURI_NOZZLE, /* venturi nozzle, ISO 5167-3 */
    FLOW_NOZZLE,         /* ISA 1932 nozzle, ISO 5167-3 */
    FLOW_V_NOTCH,
    FLOW_RECTANGULAR_NOTCH,
    FLOW_TANK_VOLUME,
    FLOW_TANK_MASS,
};

enum pressure_tappings { TAPPINGS_CORNER, TAPPINGS_FLANGE, TAPPINGS_D_D2 };

enum venturi_kind { VENTURI_AS_CAST, VENTURI_MACHINED, VENTURI_WELDED };

enum speed_basis {
    SPEED_UNSTATED, /* measured if every point has it, else the motor's curve, else frequency */
    SPEED_MEASURED,
    SPEED_FREQUENCY,
    SPEED_MOTOR,
};

/* rig.csv. Absent quantities were not stated. */
struct rig {
    const char *name; /* "" when not stated */
    struct quantity latitude_rad, altitude_m, gravity_m_s2, air_pressure_pa, water_density_kg_m3;
    enum flow_method flow_method;
    struct quantity flow_pipe_bore_m, throat_bore_m;
    enum pressure_tappings tappings;
    enum venturi_kind venturi_kind;
    struct quantity notch_angle_rad, notch_width_m, notch_crest_height_m, approach_width_m;
    struct quantity discharge_coefficient;
    struct quantity meter_constant_per_j;
    struct quantity delivery_bore_m, delivery_length_m, delivery_roughness_m, delivery_loss_coefficient;
    struct quantity gauge_height_m, water_level_m;
    struct quantity suction_bore_m, suction_gauge_height_m;
    double current_ratio, voltage_ratio; /* 1 when not stated */
    enum speed_basis speed_basis;
    size_t log_header_row; /* physical lines before the header row of the logger's files */
    struct rig_column {
        const char *heading; /* as the logger writes it; NULL when not mapped */
        const char *unit;    /* "" when the heading itself carries it */
    } columns[CHANNEL_COUNT];
};

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

/* One guaranteed point: a row of models.csv. */
struct duty {
    struct quantity flow_m3s, head_m, efficiency, input_power_w;
    bool efficiency_of_pump; /* else of the set */
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

/* motors.csv: load points at rated voltage and frequency, sorted by input power. */
struct motor {
    const char *name;
    size_t count;
    double *input_power_w, *shaft_power_w; /* both strictly rising */
    struct quantity *speed_rpm, *current_a;
};

enum winding_kind {
    WINDINGS_BETWEEN_LINES, /* measured ry, yb, br */
    WINDINGS_OF_PHASES,     /* measured r, y, b to the star point */
    WINDINGS_SINGLE,        /* main and auxiliary of a single-phase motor */
    WINDING_KINDS
};

enum routine_outcome { OUTCOME_NOT_STATED, OUTCOME_HELD, OUTCOME_FAILED };

/* A row of routine.csv: the routine results of one motor or set on one day. Absent quantities were not recorded. */
struct routine {
    const char *serial, *tester;
    struct date tested;
    enum winding_kind winding_kind;
    struct quantity winding_ohm[3], hot_winding_ohm[3]; /* cold; and at the end of a heat run */
    struct quantity winding_c, coolant_c;               /* temperature of the cold winding; of the coolant at the end */
    struct quantity insulation_ohm;
    struct quantity high_voltage_v, high_voltage_s;
    enum routine_outcome high_voltage_outcome;
    struct quantity no_load_v, no_load_a, no_load_w;
    struct quantity locked_rotor_v, locked_rotor_a, locked_rotor_w;
    struct quantity proof_pa, proof_s;
    enum routine_outcome proof_outcome;
    size_t line;
};

struct bay {
    const char *folder;
    struct rig rig;
    size_t instrument_count, model_count, motor_count;
    struct instrument *instruments;
    struct model *models;
    struct motor *motors;
    size_t routine_count;
    struct routine *routines; /* as they stand in routine.csv; routine_of chooses */
    struct grade_book grades;
    struct label_book labels;
    const char *labels_path; /* the bay's labels.csv; NULL when it has none */
    const char *builtin;     /* a line "NAME tab sha256 tab DIGITS" for each table that is built in */
    struct kept_tables kept; /* its tables, but for grades.csv and labels.csv, which their books keep */
    struct notes notes;      /* of reading it: columns that are not used, ... */
};

/* The nearest folder at or above the log's that holds rig.csv.
 * Returns: the folder in the arena; NULL when there is none (or memory is out). */
const char *bay_find(const char *log_path, struct arena *arena);

/* Reads a bay. All faults of all its tables are collected in one run.
 * Status: E_INPUT, E_FILE (rig.csv or models.csv cannot be read; the other tables are optional), E_MEMORY. */
enum status bay_read(const char *folder, struct arena *arena, struct bay *bay, struct faults *faults);

/* By name, folded. Returns: NULL when there is none. */
const struct model *bay_model(const struct bay *bay, const char *name);

/* The instrument of a channel; a row for `voltage` or `current` stands for its three phases too, unless they have their
 * own. Returns: NULL when instruments.csv does not list one. */
const struct instrument *bay_instrument(const struct bay *bay, enum channel channel);

/* Accuracy limit of an instrument at a corrected reading, in SI: half-width of a rectangular error, or the k = 2
 * expanded uncertainty of a normal one. ratio: the transformer ratio of the channel. Absent when no accuracy is stated
 * (or it is of a range that is not stated). Source: JCGM 100:2008, 4.3.7 and 4.3.3. */
struct quantity instrument_limit(const struct instrument *instrument, double reading_si, double ratio);

/* Accuracy limit at zero, where one of the reading vanishes: then it is taken of the range. Absent as instrument_limit.
 */
struct quantity instrument_zero_limit(const struct instrument *instrument, double ratio);

/* The instrument transformers' ratio that a channel's readings carry; 1 where there is none. Energy meters count
 * revolutions: their power is scaled where it is reduced. */
double channel_ratio(const struct rig *rig, enum channel channel);

#endif
