/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Big type: a brush that draws strokes into dots, and dots into cells. */
#include "wetside/console/big.h"

#include <string.h>

#include "wetside/console/terminal.h"

/* Windows of 300x100 are filled; in larger ones the type grows no more. */
enum { LETTER_LEAST = 3, LETTER_MOST = 80 };
enum { LINES_MOST = 48, DOT_ROWS = 2 * LINES_MOST, DOT_COLUMNS = 400, GRID = 8 };

/* A raster of dots: a dot is a cell wide and a line high, or half a line with half blocks. */
struct dots {
    int rows, columns;
    unsigned char lit[DOT_ROWS][DOT_COLUMNS];
};

/* What the brush needs to know to draw one letter. */
struct brush {
    int left, width, height; /* of the letter, in dots */
    int stem, bar;           /* of the brush */
    unsigned char value;
};

static int per_line(void)
{
    return ws_terminal_utf8() ? 2 : 1;
}

bool ws_big_can(const char *text)
{
    for (; *text != '\0'; text++)
        if (ws_shape_find(*text) == NULL)
            return false;
    return true;
}

static int stem_for(int letter)
{
    return letter < 5 ? 1 : letter < 8 ? 2 : letter < 12 ? 3 : letter * 3 / 11;
}

static int gap_for(int letter)
{
    return letter < 6 ? 1 : letter < 10 ? 2 : letter / 4;
}

/* Thickness of a level stroke, in dots: about as heavy as a stem, but the counters stay open. */
static int bar_for(int height)
{
    int bar = (height + 3) / 7;

    if (per_line() == 2 && height >= 10 && bar < 2)
        return 2;
    return bar < 1 ? 1 : bar;
}

static int breadth(const struct ws_shape *shape, const struct ws_big_size *size)
{
    switch (shape->breadth) {
    case 'i':
        return size->stem;
    case 'w':
        return 3 * size->stem + 2 * (size->stem > 1 ? (size->stem + 2) / 2 : 1);
    case 'd':
        return size->letter + size->stem / 2;
    case 's':
        return size->letter / 3;
    default:
        return size->letter;
    }
}

int ws_big_width(const char *text, const struct ws_big_size *size)
{
    int width = 0;

    for (; *text != '\0'; text++) {
        const struct ws_shape *shape = ws_shape_find(*text);

        if (shape != NULL)
            width += breadth(shape, size) + (text[1] != '\0' ? size->gap : 0);
    }
    return width;
}

static void size_for(int letter, struct ws_big_size *size)
{
    size->letter = letter;
    size->stem = stem_for(letter);
    size->gap = gap_for(letter);
}

/* The widest letter with which `text` fits into the columns, at least 2: none that can be drawn. */
static int widest_letter(const char *text, int columns)
{
    int least = LETTER_LEAST - 1, most = LETTER_MOST;

    /* Wider letters never make a narrower text. */
    while (least < most) {
        int letter = (least + most + 1) / 2;
        struct ws_big_size size = { .lines = 0 };

        size_for(letter, &size);
        if (ws_big_width(text, &size) <= columns)
            least = letter;
        else
            most = letter - 1;
    }
    return least;
}

bool ws_big_fit(const char *text, int columns, int lines, struct ws_big_size *size)
{
    int least = per_line() == 2 ? 3 : 5, fits;

    if (*text == '\0' || !ws_big_can(text))
        return false;
    if (lines > LINES_MOST)
        lines = LINES_MOST;
    fits = widest_letter(text, columns > DOT_COLUMNS ? DOT_COLUMNS : columns);
    for (int height = lines; height >= least; height--) {
        /* Between slim and square: a cell is about twice as tall as it is wide. */
        int widest = height * 2 * 4 / 5, slimmest = height < 7 ? LETTER_LEAST : height * 2 / 3;
        int letter = widest < fits ? widest : fits;

        if (letter >= slimmest) {
            size->lines = height;
            size_for(letter, size);
            return true;
        }
    }
    return false;
}

static void mark(struct dots *dots, int row, int column, unsigned char value)
{
    if (row >= 0 && row < dots->rows && column >= 0 && column < dots->columns)
        dots->lit[row][column] = value;
}

/* Where the brush stands for a grid coordinate; rounded half up. */
static int at(int grid, int extent, int brush)
{
    int room = extent - brush;

    return room <= 0 ? 0 : (grid * room * 2 + GRID) / (2 * GRID);
}

/* A straight stroke: all dots that the brush (stem x bar) covers on its way. */
static void stroke(struct dots *dots, const struct brush *brush, const char xyxy[4])
{
    int x0 = at(xyxy[0] - '0', brush->width, brush->stem);
    int y0 = at(xyxy[1] - '0', brush->height, brush->bar);
    int x1 = at(xyxy[2] - '0', brush->width, brush->stem);
    int y1 = at(xyxy[3] - '0', brush->height, brush->bar);

    if (y1 < y0) {
        int x = x0, y = y0;

        x0 = x1, x1 = x;
        y0 = y1, y1 = y;
    }
    for (int row = y0; row < y1 + brush->bar; row++) {
        int from = x0, to = x1;

        if (y1 > y0) {
            /* In half rows, so that a flat slope leaves no holes between its rows. */
            int upper = 2 * (row - brush->bar + 1) - 1, lower = 2 * row + 1;

            upper = upper < 2 * y0 ? 2 * y0 : upper;
            lower = lower > 2 * y1 ? 2 * y1 : lower;
            from = x0 + (x1 - x0) * (upper - 2 * y0) / (2 * (y1 - y0));
            to = x0 + (x1 - x0) * (lower - 2 * y0) / (2 * (y1 - y0));
        }
        if (to < from) {
            int x = from;

            from = to, to = x;
        }
        for (int column = from; column < to + brush->stem; column++)
            mark(dots, row, brush->left + column, brush->value);
    }
}

