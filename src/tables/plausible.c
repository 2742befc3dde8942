#include "tables/plausible.h"

#include "base/text.h"
#include "tables/builtin.h"
#include "tables/cells.h"

#include <string.h>

enum {
    P_QUANTITY,
    P_SCOPE,
    P_IMPOSSIBLE_LOW,
    P_IMPOSSIBLE_HIGH,
    P_DOUBTFUL_LOW,
    P_DOUBTFUL_HIGH,
    P_RELATIVE,
    P_UNIT,
    P_NOTE,
    P_COUNT
};

static const struct table_field fields[P_COUNT] = {
    [P_QUANTITY] = {"quantity", DIM_NONE, true},
    [P_SCOPE] = {"scope", DIM_NONE, true},
    [P_IMPOSSIBLE_LOW] = {"impossible low", DIM_NONE, true},
    [P_IMPOSSIBLE_HIGH] = {"impossible high", DIM_NONE, true},
    [P_DOUBTFUL_LOW] = {"doubtful low", DIM_NONE, false},
    [P_DOUBTFUL_HIGH] = {"doubtful high", DIM_NONE, false},
    [P_RELATIVE] = {"relative to", DIM_NONE, false},
    [P_UNIT] = {"unit", DIM_NONE, false},
    [P_NOTE] = {"note", DIM_NONE, false},
};

static const struct item {
    const char *quantity, *scope, *relative, *unit;
    enum dimension dimension;
} items[PLAUSIBLE_COUNT] = {
#define X(id, quantity, scope, relative, unit, dimension) [id] = {quantity, scope, relative, unit, dimension},
    PLAUSIBLE_LIST(X)
#undef X
};

const char *plausible_name(enum plausible_item item)
{
    return items[item].quantity;
}

bool plausible_of_curve(enum plausible_item item)
{
    return strcmp(items[item].scope, "curve") == 0;
}

enum dimension plausible_dimension(enum plausible_item item)
{
    return items[item].dimension;
}

/* The item of a row; PLAUSIBLE_COUNT (with a fault) when there is none of its quantity and scope. */
static enum plausible_item item_of(struct cells *cells, size_t row)
{
    const char *quantity = cells_required(cells, row, P_QUANTITY), *scope = cells_required(cells, row, P_SCOPE);
    for (int i = 0; i < PLAUSIBLE_COUNT; i++) {
        if (name_equal(items[i].quantity, quantity) && name_equal(items[i].scope, scope)) {
            return (enum plausible_item)i;
        }
    }
    if (*quantity != '\0' && *scope != '\0') {
        cells_fault(cells, row, P_QUANTITY,
                    "'%.*s' of scope '%.*s' is not known, expected a quantity and scope of the built-in table",
                    cell_shown(quantity), quantity, cell_shown(scope), scope);
    }
    return PLAUSIBLE_COUNT;
}

/* What a limit is relative to, and its unit, cannot be chosen: a row that says otherwise is a slip. */
static void check_fixed(struct cells *cells, size_t row, int field, const char *fixed)
{
    const char *text = cells_text(cells, row, field);
    if (*text != '\0' && !name_equal(text, fixed)) {
        cells_fault(cells, row, field, "'%s' is '%.*s', expected '%s' or a blank", fields[field].name, cell_shown(text),
                    text, fixed);
    }
}

static void check_order(struct cells *cells, size_t row, int field, struct quantity low, struct quantity high)
{
    if (low.known && high.known && !(low.value < high.value)) {
        cells_fault(cells, row, field, "'%s' is not below '%s', expected a range", fields[field].name,
                    fields[field + 1].name);
    }
}

static struct plausible_limits limits_of(struct cells *cells, size_t row, bool from_bay)
{
    static const struct range range = RANGE_FROM(-1000, 1000);
    struct plausible_limits limits = {
        .impossible_low = cells_quantity(cells, row, P_IMPOSSIBLE_LOW, &range),
        .impossible_high = cells_quantity(cells, row, P_IMPOSSIBLE_HIGH, &range),
        .doubtful_low = cells_quantity(cells, row, P_DOUBTFUL_LOW, &range),
        .doubtful_high = cells_quantity(cells, row, P_DOUBTFUL_HIGH, &range),
        .from_bay = from_bay,
    };
    check_order(cells, row, P_IMPOSSIBLE_LOW, limits.impossible_low, limits.impossible_high);
    check_order(cells, row, P_DOUBTFUL_LOW, limits.doubtful_low, limits.doubtful_high);
    return limits;
}

static void take_rows(struct cells *cells, bool from_bay, struct plausible_book *book)
{
    bool seen[PLAUSIBLE_COUNT] = {false};
    for (size_t row = 0; row < cells->table.row_count && cells->status != E_MEMORY; row++) {
        enum plausible_item item = item_of(cells, row);
        struct plausible_limits limits = limits_of(cells, row, from_bay);
        if (item == PLAUSIBLE_COUNT) {
            continue;
        }
        check_fixed(cells, row, P_RELATIVE, items[item].relative);
        check_fixed(cells, row, P_UNIT, items[item].unit);
        if (seen[item]) {
            cells_fault(cells, row, P_QUANTITY, "'%s' of scope '%s' is there twice, expected it once",
                        items[item].quantity, items[item].scope);
        }
        seen[item] = true;
        book->of[item] = limits;
    }
}

enum status plausible_book_read(const char *bay_path, struct arena *arena, struct plausible_book *book,
                                struct faults *faults)
{
    struct cells cells;
    const struct builtin_table *table = builtin_find("plausible");
    *book = (struct plausible_book){0};
    cells_parse(&cells, "plausible", table == NULL ? "" : table->text, table == NULL ? 0 : table->length, fields,
                P_COUNT, arena, faults);
    take_rows(&cells, false, book);
    if (cells.status == OK && bay_path != NULL) {
        cells_read(&cells, bay_path, fields, P_COUNT, arena, faults);
        take_rows(&cells, true, book);
        cells_keep(&cells, &book->kept);
    }
    return cells.status;
}
