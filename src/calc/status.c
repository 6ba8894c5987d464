/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The line for the person, and the program's exit status. */
#include "wetside/calc/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

/* The bytes of the well-formed UTF-8 character at `at`, 0 if there is none: broken, cut short,
 * overlong, a surrogate, or past U+10FFFF (RFC 3629, section 4). */
static size_t character_length(const unsigned char *at)
{
    unsigned char low = 0x80, high = 0xBF;
    size_t length;

    if (at[0] < 0x80)
        return 1;
    if (at[0] < 0xC2 || at[0] > 0xF4)
        return 0;
    length = at[0] < 0xE0 ? 2 : at[0] < 0xF0 ? 3 : 4;
    if (at[0] == 0xE0)
        low = 0xA0;
    else if (at[0] == 0xED)
        high = 0x9F;
    else if (at[0] == 0xF0)
        low = 0x90;
    else if (at[0] == 0xF4)
        high = 0x8F;
    if (at[1] < low || at[1] > high)
        return 0;
    for (size_t i = 2; i < length; i++)
        if ((at[i] & 0xC0) != 0x80)
            return 0;
    return length;
}

static bool is_control(const unsigned char *at)
{
    return at[0] < 0x20 || at[0] == 0x7F || (at[0] == 0xC2 && at[1] < 0xA0);
}

/* A message quotes what a person, a file or a probe gave, and that may hold anything. Each control
 * character and each byte that is no character becomes one question mark, so that a message is one
 * line of UTF-8 wherever it is printed. What a cut left of a character is dropped. */
static void make_presentable(char *text, bool was_cut)
{
    unsigned char *from = (unsigned char *)text, *to = from;

    while (*from != '\0') {
        size_t length = character_length(from);

        if (length == 0 && was_cut && from[0] >= 0xC2) {
            size_t left = 1;

            while (left < 4 && (from[left] & 0xC0) == 0x80)
                left++;
            if (from[left] == '\0')
                break;
        }
        if (length == 0) {
            *to++ = '?';
            from++;
        } else if (is_control(from)) {
            *to++ = '?';
            from += length;
        } else {
            while (length-- > 0)
                *to++ = *from++;
        }
    }
    *to = '\0';
}

enum ws_status ws_fail(struct ws_message *message, enum ws_status status, const char *format, ...)
{
    va_list arguments;
    int length;

    if (message == NULL)
        return status;
    va_start(arguments, format);
    length = vsnprintf(message->text, sizeof message->text, format, arguments);
    va_end(arguments);
    if (length < 0)
        message->text[0] = '\0';
    make_presentable(message->text, length >= (int)sizeof message->text);
    return status;
}

int ws_status_exit(enum ws_status status)
{
    switch (status) {
    case WS_OK:
        return 0;
    case WS_BAD_INPUT:
    case WS_BAD_PLAN:
    case WS_BAD_EVENT:
    case WS_TIME_BACK: /* a plan and its events come from a person or a file: wrong input as well */
        return 2;
    default:
        return 1;
    }
}
