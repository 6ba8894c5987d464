/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The search: what is found, in which order, page by page. */
#include "book_aid.h"

#include "../../src/book/list.h"
#include "wetside/calc/units.h"

enum { ROLLS = 40, RUNS = 20 };

static struct ws_book *book;

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    return 0;
}

static int end(void **state)
{
    int sound = aid_sound(book);

    return aid_end(state) != 0 || sound != 0 ? -1 : 0;
}

/* Rolls r00 to r39, of which all but the last five are in runs of two (some twice), begun at
 * moments that are not in the order of keeping. */
static void fill(void)
{
    static const char *const films[] = { "Tarn 125", "Halden 400", "Corvex Pan 100" };
    static struct ws_plan plan;
    struct ws_roll roll[ROLLS];
    uint64_t seed = 88172645463325252u;

    for (int i = 0; i < ROLLS; i++) {
        char number[16];

        snprintf(number, sizeof number, "r%02d", i);
        roll[i] = aid_roll(book, number, films[i % 3]);
    }
    for (int i = 0; i < RUNS; i++) {
        struct ws_stamp stamp = aid_stamp((int64_t)(1000000 + aid_random(&seed) % 1000000));
        int64_t row;

        aid_plan(&plan, NULL, NULL);
        aid_place(&plan, &roll[(2 * i) % (ROLLS - 5)]);
        aid_place(&plan, &roll[(2 * i + 1) % (ROLLS - 5)]);
        aid_ok(ws_run_keep(book, &plan, &stamp, &row, aid_why()));
        aid_hands(book, row, &plan, INT64_MAX - 1);
        aid_ok(ws_run_close(book, row, NULL, &stamp, aid_why()));
    }
}

/* Method: pages of seven are put together and compared with the whole; each roll comes once, and
 * none begins later than the one before it. */
static void test_order_and_pages(void **state)
{
    static const char *const texts[] = { "", "r", "tarn", "test process", "r 125 bought" };
    struct ws_roll_line all[ROLLS + 1], page[7];
    int n, at;

    (void)state;
    fill();
    for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++) {
        int got = 7;

        aid_ok(ws_roll_search(book, texts[t], 0, all, ROLLS + 1, &n));
        assert_in_range(n, t == 0 ? ROLLS : 5, ROLLS);
        for (int i = 1; i < n; i++) {
            assert_true(all[i].developed_ms <= all[i - 1].developed_ms);
            for (int k = 0; k < i; k++)
                assert_int_not_equal(all[i].row, all[k].row);
        }
        for (at = 0; got == 7; at += got) {
            aid_ok(ws_roll_search(book, texts[t], at, page, 7, &got));
            for (int i = 0; i < got; i++)
                assert_int_equal(page[i].row, all[at + i].row);
        }
        assert_int_equal(at, n);
    }
    /* Those that wait come last, the latest first. */
    aid_ok(ws_roll_search(book, "", 0, all, ROLLS + 1, &n));
    assert_int_equal(n, ROLLS);
    for (int i = ROLLS - 5; i < ROLLS; i++) {
        char number[16];

        snprintf(number, sizeof number, "r%02d", 2 * ROLLS - 6 - i);
        assert_string_equal(all[i].number, number);
        assert_int_equal(all[i].developed_ms, 0);
    }
}

