/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reads a script of keys, moments and sizes. */
#include "wetside/console/script.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wetside/calc/units.h"

static const struct {
    const char *name;
    ws_key key;
} names[] = {
    { "enter", WS_KEY_ENTER },  { "esc", WS_KEY_ESC },
    { "tab", WS_KEY_TAB },      { "backtab", WS_KEY_BACK_TAB },
    { "back", WS_KEY_BACK },    { "delete", WS_KEY_DELETE },
    { "up", WS_KEY_UP },        { "down", WS_KEY_DOWN },
    { "left", WS_KEY_LEFT },    { "right", WS_KEY_RIGHT },
    { "pgup", WS_KEY_PAGE_UP }, { "pgdn", WS_KEY_PAGE_DOWN },
    { "home", WS_KEY_HOME },    { "end", WS_KEY_END_OF_LINE },
    { "space", ' ' },           { "lt", '<' },
};

static enum ws_script_step fault(struct ws_script *script, const char *what, const char *at)
{
    snprintf(script->fault, sizeof script->fault, "%s: %.80s", what, at);
    script->text = "";
    return WS_SCRIPT_END;
}

/* A character of UTF-8; the script is the test's own, so it is trusted to be valid. */
static ws_key take_character(struct ws_script *script)
{
    const unsigned char *at = (const unsigned char *)script->text;
    int more = at[0] >= 0xF0 ? 3 : at[0] >= 0xE0 ? 2 : at[0] >= 0xC0 ? 1 : 0;
    ws_key key = more == 0 ? at[0] : at[0] & (0x3F >> more);

    for (int i = 1; i <= more && at[i] != 0; i++)
        key = key << 6 | (at[i] & 0x3F);
    script->text += 1 + more;
    return key;
}

static enum ws_script_step step_clock(struct ws_script *script, const char *inside)
{
    char *end;
    long ms = strtol(inside + 1, &end, 10);
    struct ws_message why;
    int64_t time_ms;

    if (script->clock == NULL)
        return fault(script, "no clock to step", inside);
    if (strcmp(end, "ms") == 0)
        time_ms = ms;
    else if (ws_time_read(inside + 1, &time_ms, NULL, &why) != WS_OK)
        return fault(script, "no time", inside);
    ws_clock_step_to(script->clock, ws_clock_boot_ns(script->clock) + time_ms * 1000000);
    return WS_SCRIPT_MOMENT;
}

static enum ws_script_step step_named(struct ws_script *script, const char *inside, ws_key *key)
{
    int number;

    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strcmp(names[i].name, inside) == 0) {
            *key = names[i].key;
            return WS_SCRIPT_KEY;
        }
    }
    if (inside[0] == '^' && inside[1] != '\0' && inside[2] == '\0') {
        *key = inside[1] & 0x1F;
        return WS_SCRIPT_KEY;
    }
    if (sscanf(inside, "f%d", &number) == 1 && number >= 1 && number <= 63) {
        *key = WS_KEY_F1 + number - 1;
        return WS_SCRIPT_KEY;
    }
    return fault(script, "no such key", inside);
}

static enum ws_script_step step_bracket(struct ws_script *script, ws_key *key, char *text, int size)
{
    const char *close = strchr(script->text, '>');
    char inside[128];
    int lines, columns;

    if (close == NULL || (size_t)(close - script->text) > sizeof inside)
        return fault(script, "no > after", script->text);
    snprintf(inside, sizeof inside, "%.*s", (int)(close - script->text - 1), script->text + 1);
    script->text = close + 1;
    if (inside[0] == '+')
        return step_clock(script, inside);
    if (sscanf(inside, "size %dx%d", &columns, &lines) == 2) {
        ws_terminal_pretend(lines, columns);
        return WS_SCRIPT_RESIZED;
    }
    if (strncmp(inside, "until ", 6) == 0) {
        snprintf(text, (size_t)size, "%s", inside + 6);
        return WS_SCRIPT_UNTIL;
    }
    if (strcmp(inside, "black") == 0) {
        snprintf(text, (size_t)size, "\n");
        return WS_SCRIPT_UNTIL;
    }
    if (strncmp(inside, "shot ", 5) == 0) {
        snprintf(text, (size_t)size, "%s", inside + 5);
        return WS_SCRIPT_SHOT;
    }
    return step_named(script, inside, key);
}

enum ws_script_step ws_script_next(struct ws_script *script, ws_key *key, char *text, int size)
{
    while (*script->text == '\n')
        script->text++;
    if (*script->text == '\0')
        return WS_SCRIPT_END;
    if (*script->text == '<')
        return step_bracket(script, key, text, size);
    *key = take_character(script);
    return WS_SCRIPT_KEY;
}
