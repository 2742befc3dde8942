#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void fuzz_broken(const char *condition, const char *file, int line)
{
    (void)fprintf(stderr, "%s:%d: broken: %s\n", file, line, condition);
    abort();
}

static const char *const names[] = {"rig.csv",    "instruments.csv", "models.csv",  "motors.csv",
                                    "grades.csv", "labels.csv",      "routine.csv", "log.csv"};
enum { NAMES = sizeof names / sizeof names[0] };

static char folder[64];

static void path_of(size_t name, char path[128])
{
    (void)snprintf(path, 128, "%s/%s", folder, names[name]);
}

static void remove_files(void)
{
    for (size_t i = 0; i < NAMES; i++) {
        char path[128];
        path_of(i, path);
        (void)unlink(path);
    }
}

static void remove_folder(void)
{
    remove_files();
    (void)rmdir(folder);
}

static void make_folder(void)
{
    const char *parent = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp"; /* memory, where there is any */
    (void)snprintf(folder, sizeof folder, "%s/dutyproof-fuzz-XXXXXX", parent);
    if (mkdtemp(folder) == NULL || atexit(remove_folder) != 0) {
        fuzz_broken("a private folder", __FILE__, __LINE__);
    }
}

/* The name that a line `%% NAME` states, or NAMES. */
static size_t name_of(const char *line, size_t length)
{
    for (size_t i = 0; i < NAMES; i++) {
        if (length == strlen(names[i]) + 3 && memcmp(line, "%% ", 3) == 0 &&
            memcmp(line + 3, names[i], length - 3) == 0) {
            return i;
        }
    }
    return NAMES;
}

static size_t line_length(const char *text, size_t size)
{
    const char *end = memchr(text, '\n', size);
    return end == NULL ? size : (size_t)(end - text);
}

const char *fuzz_bay(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;
    FILE *to = NULL;
    if (folder[0] == '\0') {
        make_folder();
    }
    remove_files();
    for (size_t at = 0; at < size;) {
        size_t length = line_length(text + at, size - at);
        size_t whole = length + (at + length < size);
        size_t name = name_of(text + at, length);
        if (name < NAMES) {
            char path[128];
            path_of(name, path);
            MUST(to == NULL || fclose(to) == 0);
            to = fopen(path, "ab");
            MUST(to != NULL);
        } else if (to != NULL) {
            MUST(fwrite(text + at, 1, whole, to) == whole);
        }
        at += whole;
    }
    MUST(to == NULL || fclose(to) == 0);
    return folder;
}
