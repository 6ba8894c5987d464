/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fields, lists and panels on a screen without a terminal. */
#include "aid.h"

#include <locale.h>
#include <panel.h>
#include <stdlib.h>

#include "wetside/console/form.h"
#include "wetside/console/list.h"
#include "wetside/console/panel.h"

static int start(void **state)
{
    const struct ws_terminal_options options = {
        .type = "xterm", .headless = true, .lines = 24, .columns = 80
    };
    struct ws_message why;

    (void)state;
    return setlocale(LC_ALL, "C.UTF-8") != NULL && ws_terminal_start(&options, &why) == WS_OK ? 0
                                                                                              : -1;
}

static int stop(void **state)
{
    (void)state;
    ws_terminal_stop();
    return 0;
}

/* The screen's row `y` as text; to be freed. */
static char *row_text(int y)
{
    char *all, *line, *end;

    update_panels();
    wnoutrefresh(stdscr);
    update_panels();
    all = ws_draw_dump();
    line = all;
    for (int i = 0; i < y; i++)
        line = strchr(line, '\n') + 1;
    end = strchr(line, '\n');
    line = strndup(line, (size_t)(end - line));
    free(all);
    return line;
}

static void assert_row(int y, const char *want)
{
    char *got = row_text(y);

    assert_string_equal(got, want);
    free(got);
}

static void type(struct ws_form *form, const wchar_t *text)
{
    for (; *text != L'\0'; text++)
        assert_true(ws_form_key(form, (ws_key)*text));
}

/* Method: types ASCII, an umlaut, two-column signs; reads the text back and from the cells. */
static void typed_text_is_kept_as_utf8(void **state)
{
    struct ws_field field[2] = { { .label = "film" }, { .label = "number" } };
    struct ws_form *form = ws_form_open(field, 2, 0);

    (void)state;
    erase();
    assert_int_equal(ws_form_draw(form, stdscr, 2, 1, 10, 40), 2);
    type(form, L"M\u00fcritz 50 \u4e2d\u6587");
    assert_string_equal(field[0].text, "M\u00fcritz 50 \u4e2d\u6587");
    assert_true(ws_form_key(form, WS_KEY_DOWN));
    type(form, L"12");
    erase();
    ws_form_draw(form, stdscr, 2, 1, 10, 40);
    assert_row(2, " film   [M\u00fcritz 50 \u4e2d\u6587                 ]");
    assert_row(3, " number [12                             ]");
    ws_form_close(form);
}

/* Method: a field that holds a proposal is shown as chosen; the first character takes its place and
 * the next one follows; after each key that edits or moves the cursor, and after a text that was
 * put there later, characters go in where the cursor is. */
static void typing_takes_the_place_of_a_proposal(void **state)
{
    static const ws_key keeps[] = { WS_KEY_LEFT, WS_KEY_RIGHT,       WS_KEY_HOME,
                                    WS_KEY_BACK, WS_KEY_END_OF_LINE, WS_KEY_DELETE };
    static const char *const want[] = { "a-b", "ab-", "-ab", "a-", "ab-", "ab-" };

    (void)state;
    for (size_t i = 0; i < sizeof keeps / sizeof *keeps; i++) {
        struct ws_field field[2] = { { .label = "x", .text = "ab" }, { .label = "y" } };
        struct ws_form *form = ws_form_open(field, 2, 0);

        erase();
        ws_form_draw(form, stdscr, 0, 0, 2, 20);
        ws_form_key(form, keeps[i]);
        type(form, L"-");
        assert_string_equal(field[0].text, want[i]);
        ws_form_close(form);
    }
    for (int put = 0; put < 2; put++) {
        struct ws_field field[2] = { { .label = "x", .text = "Halden 400" }, { .label = "y" } };
        struct ws_form *form = ws_form_open(field, 2, 0);

        erase();
        ws_form_draw(form, stdscr, 0, 0, 2, 20);
        assert_true((mvwinch(stdscr, 0, 3) & A_ATTRIBUTES) ==
                    (mvwinch(stdscr, 0, 13) & A_ATTRIBUTES));
        /* Going to another field and back proposes it still. */
        ws_form_key(form, WS_KEY_DOWN);
        ws_form_key(form, WS_KEY_UP);
        if (put == 1)
            ws_form_set(form, 0, "Os");
        type(form, L"pr");
        assert_string_equal(field[0].text, put == 1 ? "Ospr" : "pr");
        erase();
        ws_form_draw(form, stdscr, 0, 0, 2, 20);
        assert_true((mvwinch(stdscr, 0, 3) & A_ATTRIBUTES) !=
                    (mvwinch(stdscr, 0, put == 1 ? 7 : 5) & A_ATTRIBUTES));
        ws_form_close(form);
    }
}

