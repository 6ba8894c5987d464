/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Films and rolls: adding, finding, numbering, correcting, judging. */
#include "book_aid.h"

#include "wetside/calc/units.h"

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

/* Method: each format's name is read back, and areas are those of the trade. */
static void test_formats(void **state)
{
    static const double rolls[WS_FORMATS] = { 1, 24.0 / 36, 1, 2, 0.25, 35.0 / 80, 1 };

    (void)state;
    for (int i = 0; i < WS_FORMATS; i++) {
        enum ws_format back = WS_FORMATS;

        assert_true(ws_format_read(ws_format_name((enum ws_format)i), &back));
        assert_int_equal(back, i);
        ws_assert_near(ws_format_rolls(back), rolls[i], 1e-12);
    }
    assert_null(ws_format_name(WS_FORMATS));
    assert_false(ws_format_read("135", &(enum ws_format){ 0 }));
    ws_assert_near(ws_format_rolls(WS_FORMATS), 0, 0);
}

/* Method: films by name, capitals aside; listed in order of the alphabet. */
static void test_films(void **state)
{
    char name[4][WS_NAME];
    int n;

    (void)state;
    aid_ok(ws_film_add(book, "Tarn 125", aid_why()));
    aid_ok(ws_film_add(book, " tarn 125 ", aid_why()));
    aid_ok(ws_film_add(book, "Halden 400", aid_why()));
    aid_is(ws_film_add(book, "  ", aid_why()), WS_BAD_INPUT);
    aid_says("film");
    aid_ok(ws_film_list(book, name, 4, &n));
    assert_int_equal(n, 2);
    assert_string_equal(name[0], "Halden 400");
    assert_string_equal(name[1], "Tarn 125");
    aid_ok(ws_film_list(book, name, 1, &n));
    assert_int_equal(n, 1);
}

/* Method: all fields of one roll come back; then fields that can't be kept are refused by name. */
static void test_adding(void **state)
{
    struct ws_roll roll = { .format = WS_FORMAT_120,
                            .ei = 400,
                            .number = " 2026-0143 ",
                            .film = "Halden 400",
                            .wish = "N-1",
                            .camera = "box camera",
                            .subject = "the weir,\nat dusk",
                            .exposed_day = "2026-02-28" };
    struct ws_roll back, wrong;

    (void)state;
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    assert_true(roll.row > 0);
    assert_false(ws_id_none(&roll.id));
    aid_ok(ws_roll_get(book, roll.row, &back));
    assert_string_equal(back.number, "2026-0143");
    assert_string_equal(back.film, "Halden 400");
    assert_string_equal(back.wish, "N-1");
    assert_string_equal(back.camera, "box camera");
    assert_string_equal(back.subject, "the weir,\nat dusk");
    assert_string_equal(back.exposed_day, "2026-02-28");
    assert_int_equal(back.format, WS_FORMAT_120);
    assert_int_equal(back.ei, 400);
    assert_true(ws_id_equal(&back.id, &roll.id));
    assert_false(back.developed);
    assert_int_equal(ws_roll_get(book, 99, &back), WS_NOT_FOUND);

    wrong = (struct ws_roll){ .number = "x", .film = "" };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    aid_says("film");
    wrong = (struct ws_roll){ .number = "", .film = "Tarn 125" };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    aid_says("number");
    wrong = (struct ws_roll){ .number = "x", .film = "Tarn 125", .exposed_day = "2026-02-29" };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    aid_says("\"2026-02-29\" is no day");
    wrong = (struct ws_roll){ .number = "x", .film = "Tarn 125", .ei = -1 };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_roll){ .number = "x", .film = "Tarn 125", .format = WS_FORMATS };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_roll){ .number = "\x1B[2J", .film = "Tarn 125" };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    aid_says("control characters");
    wrong = (struct ws_roll){ .number = "\xC3(", .film = "Tarn 125" };
    aid_is(ws_roll_add(book, &wrong, aid_why()), WS_BAD_INPUT);
    aid_says("UTF-8");
}

/* Method: days that exist and days that do not, leap years of all three kinds. */
static void test_days(void **state)
{
    static const char *const right[] = { "", "2024-02-29", "2000-02-29", "1999-12-31" };
    static const char *const wrong[] = { "1900-02-29", "2026-13-01", "2026-00-10", "2026-04-31",
                                         "2026-4-3",   "26-04-03",   "2026/04/03", "yesterday",
                                         "2026-01-00", "2026-01-0x" };

    (void)state;
    for (size_t i = 0; i < sizeof right / sizeof right[0]; i++) {
        struct ws_roll roll = { .number = "r", .film = "Tarn 125" };

        ws_text_copy(roll.exposed_day, sizeof roll.exposed_day, right[i]);
        aid_ok(ws_roll_add(book, &roll, aid_why()));
    }
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct ws_roll roll = { .number = "r", .film = "Tarn 125" };

        ws_text_copy(roll.exposed_day, sizeof roll.exposed_day, wrong[i]);
        aid_is(ws_roll_add(book, &roll, aid_why()), WS_BAD_INPUT);
    }
}

