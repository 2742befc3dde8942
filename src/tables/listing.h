/* listing.h - what a table of a bay may hold, told from the lists that its reader uses
 */
#ifndef DUTYPROOF_LISTING_H
#define DUTYPROOF_LISTING_H

#include "base/arena.h"
#include "tables/table.h"

struct word;

/* What a reader says of a column beside its name and dimension. */
struct table_help {
    const char *about;        /* what it is for */
    const char *otherwise;    /* what is taken when it is not stated; NULL: nothing, it is absent */
    const struct word *words; /* what it may say; NULL: any text or number */
};

/* A table as its reader knows it. help: one a field. */
struct table_form {
    const char *name;  /* "models" */
    const char *about; /* in one line */
    const struct table_field *fields;
    const struct table_help *help;
    size_t count;
};

/* One heading of a table, item of rig.csv or channel of a log. Texts live in the arena; "" when there is none. */
struct listing_row {
    const char *name;
    const char *takes; /* units, words, or "text" */
    const char *aliases;
    const char *otherwise;
    const char *about;
    bool required;
};

/* {0} is ready to use. */
struct listing {
    const char *name, *about;
    size_t count;
    struct listing_row *rows;
};

/* The columns of a form. Status: E_MEMORY. */
enum status listing_of_form(const struct table_form *form, struct arena *arena, struct listing *listing);

/* The items of rig.csv, and the channels of a log. Status: E_MEMORY. */
enum status listing_of_rig(struct arena *arena, struct listing *listing);
enum status listing_of_log(struct arena *arena, struct listing *listing);

/* Adds a row: dimension and words say what it takes. Status: E_MEMORY. */
enum status listing_add(struct listing *listing, struct arena *arena, const char *name, enum dimension dimension,
                        const struct table_help *help, bool required);

#endif
