/* verify.h - are papers what log and tables give, and what they were when they were judged?
 *
 * Papers are held against the register (each paper's digest, the chain of rows), and recomputed: the log is read and
 * reduced again with the tables of the day, which the register has, and what can be printed without drawing is compared
 * byte for byte. The papers in front are recomputed with the tables as they are now, too. Where tables, log or program
 * have changed since, that is said, cell by cell.
 */
#ifndef DUTYPROOF_FILING_VERIFY_H
#define DUTYPROOF_FILING_VERIFY_H

#include "base/arena.h"
#include "base/status.h"

/* The worse of two is the greater. */
enum verified {
    VERIFIED_SAME,    /* all as recomputed */
    VERIFIED_DIFFERS, /* something differs or is missing, and is named */
    VERIFIED_NOT,     /* it cannot be verified, and why is told */
};

struct verify_order {
    const char *const
        *bays; /* where the registers are; none: found by the papers' seal, or by the folder they lie in */
    size_t bay_count;
    const char *log; /* the log, where it lies elsewhere than the register says; NULL: there */
    /* Hears of each set of papers, register or thing that is found. where: a path. text: a line or several. */
    void (*tell)(void *listener, enum verified outcome, const char *where, const char *text);
    void *listener;
};

/* Verifies a paper, a unit's folder, an OUT folder, a bay or a register. What cannot be verified for a reason that
 * concerns it alone is told, not returned. Status: E_MEMORY. */
enum status verify_path(const struct verify_order *order, const char *path, enum verified *outcome,
                        struct faults *faults);

#endif
