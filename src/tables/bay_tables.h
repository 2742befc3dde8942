/* bay_tables.h - the readers of a bay's tables (private to bay.c)
 *
 * Each reads one table of the bay, adds every fault that it finds and what it notes, and returns the status of its
 * table.
 */
#ifndef DUTYPROOF_BAY_TABLES_H
#define DUTYPROOF_BAY_TABLES_H

#include "tables/bay.h"
#include "tables/cells.h"

enum status rig_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);
enum status instruments_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);
enum status motors_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

enum status routines_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

/* Needs the motors and grades of the bay. */
enum status models_read(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

#endif
