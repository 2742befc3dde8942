/* fuzz.h - what the fuzzers share
 *
 * Each fuzz_NAME.c defines LLVMFuzzerTestOneInput: with clang's libFuzzer it is a fuzzer (make fuzz-NAME), with
 * replay.c a plain program that runs the kept inputs again (make check).
 */
#ifndef DUTYPROOF_FUZZ_H
#define DUTYPROOF_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Ends the process, so that the fuzzer keeps the input; inside the library nothing does. */
#define MUST(condition)                                                                                                \
    do {                                                                                                               \
        if (!(condition)) {                                                                                            \
            fuzz_broken(#condition, __FILE__, __LINE__);                                                               \
        }                                                                                                              \
    } while (0)

_Noreturn void fuzz_broken(const char *condition, const char *file, int line);

/* A folder for the files of a bay, made once a process and emptied at each call: the input is split at lines
 * `%% rig.csv`, each of which starts the file of that name. Names other than the ones a bay holds are left out.
 * Returns: the folder. */
const char *fuzz_bay(const uint8_t *data, size_t size);

#endif
