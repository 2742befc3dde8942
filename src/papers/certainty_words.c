#include "papers/certainty_words.h"

#include <stdio.h>

char *share_text(const struct uncertainty_share *share, char out[SHARE_TEXT])
{
    if (share->channel == CHANNEL_COUNT) {
        (void)snprintf(out, SHARE_TEXT, "fit of the curves");
    } else {
        (void)snprintf(out, SHARE_TEXT, "%s, %s", channel_info(share->channel)->name,
                       share->instrument ? "instrument" : "scatter of readings");
    }
    return out;
}
