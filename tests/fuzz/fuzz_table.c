/* table_parse: any bytes, read as a table, then every cell as text and as a number */
#include "fuzz.h"

#include "tables/table.h"

#include <string.h>

static const struct table_field fields[] = {
    {"point", DIM_NONE, false},        {"flow", DIM_FLOW, true},         {"gauge pressure", DIM_PRESSURE, false},
    {"input power", DIM_POWER, false}, {"efficiency", DIM_RATIO, false}, {"water temperature", DIM_TEMPERATURE, false},
    {"model", DIM_NONE, false},
};
enum { FIELDS = sizeof fields / sizeof fields[0] };

static void read_cells(const struct table *table, struct arena *arena)
{
    int at[FIELDS];
    const struct unit *units[FIELDS];
    const char *unknown = NULL;
    struct faults faults = {0};
    enum status status = table_match(table, fields, FIELDS, at, units, &unknown, arena, &faults);
    MUST((status == OK) == (faults.count == 0) && (status != OK || unknown != NULL));
    for (size_t row = 0; row < table->row_count; row++) {
        for (size_t i = 0; i < FIELDS && status == OK; i++) {
            size_t before = faults.count;
            struct quantity quantity = table_quantity(table, row, at[i], units[i], &faults);
            MUST(!quantity.known || isfinite(quantity.value));
            MUST(faults.count == before || !quantity.known);
            MUST(!quantity.known || table_text(table, row, at[i])[0] != '\0');
        }
    }
}

static void look_at(const struct table *table)
{
    MUST(table->column_count > 0 && table->header_line > 0);
    for (size_t i = 0; i < table->column_count; i++) {
        MUST(table->columns[i].name != NULL && table->columns[i].unit != NULL && table->columns[i].heading != NULL);
    }
    size_t line = table->header_line;
    for (size_t row = 0; row < table->row_count; row++) {
        MUST(table->rows[row].line > line);
        line = table->rows[row].line;
        for (size_t i = 0; i < table->column_count; i++) {
            const char *cell = table->rows[row].cells[i];
            MUST(cell != NULL && table_text(table, row, (int)i) == cell);
            int shown = cell_shown(cell);
            MUST(shown >= 0 && (size_t)shown <= strlen(cell));
        }
    }
    for (size_t i = 0; i < table->remark_count; i++) {
        MUST(table->remarks[i].key != NULL && table->remarks[i].value != NULL);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena arena = {0};
    struct table table = {0};
    struct faults faults = {0};
    size_t skip = size > 0 && data[0] == '3' ? 3 : 0;
    enum status status = table_parse("fuzz.csv", (const char *)data, size, skip, &arena, &table, &faults);
    MUST((status == OK) == (faults.count == 0) && status != E_MEMORY);
    if (status == OK) {
        look_at(&table);
        read_cells(&table, &arena);
    }
    arena_release(&arena);
    return 0;
}
