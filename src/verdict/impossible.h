/* impossible.h - readings that no such set can give, and readings that are doubtful, by the bay's plausible limits
 *
 * A test that holds an impossible reading is not judged: neither pass nor fail can be said of a record that is wrong.
 */
#ifndef DUTYPROOF_IMPOSSIBLE_H
#define DUTYPROOF_IMPOSSIBLE_H

#include "physics/chain.h"
#include "settle/settle.h"

/* A value beyond a limit. Both in SI, a power factor and a share as they are. */
struct odd_value {
    enum plausible_item item;
    enum channel channel; /* of PLAUSIBLE_INSTRUMENT; CHANNEL_COUNT otherwise */
    enum dimension dimension;
    int point;   /* 0: of the curve */
    size_t line; /* of the log, where the point begins; 0: of the curve */
    double value, limit;
    bool above; /* the limit; else below */
};

/* In the order of the points, those of the curve last. */
struct odd_values {
    size_t count;
    struct odd_value *items;
};

/* Everything that a test's points and curves say beyond the limits of plausible.csv, impossible and doubtful; a value
 * that is impossible is not doubtful too. Points that are not steady are not asked. chain: has been run. sheet:
 * readings stand each for itself, so that single ones are held to their instrument's range; else their mean. A limit
 * relative to something that the model does not state is none. Status: E_MEMORY. Source: common practice, no source
 * (the limits). */
enum status impossible_find(const struct chain *chain, const struct settled *settled, struct arena *arena,
                            struct odd_values *impossible, struct odd_values *doubtful);

/* True when there is an impossible value: the same, without naming any. */
bool impossible_any(const struct chain *chain, const struct settled *settled);

#endif
