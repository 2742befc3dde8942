/* identity.h - which unit a test is of, of which model, tested when and by whom
 */
#ifndef DUTYPROOF_IDENTITY_H
#define DUTYPROOF_IDENTITY_H

#include "run/unit.h"

/* Sets serial, model, tester, remarks and date of a result whose log was read: as requested, else as the log states; a
 * log without a date is dated by its first time stamp, one without a serial is named by its file. Status: E_INPUT a
 * list and the log contradict each other, the test lies more than a day ahead of the clock, or the model is not known;
 * E_MEMORY. */
enum status unit_identify(const struct unit_request *request, struct arena *arena, struct result *result,
                          struct faults *faults);

#endif
