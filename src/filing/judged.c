#include "filing/judged.h"

#include <gsl/gsl_version.h>
#include <jansson.h>
#include <math.h>
#include <nettle/version.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

static json_t *load(const char *document, size_t length)
{
    return json_loadb(document, length, JSON_REJECT_DUPLICATES, NULL);
}

static const char *text_of(const json_t *object, const char *key, struct arena *arena)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text == NULL ? "" : arena_text(arena, text, strlen(text));
}

static bool is_digest(const char *text)
{
    return text != NULL && strlen(text) == 64 && strspn(text, "0123456789abcdef") == 64;
}

/* --- figures --- */

static void copy_key(json_t *to, const char *as, const json_t *from, const char *key)
{
    json_t *value = json_object_get(from, key);
    if (value != NULL) {
        (void)json_object_set(to, as, value);
    }
}

/* The checks of a duty: their value, margin and verdict by the item's name. */
static json_t *checks_of(const json_t *duty)
{
    json_t *checks = json_object();
    size_t i;
    json_t *check;
    json_array_foreach(json_object_get(duty, "checks"), i, check)
    {
        const char *item = json_string_value(json_object_get(check, "item"));
        json_t *one = item != NULL ? json_object() : NULL;
        copy_key(one, "value", check, "value");
        copy_key(one, "margin", check, "margin");
        copy_key(one, "verdict", check, "verdict");
        if (one != NULL) {
            (void)json_object_set_new(checks, item, one);
        }
    }
    return checks;
}

/* What is asked of a register over months, without the documents. */
static const char *figures_of(const json_t *root, struct arena *arena)
{
    json_t *figures = json_object(), *duties = json_array();
    const json_t *label = json_object_get(root, "label");
    size_t i;
    json_t *duty;
    json_array_foreach(json_object_get(root, "duties"), i, duty)
    {
        json_t *one = json_object();
        copy_key(one, "at_guaranteed_flow", duty, "at_guaranteed_flow");
        (void)json_object_set_new(one, "checks", checks_of(duty));
        (void)json_array_append_new(duties, one);
    }
    (void)json_object_set_new(figures, "duties", duties);
    copy_key(figures, "best_efficiency", root, "best_efficiency");
    copy_key(figures, "conformity_probability", root, "conformity_probability");
    copy_key(figures, "calibration", root, "calibration");
    copy_key(figures, "label_class", label, "class");
    copy_key(figures, "label_index", label, "index");
    char *dumped = json_dumps(figures, JSON_COMPACT | JSON_SORT_KEYS | JSON_REAL_PRECISION(9));
    json_decref(figures);
    const char *text = dumped == NULL ? NULL : arena_text(arena, dumped, strlen(dumped));
    free(dumped);
    return text;
}

/* --- a judgement --- */

bool judged_read(const char *document, size_t length, struct arena *arena, struct judgement *judgement)
{
    json_t *root = load(document, length);
    const json_t *log = json_object_get(root, "log");
    const char *sha256 = json_string_value(json_object_get(log, "sha256"));
    bool good = json_is_string(json_object_get(root, "serial")) && is_digest(sha256);
    if (good) {
        judgement->serial = text_of(root, "serial", arena);
        judgement->model = text_of(root, "model", arena);
        judgement->order = text_of(json_object_get(root, "order"), "order", arena);
        judgement->tested = text_of(root, "tested", arena);
        judgement->verdict = text_of(root, "verdict", arena);
        judgement->program = text_of(root, "dutyproof", arena);
        judgement->log_sha256 = text_of(log, "sha256", arena);
        judgement->log = text_of(log, "file", arena);
        judgement->figures = figures_of(root, arena);
        good = judgement->serial != NULL && judgement->model != NULL && judgement->order != NULL &&
               judgement->tested != NULL && judgement->verdict != NULL && judgement->program != NULL &&
               judgement->log_sha256 != NULL && judgement->log != NULL && judgement->figures != NULL;
    }
    json_decref(root);
    return good;
}

const char *judged_text(const char *document, size_t length, const char *key, struct arena *arena)
{
    json_t *root = load(document, length);
    const char *name = json_string_value(json_object_get(root, key));
    const char *copy = name == NULL ? NULL : arena_text(arena, name, strlen(name));
    json_decref(root);
    return copy;
}

/* --- what differs --- */

