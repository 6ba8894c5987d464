/* Big type: words and numbers to be read from two metres, at any size the window allows.
 *
 * A letter is a few strokes on a grid, drawn with a brush to the size asked for; so the type grows
 * with the window and stems keep an even weight. With UTF-8 half blocks double the rows; without,
 * inverse blanks (or #) are used. */
#ifndef WETSIDE_CONSOLE_BIG_H
#define WETSIDE_CONSOLE_BIG_H

#include <stdbool.h>

#include "wetside/console/draw.h"

/* Sizes in cells. */
struct ws_big_size {
    int lines;  /* height of a letter */
    int letter; /* width of an ordinary letter */
    int stem;   /* width of an upright stroke */
    int gap;    /* between letters */
};

/* The strokes of one sign; null if there is none. Coordinates 0 to 8, written as digits: strokes
 * "x0y0x1y1", cuts (round corners) "xyq" with q 1 top left, 2 top right, 3 bottom left, 4 bottom
 * right. */
struct ws_shape {
    char sign;
    char breadth; /* 'i' as wide as a stem, 'n' normal, 'd' wider for a
                     slope, 'w' wide enough for three uprights, 's' a space */
    const char *strokes, *cuts;
};
const struct ws_shape *ws_shape_find(char sign);

/* True if every sign of `text` (ASCII; small letters count as capitals) can be drawn. */
bool ws_big_can(const char *text);

/* The largest type in which `text` fits into columns x lines. False when there is none (the least
 * is 5 lines, with half blocks 3; 3 columns a letter): plain text must do. */
bool ws_big_fit(const char *text, int columns, int lines, struct ws_big_size *size);
int ws_big_width(const char *text, const struct ws_big_size *size);

/* Draws `text` with its top left cell at y, x; returns its width. */
int ws_big_draw(WINDOW *window, int y, int x, const char *text, const struct ws_big_size *size,
                enum ws_role role);
/* The same in dark letters on a lit band from column `left` to `right`; with `rim` the band is one
 * line taller above and below. */
int ws_big_band(WINDOW *window, int y, int x, const char *text, const struct ws_big_size *size,
                enum ws_role role, int left, int right, bool rim);

#endif