/* Method: two rolls of one number and one in other letters; the latest is found, an exact match
 * before another; a number that is not there names those nearest to it. */
static void test_doubles_and_near_numbers(void **state)
{
    struct ws_roll first, second, third, found;
    int count;

    (void)state;
    aid_is(ws_roll_find(book, "832a", &found, aid_why()), WS_NOT_FOUND);
    aid_says("there is none yet");
    first = aid_roll(book, "832a", "Tarn 125");
    second = aid_roll(book, "832a", "Halden 400");
    third = aid_roll(book, "832A", "Osprey 200");
    aid_ok(ws_roll_find(book, "832a", &found, aid_why()));
    assert_int_equal(found.row, second.row);
    aid_ok(ws_roll_find(book, "832A", &found, aid_why()));
    assert_int_equal(found.row, third.row);
    aid_ok(ws_roll_count_number(book, "832a", &count));
    assert_int_equal(count, 3);
    aid_ok(ws_roll_count_number(book, "833", &count));
    assert_int_equal(count, 0);
    assert_true(first.row < second.row);
    aid_roll(book, "2026-0143", "Tarn 125");
    aid_roll(book, "2026-0144", "Tarn 125");
    aid_roll(book, "040714A", "Tarn 125");
    aid_is(ws_roll_find(book, "2026-143", &found, aid_why()), WS_NOT_FOUND);
    aid_says("2026-0143, 2026-0144");
}

/* Method: the habits of numbering, each with the number that follows. */
static void test_next_numbers(void **state)
{
    static const char *const follow[][2] = {
        { "2013-0001", "2013-0002" },
        { "2019-R30", "2019-R31" },
        { "040714A-6", "040714A-7" },
        { "832a", "833" },
        { "099", "100" },
        { "999", "1000" },
        { "A99b", "A100" },
        { "2026-0143/B", "2026-0144/B" },
        { "R", "R-1" },
        { "9", "10" },
        { "holder 11", "holder 12" },
    };
    char number[WS_NUMBER];

    (void)state;
    aid_ok(ws_roll_next_number(book, WS_FORMAT_135_36, number));
    assert_string_equal(number, "1");
    for (size_t i = 0; i < sizeof follow / sizeof follow[0]; i++) {
        aid_roll(book, follow[i][0], "Tarn 125");
        aid_ok(ws_roll_next_number(book, WS_FORMAT_135_36, number));
        assert_string_equal(number, follow[i][1]);
    }
    /* 47 digits are as many as a number has room for. */
    aid_roll(book, "99999999999999999999999999999999999999999999999", "Tarn 125");
    aid_ok(ws_roll_next_number(book, WS_FORMAT_135_36, number));
    assert_int_equal(strlen(number), WS_NUMBER - 1);
}

/* Method: each field is corrected once; the new value is in force and found, the old one is kept
 * with the moment and the reason, latest first. */
