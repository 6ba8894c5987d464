/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Panels below a run: all keys, baths to insert, rooms. */
#include <stdio.h>

#include "wetside/console/draw.h"

#include "sink.h"

static const char *const key_lines[][2] = {
    { "space    I did what you asked", "u    take the last press back" },
    { "enter    the same", "t    the last press was on time" },
    { "n space  pour out now, early", "+    a minute more (stop, fixer, wash)" },
    { "i        insert a bath", "c    type the temperature now" },
    { "o x      take, refuse an offer", "a    away from the tank, and back" },
    { "l y      lights out: black; again: on", "g y  give the run up" },
    { "r        to another room", "q y  leave wetside" },
};
enum { KEY_LINES = sizeof key_lines / sizeof *key_lines };

/* By number, as in room.h. */
static const char *const room_lines[] = { "2  Evening", "3  Bench", "4  Shelf", "5  Log",
                                          "6  Curves" };
enum { ROOM_LINES = sizeof room_lines / sizeof *room_lines };

static int insert_lines(void)
{
    enum ws_bath_kind kind;
    const char *name;
    int64_t time_ms;
    int n = 0;

    while (sink_insert_choice(n + 1, &kind, &time_ms, &name))
        n++;
    return n;
}

int sink_panel_rows(const struct sink *sink)
{
    switch (sink->panel) {
    case SINK_PANEL_KEYS:
        return KEY_LINES + 2;
    case SINK_PANEL_INSERT:
        return insert_lines() + 2;
    case SINK_PANEL_ROOMS:
        return ROOM_LINES + 2;
    case SINK_PANEL_NONE:
        break;
    }
    return 0;
}

static void draw_keys(WINDOW *window, int y, int rows, int columns)
{
    if (columns >= 76) {
        for (int i = 0; i < KEY_LINES && i < rows; i++) {
            ws_draw_text(window, y + i, 2, 34, WS_ROLE_PLAIN, key_lines[i][0]);
            ws_draw_text(window, y + i, 38, columns - 39, WS_ROLE_PLAIN, key_lines[i][1]);
        }
        return;
    }
    for (int i = 0; i < 2 * KEY_LINES && i < rows; i++)
        ws_draw_text(window, y + i, 1, columns - 1, WS_ROLE_PLAIN,
                     key_lines[i % KEY_LINES][i / KEY_LINES]);
}

static void draw_inserts(WINDOW *window, int y, int rows, int columns)
{
    enum ws_bath_kind kind;
    const char *name;
    int64_t time_ms;

    for (int i = 0; i < rows && sink_insert_choice(i + 1, &kind, &time_ms, &name); i++)
        ws_draw_format(window, y + i, 2, columns - 2, WS_ROLE_PLAIN, "%d  %s", i + 1, name);
}

void sink_panel_draw(WINDOW *window, int y, int rows, const struct sink *sink)
{
    static const char *const titles[] = { [SINK_PANEL_NONE] = "",
                                          [SINK_PANEL_KEYS] = " all keys   (any key: back)",
                                          [SINK_PANEL_INSERT] =
                                              " a bath before the next pour: number, then y",
                                          [SINK_PANEL_ROOMS] =
                                              " rooms: number (the run goes on meanwhile)" };
    int columns = getmaxx(window);

    ws_draw_bar(window, y, WS_ROLE_CHOSEN);
    ws_draw_text(window, y, 1, columns - 1, WS_ROLE_CHOSEN, titles[sink->panel]);
    switch (sink->panel) {
    case SINK_PANEL_KEYS:
        draw_keys(window, y + 1, rows - 1, columns);
        break;
    case SINK_PANEL_INSERT:
        draw_inserts(window, y + 1, rows - 1, columns);
        break;
    case SINK_PANEL_ROOMS:
        for (int i = 0; i < ROOM_LINES && i < rows - 1; i++)
            ws_draw_text(window, y + 1 + i, 2, columns - 2, WS_ROLE_PLAIN, room_lines[i]);
        break;
    case SINK_PANEL_NONE:
        break;
    }
}
