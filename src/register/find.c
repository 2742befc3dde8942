#include "register/find.h"

#include "base/memory_stream.h"
#include "register/rows.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* A beginning stands beside its whole: words of these two are alternatives. */
enum kind { SERIAL, SERIAL_BEGINS, ORDER, ORDER_BEGINS, MODEL, DAY, VERDICT, KINDS };

/* The question, its words sorted by kind. */
struct plan {
    struct bay_register *in;
    struct faults *faults;
    struct arena *arena;
    size_t count;
    struct term {
        enum kind kind;
        const char *low, *high; /* high NULL: equal to low; else from low up to it */
    } * terms;
    bool has[KINDS];
};

/* --- what a word is --- */

static bool is_day(const char *word)
{
    static const char *const forms[] = {"dddd", "dddd-dd", "dddd-dd-dd"};
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++) {
        size_t k = 0;
        while (word[k] != '\0' && (forms[i][k] == 'd' ? word[k] >= '0' && word[k] <= '9' : word[k] == forms[i][k])) {
            k++;
        }
        if (word[k] == '\0' && forms[i][k] == '\0') {
            return true;
        }
    }
    return false;
}

static const char *verdict_of(const char *word)
{
    static const char *const verdicts[] = {"pass", "fail", "not judged", "void"};
    for (size_t i = 0; i < sizeof verdicts / sizeof verdicts[0]; i++) {
        if (strcasecmp(word, verdicts[i]) == 0) {
            return verdicts[i];
        }
    }
    return NULL;
}

/* Returns: true when a row has it. */
static bool exists(struct plan *plan, const char *statement, const char *low, const char *high, enum status *status)
{
    if (*status != OK) {
        return false;
    }
    struct query query = query_begin(plan->in, statement, plan->faults);
    query_text(&query, low);
    if (high != NULL) {
        query_text(&query, high);
    }
    bool there = query_next(&query);
    *status = query_end(&query);
    return there;
}

static enum status add_term(struct plan *plan, enum kind kind, const char *low, const char *high)
{
    struct term *term = low == NULL ? NULL : arena_push(plan->arena, &plan->terms, &plan->count, sizeof *term);
    if (term == NULL) {
        return faults_memory(plan->faults);
    }
    *term = (struct term){.kind = kind, .low = low, .high = high};
    plan->has[kind] = true;
    return OK;
}

/* Sorts above everything that begins with a word: the last code point of Unicode behind it. */
static const char *behind(struct plan *plan, const char *word)
{
    return arena_format(plan->arena, "%s\xF4\x8F\xBF\xBF", word);
}

static enum status add_beginning(struct plan *plan, enum kind kind, const char *word)
{
    const char *high = behind(plan, word);
    return high == NULL ? faults_memory(plan->faults) : add_term(plan, kind, word, high);
}

/* Sorts a word; *known false: it is nothing that the register has. */
static enum status sort_word(struct plan *plan, const char *word, bool *known)
{
    static const struct {
        enum kind kind;
        const char *statement;
    } wholes[] = {{SERIAL, "SELECT 1 FROM judgement WHERE serial = ? LIMIT 1"},
                  {ORDER, "SELECT 1 FROM judgement WHERE ordered = ? LIMIT 1"},
                  {MODEL, "SELECT 1 FROM judgement WHERE model = ? LIMIT 1"}};
    enum status status = OK;
    *known = true;
    if (verdict_of(word) != NULL) {
        return add_term(plan, VERDICT, verdict_of(word), NULL);
    }
    if (is_day(word) && strlen(word) > 4) {
        return add_beginning(plan, DAY, word);
    }
    for (size_t i = 0; i < sizeof wholes / sizeof wholes[0]; i++) {
        if (exists(plan, wholes[i].statement, word, NULL, &status)) {
            return add_term(plan, wholes[i].kind, word, NULL);
        }
    }
    if (status == OK && is_day(word)) {
        return add_beginning(plan, DAY, word);
    }
    const char *high = behind(plan, word);
    if (exists(plan, "SELECT 1 FROM judgement WHERE serial >= ? AND serial < ? LIMIT 1", word, high, &status)) {
        return add_beginning(plan, SERIAL_BEGINS, word);
    }
    if (exists(plan, "SELECT 1 FROM judgement WHERE ordered >= ? AND ordered < ? LIMIT 1", word, high, &status)) {
        return add_beginning(plan, ORDER_BEGINS, word);
    }
    *known = false;
    return status;
}

static int by_kind(const void *a, const void *b)
{
    const struct term *left = a, *right = b;
    return (int)left->kind - (int)right->kind;
}

/* "not judged" is one word, also when it is typed as two. */
static enum status sort_words(struct plan *plan, const struct register_question *question, const char **unknown)
{
    enum status status = OK;
    for (size_t i = 0; i < question->count && status == OK && *unknown == NULL; i++) {
        const char *word = question->words[i];
        bool known = true, split = strcasecmp(word, "not") == 0 && i + 1 < question->count &&
                                   strcasecmp(question->words[i + 1], "judged") == 0;
        i += split;
        status = sort_word(plan, split ? "not judged" : word, &known);
        *unknown = known ? NULL : word;
    }
    if (plan->count > 1) {
        qsort(plan->terms, plan->count, sizeof *plan->terms, by_kind);
    }
    return status;
}

/* --- the statement --- */

