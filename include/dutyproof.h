/* dutyproof.h - the public face of libdutyproof
 */
#ifndef DUTYPROOF_H
#define DUTYPROOF_H

/* The version of the library, "0.1.0". Static text. */
const char *dutyproof_version(void);

#endif
