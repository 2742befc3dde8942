#include "register/rows.h"

#include "base/files.h"
#include "base/memory_stream.h"

#include <stdlib.h>
#include <string.h>

struct judgement row_judgement(struct query *query, struct arena *arena)
{
    struct judgement judgement = {.id = query_get_integer(query, 0), .revision = query_get_integer(query, 16)};
    const char **const texts[] = {NULL,
                                  &judgement.at,
                                  &judgement.who,
                                  &judgement.origin,
                                  &judgement.serial,
                                  &judgement.model,
                                  &judgement.order,
                                  &judgement.tested,
                                  &judgement.log,
                                  &judgement.log_sha256,
                                  &judgement.tables,
                                  &judgement.program,
                                  &judgement.libraries,
                                  &judgement.verdict,
                                  &judgement.figures,
                                  &judgement.result_sha256,
                                  NULL,
                                  &judgement.changes,
                                  &judgement.previous,
                                  &judgement.digest};
    for (int i = 0; i < (int)(sizeof texts / sizeof texts[0]); i++) {
        if (texts[i] != NULL) {
            *texts[i] = query_get_text(query, i, arena);
        }
    }
    if (judgement.origin[0] == '\0') {
        judgement.origin = JUDGED; /* of schema 1, which knew no other */
    }
    return judgement;
}

struct judgement_papers row_papers(struct query *query, struct arena *arena)
{
    return (struct judgement_papers){
        .id = query_get_integer(query, 0),
        .judgement = query_get_integer(query, 1),
        .at = query_get_text(query, 2, arena),
        .folder = query_get_text(query, 3, arena),
        .files = query_get_text(query, 4, arena),
        .previous = query_get_text(query, 5, arena),
        .digest = query_get_text(query, 6, arena),
    };
}

/* --- digests --- */

static void say(FILE *to, const char *name, const char *value)
{
    if (value[0] != '\0') {
        (void)fprintf(to, "%s=%zu:%s,", name, strlen(value), value);
    }
}

static void say_number(FILE *to, const char *name, long long value)
{
    char text[32];
    (void)snprintf(text, sizeof text, "%lld", value);
    say(to, name, text);
}

static void say_judgement(const void *row, FILE *to)
{
    const struct judgement *judgement = row;
    say_number(to, "id", judgement->id);
    say(to, "at", judgement->at);
    say(to, "who", judgement->who);
    say(to, "origin", strcmp(judgement->origin, JUDGED) == 0 ? "" : judgement->origin);
    say(to, "serial", judgement->serial);
    say(to, "model", judgement->model);
    say(to, "ordered", judgement->order);
    say(to, "tested", judgement->tested);
    say(to, "log", judgement->log);
    say(to, "log_sha256", judgement->log_sha256);
    say(to, "tables", judgement->tables);
    say(to, "program", judgement->program);
    say(to, "libraries", judgement->libraries);
    say(to, "verdict", judgement->verdict);
    say(to, "figures", judgement->figures);
    say(to, "result_sha256", judgement->result_sha256);
    say_number(to, "revision", judgement->revision);
    say(to, "changes", judgement->changes);
    say(to, "previous", judgement->previous);
}

static void say_papers(const void *row, FILE *to)
{
    const struct judgement_papers *papers = row;
    say_number(to, "id", papers->id);
    say_number(to, "judgement", papers->judgement);
    say(to, "at", papers->at);
    say(to, "folder", papers->folder);
    say(to, "files", papers->files);
    say(to, "previous", papers->previous);
}

static enum status digest(void (*tell)(const void *, FILE *), const void *row, char hex[65])
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&text, &length);
    if (to == NULL) {
        return E_MEMORY;
    }
    tell(row, to);
    bool good = ferror(to) == 0;
    good = fclose(to) == 0 && good;
    if (good) {
        sha256_hex(text, length, hex);
    }
    free(text);
    return good ? OK : E_MEMORY;
}

enum status row_digest_judgement(const struct judgement *judgement, char hex[65])
{
    return digest(say_judgement, judgement, hex);
}

enum status row_digest_papers(const struct judgement_papers *papers, char hex[65])
{
    return digest(say_papers, papers, hex);
}
