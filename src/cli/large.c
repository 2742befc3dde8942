#include "cli/large.h"

#include <string.h>

enum { LETTER_WIDTH = 5 };

static const struct letter {
    char name;
    const char *rows[LARGE_ROWS];
} letters[] = {
    {'A', {" ### ", "#   #", "#   #", "#####", "#   #", "#   #", "#   #"}},
    {'D', {"#### ", "#   #", "#   #", "#   #", "#   #", "#   #", "#### "}},
    {'E', {"#####", "#    ", "#    ", "#### ", "#    ", "#    ", "#####"}},
    {'F', {"#####", "#    ", "#    ", "#### ", "#    ", "#    ", "#    "}},
    {'G', {" ####", "#    ", "#    ", "#  ##", "#   #", "#   #", " ####"}},
    {'I', {"#####", "  #  ", "  #  ", "  #  ", "  #  ", "  #  ", "#####"}},
    {'J', {"  ###", "   # ", "   # ", "   # ", "   # ", "#  # ", " ##  "}},
    {'L', {"#    ", "#    ", "#    ", "#    ", "#    ", "#    ", "#####"}},
    {'N', {"#   #", "##  #", "##  #", "# # #", "#  ##", "#  ##", "#   #"}},
    {'O', {" ### ", "#   #", "#   #", "#   #", "#   #", "#   #", " ### "}},
    {'P', {"#### ", "#   #", "#   #", "#### ", "#    ", "#    ", "#    "}},
    {'S', {" ####", "#    ", "#    ", " ### ", "    #", "    #", "#### "}},
    {'T', {"#####", "  #  ", "  #  ", "  #  ", "  #  ", "  #  ", "  #  "}},
    {'U', {"#   #", "#   #", "#   #", "#   #", "#   #", "#   #", " ### "}},
    {' ', {"   ", "   ", "   ", "   ", "   ", "   ", "   "}},
};

static const struct letter *letter_of(char name)
{
    for (size_t i = 0; i < sizeof letters / sizeof letters[0]; i++) {
        if (letters[i].name == name) {
            return &letters[i];
        }
    }
    return NULL;
}

void large_print(const char *word, int columns, const char *colour, FILE *to)
{
    int width = (int)strlen(word) * (LETTER_WIDTH + 1), times = 2 * width + 4 <= columns ? 2 : 1;
    for (int row = 0; row < LARGE_ROWS; row++) {
        (void)fprintf(to, "  %s", colour);
        for (const char *c = word; *c != '\0'; c++) {
            const struct letter *letter = letter_of(*c);
            for (const char *dot = letter == NULL ? "" : letter->rows[row]; *dot != '\0'; dot++) {
                for (int i = 0; i < times; i++) {
                    (void)fputs(*dot == '#' ? "█" : " ", to);
                }
            }
            (void)fputs(times == 2 ? "  " : " ", to);
        }
        (void)fprintf(to, "%s\n", colour[0] != '\0' ? "\033[0m" : "");
    }
}
