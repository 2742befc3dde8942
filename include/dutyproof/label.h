/* label.h - measured efficiency against the thresholds of a label scheme (stage 8)
 */
#ifndef DUTYPROOF_LABEL_H
#define DUTYPROOF_LABEL_H

#include "dutyproof/quantity.h"

#include <stdbool.h>

struct label_result {
    bool known;                /* false: scheme is NULL (no label asked for) or why says what is missing */
    const char *scheme;        /* NULL when the model names none */
    const char *why;           /* why there is no label though a scheme is named; NULL otherwise */
    const char *source;
    struct quantity measured;  /* efficiency that the index uses, fraction */
    struct quantity threshold; /* efficiency that the earned class needs, fraction */
    struct quantity index;     /* unrounded */
    const char *class_name;    /* "4 star", "none" */
    struct quantity to_next;   /* efficiency still missing to the next class, fraction; absent at the top */
};

#endif
