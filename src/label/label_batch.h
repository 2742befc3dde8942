/* label_batch.h - where the units of one model stand together against the classes of their scheme
 */
#ifndef DUTYPROOF_LABEL_BATCH_H
#define DUTYPROOF_LABEL_BATCH_H

#include "label/label.h"
#include "tables/bay.h"

/* One unit of a batch. */
struct label_unit {
    const char *serial, *file;
    const struct model *model; /* NULL: not reduced, trouble says why */
    const char *trouble;
    struct date tested;
    bool superseded;             /* a later test of this serial counts */
    struct label_result label;   /* as measured */
    struct label_result changed; /* what if; scheme NULL where nothing was asked */
};

/* How many units stand in a class. */
struct label_tally {
    const char *class_name;
    double edge;
    size_t earn, hold;   /* exactly this class; this or a better one */
    size_t changed_hold; /* after the change asked for */
};

/* The units of one model under one revision of its scheme. */
struct label_line {
    const struct model *model;
    const struct label_result *typical; /* the label of its first unit: scheme, source, period, notes */
    size_t count;                       /* units with an index that count */
    size_t *units;                      /* their numbers in the batch */
    size_t none, changed_none;          /* hold no class */
    size_t undecided;
    size_t tally_count;
    struct label_tally *tallies;     /* from the least demanding class to the best */
    struct quantity mean, deviation; /* of the index; deviation from two units on */
    struct quantity changed_mean;
    const char *mean_class;
    struct quantity mean_efficiency;
    struct quantity confidence_limit; /* one-sided 95 % limit of the true mean, on the worse side */
    struct quantity represented;      /* sampling rule; from two units on */
    const char *represented_class;
    const char *next_class;           /* above that of the mean; NULL at the top */
    struct quantity tolerance_factor; /* k: 95 % of units, with 95 % confidence */
    struct quantity line_index,
        line_efficiency;          /* mean that the line must reach for 95 % of its units to hold next_class */
    struct quantity line_missing; /* efficiency, fraction, from mean_efficiency to line_efficiency */
};

struct label_batch {
    size_t unit_count, line_count;
    struct label_unit *units;
    struct label_line *lines;
    bool changed; /* a change was asked for */
    struct label_change change;
    struct quantity hours; /* a year, for kWh; absent: not stated */
};

/* Groups the units into lines, in the order of their first units, and finds each line's figures. Units without an index
 * are in no line. Status: E_MEMORY. */
enum status label_batch_find(struct label_batch *batch, struct arena *arena);

/* Of a serial that occurs more than once, all but the latest test (of one day: the later in the list) are superseded.
 * Returns: how many were. */
size_t label_batch_supersede(struct label_batch *batch);

/* Represented value of a sample of n >= 2: less_is_better: max(mean, UCL95 / 1.05), the sampling rule of 10 CFR 429.59
 * for the US index; else its mirror min(mean, LCL95 / 0.95). *limit: the one-sided 95 % limit mean +- t(0.95, n - 1) s
 * / sqrt(n). */
double label_represented(double mean, double deviation, size_t n, bool less_is_better, double *limit);

/* One-sided tolerance factor k of a normal sample of n >= 2: with the confidence given, mean - k s lies below a share
 * `coverage` of the units. k = t'(confidence; n - 1, z sqrt(n)) / sqrt(n), t' the quantile of the noncentral Student
 * distribution. Source: ISO 16269-6:2014, one-sided interval, unknown variance (from memory, confirm). Both in (0.5,
 * 1). */
double tolerance_factor(size_t n, double coverage, double confidence);

#endif
