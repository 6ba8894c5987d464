/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Roles, cleaned text, words in lines, and the screen's cells as text. */
#include "wetside/console/draw.h"

#include <limits.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include "wetside/calc/status.h"
#include "wetside/console/terminal.h"
#include "wetside/port/text.h"

enum { PAIR_LOUD = 1, PAIR_QUIET, PAIR_BLACK, TEXT_BYTES = 2048 };
/* The first eight colours are a theme's, and its black may be a grey or a blue; of the 256 the cube
 * begins with one that is black. */
enum { FIXED_COLOURS = 256, CUBE_BLACK = 16 };

static attr_t role_attr[WS_ROLES];
static bool black_pair, own_ground;

static short black(void)
{
    return COLORS >= FIXED_COLOURS ? CUBE_BLACK : COLOR_BLACK;
}

void ws_draw_begin(bool colour)
{
    static const attr_t plain[WS_ROLES] = {
        [WS_ROLE_PLAIN] = A_NORMAL,
        [WS_ROLE_LOUD] = A_BOLD,
        [WS_ROLE_QUIET] = A_DIM,
        [WS_ROLE_CHOSEN] = A_REVERSE,
        [WS_ROLE_ALARM] = A_REVERSE | A_BOLD,
        [WS_ROLE_FIELD] = A_UNDERLINE,
        [WS_ROLE_TITLE] = A_BOLD,
    };

    memcpy(role_attr, plain, sizeof role_attr);
    black_pair = false;
    if (!has_colors() || start_color() != OK)
        return;
    /* Even where no colour is wanted, open film needs a background that is black. */
    black_pair = COLOR_PAIRS > PAIR_BLACK && init_pair(PAIR_BLACK, black(), black()) == OK;
    /* Without UTF-8 big type is made of inverse blanks: with colours set each of them would cost 25
     * bytes, and such terminals are dark by themselves. */
    own_ground = !colour || !ws_terminal_utf8();
    ws_draw_darken(false);
    if (own_ground)
        return;
    if (COLORS >= FIXED_COLOURS && COLOR_PAIRS > PAIR_QUIET) {
        /* 15 is full white and 246 a grey of the fixed palette: three steps of brightness. */
        init_pair(PAIR_LOUD, 15, COLOR_BLACK);
        init_pair(PAIR_QUIET, 246, COLOR_BLACK);
        role_attr[WS_ROLE_LOUD] |= COLOR_PAIR(PAIR_LOUD);
        role_attr[WS_ROLE_TITLE] |= COLOR_PAIR(PAIR_LOUD);
        role_attr[WS_ROLE_QUIET] = COLOR_PAIR(PAIR_QUIET);
    }
}

attr_t ws_draw_attr(enum ws_role role)
{
    return role_attr[role];
}

void ws_draw_role(WINDOW *window, enum ws_role role)
{
    wattrset(window, (int)role_attr[role]);
}

void ws_draw_darken(bool dark)
{
    if (!has_colors())
        return;
    if (dark && black_pair)
        assume_default_colors(black(), black());
    else if (own_ground)
        use_default_colors();
    else /* a darkroom's screen is dark, whatever the terminal's own background is */
        assume_default_colors(COLOR_WHITE, COLOR_BLACK);
}

bool ws_draw_has_black(void)
{
    return black_pair;
}

void ws_draw_black(WINDOW *window)
{
    wbkgdset(window, black_pair ? (chtype)(' ' | COLOR_PAIR(PAIR_BLACK)) : ' ');
    werase(window);
}

/* Takes one character of valid UTF-8; gives its length, and 1 with U+FFFD for anything else. */
static size_t take(const char *text, wchar_t *character)
{
    const unsigned char *at = (const unsigned char *)text;
    static const unsigned char bits[5] = { 0, 0x7F, 0x1F, 0x0F, 0x07 };
    size_t length = at[0] < 0x80 ? 1 : at[0] < 0xE0 ? 2 : at[0] < 0xF0 ? 3 : 4;
    unsigned long point = at[0] & bits[length];

    for (size_t i = 1; i < length; i++) {
        if ((at[i] & 0xC0) != 0x80) {
            *character = 0xFFFD;
            return 1;
        }
        point = point << 6 | (at[i] & 0x3Fu);
    }
    *character = (wchar_t)point;
    return length;
}

/* The columns of a character, and whether it must be shown as a question mark. */
static int width_of(wchar_t character, bool *unknown)
{
    int width;

    *unknown = false;
    if (character < 0x80)
        return 1;
    width = ws_terminal_utf8() && character != 0xFFFD ? wcwidth(character) : -1;
    if (width >= 0)
        return width;
    *unknown = true;
    return 1;
}

int ws_draw_clean(char *out, size_t size, const char *text, int columns)
{
    char visible[TEXT_BYTES];
    size_t used = 0;
    int column = 0;

    if (size == 0)
        return 0;
    ws_text_visible(text, visible, sizeof visible);
    for (const char *at = visible; *at != '\0';) {
        wchar_t character;
        size_t length = take(at, &character);
        bool unknown;
        int width = width_of(character, &unknown);
        const char *from = unknown ? "?" : at;
        size_t bytes = unknown ? 1 : length;

        at += length;
        if (column + width > columns || used + bytes >= size)
            break;
        memcpy(out + used, from, bytes);
        used += bytes;
        column += width;
    }
    out[used] = '\0';
    return column;
}

int ws_draw_columns(const char *text)
{
    char clean[TEXT_BYTES];

    return ws_draw_clean(clean, sizeof clean, text, INT_MAX);
}

