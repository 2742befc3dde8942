/* rig.h - the site, how flow and head are measured, and what the logger calls its columns
 */
#ifndef DUTYPROOF_RIG_H
#define DUTYPROOF_RIG_H

#include "base/arena.h"
#include "base/date.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/channel.h"

struct bay;

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

/* What a logger may tell of the unit in the lines above its headings. */
enum log_line { LOG_LINE_SERIAL, LOG_LINE_MODEL, LOG_LINE_TESTED, LOG_LINE_TESTER, LOG_LINE_COUNT };

/* rig.csv. Absent quantities were not stated. */
struct rig {
    const char *name;         /* "" when not stated */
    bool register_on_network; /* the works vouch for locks on the network file system that the bay lies on */
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
    size_t log_header_row; /* line of the headings in the logger's files, from 1; 0: not stated */
    enum date_order date_order;
    const char *log_lines[LOG_LINE_COUNT]; /* what stands before each in the lines above them; NULL: not stated */
    struct rig_column {
        const char *heading; /* as the logger writes it; NULL when not mapped */
        const char *unit;    /* "" when the heading itself carries it */
    } columns[CHANNEL_COUNT];
};

/* The instrument transformers' ratio that a channel's readings carry; 1 where there is none. Energy meters count
 * revolutions: their power is scaled where it is reduced. */
double channel_ratio(const struct rig *rig, enum channel channel);

/* "meter", "v notch", ... as rig.csv says it. */
const char *flow_method_name(enum flow_method method);

struct word;

/* What an item that is there may say. Returns: NULL when it is no list of words. */
const struct word *rig_words(const char *item);

/* Reads rig.csv into a bay; every fault of the table is collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status rig_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

#endif
