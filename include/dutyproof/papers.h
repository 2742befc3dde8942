/* papers.h - the papers of a unit, written under OUT/SERIAL/
 */
#ifndef DUTYPROOF_PAPERS_H
#define DUTYPROOF_PAPERS_H

#include "dutyproof/gnuplot.h"
#include "dutyproof/result.h"

/* Writes result.json, points.csv, sheet.txt, sheet.pdf, curves.gp and curves.dat into OUT/SERIAL/. gnuplot is a running process whose
 * working folder is `scratch`. folder (in the arena) names where they went.
 * Status: E_FILE, E_CHILD, E_MEMORY; files that were finished before the fault are whole. */
enum status papers_write(const struct result *result, const char *out, struct gnuplot *gnuplot, const char *scratch,
                         struct arena *arena, const char **folder, struct faults *faults);

#endif
