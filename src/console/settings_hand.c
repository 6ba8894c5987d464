/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The hand keys: what a foot switch types is learned by pressing it twice, and can be forgotten. */
#include "settings.h"

#include <stdio.h>
#include <string.h>

#include "wetside/console/ask.h"
#include "wetside/console/key.h"
#include "wetside/session/hands.h"

#include "sink.h"

#define NS_PER_MS INT64_C(1000000)

/* What one stroke sends arrives at once, also over a slow line; no second stroke comes so soon. */
enum { STROKE_MS = 120, LINE_BYTES = 96 };

bool settings_hand_refused(ws_key key, char *text, size_t size)
{
    char name[WS_HAND_KEY_BYTES];
    const char *means = sink_key_means(key);

    text[0] = '\0';
    if (!ws_key_name(key, name, sizeof name))
        snprintf(text, size, "This key has no name of its own, and can't be told from others.");
    else if (key == ' ' || key == WS_KEY_ENTER)
        snprintf(text, size, "%s is a hand key already: there is nothing to learn.", name);
    else if (means != NULL)
        snprintf(text, size, "%s can't be a hand key: in a run it %s.", name, means);
    return text[0] != '\0';
}

/* ---- learning -------------------------------------------------------------------------------- */

struct learning {
    struct ws_console *console;
    const struct ws_room *room;
    ws_key first;     /* pressed once; WS_KEY_NONE: not yet */
    ws_key now;       /* of the stroke that is arriving; WS_KEY_NONE: none is */
    int keys;         /* that came with it, and are not the same */
    int64_t began_ns; /* of that stroke */
    int64_t seen_ns;  /* of the last key; a held one repeats */
    char wrong[WS_MESSAGE_BYTES];
    bool done; /* learned, or left */
};

static void draw(const struct learning *l)
{
    int first, rows, x = ws_page_margin(), y, end;
    char name[WS_HAND_KEY_BYTES], text[LINE_BYTES];

    erase();
    ws_console_head(l->console, l->room, "hand keys");
    ws_console_body(&first, &rows);
    end = first + rows;
    y = first + (rows >= 8);
    if (l->first == WS_KEY_NONE) {
        snprintf(text, sizeof text, "PRESS YOUR SWITCH NOW");
    } else {
        ws_key_name(l->first, name, sizeof name);
        snprintf(text, sizeof text, "%s. PRESS IT AGAIN, TO BE SURE", name);
    }
    y += ws_draw_wrap(stdscr, y, x, COLS - 2 * x, 2, WS_ROLE_LOUD, text) + (rows >= 8);
    if (y < end && l->wrong[0] != '\0')
        y += ws_draw_wrap(stdscr, y, x, COLS - 2 * x, end - y < 4 ? end - y : 4, WS_ROLE_LOUD,
                          l->wrong) +
             1;
    if (y < end)
        ws_draw_wrap(stdscr, y, x, COLS - 2 * x, end - y, WS_ROLE_QUIET,
                     "The key it types becomes a hand key, beside space and Enter. It must mean "
                     "nothing else in a run.");
    ws_console_keys(l->console, "esc: back");
}

static void keep_learned(struct learning *l)
{
    struct ws_settings to = l->console->settings;
    char name[WS_HAND_KEY_BYTES];

    ws_key_name(l->first, name, sizeof name);
    ws_text_copy(to.hand[to.hands], sizeof to.hand[0], name);
    to.hands++;
    l->done = true;
    if (settings_set(l->console, &to, WS_SETTING_HAND))
        ws_console_say(l->console, "kept: hand keys, now with %s", name);
}

static bool known_already(const struct ws_settings *settings, const char *name)
{
    for (int i = 0; i < settings->hands; i++)
        if (strcmp(settings->hand[i], name) == 0)
            return true;
    return false;
}

/* One key was pressed, alone. */
static void stroke(struct learning *l, ws_key key)
{
    char name[WS_HAND_KEY_BYTES], before[WS_HAND_KEY_BYTES];

    if (settings_hand_refused(key, l->wrong, sizeof l->wrong))
        return;
    ws_key_name(key, name, sizeof name);
    if (known_already(&l->console->settings, name)) {
        snprintf(l->wrong, sizeof l->wrong, "%s is learned already.", name);
    } else if (l->first == WS_KEY_NONE) {
        l->first = key;
    } else if (key == l->first) {
        keep_learned(l);
    } else {
        ws_key_name(l->first, before, sizeof before);
        snprintf(l->wrong, sizeof l->wrong,
                 "That was %s, and before it was %s: nothing is learned. Press it anew.", name,
                 before);
        l->first = WS_KEY_NONE;
    }
}

