/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The line for the person, and the program's exit status. */
#include "wetside/calc/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>

#include "wetside/calc/character.h"

/* A message quotes what a person, a file or a probe gave, and that may hold anything. Each control
 * character and each byte that is no character becomes one question mark, so that a message is one
 * line of UTF-8 wherever it is printed. What a cut left of a character is dropped. */
static void make_presentable(char *text, bool was_cut)
{
    char *from = text, *to = text;

    while (*from != '\0') {
        uint32_t point;
        size_t length = ws_character_read(from, SIZE_MAX, &point);

        if (length == 0 && was_cut && (unsigned char)from[0] >= 0xC2) {
            size_t left = 1;

            while (left < 4 && (from[left] & 0xC0) == 0x80)
                left++;
            if (from[left] == '\0')
                break;
        }
        if (length == 0) {
            *to++ = '?';
            from++;
        } else if (ws_character_is_control(point)) {
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
