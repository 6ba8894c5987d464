/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any text at all, as it comes to a screen or to a line of output.
 *
 * Method: the first three bytes say the encoding, the columns and the place, the rest is the text,
 * zeros included. Made visible it is UTF-8 that holds no control, turns nothing and piles no marks,
 * and is not changed by being made visible again. Cleaned for the screen it is as wide as was said,
 * never wider than asked, and the wider one begins with the narrower. Drawn into a part of a window
 * it changes no cell outside of that part. */
#include <limits.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include "fuzz.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"
#include "wetside/port/text.h"

enum { LINES_HIGH = 6, COLUMNS_WIDE = 40, MARKS_MOST = 2 };

static void begin(bool utf8)
{
    static int begun = -1;
    struct ws_terminal_options options = {
        .type = "xterm", .headless = true, .lines = LINES_HIGH, .columns = COLUMNS_WIDE
    };
    struct ws_message why = { "" };

    if (begun == (int)utf8)
        return;
    if (begun >= 0)
        ws_terminal_stop();
    begun = (int)utf8;
    setlocale(LC_ALL, utf8 ? "C.UTF-8" : "C");
    if (ws_terminal_start(&options, &why) != WS_OK)
        fuzz_failed(why.text, __FILE__, __LINE__);
}

/* Columns as the C library counts them, which knows no width of some characters that are newer than
 * it (with `all` that may not be); at most MARKS_MOST of no width behind one another. */
static int columns_of(const char *text, bool all)
{
    mbstate_t state = { 0 };
    int columns = 0, marks = 0;

    while (*text != '\0') {
        wchar_t character;
        size_t length = mbrtowc(&character, text, MB_LEN_MAX, &state);
        int width;

        FUZZ_MUST(length > 0 && length <= MB_LEN_MAX);
        width = wcwidth(character);
        FUZZ_MUST(width >= 0 || !all);
        marks = width == 0 ? marks + 1 : 0;
        FUZZ_MUST(marks <= MARKS_MOST);
        columns += width;
        text += length;
    }
    return columns;
}

static void check_visible(const uint8_t *data, size_t size, const char *text, bool utf8)
{
    size_t room = WS_VISIBLE_SIZE(size), length;
    char *visible = malloc(room), *again = malloc(WS_VISIBLE_SIZE(room)), *narrow;

    if (visible == NULL || again == NULL)
        exit(1);
    length = ws_text_visible_bytes((const char *)data, size, visible, room);
    FUZZ_MUST(length == strlen(visible) && length < room);
    FUZZ_MUST(size == 0 || length > 0);
    FUZZ_MUST(fuzz_is_clean(visible, false));
    ws_text_visible(visible, again, WS_VISIBLE_SIZE(room));
    FUZZ_MUST(strcmp(visible, again) == 0);
    free(again);
    /* Cut, it is a beginning of the whole. */
    narrow = malloc(length / 2 + 1);
    if (narrow == NULL)
        exit(1);
    ws_text_visible_bytes((const char *)data, size, narrow, length / 2 + 1);
    FUZZ_MUST(strncmp(narrow, visible, strlen(narrow)) == 0 && fuzz_is_clean(narrow, false));
    free(narrow);
    ws_text_plain(text, visible, room);
    FUZZ_MUST(fuzz_is_clean(visible, false));
    if (utf8)
        columns_of(visible, false);
    for (const char *at = visible; *at != '\0' && !utf8; at++)
        FUZZ_MUST((unsigned char)*at < 0x80);
    free(visible);
}

static void check_columns(const char *text, int columns)
{
    char clean[4096], all[4096], small[32];
    int width = ws_draw_clean(clean, sizeof clean, text, columns);

    FUZZ_MUST(width >= 0 && width <= columns);
    FUZZ_MUST(fuzz_is_clean(clean, false));
    FUZZ_MUST(columns_of(clean, true) == width);
    FUZZ_MUST(ws_draw_clean(all, sizeof all, text, INT_MAX) == ws_draw_columns(text));
    FUZZ_MUST(strncmp(all, clean, strlen(clean)) == 0);
    ws_draw_clean(small, sizeof small, text, INT_MAX);
    FUZZ_MUST(strncmp(all, small, strlen(small)) == 0);
}

static bool is_untouched(int y, int x)
{
    cchar_t cell;
    wchar_t text[CCHARW_MAX + 1] = { 0 };
    attr_t attr;
    short pair;

    return mvwin_wch(stdscr, y, x, &cell) == OK &&
           getcchar(&cell, text, &attr, &pair, NULL) == OK && text[0] == L'.' && text[1] == 0 &&
           attr == A_NORMAL;
}

static void check_cells(int y, int x, int columns, int lines)
{
    for (int i = 0; i < LINES_HIGH; i++)
        for (int k = 0; k < COLUMNS_WIDE; k++)
            if (i < y || i >= y + lines || k < x || k >= x + columns)
                FUZZ_MUST(is_untouched(i, k));
}

static void fill(void)
{
    for (int y = 0; y < LINES_HIGH; y++)
        mvwhline(stdscr, y, 0, '.', COLUMNS_WIDE);
}

static void check_drawn(const char *text, int y, int x, int columns)
{
    int used, lines, first;

    fill();
    used = ws_draw_text(stdscr, y, x, columns, WS_ROLE_CHOSEN, text);
    FUZZ_MUST(used >= 0 && (used <= columns || used == 0));
    check_cells(y, x, used, 1);
    fill();
    lines = ws_draw_wrap(stdscr, y, x, columns, 3, WS_ROLE_LOUD, text);
    FUZZ_MUST(lines >= 0 && lines <= 3);
    check_cells(y, x, columns, lines);
    fill();
    first = ws_draw_right(stdscr, y, x, columns, WS_ROLE_QUIET, text);
    check_cells(y, first, x - first + 1, 1);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    bool utf8;
    char *text;

    if (size < 3)
        return 0;
    utf8 = (data[0] & 7) != 0;
    text = fuzz_text(data + 3, size - 3);
    begin(utf8);
    check_visible(data + 3, size - 3, text, utf8);
    check_columns(text, data[1]);
    check_drawn(text, data[2] % 10 - 2, data[2] / 10 * 2 - 3, data[1] % 50 - 2);
    free(text);
    return 0;
}
