/* reference_curves.h - curves.csv: what is known of good units of a model
 *
 * A row is a node of the model's mean curves at rated speed, by flow. Units of a model differ in a few independent ways
 * (level, slope, power with head, ...): `head spread 1`, `input power spread 1` and `current spread 1` state one of
 * them, one standard deviation large, at each node; `… 2` the next. The covariance of any two readings is the sum of
 * the products of their spreads. Written by hand or by `dutyproof learn`.
 */
#ifndef TABLES_REFERENCE_CURVES_H
#define TABLES_REFERENCE_CURVES_H

#include "base/arena.h"
#include "base/notes.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/table.h"

enum { REFERENCE_NODES_MAX = 7, REFERENCE_NODES_MIN = 3, REFERENCE_SPREADS_MAX = 6 };

enum curve_of { GOOD_HEAD, GOOD_POWER, GOOD_CURRENT, CURVES };

/* Values at the nodes, in m, W and A. */
struct reference_values {
    double of[CURVES][REFERENCE_NODES_MAX];
};

struct reference_curves {
    const char *model;
    struct quantity stages; /* absent: of whatever stage count the model has */
    double units;           /* good units behind it */
    size_t node_count;
    double flow_m3s[REFERENCE_NODES_MAX]; /* rising */
    bool known[CURVES];                   /* head always is */
    struct reference_values mean;
    size_t spread_count;
    struct reference_values spread[REFERENCE_SPREADS_MAX];
};

struct reference_book {
    size_t count;
    struct reference_curves *items; /* in the arena */
    struct kept_tables kept;
};

/* Reads curves.csv. Rows of one model and stage count stand together and rise with flow; a quantity is stated at all of
 * its nodes or at none. Faults of all rows are collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status reference_book_read(const char *path, struct arena *arena, struct reference_book *book, struct notes *notes,
                                struct faults *faults);

/* Of a model (by name, folded) with that stage count, or of the model where curves.csv states no stages. Returns: NULL
 * when there is none. */
const struct reference_curves *reference_find(const struct reference_book *book, const char *model,
                                              struct quantity stages);

/* Writes curves.csv: heading and rows of all. Returns: false when a write fails. */
bool reference_book_write(const struct reference_book *book, FILE *to);

#endif
