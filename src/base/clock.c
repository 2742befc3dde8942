#include "base/clock.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { DAY_S = 86400 };

static time_t now(void)
{
    const char *epoch = getenv("SOURCE_DATE_EPOCH");
    if (epoch == NULL || epoch[0] == '\0' || strspn(epoch, "0123456789") != strlen(epoch)) {
        return time(NULL);
    }
    errno = 0;
    long long seconds = strtoll(epoch, NULL, 10);
    return errno == 0 ? (time_t)seconds : time(NULL);
}

const char *clock_text(char text[CLOCK_TEXT])
{
    struct tm parts;
    time_t seconds = now();
    if (gmtime_r(&seconds, &parts) == NULL || strftime(text, CLOCK_TEXT, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0) {
        text[0] = '\0';
    }
    return text;
}

bool clock_is_ahead(const struct date *date)
{
    return date_seconds(date) > (double)now() + DAY_S;
}
