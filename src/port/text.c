/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text from anywhere made fit to be shown: nothing of it steers a terminal. */
#include "wetside/port/text.h"

#include <langinfo.h>
#include <limits.h>
#include <locale.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <wchar.h>

#include "wetside/calc/character.h"

/* The longest piece: `<U+10FFFF>` and its zero, or a character of any encoding. */
enum { SHOWN = 16 };

/* Marks without a width of their own that may stand on one character: as many as a letter of Korean
 * in pieces needs, or one of Vietnamese. */
enum { MARKS_MOST = 2 };

/* How one piece of a text is shown: gives its length. */
typedef size_t show_character(uint32_t point, const char *at, size_t bytes, char shown[SHOWN]);

static size_t as_it_is(uint32_t point, const char *at, size_t bytes, char shown[SHOWN])
{
    (void)point;
    memcpy(shown, at, bytes);
    return bytes;
}

static size_t by_number(uint32_t point, char shown[SHOWN])
{
    return (size_t)snprintf(shown, SHOWN, "<U+%04X>", (unsigned)point);
}

/* What the locale has of it: a wide character is its number in Unicode where the libraries say so
 * (C17, 6.10.8.2), as those of Linux do. */
static size_t in_locale(uint32_t point, const char *at, size_t bytes, char shown[SHOWN])
{
    char narrow[MB_LEN_MAX];
    mbstate_t state;
    size_t length;

    if (point < 0x80)
        return as_it_is(point, at, bytes, shown);
    memset(&state, 0, sizeof state);
    length = wcrtomb(narrow, (wchar_t)point, &state);
    if (length == 0 || length > SHOWN)
        return by_number(point, shown);
    memcpy(shown, narrow, length);
    return length;
}

/* Whether the locale has that character as one that is put on the one before it. */
static bool is_mark(uint32_t point)
{
    return point >= 0x80 && wcwidth((wchar_t)point) == 0;
}

/* How one piece is shown; gives the length in `shown` and, in *used, the bytes it came from.
 * *marks: how many stand on the last character; as many as may, where there is none. */
static size_t show(const char *at, size_t left, show_character *character, int *marks,
                   char shown[SHOWN], size_t *used)
{
    uint32_t point;
    size_t bytes = ws_character_read(at, left, &point);
    int before = *marks;

    *marks = 0;
    if (bytes == 0) {
        *used = 1;
        return (size_t)snprintf(shown, SHOWN, "<%02X>", (unsigned)(unsigned char)at[0]);
    }
    *used = bytes;
    if (point < 0x20 || point == 0x7F) {
        shown[0] = '^';
        shown[1] = (char)(point ^ 0x40);
        return 2;
    }
    if (ws_character_is_control(point) || ws_character_steers(point))
        return by_number(point, shown);
    if (!is_mark(point))
        return character(point, at, bytes, shown);
    if (before >= MARKS_MOST) {
        *marks = before;
        return by_number(point, shown);
    }
    *marks = before + 1;
    return character(point, at, bytes, shown);
}

static size_t show_all(const char *at, size_t length, show_character *character, char *text,
                       size_t size)
{
    size_t out = 0;
    int marks = MARKS_MOST;

    if (size == 0)
        return 0;
    while (length > 0) {
        char shown[SHOWN];
        size_t used, wide = show(at, length, character, &marks, shown, &used);

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

size_t ws_text_visible_bytes(const char *from, size_t length, char *text, size_t size)
{
    return show_all(from, length, as_it_is, text, size);
}

size_t ws_text_visible(const char *from, char *text, size_t size)
{
    return ws_text_visible_bytes(from, strlen(from), text, size);
}

size_t ws_text_plain(const char *from, char *text, size_t size)
{
    bool utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;

    return show_all(from, strlen(from), utf8 ? as_it_is : in_locale, text, size);
}

void ws_text_share_locale(void)
{
    locale_t mine = uselocale(LC_GLOBAL_LOCALE);

    if (mine != LC_GLOBAL_LOCALE && mine != (locale_t)0)
        freelocale(mine);
}

void ws_text_own_locale(void)
{
    ws_text_share_locale();
    /* Null changes nothing. */
    uselocale(duplocale(LC_GLOBAL_LOCALE));
}
