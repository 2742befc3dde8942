/* cause_table.h - the causes that the bay knows: the built-in table, and the bay's own causes.csv on top
 *
 * A row says what a cause is called, which form its change has, how often it comes and what to check first. The forms
 * themselves (families) are functions of src/causes; here they are names.
 */
#ifndef TABLES_CAUSE_TABLE_H
#define TABLES_CAUSE_TABLE_H

#include "base/arena.h"
#include "base/notes.h"
#include "base/status.h"
#include "tables/table.h"

/* The forms, by the name that the table calls them. */
#define CAUSE_FAMILY_LIST(X)                                                                                           \
    X(STAGES, "stages")                                                                                                \
    X(REVERSED, "reversed")                                                                                            \
    X(LEAKAGE, "leakage")                                                                                              \
    X(RESTRICTION, "restriction")                                                                                      \
    X(FRICTION, "friction")                                                                                            \
    X(SCALE, "scale")                                                                                                  \
    X(SPEED, "speed")                                                                                                  \
    X(AIR, "air")                                                                                                      \
    X(SUPPLY, "supply")                                                                                                \
    X(HEAD_OFFSET, "head offset")                                                                                      \
    X(HEAD_FACTOR, "head factor")                                                                                      \
    X(FLOW_FACTOR, "flow factor")                                                                                      \
    X(CURRENT_RATIO, "current ratio")                                                                                  \
    X(VOLTAGE_RATIO, "voltage ratio")                                                                                  \
    X(WATTMETER, "wattmeter")                                                                                          \
    X(SIGN, "sign")                                                                                                    \
    X(NONE, "none")

enum cause_family {
#define X(name, text) FAMILY_##name,
    CAUSE_FAMILY_LIST(X)
#undef X
        FAMILY_COUNT
};

/* Where the fault lies; what is cheaper to look at comes first. */
enum cause_place { PLACE_RECORD, PLACE_SUPPLY, PLACE_RIG, PLACE_SET };

/* What the first check does to a person: the caution that its step carries. */
enum cause_caution { CAUTION_NONE, CAUTION_TERMINALS, CAUTION_OPEN, CAUTION_ROTATE };

enum { CAUSE_SEVERITIES_MAX = 8, CAUSES_MAX = 32 };

/* Severities from low to high, one sign; a single value where they are equal. */
struct severity_range {
    double low, high;
};

struct cause_row {
    const char *name;
    enum cause_family family;
    enum cause_place place;
    enum cause_caution caution;
    double prior;  /* probability before the curves are seen, fraction */
    double form;   /* how far the form can be off, as a fraction of its own change */
    bool discrete; /* told even where few good units are known */
    size_t range_count;
    struct severity_range ranges[CAUSE_SEVERITIES_MAX];                               /* the likelier first */
    const char *severity_means, *check_first, *told_by, *twins, *source, *confidence; /* never NULL */
};

struct cause_table {
    size_t count;
    struct cause_row rows[CAUSES_MAX];
    struct kept_tables kept; /* the bay's own, when it has one */
};

/* The built-in causes and, where path is not NULL, the bay's own on top: a known name changes what its row states, a
 * new name is a new cause (which then must state family, prior and check). The priors' sum must stay below one half.
 * Faults of all rows are collected. Status: E_INPUT, E_FILE, E_MEMORY. */
enum status cause_table_read(const char *path, struct arena *arena, struct cause_table *causes, struct notes *notes,
                             struct faults *faults);

/* By name, folded. Returns: NULL when there is none. */
const struct cause_row *cause_find(const struct cause_table *causes, const char *name);

#endif