/* Method: every editing key on a known text, the text compared after each. */
static void editing_keys_edit(void **state)
{
    struct ws_field field[1] = { { .label = "x", .text = "abc" } };
    struct ws_form *form = ws_form_open(field, 1, 0);

    (void)state;
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    ws_form_key(form, WS_KEY_BACK);
    assert_string_equal(field[0].text, "ab");
    ws_form_key(form, WS_KEY_LEFT);
    type(form, L"X");
    assert_string_equal(field[0].text, "aXb");
    ws_form_key(form, WS_KEY_DELETE);
    assert_string_equal(field[0].text, "aX");
    for (int i = 0; i < 5; i++)
        ws_form_key(form, WS_KEY_RIGHT);
    type(form, L"Y");
    assert_string_equal(field[0].text, "aXY");
    ws_form_key(form, WS_KEY_HOME);
    ws_form_key(form, WS_KEY_BACK);
    type(form, L"Z");
    assert_string_equal(field[0].text, "ZaXY");
    ws_form_key(form, WS_KEY_END_OF_LINE);
    type(form, L" e nd");
    assert_string_equal(field[0].text, "ZaXY e nd");
    ws_form_key(form, 0x15);
    assert_string_equal(field[0].text, "");
    ws_form_close(form);
}

/* Method: control characters, direction marks, bare combining marks and function keys are sent;
 * nothing may get in. */
static void only_printable_characters_get_in(void **state)
{
    static const ws_key bad[] = { 0x01,   0x07,   0x1C,   0x80,      0x9B,
                                  0x202E, 0x0301, 0xFEFF, WS_KEY_F1, WS_KEY_OTHER };
    struct ws_field field[1] = { { .label = "x" } };
    struct ws_form *form = ws_form_open(field, 1, 0);

    (void)state;
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(ws_form_key(form, bad[i]));
    assert_string_equal(field[0].text, "");
    ws_form_close(form);
}

/* Method: types far more than fits on the screen and into the field; what is kept must be whole
 * UTF-8, shorter than the buffer, and the form's width on the screen unchanged. */
static void a_long_text_scrolls_and_ends(void **state)
{
    struct ws_field field[1] = { { .label = "x" } };
    struct ws_form *form = ws_form_open(field, 1, 0);

    (void)state;
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    for (int i = 0; i < 400; i++)
        ws_form_key(form, i % 2 == 0 ? 0x1F600 : 'a');
    assert_true(strlen(field[0].text) < WS_FIELD_BYTES);
    assert_true(strlen(field[0].text) > 100);
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    ws_form_key(form, WS_KEY_BACK);
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    ws_form_close(form);
}

/* Method: letters, space and arrows on a field of choices. */
static void choices_are_gone_through(void **state)
{
    static const char *const choice[] = { "135-36", "120", "4x5", "8x10", NULL };
    struct ws_field field[1] = { { .label = "format", .choice = choice, .text = "135-36" } };
    struct ws_form *form = ws_form_open(field, 1, 0);

    (void)state;
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 20);
    ws_form_key(form, ' ');
    assert_string_equal(field[0].text, "120");
    ws_form_key(form, '8');
    assert_string_equal(field[0].text, "8x10");
    ws_form_key(form, '1');
    assert_string_equal(field[0].text, "135-36");
    ws_form_key(form, WS_KEY_LEFT);
    assert_string_equal(field[0].text, "8x10");
    ws_form_key(form, WS_KEY_RIGHT);
    assert_string_equal(field[0].text, "135-36");
    ws_form_key(form, 'z');
    assert_string_equal(field[0].text, "135-36");
    ws_form_close(form);
}

