/* chain.h - walking the register: is every row as it was written, and is none missing
 */
#ifndef DUTYPROOF_REGISTER_CHAIN_H
#define DUTYPROOF_REGISTER_CHAIN_H

#include "register/register.h"

enum { BREAK_TEXT = 300 };

/* The first row that is not as it was written. */
struct register_break {
    bool broken;
    const char *chain; /* "judgement" or "papers"; static */
    long long id;
    char since[32];        /* when the last row before it was added: it was whole until then; "" for the first row */
    char text[BREAK_TEXT]; /* in words */
};

/* Walks both chains and the texts that they name, from the first row to the last. rows: of the judgements that were
 * walked. Nobody who can write the file and knows this program can be kept from making a whole new chain: papers, whose
 * digests the register holds and which lie elsewhere, then no longer agree with it. Status: E_FILE, E_MEMORY: it could
 * not be walked. A break is no such status. */
enum status register_check(struct bay_register *bay_register, struct register_break *found, long long *rows,
                           struct faults *faults);

#endif