/* The narrowest index that the words allow, and the order that it gives: without sorting where one word drives it. */
static const char *index_of(const struct plan *plan)
{
    return plan->has[SERIAL] || plan->has[SERIAL_BEGINS] ? "judgement_serial"
           : plan->has[ORDER] || plan->has[ORDER_BEGINS] ? "judgement_ordered"
           : plan->has[MODEL] && plan->has[VERDICT]      ? "judgement_model_verdict"
           : plan->has[MODEL]                            ? "judgement_model"
           : plan->has[VERDICT]                          ? "judgement_verdict"
                                                         : "judgement_tested";
}

static const char *order_of(const struct plan *plan)
{
    return plan->has[SERIAL_BEGINS]  ? "serial DESC, id DESC"
           : plan->has[ORDER_BEGINS] ? "ordered DESC, tested DESC, id DESC"
                                     : "tested DESC, id DESC";
}

static bool alternatives(enum kind a, enum kind b)
{
    static const enum kind whole[KINDS] = {SERIAL, SERIAL, ORDER, ORDER, MODEL, DAY, VERDICT};
    return whole[a] == whole[b];
}

static void write_where(const struct plan *plan, FILE *to)
{
    static const char *const columns[KINDS] = {"serial", "serial", "ordered", "ordered", "model", "tested", "verdict"};
    (void)fprintf(to, " FROM judgement INDEXED BY %s WHERE (1", index_of(plan));
    for (size_t i = 0; i < plan->count; i++) {
        const struct term *term = &plan->terms[i];
        const char *column = columns[term->kind];
        (void)fputs(i > 0 && alternatives(term[-1].kind, term->kind) ? " OR " : ") AND (", to);
        if (term->high == NULL) {
            (void)fprintf(to, "%s = ?", column);
        } else {
            (void)fprintf(to, "%s >= ? AND %s < ?", column, column);
        }
    }
    (void)fputs(")", to);
}

static void bind_where(const struct plan *plan, struct query *query)
{
    for (size_t i = 0; i < plan->count; i++) {
        query_text(query, plan->terms[i].low);
        if (plan->terms[i].high != NULL) {
            query_text(query, plan->terms[i].high);
        }
    }
}

/* Begins "SELECT what ... tail". *text is freed by the caller once the query has ended. */
static struct query ask(const struct plan *plan, const char *what, bool ordered, size_t most, char **text)
{
    size_t length = 0;
    FILE *to = memory_stream_open(text, &length);
    bool good = to != NULL;
    if (good) {
        (void)fprintf(to, "SELECT %s", what);
        write_where(plan, to);
        if (ordered) {
            (void)fprintf(to, " ORDER BY %s", order_of(plan));
        }
        if (most > 0) {
            (void)fprintf(to, " LIMIT %zu", most);
        }
        good = ferror(to) == 0;
        good = fclose(to) == 0 && good;
    }
    if (!good) {
        return (struct query){.in = plan->in, .faults = plan->faults, .status = faults_memory(plan->faults)};
    }
    struct query query = query_begin(plan->in, *text, plan->faults);
    bind_where(plan, &query);
    return query;
}

static enum status count(const struct plan *plan, size_t *all)
{
    char *text = NULL;
    struct query query = plan->count == 0 ? query_begin(plan->in, "SELECT max(id) FROM judgement", plan->faults)
                                          : ask(plan, "count(*)", false, 0, &text);
    *all = query_next(&query) ? (size_t)query_get_integer(&query, 0) : 0;
    enum status status = query_end(&query);
    free(text);
    return status;
}

/* --- giving --- */

/* The serial whose front was asked for last: its rows often follow each other. */
struct front {
    char *serial;
    long long id;
};

static enum status look_up_front(struct plan *plan, const char *serial, struct front *front)
{
    if (front->serial != NULL && strcmp(front->serial, serial) == 0) {
        return OK;
    }
    free(front->serial);
    front->serial = strdup(serial);
    return front->serial == NULL ? faults_memory(plan->faults)
                                 : register_current(plan->in, serial, &front->id, plan->faults);
}

static enum status give(struct plan *plan, long long id, struct front *front, struct register_listener listener)
{
    struct arena arena = {0};
    struct found_judgement found = {.bay = plan->in->bay};
    bool there = false;
    enum status status = register_read(plan->in, id, &arena, &found.judgement, &there, plan->faults);
    if (status == OK && there) {
        status = look_up_front(plan, found.judgement.serial, front);
        found.current = front->id == id;
        status = status == OK ? register_papers(plan->in, id, &arena, &found.papers, &found.has_papers, plan->faults)
                              : status;
        status = status == OK ? listener.take(listener.context, &found) : status;
    }
    arena_release(&arena);
    return status;
}

static enum status give_all(struct plan *plan, size_t most, struct register_listener listener,
                            struct register_answer *answer)
{
    char *text = NULL;
    struct front front = {0};
    struct query query = ask(plan, "id", true, most, &text);
    while (query_next(&query)) {
        query.status = give(plan, query_get_integer(&query, 0), &front, listener);
        answer->given += query.status == OK;
    }
    enum status status = query_end(&query);
    free(front.serial);
    free(text);
    return status;
}

enum status register_find(struct bay_register *in, const struct register_question *question,
                          struct register_listener listener, struct register_answer *answer, struct faults *faults)
{
    struct arena arena = {0};
    struct plan plan = {.in = in, .faults = faults, .arena = &arena};
    *answer = (struct register_answer){0};
    enum status status = sort_words(&plan, question, &answer->unknown);
    if (status == OK && answer->unknown == NULL) {
        status = give_all(&plan, question->most, listener, answer);
        answer->all = answer->given;
        if (status == OK && question->most > 0 && answer->given == question->most) {
            status = count(&plan, &answer->all);
        }
    }
    arena_release(&arena);
    return status;
}