/* Method: draws the same form at every size down to nothing while keys come; what was typed stays.
 */
static void a_form_survives_any_size(void **state)
{
    struct ws_field field[4] = { { .label = "one" },
                                 { .label = "two", .text = "\xff\x1b[31mred" },
                                 { .label = "three" },
                                 { .label = "four" } };
    struct ws_form *form = ws_form_open(field, 4, 0);

    (void)state;
    ws_form_draw(form, stdscr, 1, 1, 10, 60);
    ws_form_go(form, 1);
    ws_form_key(form, WS_KEY_END_OF_LINE);
    ws_form_go(form, 0);
    for (int lines = 24; lines > 0; lines--) {
        for (int columns = 80; columns > 0; columns -= 7) {
            ws_terminal_pretend(lines, columns);
            erase();
            ws_form_draw(form, stdscr, 1, 1, lines - 2, columns - 2);
            ws_form_key(form, 'a');
            ws_form_key(form, WS_KEY_DOWN);
            if (ws_form_at(form) == 3)
                ws_form_go(form, 0);
        }
    }
    ws_terminal_pretend(24, 80);
    erase();
    ws_form_draw(form, stdscr, 1, 1, 10, 60);
    assert_memory_equal(field[0].text, "aaaa", 4);
    assert_non_null(strstr(field[1].text, "^[[31mred"));
    ws_form_close(form);
}

/* Method: two-column signs are put before, between and behind others, up to the end of the field.
 */
static void wide_signs_go_in_anywhere(void **state)
{
    struct ws_field field[1] = { { .label = "x", .columns = 7 } };
    struct ws_form *form = ws_form_open(field, 1, 0);

    (void)state;
    erase();
    ws_form_draw(form, stdscr, 0, 0, 1, 40);
    type(form, L"ab");
    ws_form_key(form, WS_KEY_LEFT);
    type(form, L"\u4e2d");
    assert_string_equal(field[0].text, "a\u4e2db");
    type(form, L"c");
    assert_string_equal(field[0].text, "a\u4e2dcb");
    ws_form_key(form, WS_KEY_HOME);
    type(form, L"\u6587");
    assert_string_equal(field[0].text, "\u6587a\u4e2dcb");
    ws_form_key(form, WS_KEY_END_OF_LINE);
    type(form, L" \u4e2d");
    assert_string_equal(field[0].text, "\u6587a\u4e2dcb \u4e2d");
    ws_form_key(form, WS_KEY_BACK);
    ws_form_key(form, WS_KEY_BACK);
    assert_string_equal(field[0].text, "\u6587a\u4e2dcb");
    for (int i = 0; i < 200; i++)
        ws_form_key(form, 0x4e2d);
    ws_form_key(form, 'z');
    assert_true(strlen(field[0].text) < WS_FIELD_BYTES);
    ws_form_close(form);
}

/* Method: 20,000 random keys, wide and narrow signs among them, at random widths; what stands in
 * the field must stay whole UTF-8 within its limits. Under valgrind this looks into the library
 * too. */
