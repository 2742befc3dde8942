/* papers.h - the papers of a unit, written under OUT/SERIAL/
 */
#ifndef DUTYPROOF_PAPERS_H
#define DUTYPROOF_PAPERS_H

#include "papers/press.h"
#include "run/result.h"

/* Papers on their way, and where they went; the texts live in the arena. */
struct papers {
    const char *folder; /* OUT/SERIAL */
    const char *kept;   /* where papers of an earlier run on another log were moved to; NULL when there were none */
    const char *serial, *scratch;
    char sha256[65]; /* of the log */
    size_t number;
    bool drawn, sealed;
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
enum status papers_write(const struct result *result, const char *out, struct press *press, const char *scratch,
                         struct arena *arena, struct papers *papers, struct faults *faults);

/* --- the same in steps, for many units at once --- */

struct papers_order {
    const struct result *result;
    const char *folder;  /* where the papers go */
    const char *inputs;  /* SHA-256 over all that they are made from: they are sealed with it; NULL: not sealed */
    struct press *press; /* without gnuplot: no sheet.pdf, no sheet.html */
    const char *scratch; /* working folder of gnuplot, on the file system of folder */
    size_t number;       /* tells units apart that are staged in one scratch folder */
};

/* The folder of a serial under out, not made yet: one that no other serial shares. Status: E_MEMORY. */
enum status papers_folder(const char *out, const char *serial, struct arena *arena, const char **folder,
                          struct faults *faults);

/* Renders the papers into the scratch folder, not synced. The result may go afterwards. Status: E_FILE, E_CHILD (all
 * but sheet.pdf is staged), E_MEMORY. */
enum status papers_stage(const struct papers_order *order, struct arena *arena, struct papers *papers,
                         struct faults *faults);

/* Moves staged papers that are synced into their folder, all but result.json and the seal; papers_seal moves these,
 * once files_sync has made the others last. The seal, papers.sha256, lists the papers with their SHA-256. Status:
 * E_FILE, E_MEMORY. */
enum status papers_publish(struct papers *papers, struct arena *arena, struct faults *faults);
enum status papers_seal(struct papers *papers, struct arena *arena, struct faults *faults);

/* True when a folder holds all papers, each as it was sealed, made from the same inputs. */
bool papers_whole(const char *folder, const char *inputs);

/* Reads a PDF that gnuplot has drawn and sets its creation date to a date (2000-01-01 when that is not known), so that
 * the same inputs give the same bytes; the bytes live in the arena. Status: E_CHILD (there is none), E_FILE (also when
 * it is cut short), E_MEMORY. */
enum status pdf_finish(const char *path, const struct date *date, struct arena *arena, char **bytes, size_t *length,
                       struct faults *faults);

#endif
