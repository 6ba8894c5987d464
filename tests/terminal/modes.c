/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a terminal has been told, byte by byte. */
#include "modes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void modes_begin(struct modes *modes, int lines)
{
    memset(modes, 0, sizeof *modes);
    modes_resized(modes, lines);
}

static void set_private(struct modes *modes, int number, bool on)
{
    int i = 0;

    while (i < modes->private_modes && modes->private_mode[i].number != number)
        i++;
    if (i == MODES_PRIVATE) {
        fprintf(stderr, "more modes than this test has room for\n");
        abort();
    }
    if (i == modes->private_modes)
        modes->private_modes++;
    modes->private_mode[i].number = number;
    modes->private_mode[i].on = on;
}

bool modes_private(const struct modes *modes, int number, bool otherwise)
{
    for (int i = 0; i < modes->private_modes; i++)
        if (modes->private_mode[i].number == number)
            return modes->private_mode[i].on;
    return otherwise;
}

/* SGR: each number in turn; 38 and 48 take the numbers of their colour along. 10 and 11 are the
 * letter sets of the Linux console. */
static void set_attributes(struct modes *modes, const char *at)
{
    for (;;) {
        long number = strtol(at, (char **)&at, 10);

        if (number == 0)
            modes->attributes = modes->colour = modes->ground = modes->drawn_lines = false;
        else if (number == 10 || number == 11)
            modes->drawn_lines = number == 11;
        else if (number == 39 || (number >= 30 && number <= 38) || (number >= 90 && number <= 97))
            modes->colour = number != 39;
        else if (number == 49 || (number >= 40 && number <= 48) || number >= 100)
            modes->ground = number != 49;
        else
            modes->attributes = true;
        if (*at != ';' || number == 38 || number == 48)
            return;
        at++;
    }
}

static bool is_whole(const struct modes *modes, int last)
{
    return last > 0 && last < MODES_LINES && modes->had_lines[last];
}

static void take_csi(struct modes *modes, const char *parameters, char final)
{
    int first, last;

    if (parameters[0] == '?' && (final == 'h' || final == 'l')) {
        const char *at = parameters;

        do
            set_private(modes, (int)strtol(at + 1, (char **)&at, 10), final == 'h');
        while (*at == ';');
    } else if ((final == 'h' || final == 'l') && strcmp(parameters, "4") == 0) {
        modes->insert = final == 'h';
    } else if (final == 'm' && parameters[0] != '>' && parameters[0] != '?') {
        set_attributes(modes, parameters);
    } else if (final == 'r') {
        modes->scroll_region =
            parameters[0] != '\0' && (sscanf(parameters, "%d;%d", &first, &last) != 2 ||
                                      first != 1 || !is_whole(modes, last));
    } else if (final == 't' && (parameters[0] == '2') &&
               (parameters[1] == '2' || parameters[1] == '3')) {
        /* The title put aside and taken back: part of some second screens. */
        modes->titles_aside += parameters[1] == '2' ? 1 : -1;
    } else if (final == 'n' || (final == 'c' && parameters[0] != '?') || final == 't') {
        modes->commands++; /* it would answer, or its window would move */
    }
}

/* A whole sequence that is none of CSI: two or three bytes, or a string to its end. */
static void take_other(struct modes *modes, const char *sequence)
{
    switch (sequence[1]) {
    case ']':
    case 'P':
    case 'X':
    case '^':
    case '_':
        modes->commands++;
        break;
    case '(':
        modes->drawn_lines = sequence[2] == '0';
        break;
    case '=':
    case '>':
        modes->keypad = sequence[1] == '=';
        break;
    case 'c':
        modes->commands++;
        break;
    default:
        break;
    }
}

static bool is_complete(const char *sequence, size_t length)
{
    unsigned char last = (unsigned char)sequence[length - 1];

    if (length < 2)
        return false;
    if (sequence[1] == '[')
        return length > 2 && last >= 0x40 && last <= 0x7E;
    if (strchr("]PX^_", sequence[1]) != NULL)
        return last == '\a' || (length > 2 && last == '\\' && sequence[length - 2] == '\033');
    return strchr("()*+#%", sequence[1]) != NULL ? length == 3 : true;
}

static void take(struct modes *modes, char byte)
{
    if (modes->length == 0 && byte != '\033') {
        if (byte == '\016' || byte == '\017')
            modes->shifted_out = byte == '\016';
        return;
    }
    /* An escape within one begins anew, as terminals have it. */
    if (byte == '\033' && (modes->length < 2 || strchr("]PX^_", modes->sequence[1]) == NULL))
        modes->length = 0;
    modes->sequence[modes->length++] = byte;
    if (modes->length == MODES_SEQUENCE - 1) {
        modes->commands++; /* longer than anything a screen needs */
        modes->length = 0;
        return;
    }
    if (!is_complete(modes->sequence, modes->length))
        return;
    modes->sequence[modes->length] = '\0';
    modes->ever++;
    if (modes->sequence[1] == '[') {
        modes->sequence[modes->length - 1] = '\0';
        take_csi(modes, modes->sequence + 2, byte);
    } else {
        take_other(modes, modes->sequence);
    }
    modes->length = 0;
}

void modes_resized(struct modes *modes, int lines)
{
    if (lines > 0 && lines < MODES_LINES)
        modes->had_lines[lines] = true;
    modes->scroll_region = false;
}

void modes_take(struct modes *modes, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++)
        take(modes, bytes[i]);
}

const char *modes_changed(const struct modes *modes)
{
    static char what[64];

    for (int i = 0; i < modes->private_modes; i++) {
        int number = modes->private_mode[i].number;
        bool at_first = number == 25 || number == 7;

        /* Whether the cursor blinks is part of how a terminal describes a plain one. */
        if (number != 12 && modes->private_mode[i].on != at_first) {
            snprintf(what, sizeof what, "private mode %d is %s", number, at_first ? "off" : "on");
            return what;
        }
    }
    if (modes->length > 0)
        return "a sequence that has no end";
    if (modes->titles_aside != 0)
        return "the title was put aside, or taken back, once more than the other";
    if (modes->commands > 0)
        return "it was told something that is not for the screen";
    return modes->insert          ? "insertion is on"
           : modes->keypad        ? "the keypad is the program's"
           : modes->drawn_lines   ? "lines are drawn for letters"
           : modes->shifted_out   ? "another set of letters is on"
           : modes->attributes    ? "attributes are on"
           : modes->colour        ? "letters have a colour"
           : modes->ground        ? "the ground has a colour"
           : modes->scroll_region ? "a part of the screen scrolls"
                                  : NULL;
}
