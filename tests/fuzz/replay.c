/* replay FILE... - runs a fuzzer's entry point over kept inputs, and over nothing */
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>

/* The bytes lie in a block of just their size, so that a sanitizer sees a read beyond them. */
static bool replay(const char *path)
{
    FILE *from = fopen(path, "rb");
    if (from == NULL || fseek(from, 0, SEEK_END) != 0) {
        return false;
    }
    long size = ftell(from);
    uint8_t *data = size >= 0 ? malloc((size_t)size + (size == 0)) : NULL;
    bool read = data != NULL && fseek(from, 0, SEEK_SET) == 0 && fread(data, 1, (size_t)size, from) == (size_t)size;
    if (read) {
        (void)LLVMFuzzerTestOneInput(data, (size_t)size);
    }
    free(data);
    return fclose(from) == 0 && read;
}

int main(int argc, char **argv)
{
    (void)LLVMFuzzerTestOneInput((const uint8_t *)"", 0);
    for (int i = 1; i < argc; i++) {
        if (!replay(argv[i])) {
            (void)fprintf(stderr, "%s: cannot be read\n", argv[i]);
            return 2;
        }
    }
    (void)printf("fuzz: %s: %d inputs\n", argv[0], argc);
    return 0;
}
