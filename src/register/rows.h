/* rows.h - a row of the register as a struct, and its digest (inside src/register/ only)
 */
#ifndef DUTYPROOF_REGISTER_ROWS_H
#define DUTYPROOF_REGISTER_ROWS_H

#include "register/sql.h"

/* The columns in the order in which row_judgement reads them; for SELECT. */
#define JUDGEMENT_COLUMNS                                                                                              \
    "id, at, who, origin, serial, model, ordered, tested, log, log_sha256, tables, program, libraries, verdict, "      \
    "figures, "                                                                                                        \
    "result_sha256, revision, changes, previous, digest"
#define PAPERS_COLUMNS "id, judgement, at, folder, files, previous, digest"

/* The row that a query stands at; texts in the arena. A failure shows at query_end. */
struct judgement row_judgement(struct query *query, struct arena *arena);
struct judgement_papers row_papers(struct query *query, struct arena *arena);

/* The digest of a row: SHA-256 over its columns but for `digest`, each "NAME=LENGTH:VALUE," in the order above. A blank
 * takes no part, so that a column that a later schema adds leaves older digests alone. Status: E_MEMORY. */
enum status row_digest_judgement(const struct judgement *judgement, char hex[65]);
enum status row_digest_papers(const struct judgement_papers *papers, char hex[65]);

#endif
