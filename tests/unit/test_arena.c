/* The arena under odd sizes, overflow and growth; run under the address sanitizer these also prove its bounds. */
#include "base/arena.h"
#include "near.h"

#include <stdalign.h>
#include <stdint.h>
#include <string.h>

static bool filled_with(const unsigned char *piece, size_t size, unsigned char byte)
{
    size_t k = 0;
    while (k < size && piece[k] == byte) {
        k++;
    }
    return k == size;
}

/* Fills every byte asked for and looks at it again at the end: no two pieces overlap. */
START_TEST(arena_pieces_apart)
{
    enum { PIECES = 400 };
    static const size_t sizes[] = {1, 7, 16, 24, 1000, 16384, 16385, 40000};
    struct arena arena = {0};
    unsigned char *pieces[PIECES];
    for (size_t i = 0; i < PIECES; i++) {
        size_t size = sizes[i % (sizeof sizes / sizeof *sizes)];
        pieces[i] = arena_alloc(&arena, 1, size);
        ck_assert_ptr_nonnull(pieces[i]);
        ck_assert_uint_eq((uintptr_t)pieces[i] % alignof(max_align_t), 0);
        ck_assert(filled_with(pieces[i], size, 0));
        memset(pieces[i], (int)(i % 255 + 1), size);
    }
    for (size_t i = 0; i < PIECES; i++) {
        size_t size = sizes[i % (sizeof sizes / sizeof *sizes)];
        ck_assert(filled_with(pieces[i], size, (unsigned char)(i % 255 + 1)));
    }
    arena_release(&arena);
    ck_assert_ptr_null(arena.newest);
}
END_TEST

static const struct {
    size_t count, size;
} too_big[] = {
    {SIZE_MAX, 1},          {1, SIZE_MAX},     {SIZE_MAX, SIZE_MAX},  {SIZE_MAX / 2, 2},
    {SIZE_MAX / 8 + 1, 16}, {SIZE_MAX / 4, 2}, {SIZE_MAX / 2 + 2, 2}, /* the product wraps round to 2 */
};

START_TEST(arena_overflow)
{
    struct arena arena = {0};
    ck_assert_ptr_null(arena_alloc(&arena, too_big[_i].count, too_big[_i].size));
    ck_assert_ptr_nonnull(arena_alloc(&arena, 3, 5)); /* still of use */
    arena_release(&arena);
}
END_TEST

START_TEST(arena_nothing_asked)
{
    struct arena arena = {0};
    char *a = arena_alloc(&arena, 0, 8), *b = arena_alloc(&arena, 8, 0);
    ck_assert(a != NULL && b != NULL && a != b);
    arena_release(&arena);
    arena_release(&arena);
    ck_assert_ptr_nonnull(arena_alloc(&arena, 1, 1)); /* ready again */
    arena_release(&arena);
}
END_TEST

START_TEST(arena_texts)
{
    struct arena arena = {0};
    ck_assert_str_eq(arena_text(&arena, "12.5 kW", 4), "12.5");
    ck_assert_str_eq(arena_text(&arena, NULL, 0), "");
    ck_assert_ptr_null(arena_text(&arena, "x", SIZE_MAX));
    ck_assert_ptr_null(arena_text(&arena, "x", SIZE_MAX - 1));
    ck_assert_str_eq(arena_format(&arena, "%s/%d", "report", 7), "report/7");
    ck_assert_str_eq(arena_format(&arena, "%s", ""), "");
    const char *wide = arena_format(&arena, "%50000d", 1);
    ck_assert_ptr_nonnull(wide);
    ck_assert_uint_eq(strlen(wide), 50000);
    arena_release(&arena);
}
END_TEST

struct item {
    int number;
    double weight;
    char tag;
};

START_TEST(arena_grows)
{
    enum { ITEMS = 5000 };
    struct arena arena = {0};
    struct item *items = NULL;
    int *others = NULL;
    size_t count = 0, other_count = 0;
    for (int i = 0; i < ITEMS; i++) {
        struct item *item = arena_push(&arena, &items, &count, sizeof *item);
        ck_assert_ptr_nonnull(item);
        ck_assert_ptr_eq(item, &items[i]);
        ck_assert(item->number == 0 && item->tag == '\0'); /* zeroed, though room is doubled */
        *item = (struct item){i, i / 2.0, 'x'};
        int *other = arena_push(&arena, &others, &other_count, sizeof *other);
        ck_assert_ptr_nonnull(other);
        *other = -i;
    }
    ck_assert_uint_eq(count, ITEMS);
    for (int i = 0; i < ITEMS; i++) {
        ck_assert(items[i].number == i && items[i].tag == 'x' && others[i] == -i);
        near_abs(items[i].weight, i / 2.0, 0.0);
    }
    arena_release(&arena);
}
END_TEST

START_TEST(arena_push_fails_whole)
{
    struct arena arena = {0};
    void *list = NULL;
    size_t count = 0;
    ck_assert_ptr_null(arena_push(&arena, &list, &count, SIZE_MAX / 16));
    ck_assert_ptr_null(list);
    ck_assert_uint_eq(count, 0);
    arena_release(&arena);
}
END_TEST

Suite *arena_suite(void);
Suite *arena_suite(void)
{
    Suite *suite = suite_create("arena");
    TCase *all = tcase_create("arena");
    tcase_add_test(all, arena_pieces_apart);
    tcase_add_loop_test(all, arena_overflow, 0, (int)(sizeof too_big / sizeof *too_big));
    tcase_add_test(all, arena_nothing_asked);
    tcase_add_test(all, arena_texts);
    tcase_add_test(all, arena_grows);
    tcase_add_test(all, arena_push_fails_whole);
    suite_add_tcase(suite, all);
    return suite;
}
