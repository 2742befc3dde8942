/* ledger.h - the register's side of the papers: what each was made from is entered before they stand, and their digests
 * once they do
 *
 *     ledger_open -> for each test: ledger_look (which revision is it?) -> papers are made ->
 *     ledger_enter (one group, before the papers are placed) -> they are placed -> ledger_papers (one group) ->
 * ledger_close
 *
 * A result that the register has as the newest of its log is no new row. Papers of a unit that the register does not
 * know - made before there was one, or the register was lost - are entered first, and their rows say so. Calls may come
 * from several threads.
 */
#ifndef DUTYPROOF_FILING_LEDGER_H
#define DUTYPROOF_FILING_LEDGER_H

#include "filing/unit_folder.h"
#include "register/register.h"
#include "run/result.h"

#include <pthread.h>

struct ledger {
    struct bay_register *book;
    const struct bay *bay;
    const char *bay_path; /* without links */
    struct arena arena;
    pthread_mutex_t lock;
    bool open;
};

/* One test on its way into the register. Everything lives in the arena that ledger_look was given. */
struct ledger_entry {
    struct judgement_order order;
    struct issue issue; /* what its papers say of themselves */
    long long known;    /* the judgement that is this very result; 0: a new one */
    long long before;   /* the newest judgement of the log when it was looked up; 0: none */
};

/* Opens the register of a bay, and enters what of the bay's papers stand in OUT when it was not there before. The bay
 * is borrowed. out_path may be NULL. Status: E_FILE, E_MEMORY: nothing may be written. */
enum status ledger_open(const struct bay *bay, const char *out_path, struct ledger *ledger, struct faults *faults);

/* The way from OUT to the bay, for the seal of its papers; it stays true when both move together. *way NULL: it does
 * not go on one line. Status: E_FILE, E_MEMORY. */
enum status ledger_bay(const struct ledger *ledger, const char *out_path, struct arena *arena, const char **way,
                       struct faults *faults);

/* One that was not opened ({0}) is fine. */
void ledger_close(struct ledger *ledger);

/* Which revision a result is. document: its result document; unit: its folder, open and locked. Status: E_FILE,
 * E_MEMORY. */
enum status ledger_look(struct ledger *ledger, const struct result *result, const char *document, size_t length,
                        const struct unit_folder *unit, struct arena *arena, struct ledger_entry *entry,
                        struct faults *faults);

/* Enters what is new, as one group. Status: E_FILE (also when another program has judged one of these logs since it was
 * looked up), E_MEMORY: nothing of it is entered. */
enum status ledger_enter(struct ledger *ledger, struct ledger_entry *const *entries, size_t count,
                         struct faults *faults);

/* The digest that the register has of a paper of a judgement, of its newest papers. Status: E_FILE, E_MEMORY. */
enum status ledger_digest(struct ledger *ledger, long long judgement, const char *paper, char hex[65], bool *found,
                          struct faults *faults);

/* What the papers of a judgement say of themselves; texts in the arena, or of the row. Status: E_FILE, E_MEMORY. */
enum status ledger_issue(struct bay_register *book, const struct judgement *row, struct arena *arena,
                         struct issue *issue, struct faults *faults);

/* Where the papers of a test stand, and their digests. */
struct ledger_placed {
    const char *folder;
    const struct seal *seal;
};

/* Enters the papers that stand now, unless the register has them so already; whose they are, their result document
 * tells. Papers that it does not know are passed over. Status: E_FILE, E_MEMORY. */
enum status ledger_papers(struct ledger *ledger, const struct ledger_placed *placed, size_t count,
                          struct faults *faults);

#endif
