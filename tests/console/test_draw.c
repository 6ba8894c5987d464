/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text on the screen: cleaned, measured, cut, wrapped; big type.
 *
 * Method: texts that would steer or misplace a terminal are drawn on one without a device, and the
 * cells are read back. */
#include <limits.h>
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "wetside/console/big.h"
#include "wetside/console/draw.h"
#include "wetside/console/terminal.h"

static char *drawn(void)
{
    char *cells;

    wnoutrefresh(stdscr);
    ws_terminal_flush();
    cells = ws_draw_dump();
    assert_non_null(cells);
    return cells;
}

static void expect_clean(const char *text, const char *want, int columns)
{
    char out[256];

    assert_int_equal(ws_draw_clean(out, sizeof out, text, INT_MAX), columns);
    assert_string_equal(out, want);
}

static void nothing_steers_the_terminal(void **state)
{
    (void)state;
    aid_screen("C.UTF-8", "xterm", 24, 80);
    expect_clean("Tarn 125", "Tarn 125", 8);
    expect_clean("\033[2J\a", "^[[2J^G", 7);
    expect_clean("a\xFF"
                 "b",
                 "a<FF>b", 6);
    expect_clean("a\xE2\x80\xAE"
                 "b", /* right-to-left override */
                 "a<U+202E>b", 10);
    expect_clean("\xE2\x82\xAC 5", "\xE2\x82\xAC 5", 3);
    expect_clean("\xE6\x9A\x97\xE5\xAE\xA4", "\xE6\x9A\x97\xE5\xAE\xA4", 4); /* two wide ones */
    /* A tower of four accents on an e keeps two of them. */
    expect_clean("e\xCC\x81\xCC\x81\xCC\x81\xCC\x81!", "e\xCC\x81\xCC\x81<U+0301><U+0301>!", 18);
    /* A mark on nothing. */
    expect_clean("\xCC\x81x", "<U+0301>x", 9);
    aid_screen("C", "xterm", 24, 80);
    expect_clean("caf\xC3\xA9 \xE2\x82\xAC", "caf? ?", 6);
}

static void a_cut_text_says_so(void **state)
{
    char *cells;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 3, 20);
    assert_int_equal(ws_draw_text(stdscr, 0, 2, 10, WS_ROLE_PLAIN, "exactly 10"), 10);
    assert_int_equal(ws_draw_text(stdscr, 1, 2, 10, WS_ROLE_PLAIN, "rather more than 10"), 10);
    /* A wide character that would be cut in half leaves its column blank. */
    ws_draw_text(stdscr, 2, 0, 4, WS_ROLE_PLAIN, "ab\xE6\x9A\x97\xE5\xAE\xA4");
    cells = drawn();
    assert_string_equal(cells, "  exactly 10\n  rather mo~\nab~\n");
    free(cells);
}

static void nothing_leaves_the_window(void **state)
{
    char *cells;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 3, 10);
    assert_int_equal(ws_draw_text(stdscr, -1, 0, 5, WS_ROLE_PLAIN, "no"), 0);
    assert_int_equal(ws_draw_text(stdscr, 3, 0, 5, WS_ROLE_PLAIN, "no"), 0);
    assert_int_equal(ws_draw_text(stdscr, 0, 10, 5, WS_ROLE_PLAIN, "no"), 0);
    assert_int_equal(ws_draw_text(stdscr, 0, -3, 5, WS_ROLE_PLAIN, "no"), 0);
    assert_int_equal(ws_draw_text(stdscr, 2, 6, 99, WS_ROLE_PLAIN, "to the end"), 4);
    ws_draw_right(stdscr, 1, 9, 10, WS_ROLE_PLAIN, "right");
    ws_draw_right(stdscr, 0, 3, 10, WS_ROLE_PLAIN, "too long");
    cells = drawn();
    assert_string_equal(cells, "too~\n     right\n      to ~\n");
    free(cells);
}

static void words_break_at_blanks(void **state)
{
    char *cells;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 4, 12);
    assert_int_equal(ws_draw_wrap(stdscr, 0, 1, 10, 4, WS_ROLE_PLAIN,
                                  "which exposed rolls go tonight and in which tank"),
                     4);
    cells = drawn();
    assert_string_equal(cells, " which\n exposed\n rolls go\n tonight a~\n");
    free(cells);
}

