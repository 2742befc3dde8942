#include "register/keeper.h"

#include <errno.h>
#include <pwd.h>
#include <stdlib.h>
#include <string.h>
#include <sys/utsname.h>
#include <time.h>
#include <unistd.h>

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

const char *keeper_now(char text[32])
{
    struct tm parts;
    time_t seconds = now();
    if (gmtime_r(&seconds, &parts) == NULL || strftime(text, 32, "%Y-%m-%dT%H:%M:%SZ", &parts) == 0) {
        text[0] = '\0';
    }
    return text;
}

const char *keeper_name(struct arena *arena)
{
    enum { ROOM = 16384 };
    struct passwd entry, *found = NULL;
    struct utsname host;
    char *room = arena_alloc(arena, ROOM, 1);
    if (room == NULL) {
        return NULL;
    }
    const char *node = uname(&host) == 0 ? host.nodename : "unknown";
    bool named = getpwuid_r(getuid(), &entry, room, ROOM, &found) == 0 && found != NULL;
    return named ? arena_format(arena, "%s@%s", entry.pw_name, node)
                 : arena_format(arena, "user %lu@%s", (unsigned long)getuid(), node);
}
