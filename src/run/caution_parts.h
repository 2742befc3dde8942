/* caution_parts.h - what the cautions share (private to cautions.c and caution_power.c) */
#ifndef DUTYPROOF_CAUTION_PARTS_H
#define DUTYPROOF_CAUTION_PARTS_H

#include "run/cautions.h"

/* The numbers of points as a note lists them: "2, 3, 5"; cut with ", ..." when there are too many. {0} is empty. */
struct point_list {
    size_t count, used;
    char text[96];
};

void point_list_add(struct point_list *list, const struct point *point);

typedef bool point_test(const struct result *result, const struct point *point);

/* The points for which a test holds. */
struct point_list points_where(const struct result *result, point_test *test);

/* Adds a note that names the points for which a test holds; fmt takes the list. */
#define NOTE_POINTS(result, arena, kind, test, fmt)                                                                    \
    do {                                                                                                               \
        struct point_list list_ = points_where(result, test);                                                          \
        if (list_.count > 0 && note_add(&(result)->notes, arena, kind, fmt, list_.text) != OK) {                       \
            return E_MEMORY;                                                                                           \
        }                                                                                                              \
    } while (0)

#endif
