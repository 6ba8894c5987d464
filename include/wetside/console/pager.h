/* Lines of text to read, more of them than the window has: broken to its width and scrolled. */
#ifndef WETSIDE_CONSOLE_PAGER_H
#define WETSIDE_CONSOLE_PAGER_H

#include <stdbool.h>

#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

struct ws_pager;

struct ws_pager *ws_pager_open(void); /* null without memory */
void ws_pager_close(struct ws_pager *pager);

/* Forgets its lines; where it was scrolled to stays. */
void ws_pager_empty(struct ws_pager *pager);
/* One more line, cleaned; `pager` is a struct ws_pager *: fits ws_page_put. Without memory the line
 * is lost. */
void ws_pager_put(void *pager, const char *line);

/* How many rows its lines take in that many columns. */
int ws_pager_rows(struct ws_pager *pager, int columns);

/* Draws in rows x columns from y, x on; a continued line is indented. */
void ws_pager_draw(struct ws_pager *pager, WINDOW *window, int y, int x, int rows, int columns);

/* True if it was a key of scrolling: up, down, pages, space, home, end. */
bool ws_pager_key(struct ws_pager *pager, ws_key key);

/* Whether something stands below what was drawn last. */
bool ws_pager_more(const struct ws_pager *pager);

/* `12 to 30 of 44`, empty when all is seen. */
void ws_pager_place(const struct ws_pager *pager, char *text, size_t size);

#endif
