/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rooms, the way from one to another, and what is alike in all of them. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "wetside/console/log.h"
#include "wetside/console/panel.h"

#include "layers.h"

static void empty_visit(struct ws_console *console);

static const struct ws_room room_evening = {
    WS_ROOM_EVENING, "Evening",
    "which exposed rolls go tonight, in which tank, in which order, and when it ends", empty_visit
};
static const struct ws_room room_bench = {
    WS_ROOM_BENCH, "Bench", "weighing and mixing a stock by its formula, scaled to what is there",
    empty_visit
};
static const struct ws_room room_curves = { WS_ROOM_CURVES, "Curves",
                                            "densities of test strips, and the time to use next",
                                            empty_visit };

static const struct ws_room *const rooms[] = { &ws_room_sink,  &room_evening, &room_bench,
                                               &ws_room_shelf, &ws_room_log,  &room_curves };
enum { ROOMS = sizeof rooms / sizeof *rooms };

static const struct ws_room *room_of(enum ws_room_number number)
{
    for (int i = 0; i < ROOMS; i++)
        if (rooms[i]->number == number)
            return rooms[i];
    return rooms[0];
}

void shell_go_round(struct ws_console *console)
{
    /* Who looks at the demo is to see a room first: there it is asked in the Log. */
    if (console->book_path != NULL && !console->demo)
        ws_log_ask_due(console);
    while (!console->quit && console->go != WS_ROOM_NONE) {
        console->at = console->go;
        console->go = WS_ROOM_NONE;
        room_of(console->at)->visit(console);
        console->wants_frames = false;
        console->wake_ns = INT64_MAX;
        curs_set(0);
    }
}

bool ws_console_leaving(const struct ws_console *console)
{
    return console->quit || console->go != WS_ROOM_NONE;
}

void ws_console_go(struct ws_console *console, enum ws_room_number room)
{
    console->go = room;
}

void ws_console_body(int *first, int *rows)
{
    int height = getmaxy(stdscr);

    *first = height > 3 ? 2 : height > 1 ? 1 : 0;
    *rows = height - *first - 2;
    if (*rows < 0)
        *rows = 0;
}

void ws_console_head(struct ws_console *console, const struct ws_room *room, const char *what)
{
    int columns = getmaxx(stdscr), x = 1, right = columns;

    if (console->demo)
        right = ws_draw_right(stdscr, 0, columns - 2, columns, WS_ROLE_PLAIN,
                              "demo: all of it is invented");
    x += ws_draw_text(stdscr, 0, x, right - x, WS_ROLE_TITLE, room->name) + 3;
    if (what != NULL && x < right - 3)
        ws_draw_text(stdscr, 0, x, right - x - 2, WS_ROLE_PLAIN, what);
}

void ws_console_keys(struct ws_console *console, const char *keys)
{
    (void)console;
    ws_draw_text(stdscr, getmaxy(stdscr) - 1, 1, getmaxx(stdscr) - 2, WS_ROLE_QUIET, keys);
}

/* ---- modal: help, questions, the list of rooms ---- */

void ws_console_help(struct ws_console *console, const char *const *help)
{
    const struct ws_room *room = room_of(console->at);
    struct ws_panel *panel = ws_panel_open();
    int lines = 0, width = (int)strlen(room->purpose);

    if (panel == NULL)
        return;
    for (; help != NULL && help[lines] != NULL; lines++)
        if (ws_draw_columns(help[lines]) > width)
            width = ws_draw_columns(help[lines]);
    for (;;) {
        WINDOW *window = ws_panel_place(panel, lines + 7, width + 6, room->name);
        ws_key key;
        int y = 2;

        if (window != NULL) {
            y += ws_draw_wrap(window, y, 3, getmaxx(window) - 6, 3, WS_ROLE_PLAIN, room->purpose);
            for (int i = 0; i < lines && y + 1 < getmaxy(window) - 1; i++)
                ws_draw_text(window, ++y, 3, getmaxx(window) - 6, WS_ROLE_PLAIN, help[i]);
            ws_draw_text(window, getmaxy(window) - 1, 3, getmaxx(window) - 6, WS_ROLE_QUIET,
                         " any key: back ");
        }
        key = ws_console_next(console);
        if (key != WS_KEY_REDRAW && key != WS_KEY_FRAME)
            break;
    }
    ws_panel_close(panel);
}

