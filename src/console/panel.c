/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A framed window over a room. */
#include "wetside/console/panel.h"

#include <panel.h>
#include <stdlib.h>

enum { LEAST_ROWS = 3, LEAST_COLUMNS = 8, TITLE_X = 2 };

struct ws_panel {
    WINDOW *window;
    PANEL *panel;
};

struct ws_panel *ws_panel_open(void)
{
    return calloc(1, sizeof(struct ws_panel));
}

void ws_panel_close(struct ws_panel *panel)
{
    if (panel == NULL)
        return;
    if (panel->panel != NULL)
        del_panel(panel->panel);
    if (panel->window != NULL)
        delwin(panel->window);
    free(panel);
}

/* The library keeps a record of its own for every screen, below all panels, and lets go of it when
 * the screen ends, without freeing it. It is held on to here, one behind the other, so that a
 * search for lost memory finds it in use: it is a few bytes for each start of the terminal. */
static void hold_ground(const PANEL *panel)
{
    static PANEL *ground;
    PANEL *lowest = panel->below;

    while (lowest != NULL && lowest->below != NULL)
        lowest = lowest->below;
    if (lowest == NULL || lowest == ground)
        return;
    set_panel_userptr(lowest, ground);
    ground = lowest;
}

/* A new window in place of the old one: after a resize the old one may have been cut anyhow. */
static bool replace(struct ws_panel *panel, int rows, int columns, int y, int x)
{
    WINDOW *window = newwin(rows, columns, y, x);

    if (window == NULL)
        return false;
    if (panel->panel == NULL) {
        panel->panel = new_panel(window);
        if (panel->panel != NULL)
            hold_ground(panel->panel);
    } else {
        replace_panel(panel->panel, window);
    }
    if (panel->window != NULL)
        delwin(panel->window);
    panel->window = window;
    return panel->panel != NULL;
}

WINDOW *ws_panel_place(struct ws_panel *panel, int rows, int columns, const char *title)
{
    int height = getmaxy(stdscr), width = getmaxx(stdscr), y, x;

    rows = rows < height ? rows : height;
    columns = columns < width ? columns : width;
    if (rows < LEAST_ROWS || columns < LEAST_COLUMNS) {
        if (panel->panel != NULL)
            hide_panel(panel->panel);
        return NULL;
    }
    y = (height - rows) / 2;
    x = (width - columns) / 2;
    if (panel->window == NULL || getmaxy(panel->window) != rows ||
        getmaxx(panel->window) != columns || getbegy(panel->window) != y ||
        getbegx(panel->window) != x) {
        if (!replace(panel, rows, columns, y, x))
            return NULL;
    }
    werase(panel->window);
    ws_draw_box(panel->window);
    if (title != NULL)
        ws_draw_format(panel->window, 0, TITLE_X, columns - 2 * TITLE_X, WS_ROLE_TITLE, " %s ",
                       title);
    show_panel(panel->panel);
    return panel->window;
}
