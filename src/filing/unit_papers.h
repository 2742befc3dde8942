/* unit_papers.h - the papers of a unit, written under OUT/SERIAL/
 */
#ifndef DUTYPROOF_FILING_UNIT_PAPERS_H
#define DUTYPROOF_FILING_UNIT_PAPERS_H

#include "filing/unit_folder.h"
#include "papers/press.h"
#include "run/result.h"

/* Where the papers of a test went; the texts live in the arena. */
struct papers {
    const char *folder;  /* OUT/SERIAL, or a folder in its earlier/ */
    const char *kept;    /* where what stood in front before was moved to; NULL: nothing had to be */
    bool later_in_front; /* a later test stands in front, and stays there */
};

struct papers_order {
    const struct result *result;
    const char *inputs;  /* fingerprint of all that they are made from, for the seal; NULL: not said */
    bool superseded;     /* a later test counts */
    struct press *press; /* without gnuplot: no sheet.pdf, no sheet.html */
};

/* The test that a result is of. Its texts are those of the order. */
struct unit_test papers_test(const struct papers_order *order);

/* Renders the papers - points.csv, curves.dat, curves.gp, sheet.txt, sheet.pdf, sheet.html and result.json - and stages
 * them. The result may go once the unit is closed. Status: E_FILE, E_CHILD (all but what is drawn is staged), E_MEMORY.
 */
enum status papers_stage(const struct papers_order *order, struct unit_folder *unit, struct faults *faults);

/* All of it for one test. Papers that stand already are left alone; what they replace is kept in earlier/. Status:
 * E_INPUT, E_FILE: nothing is written; E_CHILD: all but what is drawn is; E_MEMORY. */
enum status papers_write(const struct papers_order *order, struct out *out, struct arena *arena, struct papers *papers,
                         struct faults *faults);

#endif
