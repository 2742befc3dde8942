#include "tables/channel.h"

#include <string.h>

static const struct channel_info channels[CHANNEL_COUNT] = {
#define X(id, name, dimension, lowest, highest, makes, follows)                                                        \
    [id] = {name, dimension, lowest, highest, makes, follows},
    CHANNEL_LIST(X)
#undef X
};

const struct channel_info *channel_info(enum channel channel)
{
    return &channels[channel];
}

enum channel channel_find(const char *name)
{
    for (int i = 0; i < CHANNEL_COUNT; i++) {
        if (strcmp(channels[i].name, name) == 0) {
            return (enum channel)i;
        }
    }
    return CHANNEL_COUNT;
}