/* How many columns there are at y, x, at most `columns`; 0: outside. */
static int room_at(WINDOW *window, int y, int x, int columns)
{
    int height = getmaxy(window), width = getmaxx(window);

    if (y < 0 || y >= height || x < 0 || x >= width)
        return 0;
    return columns < width - x ? columns : width - x;
}

/* Puts text that is clean already. */
static void put(WINDOW *window, int y, int x, enum ws_role role, const char *clean)
{
    attr_t attr;
    short pair;
    int was_y, was_x;

    getyx(window, was_y, was_x);
    wattr_get(window, &attr, &pair, NULL);
    wattrset(window, (int)role_attr[role]);
    mvwaddstr(window, y, x, clean);
    wattr_set(window, attr, pair, NULL);
    wmove(window, was_y, was_x);
}

int ws_draw_text(WINDOW *window, int y, int x, int columns, enum ws_role role, const char *text)
{
    char clean[TEXT_BYTES];
    int width;

    columns = room_at(window, y, x, columns);
    if (columns <= 0)
        return 0;
    width = ws_draw_clean(clean, sizeof clean - 1, text, columns);
    if (width == columns && ws_draw_columns(text) > columns) {
        width = ws_draw_clean(clean, sizeof clean - 1, text, columns - 1) + 1;
        strcat(clean, "~");
    }
    put(window, y, x, role, clean);
    return width;
}

int ws_draw_format(WINDOW *window, int y, int x, int columns, enum ws_role role, const char *format,
                   ...)
{
    char text[TEXT_BYTES];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return ws_draw_text(window, y, x, columns, role, text);
}

int ws_draw_right(WINDOW *window, int y, int right, int columns, enum ws_role role,
                  const char *text)
{
    int width = ws_draw_columns(text), x;

    if (width > columns)
        width = columns;
    x = right - width + 1;
    if (x < 0) {
        width += x;
        x = 0;
    }
    ws_draw_text(window, y, x, width, role, text);
    return x;
}

/* Length of the piece of clean text that fits in `columns`, ended at a blank if there is one. */
static size_t fit(const char *clean, int columns)
{
    size_t end = 0, blank = 0;
    int column = 0;

    while (clean[end] != '\0') {
        wchar_t character;
        size_t length = take(clean + end, &character);
        bool unknown;
        int width = width_of(character, &unknown);

        if (column + width > columns)
            return blank > 0 ? blank : end > 0 ? end : length;
        if (character == ' ')
            blank = end;
        column += width;
        end += length;
    }
    return end;
}

int ws_draw_wrap(WINDOW *window, int y, int x, int columns, int lines, enum ws_role role,
                 const char *text)
{
    char clean[TEXT_BYTES], line[TEXT_BYTES];
    const char *at = clean;
    int n = 0;

    columns = room_at(window, 0, x, columns);
    if (columns <= 0)
        return 0;
    ws_draw_clean(clean, sizeof clean, text, INT_MAX);
    while (*at != '\0' && n < lines) {
        size_t length = n == lines - 1 ? strlen(at) : fit(at, columns);

        memcpy(line, at, length);
        line[length] = '\0';
        ws_draw_text(window, y + n, x, columns, role, line);
        n++;
        at += length;
        while (*at == ' ')
            at++;
    }
    return n;
}

void ws_draw_box(WINDOW *window)
{
    if (ws_terminal_utf8())
        wborder_set(window, WACS_VLINE, WACS_VLINE, WACS_HLINE, WACS_HLINE, WACS_ULCORNER,
                    WACS_URCORNER, WACS_LLCORNER, WACS_LRCORNER);
    else
        wborder(window, '|', '|', '-', '-', '+', '+', '+', '+');
}

void ws_draw_bar(WINDOW *window, int y, enum ws_role role)
{
    if (y >= 0 && y < getmaxy(window))
        mvwhline(window, y, 0, ' ' | role_attr[role], getmaxx(window));
}

/* One cell as UTF-8; gives its columns. */
static int dump_cell(int y, int x, char *out, size_t size, size_t *length)
{
    cchar_t cell;
    wchar_t text[CCHARW_MAX + 1] = { 0 };
    attr_t attr = 0;
    short pair;
    int width;
    mbstate_t state = { 0 };

    *length = 0;
    if (mvwin_wch(newscr, y, x, &cell) != OK || getcchar(&cell, text, &attr, &pair, NULL) != OK ||
        text[0] == L'\0') {
        out[(*length)++] = ' ';
        return 1;
    }
    if (text[0] == L' ' && (attr & A_REVERSE) != 0 && !ws_terminal_utf8())
        text[0] = L'#';
    for (int i = 0; text[i] != L'\0'; i++) {
        char bytes[MB_LEN_MAX];
        size_t n = wcrtomb(bytes, text[i], &state);

        if (n != (size_t)-1 && *length + n < size) {
            memcpy(out + *length, bytes, n);
            *length += n;
        }
    }
    width = wcwidth(text[0]);
    return width > 0 ? width : 1;
}

char *ws_draw_dump(void)
{
    int height = getmaxy(newscr), width = getmaxx(newscr), was_y, was_x;
    size_t room = (size_t)height * ((size_t)width * MB_LEN_MAX + 1) + 1, used = 0;
    char *out = malloc(room);

    if (out == NULL)
        return NULL;
    getyx(newscr, was_y, was_x);
    for (int y = 0; y < height; y++) {
        size_t end = used;

        for (int x = 0; x < width;) {
            size_t length;

            x += dump_cell(y, x, out + used, room - used, &length);
            used += length;
            if (out[used - 1] != ' ')
                end = used;
        }
        used = end;
        out[used++] = '\n';
    }
    out[used] = '\0';
    wmove(newscr, was_y, was_x);
    return out;
}
