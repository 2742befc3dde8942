/* label_book.h - label schemes: their classes, constants and scopes, read from tables
 *
 * The built-in tables are reference/label_star.csv, label_eu.csv, label_us.csv and label_scope.csv. A bay's own
 * labels.csv holds rows of any of them in the same form; what it states replaces the built-in rows of the same scheme
 * and revision, type and speed, or type.
 */
#ifndef DUTYPROOF_LABEL_BOOK_H
#define DUTYPROOF_LABEL_BOOK_H

#include "base/arena.h"
#include "base/date.h"
#include "base/quantity.h"
#include "base/status.h"
#include "tables/table.h"

/* What an index earns under one revision of a scheme. An index on an edge belongs to the better class. */
struct label_class {
    const char *scheme, *revision, *name; /* name: "4 star" */
    struct date from, to;                 /* of the revision; unknown: open */
    struct quantity at_least, below;      /* more is better; below absent: open */
    struct quantity at_most;              /* less is better */
    const char *source;
    bool from_bay;
};

/* A constant C of an efficiency surface. */
struct label_constant {
    const char *scheme, *type;
    double speed_rpm;                     /* nominal */
    double speed_low_rpm, speed_high_rpm; /* rated speeds that are translated to it */
    struct quantity index;                /* the index that this C gives; absent where a scheme has one C only */
    double c;
    const char *source;
    bool from_bay;
};

/* To which sets a scheme applies; absent: not limited. */
struct label_scope {
    const char *scheme, *type; /* type "": every one of the scheme */
    struct quantity phases, poles, power_low_w, power_high_w;
    struct quantity bore_m, other_bore_m, bore_high_m, stages_low;
    struct quantity flow_low_m3s, head_high_m; /* at best efficiency and nominal speed */
    const char *source;
    bool from_bay;
};

/* The full-load efficiency that a scheme prescribes for a motor of a rating. */
struct label_motor {
    const char *scheme;
    double rated_power_w, efficiency;
    const char *source;
    bool from_bay;
};

struct label_book {
    size_t class_count, constant_count, scope_count, motor_count;
    struct label_class *classes; /* those of one revision are neighbours, from the least demanding to the best */
    struct label_constant *constants;
    struct label_scope *scopes;
    struct label_motor *motors;
    struct kept_tables kept; /* the bay's own, when it has one */
};

/* The classes of one revision, from the least demanding to the best. */
struct label_ladder {
    const struct label_class *classes;
    size_t count; /* 0: no revision had begun */
    bool ended;   /* the day lies after the revision's time */
};

/* Reads the built-in tables, then (unless NULL) the bay's labels.csv on top.
 * Status: E_INPUT a bad table: also classes of a revision that overlap, leave a gap or do not rise; E_FILE; E_MEMORY.
 */
enum status label_book_read(const char *bay_labels_path, struct arena *arena, struct label_book *book,
                            struct faults *faults);

/* The last revision of a scheme that had begun on a day; of an unknown day: the last. */
struct label_ladder label_ladder_of(const struct label_book *book, const char *scheme, const struct date *day);

/* How many classes of a ladder an index holds; 0: none. An edge is held whatever the arithmetic's last bit (to 1e-9).
 */
size_t label_rungs_held(const struct label_ladder *ladder, double index);

/* The edge of a class. */
double label_edge(const struct label_class *class);

/* True when a source still has to be confirmed: it is from memory. */
bool label_source_unsure(const char *source);

#endif
