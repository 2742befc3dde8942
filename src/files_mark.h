/* files_mark.h - how the name of a scratch folder begins (private to files.c and folder_lock.c)
 *
 * The number of the process that made it follows, and a '-'.
 */
#ifndef DUTYPROOF_FILES_MARK_H
#define DUTYPROOF_FILES_MARK_H

#define SCRATCH_MARK ".dutyproof-"

#endif
