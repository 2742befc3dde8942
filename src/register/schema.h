/* schema.h - the register's tables, and how an older register is brought up to date (inside src/register/ only)
 */
#ifndef DUTYPROOF_REGISTER_SCHEMA_H
#define DUTYPROOF_REGISTER_SCHEMA_H

#include "register/sql.h"

/* Makes the tables of a new register, or brings an older one up to date step by step, in one transaction. One that is
 * only read must be of this schema already, or one that can be read as it is. Status: E_FILE (no register; of a newer
 * schema), E_MEMORY. */
enum status schema_ready(struct bay_register *in, struct faults *faults);

#endif