static void test_corrections(void **state)
{
    static const char *const change[][3] = {
        { "number", "2026-0151", "2026-0150" },
        { "film", "Tarn 125", "Halden 400" },
        { "format", "135-36", "120" },
        { "ei", "0", "400" },
        { "wish", "", "push 1" },
        { "camera", "", "box camera" },
        { "subject", "", "weir" },
        { "exposed_day", "", "2026-03-14" },
    };
    enum { CHANGES = sizeof change / sizeof change[0] };
    struct ws_correction_line line[CHANGES + 1];
    struct ws_roll roll = aid_roll(book, "2026-0151", "Tarn 125");
    struct ws_roll_line found[2];
    int n;

    (void)state;
    for (int i = 0; i < CHANGES; i++)
        aid_ok(ws_roll_correct(book, roll.row, change[i][0], change[i][2], "misread the sleeve",
                               1000 + i, aid_why()));
    /* The same value once more changes nothing. */
    aid_ok(ws_roll_correct(book, roll.row, "ei", "400", "again", 2000, aid_why()));
    aid_ok(ws_roll_correct(book, roll.row, "film", "halden 400", "again", 2000, aid_why()));
    aid_ok(ws_roll_corrections(book, roll.row, line, CHANGES + 1, &n));
    assert_int_equal(n, CHANGES);
    for (int i = 0; i < CHANGES; i++) {
        assert_string_equal(line[CHANGES - 1 - i].field, change[i][0]);
        assert_string_equal(line[CHANGES - 1 - i].was, change[i][1]);
        assert_string_equal(line[CHANGES - 1 - i].became, change[i][2]);
        assert_string_equal(line[CHANGES - 1 - i].reason, "misread the sleeve");
        assert_int_equal(line[CHANGES - 1 - i].wall_ms, 1000 + i);
    }
    aid_ok(ws_roll_get(book, roll.row, &roll));
    assert_string_equal(roll.number, "2026-0150");
    assert_string_equal(roll.film, "Halden 400");
    assert_int_equal(roll.format, WS_FORMAT_120);
    assert_int_equal(roll.ei, 400);
    assert_string_equal(roll.exposed_day, "2026-03-14");
    aid_ok(ws_roll_search(book, "0150 hald wei", 0, found, 2, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_roll_search(book, "0151", 0, found, 2, &n));
    assert_int_equal(n, 0);
}

/* Method: wrong corrections change nothing at all. */
static void test_corrections_refused(void **state)
{
    static const char *const wrong[][2] = {
        { "number", " " }, { "film", "" },   { "format", "110" },           { "ei", "fast" },
        { "ei", "-5" },    { "ei", "12.5" }, { "exposed_day", "tomorrow" }, { "colour", "red" },
        { "state", "2" },
    };
    struct ws_correction_line line[1];
    struct ws_roll roll = aid_roll(book, "1", "Tarn 125");
    int n;

    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        aid_is(ws_roll_correct(book, roll.row, wrong[i][0], wrong[i][1], "why", 1, aid_why()),
               WS_BAD_INPUT);
    aid_is(ws_roll_correct(book, roll.row, "ei", "400", " ", 1, aid_why()), WS_BAD_INPUT);
    aid_says("reason");
    aid_is(ws_roll_correct(book, roll.row, "ei", "400", NULL, 1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_roll_correct(book, 99, "ei", "400", "why", 1, aid_why()), WS_NOT_FOUND);
    aid_ok(ws_roll_corrections(book, roll.row, line, 1, &n));
    assert_int_equal(n, 0);
}

/* Method: dated and undated rolls, added out of order; the queue is oldest first. */
static void test_the_queue(void **state)
{
    static const char *const days[] = { "2026-03-01", "", "2025-12-24", "", "2026-01-05" };
    static const char *const order[] = { "r2", "r4", "r0", "r1", "r3" };
    struct ws_roll_line line[8];
    int n;

    (void)state;
    for (int i = 0; i < 5; i++) {
        struct ws_roll roll = { .film = "Tarn 125" };

        snprintf(roll.number, sizeof roll.number, "r%d", i);
        ws_text_copy(roll.exposed_day, sizeof roll.exposed_day, days[i]);
        aid_ok(ws_roll_add(book, &roll, aid_why()));
    }
    aid_ok(ws_roll_queue(book, line, 8, &n));
    assert_int_equal(n, 5);
    for (int i = 0; i < 5; i++) {
        assert_string_equal(line[i].number, order[i]);
        assert_int_equal(line[i].run, 0);
        assert_int_equal(line[i].developed_ms, 0);
        assert_true(isnan(line[i].stock_ml));
    }
    aid_ok(ws_roll_queue(book, line, 2, &n));
    assert_int_equal(n, 2);
}

/* Method: three verdicts and a remark; all are kept, the latest verdict counts and is found. */
static void test_verdicts(void **state)
{
    struct ws_roll roll = aid_roll(book, "1", "Tarn 125");
    struct ws_verdict_line line[8];
    struct ws_roll_line found[2];
    int n;

    (void)state;
    aid_ok(ws_verdict_add(book, roll.row, WS_VERDICT_THIN, "shadows empty", 10, aid_why()));
    aid_ok(ws_verdict_add(book, roll.row, WS_VERDICT_GOOD, NULL, 20, aid_why()));
    aid_ok(ws_verdict_add(book, roll.row, WS_VERDICT_NONE, "streak at frame 6", 30, aid_why()));
    aid_is(ws_verdict_add(book, roll.row, WS_VERDICT_NONE, " ", 40, aid_why()), WS_BAD_INPUT);
    aid_is(ws_verdict_add(book, roll.row, WS_VERDICTS, "x", 40, aid_why()), WS_BAD_INPUT);
    aid_is(ws_verdict_add(book, 99, WS_VERDICT_GOOD, "x", 40, aid_why()), WS_NOT_FOUND);
    aid_ok(ws_verdict_list(book, roll.row, line, 8, &n));
    assert_int_equal(n, 3);
    assert_int_equal(line[0].verdict, WS_VERDICT_NONE);
    assert_string_equal(line[0].remark, "streak at frame 6");
    assert_int_equal(line[1].verdict, WS_VERDICT_GOOD);
    assert_int_equal(line[2].verdict, WS_VERDICT_THIN);
    assert_int_equal(line[2].wall_ms, 10);
    aid_ok(ws_roll_search(book, "good streak", 0, found, 2, &n));
    assert_int_equal(n, 1);
    assert_int_equal(found[0].verdict, WS_VERDICT_GOOD);
    aid_ok(ws_roll_search(book, "thin", 0, found, 2, &n));
    assert_int_equal(n, 0);
    for (int i = 0; i < WS_VERDICTS; i++)
        assert_non_null(ws_verdict_name((enum ws_verdict)i));
    assert_null(ws_verdict_name(WS_VERDICTS));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_formats),
        TEST(test_films),
        TEST(test_adding),
        TEST(test_days),
        TEST(test_doubles_and_near_numbers),
        TEST(test_next_numbers),
        TEST(test_corrections),
        TEST(test_corrections_refused),
        TEST(test_the_queue),
        TEST(test_verdicts),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
