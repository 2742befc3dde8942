#include "tables/listing.h"

#include "tables/cells.h"
#include "tables/channel.h"
#include "tables/trade_names.h"

#include <string.h>

/* "a, b": the first name of each value. */
static const char *words_text(const struct word *words, struct arena *arena)
{
    const char *text = "";
    for (const struct word *word = words; word->name != NULL && text != NULL; word++) {
        if (word == words || word->value != word[-1].value) {
            text = arena_format(arena, "%s%s%s", text, *text == '\0' ? "" : ", ", word->name);
        }
    }
    return text;
}

static const char *aliases_text(const char *name, struct arena *arena)
{
    const char *text = "";
    const struct trade_name *trade;
    for (size_t i = 0; (trade = trade_name_at(i)) != NULL && text != NULL; i++) {
        if (strcmp(trade->name, name) == 0) {
            text = arena_format(arena, "%s%s%s", text, *text == '\0' ? "" : ", ", trade->alias);
        }
    }
    return text;
}

enum status listing_add(struct listing *listing, struct arena *arena, const char *name, enum dimension dimension,
                        const struct table_help *help, bool required)
{
    const char *takes = help->words != NULL ? words_text(help->words, arena) : unit_examples(dimension);
    const char *aliases = aliases_text(name, arena);
    struct listing_row *row = arena_push(arena, &listing->rows, &listing->count, sizeof *row);
    if (row == NULL || takes == NULL || aliases == NULL) {
        return E_MEMORY;
    }
    *row = (struct listing_row){
        .name = name,
        .takes = dimension == DIM_NONE && help->words == NULL ? "text or number" : takes,
        .aliases = aliases,
        .otherwise = help->otherwise == NULL ? "" : help->otherwise,
        .about = help->about == NULL ? "" : help->about,
        .required = required,
    };
    return OK;
}

enum status listing_of_form(const struct table_form *form, struct arena *arena, struct listing *listing)
{
    *listing = (struct listing){.name = form->name, .about = form->about};
    enum status status = OK;
    for (size_t i = 0; i < form->count && status == OK; i++) {
        const struct table_field *field = &form->fields[i];
        status = listing_add(listing, arena, field->name, field->dimension, &form->help[i], field->required);
    }
    return status;
}

enum status listing_of_log(struct arena *arena, struct listing *listing)
{
    *listing = (struct listing){
        .name = "log",
        .about = "The channels of a log: headings as 'flow [L/s]'; rig.csv maps other headings, 'column flow'. "
                 "A date column may stand beside the time column. Lines '# serial: ...', '# model: ...', "
                 "'# tested: ...' and '# tester: ...' tell which unit it is.",
    };
    enum status status = OK;
    for (int channel = 0; channel < CHANNEL_COUNT && status == OK; channel++) {
        const struct channel_info *info = channel_info((enum channel)channel);
        struct table_help help = {.about = channel_about((enum channel)channel)};
        status = listing_add(listing, arena, info->name, info->dimension, &help, false);
    }
    return status;
}
