/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink at every size a window can have, in every state, with and without UTF-8.
 *
 * Method: the run is drawn at sizes from 1x1 up, panels too; the sanitizers watch. From 16x4 to
 * 300x100 the clock and the word are looked for in the cells, as letters or in big type: then the
 * same text is drawn alone at that type size, and every dot of it must be on the screen. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/console/big.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

#include "../../src/console/sink.h"

enum { ROWS_MOST = 100, COLUMNS_MOST = 300, DOTS_MOST = 2 * ROWS_MOST, TRIED_MOST = 64 };

/* ---- states ---- */

struct state {
    const char *word, *clock; /* clock: or what stands in its place; empty: nothing does */
    int64_t clock_ms;         /* of the developer of the film run; -1: see make_state */
};

static const struct state states[] = {
    { "READY?", "developer", -1 },
    { "GET READY", "3", -18000 },
    { "POUR IN", "0:09", -9000 },
    { "AGITATE", "8:18", 62500 },
    { "REST", "7:55", 85000 },
    { "AGITATE", "0:13", 547000 },
    { "GET READY", "0:04", 556000 },
    { "POUR OUT", "+0:01", 561000 },
    { "POUR OUT", "+0:15", 575000 },
    { "STOP NOW", "+0:07", -1 },
    { "DONE", "", -1 },
    { "REST", "50:11", -1 },
    { "COME BACK", "1:41", -1 },
    { "SHEET 3 IN", "1:37", -1 },
    { "SHUFFLE", "0:46", -1 },
};
enum { STATES = sizeof states / sizeof *states };

static void film_to(struct aid_run *run, int64_t clock_ms)
{
    aid_run_film(run);
    aid_run_hand(run, 2000);
    aid_run_hand(run, 9000);
    aid_run_hand(run, 120000);
    aid_run_hand(run, 128000);
    aid_run_to(run, 148000 + clock_ms);
}

static void stand_to(struct aid_run *run, int64_t at_ms)
{
    aid_run_stand(run);
    aid_run_hand(run, 1000);
    aid_run_to(run, at_ms);
}

static void sheets_to(struct aid_run *run, int64_t at_ms)
{
    aid_run_sheets(run);
    aid_run_hand(run, 1000);
    aid_run_to(run, at_ms);
}

static void make_state(struct aid_run *run, int state)
{
    if (states[state].clock_ms != -1) {
        film_to(run, states[state].clock_ms);
    } else if (strcmp(states[state].word, "READY?") == 0) {
        aid_run_film(run);
        aid_run_hand(run, 2000);
        aid_run_hand(run, 9000);
        aid_run_hand(run, 120000);
    } else if (strcmp(states[state].word, "STOP NOW") == 0) {
        film_to(run, 569000);
        aid_run_hand(run, run->at_ms);
        aid_run_to(run, run->at_ms + 7000);
    } else if (strcmp(states[state].word, "DONE") == 0) {
        stand_to(run, 3660000);
        aid_run_hand(run, 3660000);
        aid_run_hand(run, 3670000);
        aid_run_hand(run, 3730000);
    } else if (strcmp(states[state].word, "REST") == 0) {
        stand_to(run, 600000);
    } else if (strcmp(states[state].word, "COME BACK") == 0) {
        stand_to(run, 3510000);
    } else {
        sheets_to(run, states[state].word[2] == 'U' ? 80000 : 29000);
    }
}

/* ---- what is on the screen ---- */

/* Dots are half lines with UTF-8, else lines; letters are no dots. */
static struct {
    int rows, columns, per_line;
    bool lit[DOTS_MOST][COLUMNS_MOST];
    char letters[ROWS_MOST][COLUMNS_MOST + 1];
} seen;

