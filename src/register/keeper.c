#include "register/keeper.h"

#include <pwd.h>
#include <sys/utsname.h>
#include <unistd.h>

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
