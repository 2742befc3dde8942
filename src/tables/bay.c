#define _XOPEN_SOURCE 700 /* realpath */

#include "tables/bay.h"

#include "base/files.h"
#include "base/text.h"
#include "tables/builtin.h"
#include "tables/cause_table.h"
#include "tables/reference_curves.h"

#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static bool is_file(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && !S_ISDIR(about.st_mode);
}

/* Cuts the last part off a path: "/a/b" becomes "/a", "/a" becomes "/". Returns: false when nothing is left to cut. */
static bool cut_last_part(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash == NULL || (slash == path && slash[1] == '\0')) {
        return false;
    }
    slash[slash == path] = '\0';
    return true;
}

static char *path_in(struct arena *arena, const char *folder, const char *name)
{
    size_t length = strlen(folder);
    const char *slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
    return arena_format(arena, "%s%s%s", folder, slash, name);
}

/* The nearest folder at or above a real path that holds rig.csv. */
static const char *bay_above(const char *path, struct arena *arena)
{
    char *folder = arena_text(arena, path, strlen(path));
    while (folder != NULL) {
        const char *rig = path_in(arena, folder, "rig.csv");
        if (rig == NULL) {
            return NULL;
        }
        if (is_file(rig)) {
            return folder;
        }
        if (!cut_last_part(folder)) {
            return NULL;
        }
    }
    return NULL;
}

const char *bay_find(const char *log_path, struct arena *arena)
{
    char *named = arena_text(arena, log_path, strlen(log_path));
    if (named == NULL) {
        return NULL;
    }
    const char *folder = strchr(named, '/') == NULL ? "." : cut_last_part(named) ? named : "/";
    char *real_folder = realpath(folder, NULL);
    const char *found = real_folder == NULL ? NULL : bay_above(real_folder, arena);
    free(real_folder);
    if (found != NULL) {
        return found;
    }
    /* The log may be a link to one that lies in its bay. */
    char *real_log = realpath(log_path, NULL);
    found = real_log != NULL && cut_last_part(real_log) ? bay_above(real_log, arena) : NULL;
    free(real_log);
    return found;
}

struct bay_paths {
    const char *rig, *instruments, *models, *motors, *grades, *labels, *plausible, *routine, *causes, *curves;
};

static bool name_paths(const char *folder, struct arena *arena, struct bay_paths *paths)
{
    *paths = (struct bay_paths){
        .rig = path_in(arena, folder, "rig.csv"),
        .instruments = path_in(arena, folder, "instruments.csv"),
        .models = path_in(arena, folder, "models.csv"),
        .motors = path_in(arena, folder, "motors.csv"),
        .grades = path_in(arena, folder, "grades.csv"),
        .labels = path_in(arena, folder, "labels.csv"),
        .plausible = path_in(arena, folder, "plausible.csv"),
        .routine = path_in(arena, folder, "routine.csv"),
        .causes = path_in(arena, folder, "causes.csv"),
        .curves = path_in(arena, folder, "curves.csv"),
    };
    return paths->rig != NULL && paths->instruments != NULL && paths->models != NULL && paths->motors != NULL &&
           paths->grades != NULL && paths->labels != NULL && paths->plausible != NULL && paths->routine != NULL &&
           paths->causes != NULL && paths->curves != NULL;
}

/* The first status that is not OK, except that memory goes before all. */
static enum status worst(const enum status *statuses, size_t count)
{
    enum status worst = OK;
    for (size_t i = 0; i < count; i++) {
        if (worst == OK || statuses[i] == E_MEMORY) {
            worst = statuses[i];
        }
    }
    return worst;
}

/* Once a bay: to digest the tables costs more than to reduce a unit. */
static const char *digest_builtin(struct arena *arena)
{
    const char *lines = "";
    for (size_t i = 0; i < builtin_table_count && lines != NULL; i++) {
        char hex[65];
        sha256_hex(builtin_tables[i].text, builtin_tables[i].length, hex);
        lines = arena_format(arena, "%s%s\tsha256\t%s\n", lines, builtin_tables[i].name, hex);
    }
    return lines;
}

