#include "base/utf16.h"

bool utf16_begins(const char *text, size_t length, bool *big_endian)
{
    const unsigned char *bytes = (const unsigned char *)text;
    *big_endian = length >= 2 && bytes[0] == 0xfe && bytes[1] == 0xff;
    return *big_endian || (length >= 2 && bytes[0] == 0xff && bytes[1] == 0xfe);
}

static size_t put(unsigned code, char *out)
{
    size_t length = code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned lead[] = {0, 0, 0xc0, 0xe0, 0xf0};
    for (size_t i = length - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (code & 0x3f));
        code >>= 6;
    }
    out[0] = (char)(lead[length] | code);
    return length;
}

static size_t take_unit(struct utf16 *state, unsigned unit, char *out)
{
    const unsigned unreadable = 0xfffd;
    size_t written = 0;
    bool low = unit >= 0xdc00 && unit < 0xe000;
    if (state->high != 0 && low) {
        unsigned code = 0x10000 + ((state->high - 0xd800) << 10) + (unit - 0xdc00);
        state->high = 0;
        return put(code, out);
    }
    if (state->high != 0) {
        written = put(unreadable, out);
        state->high = 0;
    }
    if (unit >= 0xd800 && unit < 0xdc00) {
        state->high = unit;
        return written;
    }
    return written + put(low ? unreadable : unit, out + written);
}

size_t utf16_piece(struct utf16 *state, const char *text, size_t length, char *out)
{
    size_t written = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char byte = (unsigned char)text[i];
        if (!state->odd) {
            state->odd = true;
            state->byte = byte;
            continue;
        }
        state->odd = false;
        unsigned first = state->byte, second = byte;
        written += take_unit(state, state->big_endian ? first << 8 | second : second << 8 | first, out + written);
    }
    return written;
}
