/* find.h - what the register holds of a serial, an order, a model, a day, a verdict
 */
#ifndef DUTYPROOF_REGISTER_FIND_H
#define DUTYPROOF_REGISTER_FIND_H

#include "register/register.h"

/* What is asked: words, each of which is a day ("2026-03-12"; "2026-03", "2026"), a verdict ("pass", "fail", "not
 * judged", "void"), a serial, an order or a model, whichever of these the register has, in this order; a word that is
 * none of them may be the beginning of a serial, or of an order. Letters' case does not matter. Words of one kind are
 * alternatives; of different kinds all must hold. No words: everything. */
struct register_question {
    const char *const *words;
    size_t count;
    size_t most; /* rows to give; 0: all */
};

struct register_answer {
    size_t given, all;   /* rows given; rows that there are */
    const char *unknown; /* a word that is nothing that the register has; NULL: there is none. Of the question */
};

/* A judgement that was found; borrowed for the call. */
struct found_judgement {
    const char *bay; /* as register_open was told */
    struct judgement judgement;
    bool current; /* in front of its serial */
    bool has_papers;
    struct judgement_papers papers;
};

struct register_listener {
    void *context;
    enum status (*take)(void *context, const struct found_judgement *found);
};

/* Gives the latest tests first (of serials or orders that begin with a word: the highest names first). Tests without a
 * date come last. A listener that returns a status other than OK ends it. Status: E_FILE, E_MEMORY, the listener's. */
enum status register_find(struct bay_register *bay_register, const struct register_question *question,
                          struct register_listener listener, struct register_answer *answer, struct faults *faults);

#endif
