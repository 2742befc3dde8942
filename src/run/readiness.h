/* readiness.h - what is understood of a bay before a log is read: what each model will be checked for, what is still to
 * fill
 */
#ifndef DUTYPROOF_READINESS_H
#define DUTYPROOF_READINESS_H

#include "tables/bay.h"

enum ready_kind {
    READY_UNDERSTOOD, /* how flow, head, power and speed will be found */
    READY_CHECKED,    /* a check that will be made of a model */
    READY_UNCHECKED,  /* one that will not, and why */
    READY_TO_FILL,    /* what a table still lacks for any verdict */
};

/* model NULL: of the whole bay. Texts live in the arena. */
struct ready_line {
    enum ready_kind kind;
    const char *model, *text;
};

/* {0} is ready to use. */
struct readiness {
    size_t count;
    struct ready_line *lines;
};

/* Tells what is understood of a bay that was read without a fault. Status: E_MEMORY. */
enum status readiness_find(const struct bay *bay, struct arena *arena, struct readiness *readiness);

/* How many lines are of a kind. */
size_t readiness_count(const struct readiness *readiness, enum ready_kind kind);

#endif
