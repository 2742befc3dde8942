/* inspect_bay.h - dutyproof inspect BAY
 */
#ifndef DUTYPROOF_CLI_INSPECT_BAY_H
#define DUTYPROOF_CLI_INSPECT_BAY_H

#include "cli/commands.h"

/* Reads all tables of a bay and prints what is understood. Returns: EXIT_PASSED complete, EXIT_NOT_PASSED something is
 * still to fill, EXIT_TROUBLE a fault. */
enum exit_status inspect_bay(const char *folder, bool json);

#endif
