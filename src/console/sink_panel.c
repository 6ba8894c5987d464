/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Panels below a run, or over all of a small window: all keys, baths to insert, rooms. */
#include <stdio.h>

#include "wetside/console/draw.h"

#include "settings.h"
#include "sink.h"

/* By number, as in room.h. */
static const char *const room_lines[] = { "2  Evening", "3  Bench",  "4  Shelf",
                                          "5  Log",     "6  Curves", "7  Settings" };
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

static bool two_beside(int columns)
{
    return columns >= 79;
}

static int all_key_lines(void)
{
    const char *shown, *line;
    int n = 0;

    while (sink_key_line(n, &shown, &line))
        n++;
    return n;
}

/* In a small window all stand below each other. */
static int key_lines_of(int columns)
{
    return two_beside(columns) ? (all_key_lines() + 1) / 2 : all_key_lines();
}

static void draw_key(WINDOW *window, int y, int x, int columns, int number)
{
    const char *shown, *line;

    if (sink_key_line(number, &shown, &line))
        ws_draw_format(window, y, x, columns, WS_ROLE_PLAIN, "%-7s  %s", shown, line);
}

static int lines_of(const struct sink *sink, int columns)
{
    switch (sink->panel) {
    case SINK_PANEL_KEYS:
        return key_lines_of(columns);
    case SINK_PANEL_INSERT:
        return insert_lines();
    case SINK_PANEL_ROOMS:
        return ROOM_LINES;
    case SINK_PANEL_SETTINGS:
        return sink->all_settings ? SINK_SET_ALL : SINK_SET_SPEECH;
    case SINK_PANEL_NONE:
        break;
    }
    return 0;
}

int sink_panel_rows(const struct sink *sink, int columns)
{
    int lines = lines_of(sink, columns);

    return lines > 0 ? lines + 2 : 0;
}

static void draw_setting(WINDOW *window, int y, int x, int i, const struct sink *sink)
{
    int columns = getmaxx(window) - x;

    switch ((enum sink_set)(i + 1)) {
    case SINK_SET_SOFTER:
        ws_draw_format(window, y, x, columns, WS_ROLE_PLAIN, "1  softer; the volume is %d",
                       sink->settings.volume_percent);
        break;
    case SINK_SET_LOUDER:
        ws_draw_text(window, y, x, columns, WS_ROLE_PLAIN, "2  louder");
        break;
    case SINK_SET_SPEECH:
        ws_draw_format(window, y, x, columns, WS_ROLE_PLAIN, "3  speech: %s",
                       settings_speech(sink->settings.speech));
        break;
    case SINK_SET_ALL:
        ws_draw_text(window, y, x, columns, WS_ROLE_PLAIN, "4  all settings");
        break;
    case SINK_SET_NOTHING:
        break;
    }
}

static void draw_line(WINDOW *window, int y, int i, const struct sink *sink)
{
    int columns = getmaxx(window), x = columns >= 60 ? 2 : 1;
    enum ws_bath_kind kind;
    const char *name = "";
    int64_t time_ms;

    switch (sink->panel) {
    case SINK_PANEL_KEYS:
        draw_key(window, y, x, two_beside(columns) ? 33 : columns - x, i);
        if (two_beside(columns))
            draw_key(window, y, 36, columns - 36, key_lines_of(columns) + i);
        break;
    case SINK_PANEL_INSERT:
        sink_insert_choice(i + 1, &kind, &time_ms, &name);
        ws_draw_format(window, y, x, columns - x, WS_ROLE_PLAIN, "%d  %s", i + 1, name);
        break;
    case SINK_PANEL_ROOMS:
        ws_draw_text(window, y, x, columns - x, WS_ROLE_PLAIN, room_lines[i]);
        break;
    case SINK_PANEL_SETTINGS:
        draw_setting(window, y, x, i, sink);
        break;
    case SINK_PANEL_NONE:
        break;
    }
}

static void draw_title(WINDOW *window, int y, const struct sink *sink)
{
    static const struct {
        const char *whole, *brief;
    } titles[] = { [SINK_PANEL_NONE] = { "", "" },
                   [SINK_PANEL_KEYS] = { "all keys   (space: done, and back   any other key: back)",
                                         "all keys (space: done)" },
                   [SINK_PANEL_INSERT] = { "a bath before the next pour: number, then y",
                                           "insert: number, y" },
                   [SINK_PANEL_ROOMS] = { "rooms: number (the run goes on meanwhile)",
                                          "rooms: number" },
                   [SINK_PANEL_SETTINGS] = { "settings: number (the run goes on meanwhile)",
                                             "settings: number" } };
    int columns = getmaxx(window);
    char more[64] = "";
    const char *title = titles[sink->panel].whole;

    if (sink->pages > 1)
        snprintf(more, sizeof more, "  %d/%d ?: more", sink->page + 1, sink->pages);
    if (ws_draw_columns(title) + ws_draw_columns(more) + 2 > columns)
        title = titles[sink->panel].brief;
    ws_draw_bar(window, y, WS_ROLE_CHOSEN);
    ws_draw_format(window, y, 1, columns - 1, WS_ROLE_CHOSEN, "%s%s", title, more);
}

void sink_panel_draw(WINDOW *window, int y, int rows, struct sink *sink)
{
    int lines = lines_of(sink, getmaxx(window)), room = rows - 1;

    if (room < 1 || lines == 0)
        return;
    sink->pages = (lines + room - 1) / room;
    sink->page = sink->page < sink->pages ? sink->page : 0;
    draw_title(window, y, sink);
    for (int i = 0; i < room && sink->page * room + i < lines; i++)
        draw_line(window, y + 1 + i, sink->page * room + i, sink);
}
