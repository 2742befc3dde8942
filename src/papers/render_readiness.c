#include "papers/render_readiness.h"

#include "base/text.h"
#include "papers/json_document.h"
#include "papers/layout.h"

#include <string.h>

enum { NAME_SHOWN = 40, TEXT_SHOWN = 500 };

/* One line, its texts made safe to show. */
static enum status line_text(const struct ready_line *line, const char *label, struct arena *arena, FILE *to)
{
    const char *text = text_shown(arena, line->text, TEXT_SHOWN);
    if (text == NULL) {
        return E_MEMORY;
    }
    paragraph_print(label, text, strlen(label), to);
    return OK;
}

/* Lines of a kind; the model's name before them where with_model. */
static enum status kind_text(const struct readiness *readiness, enum ready_kind kind, const char *model,
                             const char *label, struct arena *arena, FILE *to)
{
    enum status status = OK;
    for (size_t i = 0; i < readiness->count && status == OK; i++) {
        const struct ready_line *line = &readiness->lines[i];
        bool same = line->model == model || (line->model != NULL && model != NULL && strcmp(line->model, model) == 0);
        if (line->kind == kind && same) {
            status = line_text(line, label, arena, to);
        }
    }
    return status;
}

enum status render_to_fill(const struct readiness *readiness, FILE *to)
{
    struct arena arena = {0};
    enum status status = OK;
    if (readiness_count(readiness, READY_TO_FILL) > 0) {
        (void)fputs("\nStill to fill:\n", to);
    }
    for (size_t i = 0; i < readiness->count && status == OK; i++) {
        const struct ready_line *line = &readiness->lines[i];
        const char *name = line->model == NULL ? "" : text_shown(&arena, line->model, NAME_SHOWN);
        const char *label = name == NULL ? NULL : arena_format(&arena, "  %s%s", name, *name == '\0' ? "" : ": ");
        if (line->kind == READY_TO_FILL) {
            status = label == NULL ? E_MEMORY : line_text(line, label, &arena, to);
        }
    }
    arena_release(&arena);
    return status;
}

static enum status model_text(const struct readiness *readiness, const char *model, struct arena *arena, FILE *to)
{
    const char *name = text_shown(arena, model, NAME_SHOWN);
    if (name == NULL) {
        return E_MEMORY;
    }
    (void)fprintf(to, "\nModel %s\n", name);
    enum status status = kind_text(readiness, READY_CHECKED, model, "  checked      ", arena, to);
    return status == OK ? kind_text(readiness, READY_UNCHECKED, model, "  not checked  ", arena, to) : status;
}

enum status render_readiness_text(const struct readiness *readiness, const struct bay *bay, FILE *to)
{
    struct arena arena = {0};
    enum status status = kind_text(readiness, READY_UNDERSTOOD, NULL, "", &arena, to);
    for (size_t i = 0; i < bay->model_count && status == OK; i++) {
        status = model_text(readiness, bay->models[i].name, &arena, to);
    }
    status = status == OK ? render_to_fill(readiness, to) : status;
    for (size_t i = 0; i < bay->notes.count && status == OK; i++) {
        const char *note = text_shown(&arena, bay->notes.items[i].text, TEXT_SHOWN);
        status = note == NULL ? E_MEMORY : OK;
        (void)fputs(i == 0 ? "\n" : "", to);
        paragraph_print("input: ", note == NULL ? "" : note, 4, to);
    }
    arena_release(&arena);
    return status;
}

enum status render_readiness_json(const struct readiness *readiness, const struct bay *bay, char **text, size_t *length)
{
    static const char *const kinds[] = {
        [READY_UNDERSTOOD] = "understood",
        [READY_CHECKED] = "checked",
        [READY_UNCHECKED] = "not checked",
        [READY_TO_FILL] = "to fill",
    };
    struct json_document doc = {0};
    json_t *root = json_object(), *lines = json_array(), *notes = json_array();
    for (size_t i = 0; i < readiness->count; i++) {
        json_t *object = json_object();
        put_text(&doc, object, "kind", kinds[readiness->lines[i].kind]);
        put_text(&doc, object, "model", readiness->lines[i].model);
        put_text(&doc, object, "text", readiness->lines[i].text);
        append_value(&doc, lines, object);
    }
    for (size_t i = 0; i < bay->notes.count; i++) {
        append_value(&doc, notes, text_value(&doc, bay->notes.items[i].text));
    }
    put_value(&doc, root, "complete", json_boolean(readiness_count(readiness, READY_TO_FILL) == 0));
    put_value(&doc, root, "lines", lines);
    put_value(&doc, root, "notes", notes);
    return json_document_end(&doc, root, false, text, length);
}
