/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the fuzz targets share. */
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void fuzz_failed(const char *condition, const char *file, int line)
{
    fprintf(stderr, "%s:%d: does not hold: %s\n", file, line, condition);
    abort();
}

char *fuzz_text(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);

    if (text == NULL)
        exit(1);
    memcpy(text, data, size);
    text[size] = '\0';
    return text;
}

/* The syntax of RFC 3629, section 4, row by row: the second byte's range depends on the first. */
static size_t well_formed(const unsigned char *at)
{
    static const struct {
        unsigned char first, last, second_from, second_to, length;
    } rows[] = {
        { 0x01, 0x7F, 0, 0, 1 },       { 0xC2, 0xDF, 0x80, 0xBF, 2 }, { 0xE0, 0xE0, 0xA0, 0xBF, 3 },
        { 0xE1, 0xEC, 0x80, 0xBF, 3 }, { 0xED, 0xED, 0x80, 0x9F, 3 }, { 0xEE, 0xEF, 0x80, 0xBF, 3 },
        { 0xF0, 0xF0, 0x90, 0xBF, 4 }, { 0xF1, 0xF3, 0x80, 0xBF, 4 }, { 0xF4, 0xF4, 0x80, 0x8F, 4 },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t length = rows[i].length;

        if (at[0] < rows[i].first || at[0] > rows[i].last)
            continue;
        if (length > 1 && (at[1] < rows[i].second_from || at[1] > rows[i].second_to))
            return 0;
        for (size_t k = 2; k < length; k++)
            if (at[k] < 0x80 || at[k] > 0xBF)
                return 0;
        return length;
    }
    return 0;
}

static bool begins(const unsigned char *at, const char *with)
{
    return strncmp((const char *)at, with, strlen(with)) == 0;
}

/* Marks of direction, joiners, separators of lines, the byte order mark, tags: as bytes. */
static bool turns(const unsigned char *at)
{
    if (begins(at, "\xD8\x9C") || begins(at, "\xEF\xBB\xBF") || begins(at, "\xF3\xA0"))
        return true;
    if (begins(at, "\xEF\xBF") && at[2] >= 0xB9 && at[2] <= 0xBB)
        return true;
    if (begins(at, "\xE2\x80"))
        return (at[2] >= 0x8B && at[2] <= 0x8F) || (at[2] >= 0xA8 && at[2] <= 0xAE);
    return begins(at, "\xE2\x81") && at[2] >= 0xA0 && at[2] <= 0xAF;
}

bool fuzz_is_clean(const char *text, bool steers)
{
    const unsigned char *at = (const unsigned char *)text;

    while (*at != '\0') {
        size_t length = well_formed(at);

        if (length == 0 || at[0] < 0x20 || at[0] == 0x7F || (at[0] == 0xC2 && at[1] < 0xA0))
            return false;
        if (!steers && turns(at))
            return false;
        at += length;
    }
    return true;
}

void fuzz_message(enum ws_status status, const struct ws_message *why)
{
    FUZZ_MUST(memchr(why->text, '\0', sizeof why->text) != NULL);
    FUZZ_MUST(fuzz_is_clean(why->text, true));
    FUZZ_MUST(status == WS_OK || why->text[0] != '\0');
}
