/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of keys, and the keys of names. */
#include "wetside/console/key.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>
#include <wctype.h>

#include "wetside/calc/units.h"

static const struct {
    ws_key key;
    const char *name;
} names[] = {
    { ' ', "space" },
    { WS_KEY_ENTER, "Enter" },
    { WS_KEY_ESC, "Esc" },
    { WS_KEY_TAB, "Tab" },
    { WS_KEY_BACK_TAB, "Back-Tab" },
    { WS_KEY_BACK, "Backspace" },
    { WS_KEY_DELETE, "Delete" },
    { WS_KEY_UP, "Up" },
    { WS_KEY_DOWN, "Down" },
    { WS_KEY_LEFT, "Left" },
    { WS_KEY_RIGHT, "Right" },
    { WS_KEY_PAGE_UP, "Page-Up" },
    { WS_KEY_PAGE_DOWN, "Page-Down" },
    { WS_KEY_HOME, "Home" },
    { WS_KEY_END_OF_LINE, "End" },
};
enum { NAMES = sizeof names / sizeof *names, CONTROLS = 0x20, LAST_CODE_POINT = 0x10FFFF };

/* One character as UTF-8, by hand: a name is the same in every locale. */
static size_t encode(ws_key key, char out[5])
{
    size_t length = key < 0x80 ? 1 : key < 0x800 ? 2 : key < 0x10000 ? 3 : 4;
    static const unsigned char lead[] = { 0, 0, 0xC0, 0xE0, 0xF0 };

    for (size_t i = length; i-- > 1; key >>= 6)
        out[i] = (char)(0x80 | (key & 0x3F));
    out[0] = (char)(lead[length] | key);
    out[length] = '\0';
    return length;
}

/* A character that can be seen, so that two keys never have names that look the same. */
static bool is_seen(ws_key key)
{
    return key > ' ' && key <= LAST_CODE_POINT && key != 0x7F &&
           (key < 0x80 || (iswgraph((wint_t)key) && wcwidth((wchar_t)key) > 0));
}

bool ws_key_name(ws_key key, char *text, size_t size)
{
    const char *name = ws_terminal_key_name(key);
    char one[5];

    text[0] = '\0';
    for (int i = 0; i < NAMES; i++)
        if (names[i].key == key)
            name = names[i].name;
    if (name != NULL)
        return ws_text_copy(text, size, name) == strlen(name);
    if (key >= WS_KEY_F1 && key <= WS_KEY_F63)
        snprintf(text, size, "F%d", key - WS_KEY_F1 + 1);
    else if (key > 0 && key < CONTROLS)
        snprintf(text, size, "Ctrl-%c", (char)(key + '@'));
    else if (is_seen(key) && encode(key, one) < size)
        ws_text_copy(text, size, one);
    return text[0] != '\0';
}

/* The one character `name` is; WS_KEY_NONE: it is more or less than one. */
static ws_key decode(const char *name)
{
    const unsigned char *at = (const unsigned char *)name;
    int more = at[0] >= 0xF0 ? 3 : at[0] >= 0xE0 ? 2 : at[0] >= 0xC0 ? 1 : 0;
    ws_key key = more == 0 ? at[0] : at[0] & (0x3F >> more);
    char again[5];

    for (int i = 1; i <= more; i++) {
        if ((at[i] & 0xC0) != 0x80)
            return WS_KEY_NONE;
        key = key << 6 | (at[i] & 0x3F);
    }
    if (!is_seen(key))
        return WS_KEY_NONE;
    encode(key, again);
    return strcmp(again, name) == 0 ? key : WS_KEY_NONE;
}

ws_key ws_key_called(const char *name)
{
    ws_key key = decode(name);
    int number, end = 0;

    for (int i = 0; i < NAMES; i++)
        if (strcmp(names[i].name, name) == 0)
            return names[i].key;
    if (key != WS_KEY_NONE)
        return key;
    if (name[0] == 'F' && name[1] >= '1' && name[1] <= '9' &&
        sscanf(name, "F%2d%n", &number, &end) == 1 && name[end] == '\0' && number <= 63)
        return WS_KEY_F1 + number - 1;
    if (strncmp(name, "Ctrl-", 5) == 0 && name[5] > '@' && name[5] < '@' + CONTROLS &&
        name[6] == '\0')
        return name[5] - '@';
    return ws_terminal_key_called(name);
}
