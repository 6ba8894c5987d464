/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from anywhere made fit to be shown: nothing of it steers a terminal. */
#include "wetside/port/text.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* Decodes one character of strict UTF-8 (no overlong forms, no surrogates). Gives its length in
 * bytes, 0 if what stands there is none. */
static size_t decode(const unsigned char *at, size_t left, uint32_t *point)
{
    size_t needs;
    uint32_t least;

    if (at[0] < 0x80) {
        *point = at[0];
        return 1;
    }
    if (at[0] >= 0xC2 && at[0] <= 0xDF) {
        needs = 2, least = 0x80, *point = at[0] & 0x1Fu;
    } else if (at[0] >= 0xE0 && at[0] <= 0xEF) {
        needs = 3, least = 0x800, *point = at[0] & 0x0Fu;
    } else if (at[0] >= 0xF0 && at[0] <= 0xF4) {
        needs = 4, least = 0x10000, *point = at[0] & 0x07u;
    } else {
        return 0;
    }
    if (left < needs)
        return 0;
    for (size_t i = 1; i < needs; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return 0;
        *point = *point << 6 | (at[i] & 0x3Fu);
    }
    if (*point < least || *point > 0x10FFFF || (*point >= 0xD800 && *point <= 0xDFFF))
        return 0;
    return needs;
}

/* Characters that are not seen but change what is: C1 controls, marks of direction, joiners, line
 * and paragraph separators, the byte order mark, tags. */
static bool steers(uint32_t point)
{
    return (point >= 0x80 && point <= 0x9F) || point == 0x61C ||
           (point >= 0x200B && point <= 0x200F) || (point >= 0x2028 && point <= 0x202E) ||
           (point >= 0x2060 && point <= 0x206F) || point == 0xFEFF ||
           (point >= 0xFFF9 && point <= 0xFFFB) || (point >= 0xE0000 && point <= 0xE0FFF);
}

/* How one piece is shown; gives the length in `shown` and, in *used, the bytes it came from. */
static size_t show(const unsigned char *at, size_t left, char shown[12], size_t *used)
{
    uint32_t point;
    size_t bytes = decode(at, left, &point);

    if (bytes == 0) {
        *used = 1;
        return (size_t)snprintf(shown, 12, "<%02X>", at[0]);
    }
    *used = bytes;
    if (point < 0x20 || point == 0x7F) {
        shown[0] = '^';
        shown[1] = (char)(point ^ 0x40);
        return 2;
    }
    if (steers(point))
        return (size_t)snprintf(shown, 12, "<U+%04X>", (unsigned)point);
    memcpy(shown, at, bytes);
    return bytes;
}

size_t ws_text_visible_bytes(const char *from, size_t length, char *text, size_t size)
{
    const unsigned char *at = (const unsigned char *)from;
    size_t out = 0;

    if (size == 0)
        return 0;
    while (length > 0) {
        char shown[12];
        size_t used, wide = show(at, length, shown, &used);

        if (out + wide >= size)
            break;
        memcpy(text + out, shown, wide);
        out += wide;
        at += used;
        length -= used;
    }
    text[out] = '\0';
    return out;
}

size_t ws_text_visible(const char *from, char *text, size_t size)
{
    return ws_text_visible_bytes(from, strlen(from), text, size);
}
