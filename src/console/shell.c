/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rooms, the way from one to another, and what is alike in all of them. */
#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include "wetside/console/log.h"
#include "wetside/console/pager.h"
#include "wetside/console/panel.h"

#include "layers.h"
#include "recover.h"
#include "settings.h"

enum {
    HELP_WIDE = 60, /* columns from which its text has a margin */
    HELP_MARGIN = 3,
    HELP_NARROW_MARGIN = 2,
    KEYS_GAP = 3 /* blanks between two keys of the last row */
};

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

/* Where nothing else is asked of the book before the first room. */
static void load_settings(struct ws_console *console)
{
    struct settings_load load;

    if (console->drive == NULL)
        return;
    ws_drive_book(console->drive, settings_load, &load);
    settings_take(console, &load);
}

void shell_go_round(struct ws_console *console)
{
    /* Who looks at the demo is to see a room first: there it is asked in the Log. */
    if (console->book_path != NULL && !console->demo)
        ws_log_ask_due(console);
    else
        load_settings(console);
    if (dark_take_up(console))
        recover_first(console);
    while (!console->quit && console->go != WS_ROOM_NONE) {
        console->at = console->go;
        console->go = WS_ROOM_NONE;
        room_of(console->at)->visit(console);
        settings_settle(console, false);
        console->wants_frames = false;
        console->wake_ns = INT64_MAX;
        curs_set(0);
        if (!console->quit)
            unwritten_offer(console, false);
    }
    unwritten_offer(console, true);
    settings_settle(console, true);
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
    static const char demo[] = "demo: all of it is invented";
    int columns = getmaxx(stdscr), x = 1, right = columns;
    int wanted = ws_draw_columns(room->name) + (what != NULL ? ws_draw_columns(what) + 3 : 0);

    if (console->demo)
        right = ws_draw_right(stdscr, 0, columns - 2, columns, WS_ROLE_PLAIN,
                              wanted + (int)sizeof demo + 4 <= columns ? demo : "demo");
    x += ws_draw_text(stdscr, 0, x, right - x, WS_ROLE_TITLE, room->name) + 3;
    if (what != NULL && x < right - 3)
        ws_draw_text(stdscr, 0, x, right - x - 2, WS_ROLE_PLAIN, what);
}

/* Where the last of the keys in the first `length` bytes begins; 0: it is alone. */
static size_t last_key(const char *keys, size_t length)
{
    for (size_t i = length; i > KEYS_GAP; i--)
        if (memcmp(keys + i - KEYS_GAP, "   ", KEYS_GAP) == 0)
            return i;
    return 0;
}

void ws_console_keys(struct ws_console *console, const char *keys)
{
    const char *help = strstr(keys, "?: all");
    size_t end = help != NULL ? (size_t)(help - keys) : last_key(keys, strlen(keys));
    const char *tail = keys + end;
    int columns = getmaxx(stdscr) - 2;
    char text[256];

    (void)console;
    ws_text_copy(text, sizeof text, keys);
    /* Keys are dropped whole: those from `?` on, which leads to all of them, stay, or the last. */
    while (ws_draw_columns(text) > columns && end > KEYS_GAP) {
        end = last_key(keys, end - KEYS_GAP);
        snprintf(text, sizeof text, "%.*s%s", (int)end, keys, tail);
    }
    ws_draw_text(stdscr, getmaxy(stdscr) - 1, 1, columns, WS_ROLE_QUIET, text);
}

/* ---- modal: help, questions, the list of rooms ---- */

/* The room's purpose and its keys, put into a pager; gives the width that needs no breaking. */
static int fill_help(struct ws_pager *pager, const struct ws_room *room, const char *const *help)
{
    int width = ws_draw_columns(room->purpose);

    ws_pager_put(pager, room->purpose);
    ws_pager_put(pager, "");
    for (int i = 0; help != NULL && help[i] != NULL; i++) {
        if (ws_draw_columns(help[i]) > width)
            width = ws_draw_columns(help[i]);
        ws_pager_put(pager, help[i]);
    }
    return width;
}

static int help_margin(int columns)
{
    return columns >= HELP_WIDE ? HELP_MARGIN : HELP_NARROW_MARGIN;
}

