#include "papers/batch_words.h"

#include "base/text.h"
#include "papers/check_words.h"

/* Adds a check that does not pass to a list; NULL when memory is out. */
static const char *add_check(const char *list, const struct check *check, const struct duty *duty, struct arena *arena)
{
    struct check_words words;
    if (check_words_of(check, duty, arena, &words) != OK) {
        return NULL;
    }
    bool fails = check->verdict == VERDICT_FAIL, why = !fails && words.reason[0] != '\0';
    bool ellipse = fails && check->place == PLACE_ELLIPSE;
    return arena_format(arena, "%s%s%s%s%s%s", list, list[0] != '\0' ? "; " : "", check_name(check),
                        fails ? " fails" : " not judged", why || ellipse ? ": " : "",
                        why       ? words.reason
                        : ellipse ? words.where
                                  : "");
}

/* "not judged: impossible set efficiency at point 3 (log line 9)" */
static const char *impossible_text(const struct odd_value *odd, struct arena *arena)
{
    const char *name = odd->channel < CHANNEL_COUNT ? channel_info(odd->channel)->name : plausible_name(odd->item);
    return odd->point > 0 ? arena_format(arena, "not judged: impossible %s at point %d (log line %zu)", name,
                                         odd->point, odd->line)
                          : arena_format(arena, "not judged: impossible %s of the curve", name);
}

const char *batch_reason_text(const struct batch_test *test, struct arena *arena)
{
    enum { LONGEST = 4000 };
    const char *list = test->trouble != NULL ? test->trouble : "";
    list = test->impossible ? impossible_text(&test->odd, arena) : list;
    for (size_t d = 0; d < test->duty_count && list != NULL && !test->impossible; d++) {
        const struct batch_duty *duty = &test->duties[d];
        for (size_t i = 0; i < duty->check_count && list != NULL; i++) {
            if (duty->checks[i].verdict != VERDICT_PASS) {
                list = add_check(list, &duty->checks[i], duty->duty, arena);
            }
        }
    }
    if (list != NULL && list[0] == '\0' && test->verdict != VERDICT_PASS && !test->routine_fails) {
        list = "nothing that the model guarantees could be judged";
    }
    if (list != NULL && test->routine_fails) {
        list = arena_format(arena, "%s%sroutine results fail", list, list[0] != '\0' ? "; " : "");
    }
    return list == NULL ? NULL : text_shown(arena, list, LONGEST);
}
