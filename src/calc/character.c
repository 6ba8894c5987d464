/* SPDX-License-Identifier: GPL-3.0-or-later */
/* UTF-8 character by character. */
#include "wetside/calc/character.h"

size_t ws_character_read(const char *at, size_t left, uint32_t *point)
{
    const unsigned char *byte = (const unsigned char *)at;
    size_t needs;
    uint32_t least;

    if (byte[0] < 0x80) {
        *point = byte[0];
        return 1;
    }
    if (byte[0] >= 0xC2 && byte[0] <= 0xDF) {
        needs = 2, least = 0x80, *point = byte[0] & 0x1Fu;
    } else if (byte[0] >= 0xE0 && byte[0] <= 0xEF) {
        needs = 3, least = 0x800, *point = byte[0] & 0x0Fu;
    } else if (byte[0] >= 0xF0 && byte[0] <= 0xF4) {
        needs = 4, least = 0x10000, *point = byte[0] & 0x07u;
    } else {
        return 0;
    }
    if (left < needs)
        return 0;
    for (size_t i = 1; i < needs; i++) {
        if ((byte[i] & 0xC0) != 0x80)
            return 0;
        *point = *point << 6 | (byte[i] & 0x3Fu);
    }
    if (*point < least || *point > 0x10FFFF || (*point >= 0xD800 && *point <= 0xDFFF))
        return 0;
    return needs;
}

struct range {
    uint32_t first, last;
};

static bool is_in(uint32_t point, const struct range *range, size_t ranges)
{
    for (size_t i = 0; i < ranges; i++)
        if (point >= range[i].first && point <= range[i].last)
            return true;
    return false;
}
#define IS_IN(point, range) is_in(point, range, sizeof(range) / sizeof *(range))

bool ws_character_is_control(uint32_t point)
{
    return point < 0x20 || (point >= 0x7F && point <= 0x9F);
}

bool ws_character_steers(uint32_t point)
{
    static const struct range steering[] = { { 0x61C, 0x61C },    { 0x200B, 0x200F },
                                             { 0x2028, 0x202E },  { 0x2060, 0x206F },
                                             { 0xFEFF, 0xFEFF },  { 0xFFF9, 0xFFFB },
                                             { 0xE0000, 0xE0FFF } };

    return IS_IN(point, steering);
}

/* Blanks of every width, fillers that are printed as nothing, and the marks that need a letter to
 * stand on (the Unicode Character Database's White_Space, Default_Ignorable_Code_Point and the
 * blocks of combining diacritical marks; from memory). */
static bool is_blank(uint32_t point)
{
    static const struct range blank[] = {
        { 0x20, 0x20 },     { 0xA0, 0xA0 },     { 0xAD, 0xAD },     { 0x300, 0x36F },
        { 0x115F, 0x1160 }, { 0x1680, 0x1680 }, { 0x17B4, 0x17B5 }, { 0x180B, 0x180F },
        { 0x1AB0, 0x1AFF }, { 0x1DC0, 0x1DFF }, { 0x2000, 0x200A }, { 0x202F, 0x202F },
        { 0x205F, 0x205F }, { 0x20D0, 0x20FF }, { 0x2800, 0x2800 }, { 0x3000, 0x3000 },
        { 0x3164, 0x3164 }, { 0xFE00, 0xFE0F }, { 0xFE20, 0xFE2F }, { 0xFFA0, 0xFFA0 },
    };

    return IS_IN(point, blank);
}

bool ws_text_is_seen(const char *text)
{
    while (*text != '\0') {
        uint32_t point;
        size_t length = ws_character_read(text, SIZE_MAX, &point);

        if (length == 0 ||
            (!ws_character_is_control(point) && !ws_character_steers(point) && !is_blank(point)))
            return true;
        text += length;
    }
    return false;
}