/* True if not all of it fits. */
static bool draw_help(WINDOW *window, struct ws_pager *pager)
{
    int rows = getmaxy(window), columns = getmaxx(window), x = help_margin(columns);
    /* Text is kept off the frame where there are rows to spare. */
    int y = rows - 4 >= ws_pager_rows(pager, columns - 2 * x) ? 2 : 1;
    char place[40], keys[80];

    ws_pager_draw(pager, window, y, x, rows - 2 * y, columns - 2 * x);
    ws_pager_place(pager, place, sizeof place);
    if (place[0] == '\0')
        snprintf(keys, sizeof keys, " any key: back ");
    else
        snprintf(keys, sizeof keys, " %s   space: %s ", place,
                 ws_pager_more(pager) ? "more" : "back");
    ws_draw_text(window, rows - 1, x, columns - 2 * x, WS_ROLE_QUIET, keys);
    return place[0] != '\0';
}

/* True if it was a key of paging. What pages on leaves from the end. */
static bool help_key(struct ws_pager *pager, ws_key key)
{
    if (key == ' ' || key == '?')
        return ws_pager_more(pager) && ws_pager_key(pager, WS_KEY_PAGE_DOWN);
    return ws_pager_key(pager, key);
}

void ws_console_help(struct ws_console *console, const char *const *help)
{
    const struct ws_room *room =
        console->at == WS_ROOM_SETTINGS ? &settings_room : room_of(console->at);
    struct ws_panel *panel = ws_panel_open();
    struct ws_pager *pager = ws_pager_open();
    int width;

    if (panel == NULL || pager == NULL)
        goto out;
    width = fill_help(pager, room, help);
    while (!console->quit) {
        int columns = width + 2 * HELP_MARGIN < COLS ? width + 2 * HELP_MARGIN : COLS;
        int rows = ws_pager_rows(pager, columns - 2 * help_margin(columns)) + 4;
        WINDOW *window = ws_panel_place(panel, rows, columns, room->name);
        bool pages = window != NULL && draw_help(window, pager);
        ws_key key = ws_console_next(console);

        if (key != WS_KEY_REDRAW && key != WS_KEY_FRAME && !(pages && help_key(pager, key)))
            break;
    }
out:
    ws_pager_close(pager);
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

/* A room by the first letter of its name; all differ, but for Sink, Shelf and Settings. */
static enum ws_room_number room_by_key(ws_key key, char *begun)
{
    char letter = key > 0 && key < 0x80 ? (char)tolower((int)key) : '\0';

    if (key >= '1' && key <= '0' + WS_ROOM_SETTINGS)
        return (enum ws_room_number)(key - '0');
    if (*begun == 's' && letter == 'e')
        return WS_ROOM_SETTINGS;
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

static void draw_room(WINDOW *window, int y, const struct ws_room *room)
{
    if (y >= getmaxy(window) - 1)
        return;
    ws_draw_format(window, y, 3, 12, WS_ROLE_LOUD, "%d  %s", (int)room->number, room->name);
    ws_draw_text(window, y, 15, getmaxx(window) - 17, WS_ROLE_PLAIN, room->purpose);
}

static void draw_rooms(WINDOW *window)
{
    for (int i = 0; i < ROOMS; i++)
        draw_room(window, i + 2, rooms[i]);
    draw_room(window, ROOMS + 2, &settings_room);
    ws_draw_text(window, getmaxy(window) - 1, 3, getmaxx(window) - 6, WS_ROLE_QUIET,
                 " number or first letters: go   any other key: stay ");
}

static void choose_room(struct ws_console *console)
{
    struct ws_panel *panel = ws_panel_open();
    enum ws_room_number asked = WS_ROOM_NONE;
    char begun = '\0';

    if (panel == NULL)
        return;
    for (;;) {
        WINDOW *window = ws_panel_place(panel, ROOMS + 5, 100, "rooms");
        enum ws_room_number room;
        ws_key key;

        if (window != NULL)
            draw_rooms(window);
        key = ws_console_next(console);
        if (key == WS_KEY_REDRAW || key == WS_KEY_FRAME)
            continue;
        room = room_by_key(key, &begun);
        asked = room;
        if (begun == '\0' || room != WS_ROOM_NONE)
            break;
    }
    ws_panel_close(panel);
    if (asked == WS_ROOM_SETTINGS)
        ws_console_settings(console);
    else if (asked != WS_ROOM_NONE)
        ws_console_go(console, asked);
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
    case '0' + WS_ROOM_SETTINGS:
        ws_console_settings(console);
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
    static const char *const help[] = { "1 to 6, r   to another room", "7           settings",
                                        "q           leave wetside", NULL };
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
