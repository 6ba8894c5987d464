/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The line for the person, and the program's exit status. */
#include "wetside/calc/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Cuts a text that filled the whole message back to the start of the character it broke in. */
static void drop_broken_tail(char *text)
{
    size_t length = strlen(text), start = length;
    unsigned char lead;
    size_t needs;

    while (start > 0 && ((unsigned char)text[start - 1] & 0xC0) == 0x80)
        start--;
    if (start == 0)
        return;
    start--;
    lead = (unsigned char)text[start];
    needs = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC0 ? 2 : 1;
    if (length - start < needs)
        text[start] = '\0';
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
    else if ((size_t)length >= sizeof message->text)
        drop_broken_tail(message->text);
    /* What a person or a file gave may hold anything: a message stays one line, and no control
     * character of it reaches a terminal. */
    for (char *at = message->text; *at != '\0'; at++)
        if ((unsigned char)*at < 0x20 || *at == 0x7F)
            *at = ' ';
    return status;
}

int ws_status_exit(enum ws_status status)
{
    switch (status) {
    case WS_OK:
        return 0;
    case WS_BAD_INPUT:
        return 2;
    default:
        return 1;
    }
}