/* Method: beginnings of words in any order and case, marks aside, letters of other alphabets. */
static void test_words(void **state)
{
    static const struct {
        const char *text;
        int n;
    } search[] = {
        { "2026-0143", 1 },
        { "2026-01", 1 },
        { "0143", 1 },
        { "143", 0 },
        { "WEIR tarn", 1 },
        { "tar 125", 1 },
        { "tarn halden", 0 },
        { "\xC3\xBC"
          "ber",
          1 },
        { "uber", 1 },
        { "\xC3\x9C"
          "BER",
          1 },
        { "\xD0\xBC\xD0\xBE\xD1\x81", 1 },
        { "-", 1 },
        { " \t ", 1 },
        { "\"", 1 },
        { "weir)", 1 },
        { "(", 1 },
        { "wei*", 1 },
        { "eir", 0 },
        { "words:weir", 0 },
    };
    struct ws_roll roll = { .number = "2026-0143",
                            .film = "Tarn 125",
                            .subject = "the weir, \xC3\xBC"
                                       "ber die Br\xC3\xBC"
                                       "cke "
                                       "\xD0\x9C\xD0\xBE\xD1\x81\xD1\x82" };
    struct ws_roll_line line[4];
    char text[5000];
    int n;

    (void)state;
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    for (size_t i = 0; i < sizeof search / sizeof search[0]; i++) {
        aid_ok(ws_roll_search(book, search[i].text, 0, line, 4, &n));
        if (n != search[i].n)
            fail_msg("\"%s\" finds %d, wanted %d", search[i].text, n, search[i].n);
    }
    /* A very long text, and one of very many words, are no errors. */
    memset(text, 'x', sizeof text);
    text[sizeof text - 1] = '\0';
    aid_ok(ws_roll_search(book, text, 0, line, 4, &n));
    for (size_t i = 1; i < sizeof text - 1; i += 2)
        text[i] = ' ';
    aid_ok(ws_roll_search(book, text, 0, line, 4, &n));
    assert_int_equal(n, 0);
}

/* Method: two runs at the same millisecond with rolls whose rows share their low bits are still
 * listed each in a place of its own. */
static void test_two_runs_at_one_moment(void **state)
{
    static struct ws_plan plan;
    struct ws_stamp stamp = aid_stamp(5000);
    struct ws_roll_line line[4];
    struct ws_roll roll[2];
    int64_t row;
    int n;

    (void)state;
    roll[0] = aid_roll(book, "1", "Tarn 125");
    ws_book_close(book);
    aid_execute(aid_path("book.db"),
                "INSERT INTO roll SELECT roll + 4095, randomblob(16), '0', film, format, ei, wish,"
                " camera, subject, NULL, NULL, 0, '', listed + 4095 FROM roll;"
                "INSERT INTO roll_word (rowid, words) SELECT listed, '0' FROM roll WHERE roll > 1");
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    roll[1] = aid_roll(book, "2", "Tarn 125");
    assert_int_equal(roll[1].row - roll[0].row, 4096);
    for (int i = 0; i < 2; i++) {
        aid_plan(&plan, NULL, NULL);
        aid_place(&plan, &roll[i]);
        aid_ok(ws_run_keep(book, &plan, &stamp, &row, aid_why()));
    }
    aid_ok(ws_roll_search(book, "tarn", 0, line, 4, &n));
    assert_int_equal(n, 2);
    assert_int_equal(line[0].developed_ms, 5000);
    assert_int_equal(line[1].developed_ms, 5000);
    aid_spoiled("roll 0: its words for the search");
}

/* Method: SQLite's own plan of either statement. Only the page, the outermost step, may be sorted:
 * what it is cut from is walked in order; and no table but the page is read whole. */
static void test_only_the_page_is_sorted(void **state)
{
    static const char *const search[] = { ws_search_all, ws_search_words };

    (void)state;
    for (int i = 0; i < 2; i++) {
        char explain[2048], detail[200];
        struct ws_sql sql;
        int steps = 0;

        snprintf(explain, sizeof explain, "EXPLAIN QUERY PLAN %s", search[i]);
        ws_sql_open(&sql, book, explain);
        for (; ws_sql_row(&sql); steps++) {
            ws_sql_text(&sql, 3, detail, sizeof detail);
            if (strstr(detail, "TEMP B-TREE") != NULL)
                assert_int_equal(ws_sql_int(&sql, 1), 0);
            assert_null(strstr(detail, "SCAN run"));
            assert_null(strstr(detail, "SCAN film"));
            if (strstr(detail, "SCAN roll") != NULL)
                assert_non_null(strstr(detail, i == 0 ? "COVERING INDEX" : "VIRTUAL TABLE"));
        }
        aid_ok(ws_sql_end(&sql, aid_why()));
        assert_in_range(steps, 6, 12);
        ws_sql_forget(book); /* the statement's text is about to go */
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_order_and_pages),
        TEST(test_words),
        TEST(test_two_runs_at_one_moment),
        TEST(test_only_the_page_is_sorted),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
