#include "run/asked.h"

#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Adds a line; a value of NULL or "" adds none. */
static const char *add(const char *rows, const char *name, const char *value, struct arena *arena)
{
    if (rows == NULL || value == NULL || value[0] == '\0') {
        return rows;
    }
    char *made = arena_format(arena, "%sasked\t%s\t%s\n", rows, name, value);
    if (made == NULL) {
        return NULL;
    }
    for (char *at = made + strlen(made) - strlen(value) - 1; at[1] != '\0'; at++) {
        *at = (unsigned char)*at < ' ' ? ' ' : *at;
    }
    return made;
}

static const char *date_text(const struct date *date, char text[64])
{
    text[0] = '\0';
    if (date->known) {
        int used = snprintf(text, 64, "%04d-%02d-%02d", date->year, date->month, date->day);
        if (date->has_time) {
            int minutes = (int)(date->seconds / 60);
            int zone = (int)lround(date->offset_seconds / 60);
            (void)snprintf(text + used, 64 - (size_t)used, "T%02d:%02d:%06.3f%c%02d:%02d", minutes / 60, minutes % 60,
                           date->seconds - 60.0 * minutes, zone < 0 ? '-' : '+', abs(zone) / 60, abs(zone) % 60);
        }
    }
    return text;
}

static const char *points_text(const struct settle_rule *rule, struct arena *arena)
{
    const char *text = "";
    for (size_t i = 0; i < rule->stretch_count && text != NULL; i++) {
        text = arena_format(arena, "%s%s%.17g-%.17g", text, i > 0 ? "," : "", rule->stretches[i].from_s,
                            rule->stretches[i].to_s);
    }
    return text;
}

const char *asked_text(const struct unit_request *request, struct arena *arena)
{
    char tested[64], guard[64] = "", trials[64] = "";
    const char *points = points_text(&request->settle, arena), *rows = points == NULL ? NULL : "";
    if (request->guard.known) {
        (void)snprintf(guard, sizeof guard, "%.17g", request->guard.value);
    }
    if (request->monte_carlo_trials > 0) {
        (void)snprintf(trials, sizeof trials, "%zu", request->monte_carlo_trials);
    }
    const char *const lines[][2] = {{"guard", guard},
                                    {"model", request->model},
                                    {"monte carlo", trials},
                                    {"points", points},
                                    {"remarks", request->remarks},
                                    {"serial", request->serial},
                                    {"tested", date_text(&request->tested, tested)},
                                    {"tester", request->tester}};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        rows = add(rows, lines[i][0], lines[i][1], arena);
    }
    return rows;
}

/* --- back --- */

static enum status read_points(const char *text, struct arena *arena, struct settle_rule *rule)
{
    struct stretch *stretches = NULL;
    size_t count = 0;
    while (*text != '\0') {
        char *end, *rest;
        double from_s = strtod(text, &end), to_s = *end == '-' ? strtod(end + 1, &rest) : 0;
        if (*end != '-') {
            return OK;
        }
        struct stretch *stretch = arena_push(arena, &stretches, &count, sizeof *stretch);
        if (stretch == NULL) {
            return E_MEMORY;
        }
        *stretch = (struct stretch){.from_s = from_s, .to_s = to_s};
        text = rest + (*rest == ',');
        if (*rest != ',' && *rest != '\0') {
            return OK;
        }
    }
    rule->stretches = stretches;
    rule->stretch_count = count;
    return OK;
}

static enum status read_line(const char *name, const char *value, struct arena *arena, struct unit_request *request)
{
    double number = 0;
    const struct {
        const char *name, **text;
    } texts[] = {{"model", &request->model},
                 {"remarks", &request->remarks},
                 {"serial", &request->serial},
                 {"tester", &request->tester}};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (strcmp(name, texts[i].name) == 0) {
            *texts[i].text = value;
        }
    }
    if (strcmp(name, "tested") == 0) {
        (void)date_parse(value, &request->tested);
    } else if (strcmp(name, "guard") == 0 && number_parse(value, strlen(value), '.', &number)) {
        request->guard = quantity_of(number);
    } else if (strcmp(name, "monte carlo") == 0 && number_parse(value, strlen(value), '.', &number) && number >= 1 &&
               number <= 1e9) {
        request->monte_carlo_trials = (size_t)number;
    } else if (strcmp(name, "points") == 0) {
        return read_points(value, arena, &request->settle);
    }
    return OK;
}

enum status asked_read(const char *rows, struct arena *arena, struct unit_request *request)
{
    char *copy = arena_text(arena, rows, strlen(rows)), *rest = copy, *line;
    enum status status = copy == NULL ? E_MEMORY : OK;
    while (status == OK && (line = strtok_r(rest, "\n", &rest)) != NULL) {
        char *name = strchr(line, '\t'), *value = name == NULL ? NULL : strchr(name + 1, '\t');
        if (value != NULL) {
            *value = '\0';
            status = read_line(name + 1, value + 1, arena, request);
        }
    }
    return status;
}
