#include "register/network.h"

#include <stddef.h>

#ifdef __linux__
#include <sys/vfs.h>
#endif

const char *network_name(unsigned long type)
{
    static const struct {
        unsigned long type;
        const char *name;
    } known[] = {
        {0x6969, "NFS"},      {0x517B, "SMB"},       {0xFF534D42, "CIFS"}, {0xFE534D42, "SMB"},
        {0x65735546, "FUSE"}, {0x01021997, "9P"},    {0x5346414F, "AFS"},  {0x6B414653, "AFS"},
        {0x73757245, "Coda"}, {0x564C, "NCP"},       {0x00C36400, "Ceph"}, {0x0BD00BD0, "Lustre"},
        {0x47504653, "GPFS"}, {0x7461636F, "OCFS2"}, {0x01161970, "GFS2"}, {0x786F4256, "a virtual machine's share"},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (known[i].type == (type & 0xFFFFFFFFUL)) {
            return known[i].name;
        }
    }
    return NULL;
}

const char *network_of(const char *folder)
{
#ifdef __linux__
    struct statfs facts;
    return statfs(folder, &facts) == 0 ? network_name((unsigned long)facts.f_type) : NULL;
#else
    (void)folder;
    return NULL;
#endif
}
