/* A list to choose from: ncurses's menu library behind a small door.
 *
 * The chosen line is marked ">" and inverse. Like a form it draws on a pad of its own. Lines are
 * copied and cleaned; they may come from anywhere. */
#ifndef WETSIDE_CONSOLE_LIST_H
#define WETSIDE_CONSOLE_LIST_H

#include <stdbool.h>

#include "wetside/calc/status.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

struct ws_list;

struct ws_list *ws_list_open(void); /* null without memory */
void ws_list_close(struct ws_list *list);

/* Other lines; the cursor goes to line `at` (kept within them), and where that can be to window
 * row `row` (-1: as the list likes). WS_NO_MEMORY leaves the list empty. */
enum ws_status ws_list_set(struct ws_list *list, const char *const *line, int lines, int at,
                           int row);

/* Draws in rows x columns from y, x on. Returns the rows used. */
int ws_list_draw(struct ws_list *list, WINDOW *window, int y, int x, int rows, int columns);

/* True if the key moved the cursor or could have: up, down, page up, page down, home, end. False
 * for up at the first line and down at the last one, and all else. */
bool ws_list_key(struct ws_list *list, ws_key key);

int ws_list_at(const struct ws_list *list);   /* -1: it is empty */
int ws_list_row(const struct ws_list *list);  /* the cursor's row within the window */
int ws_list_rows(const struct ws_list *list); /* rows it was drawn in last */

/* Adds `text` to a line that is put together for a list: cleaned, cut to `columns` or filled up to
 * them, and a blank behind it. */
void ws_list_cell(char *line, size_t size, const char *text, int columns);

#endif
