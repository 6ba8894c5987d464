/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers without the locale, text cut whole, and the one line that goes to the person. */
#include "aid.h"

#include <locale.h>

#include "wetside/calc/character.h"
#include "wetside/calc/decimal.h"
#include "wetside/calc/status.h"
#include "wetside/calc/units.h"

#define COUNT(table) (sizeof(table) / sizeof *(table))

/* Method: table of forms and of refusals; a refusal names the text and writes nothing. */
static void number_reads_and_refuses(void **state)
{
    static const struct {
        const char *text;
        double value;
    } row[] = { { "12", 12 },
                { "0.5", 0.5 },
                { "0,5", 0.5 },
                { ".5", 0.5 },
                { "-0.4", -0.4 },
                { " 12 ", 12 },
                { "0", 0 },
                { "0.1", 0.1 },
                { "007", 7 },
                { "1.000", 1 },
                { "0,125", 0.125 },
                { "1,0000", 1 },
                { "123456789012345", 123456789012345 },
                { "0.000000000000001", 1e-15 } };
    static const char *const bad[] = { "",
                                       " ",
                                       "-",
                                       "abc",
                                       "1e3",
                                       "0x10",
                                       "inf",
                                       "nan",
                                       "1 2",
                                       "1.",
                                       "1..2",
                                       "1.2.3",
                                       "+1",
                                       "--1",
                                       "- 1",
                                       "1,000",
                                       "-12,500",
                                       "1234567890123456",
                                       "0.0000000000000001",
                                       "1,",
                                       "," };
    struct ws_message why;
    double value = -77;

    (void)state;
    for (size_t i = 0; i < COUNT(bad); i++) {
        assert_int_equal(ws_number_read(bad[i], &value, &why), WS_BAD_INPUT);
        assert_non_null(strstr(why.text, bad[i]));
    }
    assert_int_equal(ws_number_read(NULL, &value, NULL), WS_BAD_INPUT);
    ws_assert_near(value, -77, 0);
    for (size_t i = 0; i < COUNT(row); i++) {
        assert_int_equal(ws_number_read(row[i].text, &value, &why), WS_OK);
        ws_assert_near(value, row[i].value, 0);
    }
}

/* Method: the same readings and printings under a locale whose decimal mark is a comma and one of
 * single bytes, wherever the machine has one. */
static void nothing_depends_on_the_locale(void **state)
{
    static const char *const with_comma[] = { "de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8",
                                              "fr_FR.utf8",  "de_DE",      "es_ES.UTF-8" };
    struct ws_message why;
    char text[32];
    double value;
    int64_t ms;
    size_t i = 0;

    (void)state;
    while (i < COUNT(with_comma) && setlocale(LC_ALL, with_comma[i]) == NULL)
        i++;
    if (i == COUNT(with_comma)) {
        print_message("no locale with a decimal comma on this machine\n");
        skip();
    }
    snprintf(text, sizeof text, "%.1f", 0.5);
    assert_string_equal(text, "0,5");
    assert_int_equal(ws_number_read("20.5", &value, &why), WS_OK);
    ws_assert_near(value, 20.5, 0);
    assert_int_equal(ws_time_read("7.5", &ms, NULL, &why), WS_OK);
    assert_int_equal(ms, 450000);
    ws_volume_print(16.6, text, sizeof text);
    assert_string_equal(text, "16.6 ml");
    ws_temperature_print(20.5, WS_CELSIUS, text, sizeof text);
    assert_string_equal(text, "20.5 C");
    setlocale(LC_ALL, "C");
}

/* Method: decimals from the smallest step up, printed and read back exactly. */
static void decimals_round_trip(void **state)
{
    char text[32];
    double back;

    (void)state;
    for (int64_t millionths = 1; millionths < INT64_C(100000000000);
         millionths = millionths * 3 + 1) {
        double value = (double)millionths / 1e6;

        ws_decimal_print(value, 6, true, text, sizeof text);
        assert_int_equal(ws_number_read(text, &back, NULL), WS_OK);
        ws_assert_near(back, value, 0);
        ws_decimal_print(-value, 6, false, text, sizeof text);
        assert_int_equal(ws_number_read(text, &back, NULL), WS_OK);
        ws_assert_near(back, -value, 0);
    }
}

/* Method: characters of one to four bytes cut at every length: what is left is a whole prefix. */
static void text_is_cut_between_characters(void **state)
{
    static const char from[] = "a\xC3\xA9\xE2\x84\x83\xF0\x9F\x8E\x9E"
                               "b";
    static const size_t whole[] = { 0, 1, 3, 6, 10, 11 };
    char text[16];

    (void)state;
    for (size_t size = 0; size <= sizeof from; size++) {
        size_t want = 0, got;

        for (size_t i = 0; i < COUNT(whole); i++)
            if (whole[i] < size)
                want = whole[i];
        memset(text, '#', sizeof text);
        got = ws_text_copy(text, size, from);
        assert_int_equal(got, want);
        if (size > 0) {
            assert_int_equal(text[got], '\0');
            assert_memory_equal(text, from, got);
        }
        assert_int_equal(text[size], '#');
    }
    assert_int_equal(ws_text_copy(text, sizeof text, NULL), 0);
    assert_string_equal(text, "");
}

/* Method: what a message may quote: control characters of all kinds, broken bytes, too much text.
 */