static void read_cell(WINDOW *window, int y, int x, bool *upper, bool *lower, char *letter)
{
    cchar_t cell;
    wchar_t text[CCHARW_MAX + 1] = { 0 };
    attr_t attr = 0;
    short pair;

    if (mvwin_wch(window, y, x, &cell) == OK)
        getcchar(&cell, text, &attr, &pair, NULL);
    *upper = text[0] == 0x2588 || text[0] == 0x2580 || (text[0] == ' ' && (attr & A_REVERSE) != 0);
    *lower = text[0] == 0x2588 || text[0] == 0x2584 || (text[0] == ' ' && (attr & A_REVERSE) != 0);
    *letter = text[0] > ' ' && text[0] < 0x7F ? (char)text[0] : ' ';
}

static void read_screen(void)
{
    bool upper, lower;

    seen.rows = LINES;
    seen.columns = COLS;
    seen.per_line = ws_terminal_utf8() ? 2 : 1;
    for (int y = 0; y < seen.rows; y++) {
        for (int x = 0; x < seen.columns; x++) {
            read_cell(stdscr, y, x, &upper, &lower, &seen.letters[y][x]);
            seen.lit[y * seen.per_line][x] = upper;
            if (seen.per_line == 2)
                seen.lit[y * 2 + 1][x] = lower;
        }
        seen.letters[y][seen.columns] = '\0';
    }
}

static bool stands_in_letters(const char *text)
{
    for (int y = 0; y < seen.rows; y++)
        if (strstr(seen.letters[y], text) != NULL)
            return true;
    return false;
}

/* The text drawn alone in that type. */
static struct {
    int dots, width;
    bool lit[DOTS_MOST][COLUMNS_MOST];
} alone;

static void draw_alone(const char *text, const struct ws_big_size *size)
{
    WINDOW *pad = newpad(size->lines, ws_big_width(text, size));
    bool upper, lower;
    char letter;

    assert_non_null(pad);
    alone.width = ws_big_draw(pad, 0, 0, text, size, WS_ROLE_PLAIN);
    alone.dots = size->lines * seen.per_line;
    for (int y = 0; y < size->lines; y++) {
        for (int x = 0; x < alone.width; x++) {
            read_cell(pad, y, x, &upper, &lower, &letter);
            alone.lit[y * seen.per_line][x] = upper;
            if (seen.per_line == 2)
                alone.lit[y * 2 + 1][x] = lower;
        }
    }
    delwin(pad);
}

/* Every dot of it is on the screen, its left upper one at y, x; on a band all the other way. */
static bool stands_at(int y, int x, bool band)
{
    if (x + alone.width > seen.columns || y + alone.dots > seen.rows * seen.per_line)
        return false;
    for (int i = 0; i < alone.dots; i++)
        for (int k = 0; k < alone.width; k++)
            if (seen.lit[y + i][x + k] != (alone.lit[i][k] != band))
                return false;
    return true;
}

static bool stands_in(const char *text, const struct ws_big_size *size)
{
    draw_alone(text, size);
    for (int y = 0; y < seen.rows; y++)
        for (int x = 0; x <= 2; x++)
            for (int band = 0; band < 2; band++)
                if (stands_at(y * seen.per_line, x, band == 1))
                    return true;
    return false;
}

static bool was_tried(const struct ws_big_size *tried, int n, const struct ws_big_size *size)
{
    for (int i = 0; i < n && i < TRIED_MOST; i++)
        if (memcmp(&tried[i], size, sizeof *size) == 0)
            return true;
    return false;
}

/* Types that the text may have been fitted to: to the window, or to what is left of it by what
 * stands beside. */
static bool stands_big(const char *text)
{
    int left[] = {
        0, 1, 2, 4, 1 + 2 + seen.columns / 4, 2 + seen.columns / 4, 4 + seen.columns * 3 / 8
    };
    struct ws_big_size size, tried[TRIED_MOST];
    bool found = false;
    int n = 0;

    for (int lines = seen.rows; !found && lines >= 3; lines--) {
        for (size_t i = 0; !found && i < sizeof left / sizeof *left; i++) {
            if (!ws_big_fit(text, seen.columns - left[i], lines, &size) ||
                was_tried(tried, n, &size))
                continue;
            tried[n++ % TRIED_MOST] = size;
            found = stands_in(text, &size);
        }
    }
    return found;
}

static bool stands(const char *text)
{
    return stands_in_letters(text) || (ws_big_can(text) && stands_big(text));
}