static void random_keys_leave_whole_text(void **state)
{
    static const ws_key some[] = { 'a',         'Z',         ' ',           0x00e9,
                                   0x4e2d,      0x1F600,     WS_KEY_LEFT,   WS_KEY_RIGHT,
                                   WS_KEY_HOME, WS_KEY_BACK, WS_KEY_DELETE, WS_KEY_END_OF_LINE,
                                   0x15,        0x17 };
    struct ws_field field[1] = { { .label = "x" } };
    struct ws_form *form = ws_form_open(field, 1, 0);
    uint64_t seed = 20260314;
    wchar_t wide[WS_FIELD_BYTES];

    (void)state;
    for (int i = 0; i < 20000; i++) {
        unsigned pick;

        seed = seed * UINT64_C(6364136223846793005) + 1442695040888963407u;
        pick = (unsigned)(seed >> 40);
        if (i % 500 == 0 || i == 0) {
            erase();
            ws_form_draw(form, stdscr, 0, 0, 1, 7 + (int)(pick % 60));
        }
        /* Emptying keys come seldom, or nothing long would ever stand there. */
        ws_form_key(form, some[pick % (pick % 50 == 0 ? 14 : 12)]);
        assert_true(strlen(field[0].text) < WS_FIELD_BYTES);
        assert_true(mbstowcs(wide, field[0].text, WS_FIELD_BYTES) != (size_t)-1);
    }
    ws_form_close(form);
}

/* Method: pages of two rows; the cursor's page is the one drawn. */
static void a_form_has_pages(void **state)
{
    struct ws_field field[3] = { { .label = "a", .text = "1" },
                                 { .label = "b", .text = "2" },
                                 { .label = "c", .text = "3" } };
    struct ws_form *form = ws_form_open(field, 3, 0);

    (void)state;
    erase();
    assert_int_equal(ws_form_draw(form, stdscr, 0, 0, 2, 12), 2);
    assert_row(0, "a [1       ]");
    ws_form_key(form, WS_KEY_DOWN);
    ws_form_key(form, WS_KEY_DOWN);
    assert_false(ws_form_key(form, WS_KEY_DOWN));
    erase();
    assert_int_equal(ws_form_draw(form, stdscr, 0, 0, 2, 12), 1);
    assert_row(0, "c [3       ]");
    ws_form_key(form, WS_KEY_END_OF_LINE);
    ws_form_key(form, '4');
    assert_string_equal(field[2].text, "34");
    ws_form_key(form, WS_KEY_UP);
    ws_form_key(form, WS_KEY_BACK_TAB);
    assert_int_equal(ws_form_at(form), 0);
    assert_false(ws_form_key(form, WS_KEY_UP));
    ws_form_close(form);
}

/* Method: a list longer than its window, walked to both ends and over a resize. */
static void a_list_scrolls_and_keeps_its_place(void **state)
{
    const char *line[50];
    char text[50][8];
    struct ws_list *list = ws_list_open();

    (void)state;
    for (int i = 0; i < 50; i++) {
        snprintf(text[i], sizeof text[i], "line %d", i);
        line[i] = text[i];
    }
    assert_int_equal(ws_list_set(list, line, 50, 10, 3), WS_OK);
    erase();
    assert_int_equal(ws_list_draw(list, stdscr, 1, 0, 5, 12), 5);
    assert_int_equal(ws_list_at(list), 10);
    assert_int_equal(ws_list_row(list), 3);
    assert_row(1, "  line 7");
    assert_row(4, "> line 10");
    assert_true(ws_list_key(list, WS_KEY_PAGE_DOWN));
    assert_int_equal(ws_list_at(list), 14);
    assert_true(ws_list_key(list, WS_KEY_END_OF_LINE));
    assert_false(ws_list_key(list, WS_KEY_DOWN));
    erase();
    assert_int_equal(ws_list_draw(list, stdscr, 1, 0, 3, 12), 3);
    assert_int_equal(ws_list_at(list), 49);
    assert_true(ws_list_key(list, WS_KEY_HOME));
    assert_false(ws_list_key(list, WS_KEY_UP));
    assert_false(ws_list_key(list, 'x'));
    ws_list_close(list);
}

