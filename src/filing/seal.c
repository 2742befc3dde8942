#include "filing/seal.h"

#include "base/files.h"
#include "filing/tree.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { LARGEST_PAPER = 256 * 1024 * 1024, LARGEST_SEAL = 64 * 1024, DIGITS = 64 };

static const char bay_key[] = "# bay ";

enum status seal_add(struct seal *seal, struct arena *arena, const char *name, const char sha256[65])
{
    struct sealed_paper made = {.name = arena_text(arena, name, strlen(name))};
    memcpy(made.sha256, sha256, sizeof made.sha256);
    struct sealed_paper *last = arena_push(arena, &seal->papers, &seal->count, sizeof *last);
    if (made.name == NULL || last == NULL) {
        return E_MEMORY;
    }
    for (; last > seal->papers && strcmp(last[-1].name, name) > 0; last--) {
        *last = last[-1];
    }
    *last = made;
    return OK;
}

/* The lines of the papers, without the bay. */
static const char *lines_of(const struct seal *seal, const char *head, struct arena *arena)
{
    const char *text = head;
    for (size_t i = 0; i < seal->count && text != NULL; i++) {
        text = arena_format(arena, "%s%s  %s\n", text, seal->papers[i].sha256, seal->papers[i].name);
    }
    return text;
}

const char *seal_text(const struct seal *seal, struct arena *arena)
{
    const char *head = seal->bay != NULL ? arena_format(arena, "%s%s\n", bay_key, seal->bay) : "";
    return head == NULL ? NULL : lines_of(seal, head, arena);
}

enum status seal_digest(const struct seal *seal, char hex[65])
{
    struct arena arena = {0};
    const char *text = lines_of(seal, "", &arena);
    if (text != NULL) {
        sha256_hex(text, strlen(text), hex);
    }
    arena_release(&arena);
    return text != NULL ? OK : E_MEMORY;
}

bool seal_same(const struct seal *a, const struct seal *b)
{
    bool same = a->count == b->count;
    for (size_t i = 0; same && i < a->count; i++) {
        same =
            strcmp(a->papers[i].name, b->papers[i].name) == 0 && strcmp(a->papers[i].sha256, b->papers[i].sha256) == 0;
    }
    return same;
}

/* --- reading --- */

static bool read_line(char *line, struct arena *arena, struct seal *seal)
{
    char hex[DIGITS + 1] = "";
    if (strncmp(line, bay_key, sizeof bay_key - 1) == 0 && seal->count == 0 && seal->bay == NULL) {
        seal->bay = line + sizeof bay_key - 1;
        return true;
    }
    const char *name = line + DIGITS + 2;
    if (strspn(line, "0123456789abcdef") != DIGITS || strncmp(line + DIGITS, "  ", 2) != 0 || name[0] == '\0' ||
        name[0] == '.' || strchr(name, '/') != NULL) {
        return false;
    }
    for (size_t i = 0; i < seal->count; i++) {
        if (strcmp(seal->papers[i].name, name) == 0) {
            return false;
        }
    }
    memcpy(hex, line, DIGITS);
    return seal_add(seal, arena, name, hex) == OK;
}

enum status seal_parse(const char *text, struct arena *arena, struct seal *seal)
{
    char *rest = arena_text(arena, text, strlen(text)), *line;
    *seal = (struct seal){0};
    enum status status = rest == NULL ? E_MEMORY : OK;
    while (status == OK && (line = strtok_r(rest, "\n", &rest)) != NULL) {
        (void)read_line(line, arena, seal);
    }
    return status;
}

bool seal_read(int folder, struct arena *arena, struct seal *seal)
{
    char *text = NULL;
    size_t length = 0;
    *seal = (struct seal){0};
    bool good = tree_read(folder, SEAL_NAME, LARGEST_SEAL, arena, &text, &length);
    char *rest = text, *line;
    while (good && (line = strtok_r(rest, "\n", &rest)) != NULL) {
        good = read_line(line, arena, seal);
    }
    return good && seal->count > 0;
}

/* --- sealing what is there --- */

static bool digest_file(int folder, const char *name, char hex[65])
{
    struct arena arena = {0};
    char *bytes = NULL;
    size_t length = 0;
    bool good = tree_read(folder, name, LARGEST_PAPER, &arena, &bytes, &length);
    if (good) {
        sha256_hex(bytes, length, hex);
    }
    arena_release(&arena);
    return good;
}

static bool is_paper(int folder, const char *name)
{
    struct stat facts;
    return name[0] != '.' && strcmp(name, SEAL_NAME) != 0 && fstatat(folder, name, &facts, AT_SYMLINK_NOFOLLOW) == 0 &&
           S_ISREG(facts.st_mode);
}

bool seal_of(int folder, struct arena *arena, struct seal *seal)
{
    *seal = (struct seal){0};
    int again = tree_open(folder, ".");
    DIR *entries = again >= 0 ? fdopendir(again) : NULL;
    if (entries == NULL) {
        return false;
    }
    bool good = true;
    for (struct dirent *entry; good && (entry = readdir(entries)) != NULL;) {
        char hex[65];
        if (is_paper(folder, entry->d_name)) {
            good = digest_file(folder, entry->d_name, hex) && seal_add(seal, arena, entry->d_name, hex) == OK;
        }
    }
    int error = errno;
    (void)closedir(entries);
    errno = error;
    return good;
}