static void roles_do_not_need_colour(void **state)
{
    static const char *const types[] = { "xterm-256color", "xterm", "linux", "vt100", "screen" };

    (void)state;
    for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
        aid_screen("C.UTF-8", types[i], 24, 80);
        /* What is said by an attribute alone must stand out on each of them. */
        assert_true((ws_draw_attr(WS_ROLE_ALARM) & A_REVERSE) != 0);
        assert_true((ws_draw_attr(WS_ROLE_CHOSEN) & A_REVERSE) != 0);
        assert_true(ws_draw_attr(WS_ROLE_LOUD) != ws_draw_attr(WS_ROLE_PLAIN));
        assert_true(ws_terminal_inverse());
    }
    setenv("NO_COLOR", "1", 1);
    aid_screen("C.UTF-8", "xterm-256color", 24, 80);
    unsetenv("NO_COLOR");
    for (int role = 0; role < WS_ROLES; role++)
        assert_int_equal((int)PAIR_NUMBER(ws_draw_attr((enum ws_role)role)), 0);
}

/* A type that can't place the cursor, or that nobody knows, is refused in words. */
static void other_types_are_refused(void **state)
{
    static const char *const types[] = { "dumb", "no-such-terminal" };

    (void)state;
    ws_terminal_stop();
    for (size_t i = 0; i < sizeof types / sizeof *types; i++) {
        struct ws_terminal_options options = { .type = types[i], .headless = true };
        struct ws_message why = { "" };

        assert_int_equal(ws_terminal_start(&options, &why), WS_IO);
        assert_non_null(strstr(why.text, types[i]));
    }
}

/* ---- big type ---- */

static void big_type_fits_where_it_says(void **state)
{
    static const char *const words[] = { "AGITATE",  "POUR OUT",     "GET READY", "4:17",
                                         "+1:02:07", "SHEET 12 OUT", "?",         "3 of 4" };

    (void)state;
    for (int pass = 0; pass < 2; pass++) {
        aid_screen(pass == 0 ? "C.UTF-8" : "C", "xterm", 24, 80);
        for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
            int fitted = 0;

            for (int lines = 1; lines < 60; lines++) {
                for (int columns = 1; columns < 300; columns += 7) {
                    struct ws_big_size size;

                    if (!ws_big_fit(words[i], columns, lines, &size))
                        continue;
                    fitted++;
                    assert_true(size.lines <= lines);
                    assert_true(ws_big_width(words[i], &size) <= columns);
                    assert_true(size.stem >= 1 && size.letter >= 3 && size.gap >= 1);
                }
            }
            assert_true(fitted > 100);
        }
    }
    assert_false(ws_big_can("Entwickler \xC3\xBC"));
    assert_true(ws_big_can("Developer 1+1"[0] == 'D' ? "Developer 1" : ""));
}

/* Every sign of the table can be told from every other at the smallest and at home size. */
static void signs_differ(void **state)
{
    static const char signs[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";

    (void)state;
    for (int pass = 0; pass < 2; pass++) {
        char *cells[sizeof signs - 1];

        aid_screen("C.UTF-8", "xterm", 10, 20);
        for (size_t i = 0; i < sizeof signs - 1; i++) {
            char text[2] = { signs[i], '\0' };
            struct ws_big_size size;

            assert_true(ws_big_fit(text, pass == 0 ? 7 : 12, pass == 0 ? 5 : 9, &size));
            erase();
            ws_big_draw(stdscr, 0, 0, text, &size, WS_ROLE_PLAIN);
            cells[i] = drawn();
        }
        for (size_t i = 0; i < sizeof signs - 1; i++)
            for (size_t k = 0; k < i; k++)
                if (!(signs[k] == 'O' && signs[i] == '0') && strcmp(cells[i], cells[k]) == 0)
                    fail_msg("%c looks like %c", signs[i], signs[k]);
        for (size_t i = 0; i < sizeof signs - 1; i++)
            free(cells[i]);
    }
}

static void digits_are_equally_wide(void **state)
{
    struct ws_big_size size;
    int width;

    (void)state;
    aid_screen("C.UTF-8", "xterm", 24, 80);
    assert_true(ws_big_fit("00:00", 60, 7, &size));
    width = ws_big_width("0", &size);
    for (char digit = '1'; digit <= '9'; digit++) {
        char text[2] = { digit, '\0' };

        assert_int_equal(ws_big_width(text, &size), width);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_steers_the_terminal), cmocka_unit_test(a_cut_text_says_so),
        cmocka_unit_test(nothing_leaves_the_window),   cmocka_unit_test(words_break_at_blanks),
        cmocka_unit_test(roles_do_not_need_colour),    cmocka_unit_test(other_types_are_refused),
        cmocka_unit_test(big_type_fits_where_it_says), cmocka_unit_test(signs_differ),
        cmocka_unit_test(digits_are_equally_wide),
    };
    int failed = cmocka_run_group_tests_name("drawing", tests, NULL, NULL);

    ws_terminal_stop();
    return failed;
}
