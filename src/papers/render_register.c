#include "papers/render_register.h"

#include "base/text.h"
#include "papers/json_document.h"

#include <stdlib.h>
#include <string.h>

const char *found_folder(const struct found_judgement *found, struct arena *arena)
{
    if (!found->has_papers) {
        return "";
    }
    const char *folder = found->papers.folder;
    return folder[0] == '/' || strcmp(found->bay, ".") == 0 ? arena_text(arena, folder, strlen(folder))
                                                            : arena_format(arena, "%s/%s", found->bay, folder);
}

/* --- JSON --- */

/* The lines of a text as an array; no key where there are none. */
static void put_lines(struct json_document *doc, json_t *object, const char *key, const char *text)
{
    if (text[0] == '\0') {
        return;
    }
    json_t *array = json_array();
    for (const char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        const char *one = arena_text(&doc->arena, line, length);
        append_value(doc, array, one == NULL ? NULL : text_value(doc, one));
        line += length + (line[length] == '\n');
    }
    put_value(doc, object, key, array);
}

static json_t *found_object(struct json_document *doc, const struct found_judgement *found)
{
    const struct judgement *row = &found->judgement;
    const char *folder = found_folder(found, &doc->arena);
    doc->failed = doc->failed || folder == NULL;
    json_t *object = json_object();
    put_text(doc, object, "serial", row->serial);
    put_text(doc, object, "model", row->model);
    put_text(doc, object, "order", row->order);
    put_text(doc, object, "tested", row->tested);
    put_text(doc, object, "at", row->at);
    put_text(doc, object, "verdict", row->verdict);
    put_value(doc, object, "revision", json_integer(row->revision));
    put_value(doc, object, "current", json_boolean(found->current));
    put_text(doc, object, "papers", folder);
    put_text(doc, object, "result", row->result_sha256);
    put_text(doc, object, "who", row->who);
    put_text(doc, object, "origin", strcmp(row->origin, JUDGED) == 0 ? "" : row->origin);
    put_lines(doc, object, "changes", row->changes);
    put_text(doc, object, "log", row->log);
    put_text(doc, object, "log_sha256", row->log_sha256);
    put_text(doc, object, "program", row->program);
    put_text(doc, object, "bay", found->bay);
    put_value(doc, object, "judgement", json_integer(row->id));
    return object;
}

enum status render_found_json(const struct found_judgement *found, FILE *to)
{
    struct json_document doc = {0};
    char *text = NULL;
    size_t length = 0;
    if (json_document_end(&doc, found_object(&doc, found), true, &text, &length) != OK) {
        return E_MEMORY;
    }
    (void)fwrite(text, 1, length, to); /* who gave the stream checks it */
    free(text);
    return OK;
}

/* --- CSV --- */

void render_found_csv_heading(FILE *to)
{
    (void)fputs("serial,model,order,tested,at,verdict,revision,current,papers,result,who,log,bay,judgement\n", to);
}

enum status render_found_csv(const struct found_judgement *found, FILE *to)
{
    struct arena arena = {0};
    const struct judgement *row = &found->judgement;
    const char *folder = found_folder(found, &arena);
    const char *const before[] = {row->serial, row->model, row->order, row->tested, row->at, row->verdict};
    const char *const after[] = {folder, row->result_sha256, row->who, row->log, found->bay};
    for (size_t i = 0; i < sizeof before / sizeof before[0]; i++) {
        text_quote_csv(before[i], to);
        (void)fputc(',', to);
    }
    (void)fprintf(to, "%lld,%s,", row->revision, found->current ? "yes" : "no");
    for (size_t i = 0; i < sizeof after / sizeof after[0]; i++) {
        text_quote_csv(after[i], to);
        (void)fputc(',', to);
    }
    (void)fprintf(to, "%lld\n", row->id);
    arena_release(&arena);
    return folder == NULL ? E_MEMORY : OK;
}

/* --- text --- */

static const int widths[] = {16, 14, 12, 19, 10, 8, 8};
enum { COLUMNS = sizeof widths / sizeof widths[0], LONGEST_CELL = 300 };

static void write_row(const char *const cells[COLUMNS], const char *papers, FILE *to)
{
    for (size_t i = 0; i < COLUMNS; i++) {
        int pad = widths[i] - (int)text_columns(cells[i]);
        (void)fprintf(to, "%s%*s  ", cells[i], pad > 0 ? pad : 0, "");
    }
    (void)fprintf(to, "%s\n", papers);
}

void render_found_text_heading(FILE *to)
{
    write_row((const char *const[COLUMNS]){"serial", "model", "order", "tested", "verdict", "revision", "stands"},
              "papers", to);
}

/* A withdrawn test and one that another follows: each said as it is. */
static const char *stand_of(const struct found_judgement *found)
{
    return strcmp(found->judgement.verdict, "void") == 0 ? "void" : found->current ? "in front" : "earlier";
}

enum status render_found_text(const struct found_judgement *found, FILE *to)
{
    struct arena arena = {0};
    const struct judgement *row = &found->judgement;
    const char *folder = found_folder(found, &arena),
               *papers = folder == NULL ? NULL : text_shown(&arena, folder, LONGEST_CELL);
    char revision[32];
    (void)snprintf(revision, sizeof revision, "%lld", row->revision);
    const char *cells[COLUMNS] = {row->serial,  row->model, row->order,     row->tested,
                                  row->verdict, revision,   stand_of(found)};
    bool good = papers != NULL;
    for (size_t i = 0; i < COLUMNS && good; i++) {
        cells[i] = text_shown(&arena, cells[i][0] == '\0' ? "-" : cells[i], LONGEST_CELL);
        good = cells[i] != NULL;
    }
    if (good) {
        write_row(cells, papers[0] == '\0' ? "not yet written" : papers, to);
    }
    arena_release(&arena);
    return good ? OK : E_MEMORY;
}
