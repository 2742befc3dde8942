/* seal.h - the list of the papers in a folder with their SHA-256, papers.sha256, in the form that sha256sum reads
 *
 * A line a paper, sorted by name: 64 digits, two spaces, the name. A line `# bay FOLDER` above them may say in whose
 * register they stand.
 */
#ifndef DUTYPROOF_FILING_SEAL_H
#define DUTYPROOF_FILING_SEAL_H

#include "base/arena.h"
#include "base/status.h"

#define SEAL_NAME "papers.sha256"

struct sealed_paper {
    const char *name;
    char sha256[65];
};

/* {0} is ready to use; everything lives in the arena. */
struct seal {
    const char *bay; /* NULL: not said */
    size_t count;
    struct sealed_paper *papers; /* sorted by name, each once */
};

/* Adds a paper. Status: E_MEMORY. */
enum status seal_add(struct seal *seal, struct arena *arena, const char *name, const char sha256[65]);

/* The seal as text. Returns: NULL when memory is out. */
const char *seal_text(const struct seal *seal, struct arena *arena);

/* A name for these papers that no others have: SHA-256 over the lines of the papers. Status: E_MEMORY. */
enum status seal_digest(const struct seal *seal, char hex[65]);

/* Reads the seal in an open folder. Returns: false when there is none, it is no seal, names a paper twice or outside
 * the folder. */
bool seal_read(int folder, struct arena *arena, struct seal *seal);

/* The papers of a seal's text; what is no line of a paper is passed over. Status: E_MEMORY. */
enum status seal_parse(const char *text, struct arena *arena, struct seal *seal);

/* Seals what an open folder holds: each plain file in it but the seal and hidden ones. A link is no paper. Returns:
 * false with errno set. */
bool seal_of(int folder, struct arena *arena, struct seal *seal);

/* True when both list the same papers with the same digests. */
bool seal_same(const struct seal *a, const struct seal *b);

#endif
