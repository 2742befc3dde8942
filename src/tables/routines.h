/* routines.h - routine results by serial
 */
#ifndef DUTYPROOF_ROUTINES_H
#define DUTYPROOF_ROUTINES_H

#include "base/arena.h"
#include "base/date.h"
#include "base/quantity.h"
#include "base/status.h"

struct bay;

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

/* Reads routine.csv into a bay; every fault of the table is collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status routines_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

#endif