static enum status read_causes(const struct bay_paths *paths, struct arena *arena, struct bay *bay,
                               struct faults *faults)
{
    bay->causes = arena_alloc(arena, 1, sizeof *bay->causes);
    if (bay->causes == NULL) {
        return faults_memory(faults);
    }
    return cause_table_read(is_file(paths->causes) ? paths->causes : NULL, arena, bay->causes, &bay->notes, faults);
}

static enum status read_references(const struct bay_paths *paths, struct arena *arena, struct bay *bay,
                                   struct faults *faults)
{
    if (!is_file(paths->curves)) {
        return OK;
    }
    bay->references = arena_alloc(arena, 1, sizeof *bay->references);
    if (bay->references == NULL) {
        return faults_memory(faults);
    }
    return reference_book_read(paths->curves, arena, bay->references, &bay->notes, faults);
}

static enum status read_bay(const char *folder, bool unfilled, struct arena *arena, struct bay *bay,
                            struct faults *faults)
{
    struct bay_paths paths;
    *bay = (struct bay){.folder = arena_text(arena, folder, strlen(folder)),
                        .builtin = digest_builtin(arena),
                        .unfilled_allowed = unfilled};
    if (bay->folder == NULL || bay->builtin == NULL || !name_paths(folder, arena, &paths)) {
        return faults_memory(faults);
    }
    enum status statuses[] = {
        rig_read(paths.rig, arena, bay, faults),
        is_file(paths.instruments) ? instruments_read(paths.instruments, arena, bay, faults) : OK,
        is_file(paths.motors) ? motors_read(paths.motors, arena, bay, faults) : OK,
        is_file(paths.routine) ? routines_read(paths.routine, arena, bay, faults) : OK,
        plausible_book_read(is_file(paths.plausible) ? paths.plausible : NULL, arena, &bay->plausible, faults),
        grade_book_read(is_file(paths.grades) ? paths.grades : NULL, arena, &bay->grades, faults),
        read_causes(&paths, arena, bay, faults),
        read_references(&paths, arena, bay, faults),
    };
    bay->labels_path = is_file(paths.labels) ? paths.labels : NULL;
    enum status labels = label_book_read(bay->labels_path, arena, &bay->labels, faults);
    enum status others = worst((enum status[]){worst(statuses, sizeof statuses / sizeof *statuses), labels}, 2);
    if (others == E_MEMORY) {
        return E_MEMORY; /* a motor or grade that a model names would be missed for that reason only */
    }
    enum status models = models_read(paths.models, arena, bay, faults);
    return worst((enum status[]){others, models}, 2);
}

enum status bay_read(const char *folder, struct arena *arena, struct bay *bay, struct faults *faults)
{
    return read_bay(folder, false, arena, bay, faults);
}

enum status bay_read_unfilled(const char *folder, struct arena *arena, struct bay *bay, struct faults *faults)
{
    return read_bay(folder, true, arena, bay, faults);
}

const struct model *bay_model(const struct bay *bay, const char *name)
{
    for (size_t i = 0; i < bay->model_count; i++) {
        if (name_equal(bay->models[i].name, name)) {
            return &bay->models[i];
        }
    }
    return NULL;
}

/* The channel whose instrument stands for a phase's, where that has no row of its own. */
static enum channel common_channel(enum channel channel)
{
    switch (channel) {
    case CH_VOLTAGE_RY:
    case CH_VOLTAGE_YB:
    case CH_VOLTAGE_BR: return CH_VOLTAGE;
    case CH_CURRENT_R:
    case CH_CURRENT_Y:
    case CH_CURRENT_B: return CH_CURRENT;
    default: return CHANNEL_COUNT;
    }
}

const struct instrument *bay_instrument(const struct bay *bay, enum channel channel)
{
    const struct instrument *common = NULL;
    for (size_t i = 0; i < bay->instrument_count; i++) {
        if (bay->instruments[i].channel == channel) {
            return &bay->instruments[i];
        }
        if (bay->instruments[i].channel == common_channel(channel)) {
            common = &bay->instruments[i];
        }
    }
    return common;
}