bool ws_console_ask(struct ws_console *console, const char *question)
{
    ws_key key;

    do {
        int y = getmaxy(stdscr) - 1;

        ws_console_say(console, "%s", question);
        console->asks = true;
        ws_draw_bar(stdscr, y, WS_ROLE_PLAIN);
        ws_draw_text(stdscr, y, 1, getmaxx(stdscr) - 1, WS_ROLE_PLAIN,
                     "y: yes   any other key: no");
        key = ws_console_next(console);
    } while (key == WS_KEY_REDRAW || key == WS_KEY_FRAME);
    console->asks = false;
    console->said[0] = '\0';
    return key == 'y' || key == 'Y';
}

/* A room by the first letter of its name; all six differ, but for Sink and Shelf. */
static enum ws_room_number room_by_key(ws_key key, char *begun)
{
    char letter = key > 0 && key < 0x80 ? (char)tolower((int)key) : '\0';

    if (key >= '1' && key <= '0' + WS_ROOM_LAST)
        return (enum ws_room_number)(key - '0');
    for (int i = 0; i < ROOMS; i++) {
        if (*begun == '\0' && letter != 's' && letter == tolower((unsigned char)rooms[i]->name[0]))
            return rooms[i]->number;
        if (*begun == 's' && letter == tolower((unsigned char)rooms[i]->name[1]) &&
            rooms[i]->name[0] == 'S')
            return rooms[i]->number;
    }
    *begun = *begun == '\0' && letter == 's' ? 's' : '\0';
    return WS_ROOM_NONE;
}

static void draw_rooms(WINDOW *window)
{
    for (int i = 0; i < ROOMS && i + 2 < getmaxy(window) - 1; i++) {
        ws_draw_format(window, i + 2, 3, 12, WS_ROLE_LOUD, "%d  %s", (int)rooms[i]->number,
                       rooms[i]->name);
        ws_draw_text(window, i + 2, 15, getmaxx(window) - 17, WS_ROLE_PLAIN, rooms[i]->purpose);
    }
    ws_draw_text(window, getmaxy(window) - 1, 3, getmaxx(window) - 6, WS_ROLE_QUIET,
                 " number or first letters: go   any other key: stay ");
}

static void choose_room(struct ws_console *console)
{
    struct ws_panel *panel = ws_panel_open();
    char begun = '\0';

    if (panel == NULL)
        return;
    for (;;) {
        WINDOW *window = ws_panel_place(panel, ROOMS + 4, 100, "rooms");
        enum ws_room_number room;
        ws_key key;

        if (window != NULL)
            draw_rooms(window);
        key = ws_console_next(console);
        if (key == WS_KEY_REDRAW || key == WS_KEY_FRAME)
            continue;
        room = room_by_key(key, &begun);
        if (room != WS_ROOM_NONE)
            ws_console_go(console, room);
        if (begun == '\0')
            break;
    }
    ws_panel_close(panel);
}

bool ws_console_common(struct ws_console *console, ws_key key, const char *const *help)
{
    if (key >= '1' && key <= '0' + WS_ROOM_LAST) {
        if ((enum ws_room_number)(key - '0') != console->at)
            ws_console_go(console, (enum ws_room_number)(key - '0'));
        return true;
    }
    switch (key) {
    case 'r':
        choose_room(console);
        return true;
    case '?':
        ws_console_help(console, help);
        return true;
    case 'q':
        if (!ws_console_run_open(console) ||
            ws_console_ask(console,
                           "LEAVE? A run goes on, and nothing cues while wetside is closed."))
            console->quit = true;
        return true;
    case WS_KEY_REDRAW:
    case WS_KEY_FRAME:
    case WS_KEY_QUIT:
        return true;
    default:
        return false;
    }
}

/* ---- a room that has nothing in it yet ---- */

static void empty_visit(struct ws_console *console)
{
    static const char *const help[] = { "1 to 6, r   to another room", "q           leave wetside",
                                        NULL };
    const struct ws_room *room = room_of(console->at);
    char text[160];

    while (!ws_console_leaving(console)) {
        int first, rows;

        erase();
        ws_console_head(console, room, NULL);
        ws_console_body(&first, &rows);
        snprintf(text, sizeof text, "For: %s.", room->purpose);
        ws_draw_wrap(stdscr, first + 1, 3, getmaxx(stdscr) - 6, 4, WS_ROLE_PLAIN, text);
        ws_draw_wrap(stdscr, first + 5, 3, getmaxx(stdscr) - 6, rows - 5, WS_ROLE_LOUD,
                     "This version has nothing in this room yet.");
        ws_console_keys(console, "1: Sink   5: Log   r: rooms   ?: all keys   q: leave");
        ws_console_common(console, ws_console_next(console), help);
    }
}
