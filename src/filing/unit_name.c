#include "filing/unit_name.h"

#include "base/files.h"

#include <string.h>
#include <strings.h>

static bool is_kept(unsigned char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' || c == '-' ||
           c == '_';
}

/* One '-' for a whole UTF-8 character. Returns: true when all of the serial was taken. */
static bool take_name(const char *serial, char name[UNIT_NAME_LONGEST + 1])
{
    size_t used = 0;
    const char *c = serial;
    for (; *c != '\0' && used < UNIT_NAME_LONGEST; c++) {
        bool continuation = ((unsigned char)*c & 0xc0) == 0x80;
        if (!continuation || used == 0) {
            name[used++] = is_kept((unsigned char)*c) ? *c : '-';
        }
    }
    if (used == 0) {
        name[used++] = '_';
    }
    /* A dot at the front hides the folder or names its parent, a dash reads as an option; some file systems drop a dot
     * at the end. */
    name[0] = name[0] != serial[0] || name[0] == '.' ? '_' : name[0];
    name[used - 1] = name[used - 1] == '.' ? '_' : name[used - 1];
    name[used] = '\0';
    return *c == '\0';
}

char *unit_name_plain(struct arena *arena, const char *serial)
{
    char name[UNIT_NAME_LONGEST + 1];
    bool whole = take_name(serial, name);
    return whole ? arena_text(arena, name, strlen(name)) : unit_name_marked(arena, serial, UNIT_NAME_DIGITS);
}

char *unit_name_marked(struct arena *arena, const char *serial, int digits)
{
    char name[UNIT_NAME_LONGEST + 1], hex[65];
    (void)take_name(serial, name);
    sha256_hex(serial, strlen(serial), hex);
    return arena_format(arena, "%.*s~%.*s", UNIT_NAME_LONGEST - UNIT_NAME_DIGITS - 1, name, digits, hex);
}

bool unit_name_reserved(const char *name)
{
    static const char *const names[] = {"batch.csv",        "batch.json",         "certificate.pdf", "certificate.txt",
                                        "certificate.html", "manifest.txt",       "label.pdf",       "register.db",
                                        "earlier",          "register.db-journal"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (strcasecmp(name, names[i]) == 0) {
            return true;
        }
    }
    return false;
}
