/* papers.h - the papers of a unit, written under OUT/SERIAL/
 */
#ifndef DUTYPROOF_PAPERS_H
#define DUTYPROOF_PAPERS_H

#include "dutyproof/gnuplot.h"
#include "dutyproof/result.h"

/* Where the papers went; the texts live in the arena. */
struct papers {
    const char *folder; /* OUT/SERIAL */
    const char
        *kept; /* the folder that papers of an earlier run on another log were moved to; NULL when there were none */
};

/* Writes points.csv, curves.dat, curves.gp, sheet.txt, sheet.pdf and, last, result.json into OUT/SERIAL/: a result.json
 * says that all that belongs to it is there. scratch is the working folder of gnuplot, on the file system of out
 * (scratch_make). gnuplot NULL: no sheet.pdf is drawn, and one that an earlier run left is removed.
 *
 * Nothing is overwritten but papers of the very same log (told by its SHA-256). Papers of another log of the same
 * serial - a retest - are first moved to OUT/SERIAL/earlier-XXXXXXXX, the first digits of their log's SHA-256; a move
 * that was cut short is taken up by the next run. Papers of another serial, and a result.json that is not ours, are a
 * fault. Status: E_FILE, E_CHILD (all but sheet.pdf is written), E_MEMORY; files that were finished before the fault
 * are whole. */
enum status papers_write(const struct result *result, const char *out, struct gnuplot *gnuplot, const char *scratch,
                         struct arena *arena, struct papers *papers, struct faults *faults);

#endif
