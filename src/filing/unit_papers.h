/* unit_papers.h - the papers of a unit, written under OUT/SERIAL/
 */
#ifndef DUTYPROOF_FILING_UNIT_PAPERS_H
#define DUTYPROOF_FILING_UNIT_PAPERS_H

#include "filing/ledger.h"
#include "filing/unit_folder.h"
#include "papers/press.h"
#include "run/result.h"

/* Where the papers of a test went; the texts live in the arena. */
struct papers {
    const char *folder;  /* OUT/SERIAL, or a folder in its earlier/ */
    const char *kept;    /* where what stood in front before was moved to; NULL: nothing had to be */
    bool later_in_front; /* a later test stands in front, and stays there */
    struct issue issue;  /* which revision they are */
};

struct papers_order {
    const struct result *result;
    struct ledger *ledger; /* the bay's register; NULL: the papers say no revision, and nothing is entered */
    bool superseded;       /* a later test counts */
    struct press *press;   /* without gnuplot: no sheet.pdf, no sheet.html */
};

/* Renders the papers - points.csv, curves.dat, curves.gp, sheet.txt, sheet.pdf, sheet.html and result.json - and stages
 * them; entry: for ledger_enter, empty without a ledger. The result may go once they are staged. Status: E_FILE,
 * E_CHILD (all but what is drawn is staged), E_MEMORY.
 */
enum status papers_stage(const struct papers_order *order, struct unit_folder *unit, struct ledger_entry *entry,
                         struct faults *faults);

/* True when all these papers stand already, where they belong: each is compared with what would be written, those that
 * are drawn with the digests that the register has of them. entry is filled as by papers_stage. Status: E_FILE,
 * E_MEMORY. */
enum status papers_stand(const struct papers_order *order, const struct unit_folder *unit, struct ledger_entry *entry,
                         bool *stand, struct faults *faults);

/* Seals what the papers that are plain text would be, but for the result document; nothing is written. Status:
 * E_MEMORY. */
enum status papers_texts(const struct result *result, struct arena *arena, struct seal *seal);

/* All of it for one test. Papers that stand already are left alone; what they replace is kept in earlier/. Status:
 * E_INPUT, E_FILE: nothing is written; E_CHILD: all but what is drawn is; E_MEMORY. */
enum status papers_write(const struct papers_order *order, struct out *out, struct arena *arena, struct papers *papers,
                         struct faults *faults);

#endif