/* Method: a list much longer than its window; after every page the cursor's line must be seen. */
static void the_cursor_is_always_in_sight(void **state)
{
    enum { LINES_ALL = 300 };
    const char *line[LINES_ALL];
    char text[LINES_ALL][16], want[16];
    struct ws_list *list = ws_list_open();

    (void)state;
    for (int i = 0; i < LINES_ALL; i++) {
        snprintf(text[i], sizeof text[i], "line %d", i);
        line[i] = text[i];
    }
    assert_int_equal(ws_list_set(list, line, LINES_ALL, 0, -1), WS_OK);
    for (int i = 0; i < 80; i++) {
        erase();
        ws_list_draw(list, stdscr, 0, 0, 10, 20);
        snprintf(want, sizeof want, "> line %d", ws_list_at(list));
        assert_in_range(ws_list_row(list), 0, 9);
        assert_row(ws_list_row(list), want);
        ws_list_key(list, i < 40 ? WS_KEY_PAGE_DOWN : i % 3 == 0 ? WS_KEY_UP : WS_KEY_PAGE_UP);
    }
    ws_list_close(list);
}

/* Method: lines with control characters, empty, too wide, and lists of none. */
static void a_list_takes_any_text(void **state)
{
    const char *line[5] = { "", "a\x1b[31m\xff", "a line that is much too wide",
                            "\u4e2d\u6587\u4e2d\u6587\u4e2d\u6587\u4e2d\u6587",
                            "e\u0301\u0301\u0301x" };
    struct ws_list *list = ws_list_open();

    (void)state;
    erase();
    assert_int_equal(ws_list_draw(list, stdscr, 0, 0, 5, 12), 0);
    assert_int_equal(ws_list_at(list), -1);
    assert_false(ws_list_key(list, WS_KEY_DOWN));
    ws_list_set(list, line, 5, 1, -1);
    assert_int_equal(ws_list_draw(list, stdscr, 0, 0, 5, 14), 5);
    assert_row(1, "> a^[[31m<FF>");
    assert_row(2, "  a line that~");
    assert_row(3, "  \u4e2d\u6587\u4e2d\u6587\u4e2d~");
    for (int columns = 20; columns >= 0; columns--) {
        for (int x = 0; x < 4; x++) {
            ws_list_draw(list, stdscr, 0, 80 - x, 5, columns);
            ws_list_draw(list, stdscr, 0, x, 5, columns);
        }
    }
    assert_int_equal(ws_list_at(list), 1);
    ws_list_close(list);
}

/* Method: a panel over text, at sizes down to none. */
static void a_panel_lies_over_the_room(void **state)
{
    struct ws_panel *panel = ws_panel_open();
    WINDOW *window;

    (void)state;
    erase();
    window = ws_panel_place(panel, 3, 20, "verdict");
    assert_non_null(window);
    ws_draw_text(window, 1, 1, 18, WS_ROLE_PLAIN, "thin, good, dense");
    update_panels();
    for (int lines = 24; lines > 0; lines -= 3) {
        ws_terminal_pretend(lines, 4 * lines);
        window = ws_panel_place(panel, 10, 40, "verdict");
        assert_true(lines < 3 ? window == NULL : window != NULL);
        update_panels();
    }
    ws_panel_close(panel);
    ws_terminal_pretend(24, 80);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(typed_text_is_kept_as_utf8),
        cmocka_unit_test(typing_takes_the_place_of_a_proposal),
        cmocka_unit_test(editing_keys_edit),
        cmocka_unit_test(only_printable_characters_get_in),
        cmocka_unit_test(a_long_text_scrolls_and_ends),
        cmocka_unit_test(choices_are_gone_through),
        cmocka_unit_test(a_form_survives_any_size),
        cmocka_unit_test(wide_signs_go_in_anywhere),
        cmocka_unit_test(random_keys_leave_whole_text),
        cmocka_unit_test(a_form_has_pages),
        cmocka_unit_test(a_list_scrolls_and_keeps_its_place),
        cmocka_unit_test(the_cursor_is_always_in_sight),
        cmocka_unit_test(a_list_takes_any_text),
        cmocka_unit_test(a_panel_lies_over_the_room),
    };

    return cmocka_run_group_tests(tests, start, stop);
}
