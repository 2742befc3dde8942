#include "papers/layout.h"

#include "base/text.h"

#include <stdarg.h>
#include <string.h>

enum { CELL_LONGEST = 40, INDENT = 2, GAP = 2, COLUMNS_MAX = 32 };

void grid_add(struct grid *grid, const char *text)
{
    const char *shown = text_shown(grid->arena, text, CELL_LONGEST);
    const char **cell = shown == NULL ? NULL : arena_push(grid->arena, &grid->cells, &grid->count, sizeof *cell);
    if (cell == NULL) {
        grid->failed = true;
        return;
    }
    *cell = shown;
}

void grid_addf(struct grid *grid, const char *fmt, ...)
{
    char text[512];
    va_list args;
    va_start(args, fmt);
    (void)vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    grid_add(grid, text);
}

static bool says_nothing(const char *cell)
{
    return cell[0] == '\0' || strcmp(cell, "-") == 0;
}

static size_t heading_rows(const struct grid *grid)
{
    return grid->heading_rows == 0 ? 1 : grid->heading_rows;
}

/* Width of each column, 0 for one that is left out. */
static void measure(const struct grid *grid, size_t columns, size_t rows, size_t width[COLUMNS_MAX])
{
    size_t total = INDENT;
    bool full = false;
    for (size_t c = 0; c < columns; c++) {
        bool empty = rows > heading_rows(grid);
        width[c] = 0;
        for (size_t r = 0; r < rows; r++) {
            const char *cell = grid->cells[r * columns + c];
            size_t wide = text_columns(cell);
            width[c] = wide > width[c] ? wide : width[c];
            empty = empty && (r < heading_rows(grid) || says_nothing(cell));
        }
        full = full || (!empty && total + width[c] > LAYOUT_WIDTH);
        width[c] = empty || full ? 0 : width[c];
        total += width[c] == 0 ? 0 : width[c] + GAP;
    }
}

static void spaces(size_t count, FILE *to)
{
    (void)fprintf(to, "%*s", (int)count, "");
}

static void print_row(const struct grid *grid, size_t row, size_t columns, const size_t *width, FILE *to)
{
    size_t owed = INDENT; /* spaces are written only before text, never at the end of a line */
    for (size_t c = 0; c < columns; c++) {
        if (width[c] == 0) {
            continue;
        }
        const char *cell = grid->cells[row * columns + c];
        size_t pad = width[c] - text_columns(cell);
        bool right = grid->columns[c] == 'r';
        if (cell[0] != '\0') {
            spaces(owed + (right ? pad : 0), to);
            (void)fputs(cell, to);
            owed = GAP + (right ? 0 : pad);
        } else {
            owed += width[c] + GAP;
        }
    }
}

enum status grid_print(const struct grid *grid, bool bold, FILE *to)
{
    size_t columns = strlen(grid->columns);
    if (grid->failed || columns > COLUMNS_MAX) {
        return E_MEMORY;
    }
    size_t rows = grid->count / columns, width[COLUMNS_MAX];
    measure(grid, columns, rows, width);
    for (size_t r = 0; r < rows; r++) {
        bool strong = bold && r < heading_rows(grid);
        (void)fputs(strong ? "\033[1m" : "", to);
        print_row(grid, r, columns, width, to);
        (void)fputs(strong ? "\033[0m\n" : "\n", to);
    }
    return OK;
}

/* Bytes of the next word, or of as much of it as a line holds; no character is split. */
static size_t word_length(const char *text, size_t characters_max, size_t bytes_max)
{
    size_t bytes = 0, characters = 0;
    for (; text[bytes] != '\0' && text[bytes] != ' '; bytes++) {
        bool starts = ((unsigned char)text[bytes] & 0xc0) != 0x80;
        if (starts && (characters == characters_max || bytes > bytes_max)) {
            break;
        }
        characters += starts;
    }
    return bytes;
}

void paragraph_print(const char *label, const char *text, size_t indent, FILE *to)
{
    enum { LONGEST_CHARACTER = 4 };
    char word[LONGEST_CHARACTER * (LAYOUT_WIDTH + 2)];
    size_t column = text_columns(label);
    (void)fputs(label, to);
    if (column < indent) {
        spaces(indent - column, to);
        column = indent;
    }
    for (bool first = true; *text != '\0'; first = false) {
        size_t length = word_length(text, LAYOUT_WIDTH - indent, sizeof word - 1 - LONGEST_CHARACTER);
        memcpy(word, text, length);
        word[length] = '\0';
        size_t wide = text_columns(word);
        if (!first && column + 1 + wide > LAYOUT_WIDTH) {
            (void)fputc('\n', to);
            spaces(indent, to);
            column = indent;
        } else if (!first) {
            (void)fputc(' ', to);
            column++;
        }
        (void)fputs(word, to);
        column += wide;
        text += length;
        text += strspn(text, " ");
    }
    (void)fputc('\n', to);
}