static void message_is_one_line_of_utf8(void **state)
{
    static const struct {
        const char *from, *to;
    } row[] = {
        { "plain", "plain" },
        { "", "" },
        { "a\nb\r\tc", "a?b??c" },
        { "\x1B[2J", "?[2J" },
        { "\x7F", "?" },
        { "\xC2\x9B"
          "2J",
          "?2J" }, /* CSI as one character */
        { "\xC2\xA0", "\xC2\xA0" },
        { "20 \xC2\xB0"
          "C \xE2\x84\x83 \xF0\x9F\x8E\x9E",
          "20 \xC2\xB0"
          "C \xE2\x84\x83 \xF0\x9F\x8E\x9E" },
        { "\x80", "?" }, /* no lead */
        { "\xC3", "?" }, /* no end */
        { "\xC3(", "?(" },
        { "\xC0\xAF", "??" }, /* overlong */
        { "\xE0\x80\xAF", "???" },
        { "\xED\xA0\x80", "???" },      /* surrogate */
        { "\xF4\x90\x80\x80", "????" }, /* past the last character */
        { "\xF0\x9F\x8E", "???" },
        { "\xFF", "?" },
    };
    struct ws_message why;
    char big[2 * WS_MESSAGE_BYTES];

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        assert_int_equal(ws_fail(&why, WS_SHORT, "%s", row[i].from), WS_SHORT);
        assert_string_equal(why.text, row[i].to);
    }
    assert_int_equal(ws_fail(NULL, WS_IO, "%s", "nobody listens"), WS_IO);
    /* Cut at every offset within a character of four bytes. */
    for (size_t lead = 0; lead < 4; lead++) {
        memset(big, 'x', sizeof big);
        for (size_t at = lead; at + 5 < sizeof big; at += 4)
            memcpy(big + at, "\xF0\x9F\x8E\x9E", 4);
        big[sizeof big - 1] = '\0';
        ws_fail(&why, WS_BAD_INPUT, "%s", big);
        assert_int_equal(strlen(why.text), lead + (WS_MESSAGE_BYTES - 1 - lead) / 4 * 4);
        assert_null(strchr(why.text, '?'));
    }
}

/* Method: every status; what came from a person or a file exits as wrong input. */
static void status_has_an_exit(void **state)
{
    (void)state;
    assert_int_equal(ws_status_exit(WS_OK), 0);
    assert_int_equal(ws_status_exit(WS_BAD_INPUT), 2);
    assert_int_equal(ws_status_exit(WS_BAD_PLAN), 2);
    assert_int_equal(ws_status_exit(WS_BAD_EVENT), 2);
    assert_int_equal(ws_status_exit(WS_TIME_BACK), 2);
    for (int status = WS_NOT_FOUND; status <= WS_NO_MEMORY; status++)
        assert_int_equal(ws_status_exit((enum ws_status)status), 1);
}

/* Method: the edges of what is UTF-8 (RFC 3629, section 3 and 4), each with its length and its
 * character; then what can be seen of a text. */
static void characters_are_read_one_by_one(void **state)
{
    static const struct {
        const char *text;
        size_t left, length;
        uint32_t point;
    } row[] = { { "a", 1, 1, 'a' },
                { "", 1, 1, 0 },
                { "\x7F", 1, 1, 0x7F },
                { "\xC2\x80", 2, 2, 0x80 },
                { "\xDF\xBF", 2, 2, 0x7FF },
                { "\xE0\xA0\x80", 3, 3, 0x800 },
                { "\xED\x9F\xBF", 3, 3, 0xD7FF },
                { "\xEF\xBF\xBF", 3, 3, 0xFFFF },
                { "\xF0\x90\x80\x80", 4, 4, 0x10000 },
                { "\xF4\x8F\xBF\xBF", 4, 4, 0x10FFFF },
                { "\x80", 1, 0, 0 },
                { "\xC1\xBF", 2, 0, 0 },
                { "\xE0\x9F\xBF", 3, 0, 0 },
                { "\xED\xA0\x80", 3, 0, 0 },
                { "\xF0\x8F\xBF\xBF", 4, 0, 0 },
                { "\xF4\x90\x80\x80", 4, 0, 0 },
                { "\xF5\x80\x80\x80", 4, 0, 0 },
                { "\xE2\x82", SIZE_MAX, 0, 0 },
                { "\xE2\x82\xAC", 2, 0, 0 } };

    (void)state;
    for (size_t i = 0; i < COUNT(row); i++) {
        uint32_t point = 0;

        assert_int_equal(ws_character_read(row[i].text, row[i].left, &point), row[i].length);
        if (row[i].length > 0)
            assert_int_equal(point, row[i].point);
    }
    assert_false(ws_text_is_seen(""));
    assert_false(ws_text_is_seen(" \t\n\xC2\xAD\xE2\x80\xAE\xCC\x81"));
    assert_true(ws_text_is_seen(" \xE2\x80\x8B."));
    assert_true(ws_text_is_seen("\xFF"));
    assert_true(ws_character_is_control(0x9F));
    assert_false(ws_character_is_control(0xA0));
}

int main(void)
{
    static const struct CMUnitTest tests[] = {
        cmocka_unit_test(number_reads_and_refuses),
        cmocka_unit_test(nothing_depends_on_the_locale),
        cmocka_unit_test(decimals_round_trip),
        cmocka_unit_test(text_is_cut_between_characters),
        cmocka_unit_test(message_is_one_line_of_utf8),
        cmocka_unit_test(status_has_an_exit),
        cmocka_unit_test(characters_are_read_one_by_one),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
