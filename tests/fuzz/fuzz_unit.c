/* unit_find, and the words beside it: any text, in every dimension */
#include "fuzz.h"

#include "base/arena.h"
#include "base/text.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A text is at most one unit of a dimension, and what is shown of it finds the same unit again. */
static void find(enum dimension dimension, const char *text)
{
    const struct unit *unit = unit_find(dimension, text);
    if (unit == NULL) {
        return;
    }
    MUST(unit->dimension == dimension);
    MUST(unit_find(dimension, unit->name) == unit);
    double there = unit_to_si(unit, 12.75);
    MUST(isfinite(there) && fabs(unit_from_si(unit, there) - 12.75) <= 1e-9);
}

/* What is shown is one line of UTF-8 that is not longer than asked for, and is shown as it is when shown again. */
static void show(const char *text)
{
    enum { WIDEST = 40 };
    struct arena arena = {0};
    char *shown = text_shown(&arena, text, WIDEST);
    MUST(shown != NULL && text_columns(shown) <= WIDEST);
    for (const char *c = shown; *c != '\0'; c++) {
        MUST((unsigned char)*c >= 0x20 && *c != 0x7f);
    }
    char *again = text_shown(&arena, shown, WIDEST);
    MUST(again != NULL && strcmp(shown, again) == 0);
    arena_release(&arena);
}

/* Folding twice is folding once, and a short buffer is kept to. */
static void fold(const char *text, size_t size)
{
    char cut[8], *once = malloc(size), *twice = malloc(size);
    MUST(once != NULL && twice != NULL);
    (void)name_fold(text, once, size);
    (void)name_fold(once, twice, size);
    MUST(strcmp(once, twice) == 0 && name_equal(once, text));
    (void)name_fold(text, cut, sizeof cut);
    MUST(strlen(cut) < sizeof cut && strncmp(cut, once, strlen(cut)) == 0);
    free(once);
    free(twice);
    static const char *const candidates[] = {"flow", "gauge pressure", "input power", "water temperature"};
    (void)name_nearest(text, candidates, sizeof candidates / sizeof candidates[0]);
    MUST(name_equal(text, text));
    (void)number_significant(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    MUST(text != NULL);
    memcpy(text, data, size);
    text[size] = '\0';
    for (int dimension = 0; dimension < DIM_COUNT; dimension++) {
        find((enum dimension)dimension, text);
    }
    show(text);
    fold(text, size + 1);
    free(text);
    return 0;
}
