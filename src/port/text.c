/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from anywhere made fit to be shown: nothing of it steers a terminal. */
#include "wetside/port/text.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/character.h"

/* How one piece is shown; gives the length in `shown` and, in *used, the bytes it came from. */
static size_t show(const unsigned char *at, size_t left, char shown[12], size_t *used)
{
    uint32_t point;
    size_t bytes = ws_character_read((const char *)at, left, &point);

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
    if (ws_character_is_control(point) || ws_character_steers(point))
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
