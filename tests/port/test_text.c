/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text made visible. Method: known texts against what must be shown, then random bytes with a fixed
 * seed: whatever goes in, no control byte and no broken UTF-8 comes out, and it always fits. */
#include "../aid.h"

#include <locale.h>
#include <stdbool.h>
#include <stdlib.h>

#include "wetside/port/text.h"

static void shows_controls_as_what_they_are(void **state)
{
    static const struct {
        const char *from, *shown;
    } table[] = {
        { "Tarn 125", "Tarn 125" },
        { "", "" },
        { "\033[2J", "^[[2J" },
        { "a\nb\tc\r", "a^Jb^Ic^M" },
        { "\x7f", "^?" },
        { "F\xc3\xbcnfzig \xe6\x97\xa5", "F\xc3\xbcnfzig \xe6\x97\xa5" },
        { "\xc2\x9b"
          "31m",
          "<U+009B>31m" },
        { "a\xe2\x80\xae"
          "b",
          "a<U+202E>b" },
        { "\xff\xfe", "<FF><FE>" },
        { "\xc0\x80", "<C0><80>" },         /* overlong zero */
        { "\xed\xa0\x80", "<ED><A0><80>" }, /* a surrogate */
        { "x\xe2\x82", "x<E2><82>" },       /* broken off */
    };
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        char text[64];
        size_t length = ws_text_visible(table[i].from, text, sizeof text);

        assert_string_equal(text, table[i].shown);
        assert_int_equal(length, strlen(text));
    }
}

/* Method: an e and more and more accents on it, and one on nothing, in the locale that knows them.
 */
static void marks_do_not_pile_up(void **state)
{
#define ACUTE "\xcc\x81"
    static const struct {
        const char *from, *shown;
    } table[] = {
        { "e" ACUTE "x", "e" ACUTE "x" },
        { "e" ACUTE ACUTE "x", "e" ACUTE ACUTE "x" },
        { "e" ACUTE ACUTE ACUTE ACUTE "x" ACUTE, "e" ACUTE ACUTE "<U+0301><U+0301>x" ACUTE },
        { ACUTE "x", "<U+0301>x" },
        { "\n" ACUTE, "^J" ACUTE },
        { "\xe1\x84\x92\xe1\x85\xa1\xe1\x86\xab", "\xe1\x84\x92\xe1\x85\xa1\xe1\x86\xab" },
    };
    (void)state;
    if (setlocale(LC_CTYPE, "C.UTF-8") == NULL)
        skip();
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        char text[64];

        ws_text_visible(table[i].from, text, sizeof text);
        assert_string_equal(text, table[i].shown);
        ws_text_plain(table[i].from, text, sizeof text);
        assert_string_equal(text, table[i].shown);
    }
    setlocale(LC_CTYPE, "C");
}

static void cuts_at_a_whole_piece(void **state)
{
    char text[16];
    (void)state;
    assert_int_equal(ws_text_visible("ab\xc3\xbc", text, 4), 2);
    assert_string_equal(text, "ab");
    assert_int_equal(ws_text_visible("ab\033", text, 4), 2);
    assert_string_equal(text, "ab");
    assert_int_equal(ws_text_visible_bytes("a\0b", 3, text, sizeof text), 4);
    assert_string_equal(text, "a^@b");
    assert_int_equal(ws_text_visible("abc", text, 0), 0);
}

/* What comes out, shown again, is unchanged: it holds nothing more to be made visible. */
static void random_bytes_never_steer(void **state)
{
    uint32_t seed = 20260314;
    (void)state;
    for (int round = 0; round < 20000; round++) {
        char from[48], text[WS_VISIBLE_SIZE(48)], again[WS_VISIBLE_SIZE(48)];
        size_t length;

        for (size_t i = 0; i < sizeof from; i++) {
            seed = seed * 1664525u + 1013904223u;
            from[i] = (char)(seed >> 24);
        }
        length = ws_text_visible_bytes(from, sizeof from, text, sizeof text);
        assert_true(length >= sizeof from);
        for (size_t i = 0; i < length; i++)
            assert_true((unsigned char)text[i] >= 0x20 && text[i] != 0x7F);
        ws_text_visible(text, again, sizeof again);
        assert_string_equal(text, again);
    }
}

/* Method: the same text in the encodings there are (the plain one of C always is): what an encoding
 * has comes out in it, what it has not as a number; then random text: in C only ASCII comes out. */
static void plain_text_is_in_the_locales_encoding(void **state)
{
    static const char from[] = "Zo\xc3\xab\xe2\x80\x99s \033 \xe6\x97\xa5 \xff";
    static const struct {
        const char *locale, *shown;
        bool always;
    } table[] = {
        { "C", "Zo<U+00EB><U+2019>s ^[ <U+65E5> <FF>", true },
        { "C.UTF-8", "Zo\xc3\xab\xe2\x80\x99s ^[ \xe6\x97\xa5 <FF>", false },
        { "en_US.ISO-8859-1", "Zo\xeb<U+2019>s ^[ <U+65E5> <FF>", false },
        { "de_DE.ISO-8859-1", "Zo\xeb<U+2019>s ^[ <U+65E5> <FF>", false },
    };
    uint32_t seed = 20260315;
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        char text[WS_VISIBLE_SIZE(sizeof from)];

        if (setlocale(LC_CTYPE, table[i].locale) == NULL) {
            assert_false(table[i].always);
            continue;
        }
        assert_int_equal(ws_text_plain(from, text, sizeof text), strlen(table[i].shown));
        assert_string_equal(text, table[i].shown);
    }
    setlocale(LC_CTYPE, "C");
    for (int round = 0; round < 20000; round++) {
        char random[48], text[WS_VISIBLE_SIZE(48)];

        for (size_t i = 0; i < sizeof random - 1; i++) {
            seed = seed * 1664525u + 1013904223u;
            random[i] = (char)(seed >> 24 | (i % 2 == 0 ? 0xC0 : 0));
        }
        random[sizeof random - 1] = '\0';
        ws_text_plain(random, text, sizeof text);
        for (const char *at = text; *at != '\0'; at++)
            assert_true((unsigned char)*at >= 0x20 && (unsigned char)*at < 0x7F);
    }
}

/* Method: the locale of the process is switched, as another thread may do, and a byte sequence
 * tells which one this thread reads by. */
static bool reads_utf8(void)
{
    wchar_t wide;

    return mbstowcs(&wide, "\xc3\xa4", 1) == 1;
}

static void a_locale_of_ones_own_stays(void **state)
{
    (void)state;
    assert_non_null(setlocale(LC_CTYPE, "C"));
    assert_false(reads_utf8());
    ws_text_own_locale();
    assert_non_null(setlocale(LC_CTYPE, "C.UTF-8"));
    assert_false(reads_utf8());
    ws_text_own_locale();
    assert_true(reads_utf8());
    assert_non_null(setlocale(LC_CTYPE, "C"));
    assert_true(reads_utf8());
    ws_text_share_locale();
    assert_false(reads_utf8());
    ws_text_share_locale();
    assert_false(reads_utf8());
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shows_controls_as_what_they_are),
        cmocka_unit_test(marks_do_not_pile_up),
        cmocka_unit_test(cuts_at_a_whole_piece),
        cmocka_unit_test(random_bytes_never_steer),
        cmocka_unit_test(plain_text_is_in_the_locales_encoding),
        cmocka_unit_test(a_locale_of_ones_own_stays),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
