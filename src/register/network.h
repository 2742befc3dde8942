/* network.h - file systems on which the locks of two machines do not hold against each other
 */
#ifndef DUTYPROOF_REGISTER_NETWORK_H
#define DUTYPROOF_REGISTER_NETWORK_H

/* The name of the network (or foreign) file system that a type of statfs(2) stands for. Source: the kernel's
 * include/uapi/linux/magic.h, and statfs(2) for those that are not in it. Returns: NULL for a local one. */
const char *network_name(unsigned long type);

/* The same of the file system that holds a folder; NULL also where it cannot be told. */
const char *network_of(const char *folder);

#endif
