/* unit_folder.h - the papers of a unit change as one folder, under one lock
 *
 *     open (locked; what stood before) -> begin a test, stage its papers, ... -> settle -> place -> close
 *
 * Nothing of what stands is touched before place. There the whole new folder takes the name of the old one at once:
 * what stood is in its earlier/ by then. A caller that keeps a record of its own writes what belongs to the new papers
 * between settle and place, and what needs them to stand after place.
 *
 * OUT/NAME/ holds the papers of the test that counts, OUT/NAME/earlier/DATE-DIGITS/ those of each other one: of tests
 * before it and of its own earlier versions, called by the day of the test and 16 digits of the papers' digest
 * (altered-DATE-DIGITS when they are not as they were sealed). What else a person puts into OUT/NAME stays there.
 * A unit's folder, or its earlier/, that is a link is refused.
 *
 * Status of all functions: E_INPUT: this unit's folder is at fault, others may still be written; E_FILE: nothing can be
 * written; E_MEMORY.
 */
#ifndef DUTYPROOF_FILING_UNIT_FOLDER_H
#define DUTYPROOF_FILING_UNIT_FOLDER_H

#include "base/date.h"
#include "filing/out.h"
#include "filing/seal.h"

/* A test whose papers are staged. Texts are borrowed until the unit is closed. */
struct unit_test {
    const char *log_sha256;
    struct date tested;
    const char *bay; /* in whose register they stand, for their seal; NULL: not said */
    bool superseded; /* its papers go to earlier/ whatever stands */
};

/* One set of papers, staged. */
struct unit_set {
    struct unit_test test;
    struct seal seal;
    const char *staged; /* path from OUT */
    const char *folder; /* where they are once placed, OUT/NAME or below; known after settle */
};

/* What stood when the unit was opened. */
struct unit_before {
    bool there;   /* there is a folder */
    bool owned;   /* with a result document */
    bool sealed;  /* and a seal */
    bool altered; /* some paper is not as sealed */
    const char *serial, *log_sha256;
    struct date tested;
    struct seal said, actual; /* as sealed; as they are */
};

struct unit_folder {
    struct out *out;
    const char *serial, *name;
    const char *path; /* OUT/NAME */
    struct unit_before before;
    size_t set_count;
    struct unit_set *sets;
    /* After settle: */
    bool changed;        /* false: all these papers stand already, and place does nothing */
    bool later_in_front; /* a later test stands in front, and stays there */
    const char *kept;    /* where what stood before is kept; NULL: it needs no keeping */
    const char *staged;  /* the new folder, a path from OUT */
    size_t seen_count;
    const char **seen;  /* what lay in the folder, all of it brought */
    const char *locked; /* the name whose lock is held */
    struct arena *arena;
};

/* Opens the unit of a serial under its lock; finishes a change that was cut short. name: the folder's name where the
 * caller has chosen it (unit_name.h) for the serials of a list; it gives way when the folder is another serial's. NULL:
 * chosen here. All lives in the arena. */
enum status unit_folder_open(struct out *out, const char *serial, const char *name, struct arena *arena,
                             struct unit_folder *unit, struct faults *faults);

/* True when just these papers of a test stand where they belong: in front, or in earlier/. */
bool unit_folder_holds(const struct unit_folder *unit, const struct unit_test *test, const struct seal *seal);

/* Begins a further test; the last one that is not superseded stands in front, unless a later test, by date and time,
 * of another log stands there already. */
enum status unit_folder_begin(struct unit_folder *unit, const struct unit_test *test, struct faults *faults);

/* Drops the test that was begun last, with what is staged of it. */
void unit_folder_drop(struct unit_folder *unit);

/* Stages a paper of the test that was begun last. */
enum status unit_folder_stage(struct unit_folder *unit, const char *name, const void *bytes, size_t length,
                              struct faults *faults);

/* Seals the staged papers and makes the new folder ready: the earlier papers are in it. */
enum status unit_folder_settle(struct unit_folder *unit, struct faults *faults);

/* Places settled units, synced together. Those before the one that fails are placed. */
enum status unit_folders_place(struct unit_folder *units, size_t count, struct faults *faults);

/* Gives up the lock; what was not placed is dropped. One that was not opened ({0}) is fine. */
void unit_folder_close(struct unit_folder *unit);

#endif
