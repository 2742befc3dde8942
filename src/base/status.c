#include "base/status.h"

#include <stdarg.h>
#include <string.h>

void text_tidy(char *text, bool cut)
{
    for (char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f) {
            *c = '?';
        }
    }
    if (cut) {
        size_t end = strlen(text) - 3;
        while (end > 0 && ((unsigned char)text[end] & 0xc0) == 0x80) {
            end--;
        }
        memcpy(text + end, "...", 4);
    }
}

enum status faults_add(struct faults *faults, enum status status, struct place at, const char *fmt, ...)
{
    if (faults->count++ == 0) {
        faults->first = status;
    }
    if (faults->count > FAULTS_KEPT) {
        return status;
    }
    char *text = faults->text[faults->count - 1];
    int used = 0;
    if (at.file != NULL && at.line > 0 && at.column > 0) {
        used = snprintf(text, FAULT_TEXT, "%.200s:%zu:%zu: ", at.file, at.line, at.column);
    } else if (at.file != NULL && at.line > 0) {
        used = snprintf(text, FAULT_TEXT, "%.200s:%zu: ", at.file, at.line);
    } else if (at.file != NULL) {
        used = snprintf(text, FAULT_TEXT, "%.200s: ", at.file);
    }
    size_t start = used > 0 ? (size_t)used : 0;
    va_list args;
    va_start(args, fmt);
    int length = vsnprintf(text + start, FAULT_TEXT - start, fmt, args);
    va_end(args);
    text_tidy(text, length >= 0 && start + (size_t)length >= FAULT_TEXT);
    return status;
}

enum status faults_memory(struct faults *faults)
{
    return faults_add(faults, E_MEMORY, (struct place){0}, "out of memory");
}

bool faults_print(const struct faults *faults, FILE *to)
{
    size_t kept = faults->count < FAULTS_KEPT ? faults->count : (size_t)FAULTS_KEPT;
    bool written = true;
    for (size_t i = 0; i < kept; i++) {
        written = fprintf(to, "%s\n", faults->text[i]) >= 0 && written;
    }
    if (faults->count > kept) {
        written = fprintf(to, "... and %zu more\n", faults->count - kept) >= 0 && written;
    }
    return written;
}