/* Rounds a corner of the brush's mark at a grid point: takes away a small triangle. */
static void cut(struct dots *dots, const struct brush *brush, const char xyq[3])
{
    int x = at(xyq[0] - '0', brush->width, brush->stem) + brush->left;
    int y = at(xyq[1] - '0', brush->height, brush->bar);
    int depth = (brush->stem + 1) / 2;
    bool right = xyq[2] == '2' || xyq[2] == '4', bottom = xyq[2] == '3' || xyq[2] == '4';

    if (brush->height < 6 * brush->bar && brush->stem < 2 && per_line() == 2)
        depth = 1;
    for (int i = 0; i < depth && i < brush->bar; i++)
        for (int j = 0; j < depth - i * (per_line() == 2 ? 1 : 2); j++)
            mark(dots, bottom ? y + brush->bar - 1 - i : y + i,
                 right ? x + brush->stem - 1 - j : x + j, (unsigned char)!brush->value);
}

static int draw_text(struct dots *dots, const char *text, int left, const struct ws_big_size *size,
                     unsigned char value)
{
    struct brush brush = { .left = left,
                           .height = size->lines * per_line(),
                           .stem = size->stem,
                           .bar = bar_for(size->lines * per_line()),
                           .value = value };

    for (; *text != '\0'; text++) {
        const struct ws_shape *shape = ws_shape_find(*text);

        if (shape == NULL)
            continue;
        brush.width = breadth(shape, size);
        for (const char *s = shape->strokes; *s != '\0'; s += s[4] == ' ' ? 5 : 4)
            stroke(dots, &brush, s);
        for (const char *c = shape->cuts; *c != '\0'; c += c[3] == ' ' ? 4 : 3)
            cut(dots, &brush, c);
        brush.left += brush.width + size->gap;
    }
    return brush.left - size->gap - left;
}

static void put_cell(WINDOW *window, int y, int x, bool upper, bool lower)
{
    if (y < 0 || x < 0 || y >= getmaxy(window) || x >= getmaxx(window))
        return;
    if (per_line() == 2) {
        mvwaddstr(window, y, x,
                  upper && lower ? "\xE2\x96\x88"
                  : upper        ? "\xE2\x96\x80"
                  : lower        ? "\xE2\x96\x84"
                                 : " ");
    } else if (!upper) {
        mvwaddch(window, y, x, ' ');
    } else if (ws_terminal_inverse()) {
        mvwaddch(window, y, x, ' ' | A_REVERSE);
    } else {
        mvwaddch(window, y, x, '#');
    }
}

static void put_dots(WINDOW *window, int y, int x, const struct dots *dots, enum ws_role role)
{
    attr_t attr;
    short pair;
    int step = per_line();

    wattr_get(window, &attr, &pair, NULL);
    /* Inverse blanks in a plain role: each way in and out of bold as well would cost a terminal
     * dozens of bytes a row, and a blank is not the brighter for it. */
    ws_draw_role(window, step == 2 ? role : WS_ROLE_PLAIN);
    for (int row = 0; row < dots->rows; row += step)
        for (int column = 0; column < dots->columns; column++)
            put_cell(window, y + row / step, x + column, dots->lit[row][column] != 0,
                     dots->lit[row + step - 1][column] != 0);
    wattr_set(window, attr, pair, NULL);
}

int ws_big_draw(WINDOW *window, int y, int x, const char *text, const struct ws_big_size *size,
                enum ws_role role)
{
    static struct dots dots; /* too large for a stack; one thread draws */
    int width = ws_big_width(text, size);

    memset(&dots, 0, sizeof dots);
    dots.rows = size->lines * per_line();
    dots.columns = width;
    draw_text(&dots, text, 0, size, 1);
    put_dots(window, y, x, &dots, role);
    return width;
}

int ws_big_band(WINDOW *window, int y, int x, const char *text, const struct ws_big_size *size,
                enum ws_role role, int left, int right, bool rim)
{
    static struct dots dots;

    memset(&dots, 0, sizeof dots);
    if (right - left + 1 > DOT_COLUMNS)
        right = left + DOT_COLUMNS - 1;
    dots.rows = size->lines * per_line();
    dots.columns = right - left + 1;
    memset(dots.lit, 1, sizeof dots.lit);
    draw_text(&dots, text, x - left, size, 0);
    put_dots(window, y, left, &dots, role);
    memset(dots.lit, 1, sizeof dots.lit);
    if (!rim)
        return ws_big_width(text, size);
    dots.rows = per_line();
    put_dots(window, y - 1, left, &dots, role);
    put_dots(window, y + size->lines, left, &dots, role);
    return ws_big_width(text, size);
}