/* All of a stroke has arrived. */
static void settle(struct learning *l)
{
    ws_key key = l->now;
    int keys = l->keys;

    if (key == WS_KEY_NONE ||
        ws_clock_boot_ns(l->console->clock) - l->began_ns < STROKE_MS * NS_PER_MS)
        return;
    l->now = WS_KEY_NONE;
    l->console->wake_ns = INT64_MAX;
    if (keys == 1 && key == WS_KEY_ESC) {
        l->done = true;
        ws_console_say(l->console, "nothing is learned: Esc leads back, and can't be a hand key");
        return;
    }
    if (keys == 1) {
        stroke(l, key);
        return;
    }
    l->first = WS_KEY_NONE;
    snprintf(l->wrong, sizeof l->wrong,
             key == WS_KEY_ESC
                 ? "It sends a key that is not known here: %d characters that begin with Esc. Set "
                   "the switch to a plain key, such as F5 or b."
                 : "It sends %d keys at once; a hand key is one. Set the switch to a single key.",
             keys);
}

/* As with the hand in a run: within the quiet time after the last key seen it is a held one. Esc
 * must lead back also for who hits it again and again. */
static void seen(struct learning *l, ws_key key)
{
    int64_t at_ns = l->console->key_boot_ns;
    int64_t quiet_ms = key == WS_KEY_ESC ? STROKE_MS : WS_QUIET_MS;
    bool quiet = l->seen_ns == INT64_MIN || at_ns - l->seen_ns >= quiet_ms * NS_PER_MS;

    l->seen_ns = at_ns;
    if (l->now != WS_KEY_NONE) {
        l->keys += key != l->now || l->keys > 1;
        return;
    }
    if (!quiet)
        return;
    l->wrong[0] = '\0';
    l->now = key;
    l->keys = 1;
    l->began_ns = at_ns;
    l->console->wake_ns = at_ns + STROKE_MS * NS_PER_MS;
}

static void learn(struct ws_console *console, const struct ws_room *room)
{
    struct learning l = { .console = console,
                          .room = room,
                          .first = WS_KEY_NONE,
                          .now = WS_KEY_NONE,
                          .seen_ns = INT64_MIN };

    while (!l.done && !ws_console_leaving(console)) {
        ws_key key;

        draw(&l);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        settle(&l);
        if (key != WS_KEY_REDRAW && key != WS_KEY_FRAME)
            seen(&l, key);
    }
    console->wake_ns = INT64_MAX;
}

/* ---- the page -------------------------------------------------------------------------------- */

static void forget(struct ws_console *console, int which)
{
    struct ws_settings to = console->settings;
    char name[WS_HAND_KEY_BYTES];

    ws_text_copy(name, sizeof name, to.hand[which]);
    for (int i = which; i + 1 < to.hands; i++)
        memcpy(to.hand[i], to.hand[i + 1], sizeof to.hand[i]);
    to.hands--;
    if (settings_set(console, &to, WS_SETTING_HAND))
        ws_console_say(console, "forgotten: %s", name);
}

/* The learned keys, each to be forgotten, the way to learn one, and the way back; gives how many
 * lines. */
static int print_lines(const struct ws_settings *settings, char text[][LINE_BYTES])
{
    int n = 0;

    for (int i = 0; i < settings->hands; i++)
        snprintf(text[n++], LINE_BYTES, "forget %s", settings->hand[i]);
    if (settings->hands < WS_HAND_KEYS)
        snprintf(text[n++], LINE_BYTES, "learn a foot switch");
    snprintf(text[n++], LINE_BYTES, "done: back to the settings");
    return n;
}

void settings_hand(struct ws_console *console, const struct ws_room *room)
{
    char text[WS_HAND_KEYS + 2][LINE_BYTES];
    const char *line[WS_HAND_KEYS + 2];
    struct ws_pick pick = { .room = room,
                            .what = "hand keys",
                            .title = "Hand keys: space, Enter, and what is learned",
                            .about = "Up to three keys that foot switches type can be learned.",
                            .line = line,
                            .at = console->settings.hands };

    for (;;) {
        pick.lines = print_lines(&console->settings, text);
        for (int i = 0; i < pick.lines; i++)
            line[i] = text[i];
        pick.at = pick.at < pick.lines ? pick.at : pick.lines - 1;
        if (ws_pick(console, &pick) != WS_ANSWER_NEXT || pick.at == pick.lines - 1)
            return;
        if (pick.at < console->settings.hands)
            forget(console, pick.at);
        else
            learn(console, room);
        /* One Enter too many must not forget what was just learned: it finds the last line. */
        pick.at = WS_HAND_KEYS + 1;
    }
}
