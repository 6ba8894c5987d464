/* A framed window over a room, for a question that the room stays in sight of: ncurses's panel
 * library behind a small door. ws_console_next draws panels over the room. */
#ifndef WETSIDE_CONSOLE_PANEL_H
#define WETSIDE_CONSOLE_PANEL_H

#include "wetside/console/draw.h"

struct ws_panel;

struct ws_panel *ws_panel_open(void); /* null without memory */
void ws_panel_close(struct ws_panel *panel);

/* Makes it, in the middle of the screen, at most so large (frame included, and within the screen),
 * blank but for its frame and title. To be called before each drawing. The window is the panel's;
 * null when there is no room for a frame and a line within. */
WINDOW *ws_panel_place(struct ws_panel *panel, int rows, int columns, const char *title);

#endif