static void expect_both(struct aid_run *run, int state, int rows, int columns)
{
    const char *clock = states[state].clock;
    char *cells;

    ws_terminal_pretend(rows, columns);
    aid_run_draw(run);
    read_screen();
    /* Where it is narrow the plus sign stands small before the digits. */
    if (!stands(states[state].word) ||
        !(stands(clock) || (clock[0] == '+' && stands_in_letters("+") && stands(clock + 1)))) {
        wnoutrefresh(stdscr);
        ws_terminal_flush();
        cells = ws_draw_dump();
        print_error("%s", cells);
        free(cells);
        fail_msg("not both, %s and %s, at %dx%d", states[state].word, clock, columns, rows);
    }
}

/* ---- tests ---- */

static uint32_t dice(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u; /* a full period of 32 bits: Knuth, TAOCP 3.3.4 */
    return *state >> 16;
}

/* Method: all small windows, each in another state; all states in windows at random, and at the
 * corners of what is promised. */
static void clock_and_word_always(void **state)
{
    static struct aid_run run[STATES];
    uint32_t seed = 20260316;
    int n = 0;

    (void)state;
    for (int i = 0; i < STATES; i++)
        make_state(&run[i], i);
    for (int pass = 0; pass < 2; pass++) {
        aid_screen(pass == 0 ? "C.UTF-8" : "C", "xterm", 24, 80);
        for (int rows = 4; rows <= 16; rows++)
            for (int columns = 16; columns <= 62; columns++, n++)
                expect_both(&run[n % STATES], n % STATES, rows, columns);
        for (int i = 0; i < STATES; i++) {
            for (int k = 0; k < 6; k++)
                expect_both(&run[i], i, 4 + (int)(dice(&seed) % 97), 16 + (int)(dice(&seed) % 285));
            expect_both(&run[i], i, 4, 16);
            expect_both(&run[i], i, 100, 16);
            expect_both(&run[i], i, 4, 300);
            expect_both(&run[i], i, 24, 80);
            expect_both(&run[i], i, 12, 40);
            expect_both(&run[i], i, 100, 300);
        }
    }
}

/* Method: every window up to 40x30 and some far larger ones, in every state. */
static void never_crashes(void **state)
{
    static const int large[] = { 1, 2, 3, 16, 79, 120, 300, 501 };
    enum { LARGE = sizeof large / sizeof *large };
    static struct aid_run run[STATES];

    (void)state;
    for (int i = 0; i < STATES; i++)
        make_state(&run[i], i);
    for (int pass = 0; pass < 2; pass++) {
        aid_screen(pass == 0 ? "C.UTF-8" : "C", "xterm", 24, 80);
        for (int rows = 1; rows <= 30; rows++) {
            for (int columns = 1; columns <= 40; columns++) {
                ws_terminal_pretend(rows, columns);
                aid_run_draw(&run[(rows + columns) % STATES]);
            }
        }
        for (int i = 0; i < LARGE * LARGE; i++) {
            ws_terminal_pretend(large[i / LARGE] / 3 + 1, large[i % LARGE]);
            aid_run_draw(&run[i % STATES]);
        }
    }
}

static void panels_fit(void **state)
{
    struct sink sink;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 24, 80);
    for (int panel = SINK_PANEL_KEYS; panel <= SINK_PANEL_SETTINGS; panel++) {
        for (int lines = 1; lines <= 30; lines += 2) {
            for (int columns = 1; columns <= 100; columns += 9) {
                sink_begin(&sink);
                sink.panel = (enum sink_panel)panel;
                ws_terminal_pretend(lines, columns);
                erase();
                sink_panel_draw(stdscr, lines / 2, lines - lines / 2, &sink);
                wnoutrefresh(stdscr);
                ws_terminal_flush();
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clock_and_word_always),
        cmocka_unit_test(never_crashes),
        cmocka_unit_test(panels_fit),
    };
    int failed = cmocka_run_group_tests_name("any size", tests, NULL, NULL);

    ws_terminal_stop();
    return failed;
}