/* A value as it is shown: a text in quotes, else as JSON has it, cut where it is long. */
static const char *shown(const json_t *value, struct arena *arena)
{
    enum { LONGEST = 100 };
    if (value == NULL) {
        return "nothing";
    }
    char *dumped = json_dumps(value, JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(12));
    size_t length = dumped == NULL ? 0 : strlen(dumped);
    const char *text = dumped == NULL ? NULL
                       : json_is_string(value)
                           ? arena_format(arena, "'%.*s'", LONGEST, json_string_value(value))
                           : arena_format(arena, "%.*s%s", LONGEST, dumped, length > LONGEST ? "..." : "");
    free(dumped);
    return text;
}

static const char *add_change(const char *so_far, const char *name, const json_t *before, const json_t *after,
                              struct arena *arena)
{
    if (so_far == NULL || json_equal(before, after) || (before == NULL && after == NULL)) {
        return so_far;
    }
    const char *was = shown(before, arena), *is = shown(after, arena);
    return was == NULL || is == NULL ? NULL : arena_format(arena, "%s%s from %s to %s\n", so_far, name, was, is);
}

const char *judged_changes(const char *before, size_t before_length, const char *after, size_t after_length,
                           struct arena *arena)
{
    static const char *const names[][2] = {{"dutyproof", "program"},      {"model", "model"},     {"tested", "tested"},
                                           {"tester", "tester"},          {"remarks", "remarks"}, {"order", "order"},
                                           {"corrections", "corrections"}};
    json_t *old = load(before, before_length), *new = load(after, after_length);
    const char *changes = "";
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        changes = add_change(changes, names[i][1], json_object_get(old, names[i][0]), json_object_get(new, names[i][0]),
                             arena);
    }
    changes = add_change(changes, "file of the log", json_object_get(json_object_get(old, "log"), "file"),
                         json_object_get(json_object_get(new, "log"), "file"), arena);
    changes = add_change(changes, "guard", json_object_get(json_object_get(old, "guard"), "probability"),
                         json_object_get(json_object_get(new, "guard"), "probability"), arena);
    changes = add_change(changes, "random trials", json_object_get(json_object_get(old, "monte_carlo"), "trials"),
                         json_object_get(json_object_get(new, "monte_carlo"), "trials"), arena);
    json_decref(old);
    json_decref(new);
    return changes;
}

static const char *differ(json_t *is, json_t *should, const char *path, struct arena *arena);

static const char *differ_object(json_t *is, json_t *should, const char *path, struct arena *arena)
{
    json_t *const sides[] = {should, is};
    for (size_t side = 0; side < 2; side++) {
        const char *key;
        json_t *value;
        json_object_foreach(sides[side], key, value)
        {
            const char *deeper = arena_format(arena, "%s%s%s", path, path[0] != '\0' ? "." : "", key);
            const char *found =
                deeper == NULL ? NULL : differ(json_object_get(is, key), json_object_get(should, key), deeper, arena);
            if (found == NULL || found[0] != '\0') {
                return found;
            }
        }
    }
    return "";
}

static const char *differ_array(json_t *is, json_t *should, const char *path, struct arena *arena)
{
    size_t longer = json_array_size(is) > json_array_size(should) ? json_array_size(is) : json_array_size(should);
    for (size_t i = 0; i < longer; i++) {
        const char *deeper = arena_format(arena, "%s[%zu]", path, i);
        const char *found =
            deeper == NULL ? NULL : differ(json_array_get(is, i), json_array_get(should, i), deeper, arena);
        if (found == NULL || found[0] != '\0') {
            return found;
        }
    }
    return "";
}

static const char *differ(json_t *is, json_t *should, const char *path, struct arena *arena)
{
    if (json_is_object(is) && json_is_object(should)) {
        return differ_object(is, should, path, arena);
    }
    if (json_is_array(is) && json_is_array(should)) {
        return differ_array(is, should, path, arena);
    }
    if (is != NULL && should != NULL && json_equal(is, should)) {
        return "";
    }
    const char *one = shown(is, arena), *other = shown(should, arena);
    return one == NULL || other == NULL ? NULL : arena_format(arena, "%s is %s, not %s", path, one, other);
}

const char *judged_difference(const char *is, size_t is_length, const char *should, size_t should_length,
                              struct arena *arena)
{
    json_t *one = load(is, is_length), *other = load(should, should_length);
    const char *found = one == NULL     ? "it is no result document"
                        : other == NULL ? "there is none to compare with"
                                        : differ(one, other, "", arena);
    json_decref(one);
    json_decref(other);
    return found;
}

const char *judged_libraries(struct arena *arena)
{
    return arena_format(arena, "gsl %s, jansson %s, nettle %d.%d, sqlite %s, zlib %s", gsl_version,
                        jansson_version_str(), nettle_version_major(), nettle_version_minor(), sqlite3_libversion(),
                        zlibVersion());
}
