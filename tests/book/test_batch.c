/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Batches with their ledgers, and tanks. */
#include "book_aid.h"

#include <stdlib.h>

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

static double left(const char *number)
{
    struct ws_batch batch;

    aid_ok(ws_batch_find(book, number, &batch, aid_why()));
    return batch.left_ml;
}

/* Method: all fields come back; the number is taken only once, however it is written. */
static void test_adding(void **state)
{
    struct ws_batch batch = { .number = "MQB-014",
                              .what = "MQB stock",
                              .kind = WS_BATCH_STOCK,
                              .use = WS_BATH_DEVELOPER,
                              .made_day = "2026-03-03",
                              .who = "R.",
                              .volume_ml = 1000,
                              .least_ml = 100,
                              .colon = WS_COLON_IN,
                              .note = "brown glass, brim-full" };
    struct ws_batch back, again, wrong;

    (void)state;
    aid_ok(ws_batch_add(book, &batch, 5000, aid_why()));
    assert_true(batch.row > 0);
    aid_ok(ws_batch_by_row(book, batch.row, &back));
    assert_true(ws_id_equal(&back.id, &batch.id));
    assert_int_equal(ws_batch_by_row(book, batch.row + 1, &back), WS_NOT_FOUND);
    aid_ok(ws_batch_get(book, &batch.id, &back));
    assert_string_equal(back.number, "MQB-014");
    assert_string_equal(back.what, "MQB stock");
    assert_int_equal(back.kind, WS_BATCH_STOCK);
    assert_int_equal(back.use, WS_BATH_DEVELOPER);
    assert_string_equal(back.made_day, "2026-03-03");
    assert_string_equal(back.who, "R.");
    ws_assert_near(back.volume_ml, 1000, 0);
    ws_assert_near(back.left_ml, 1000, 0);
    ws_assert_near(back.least_ml, 100, 0);
    ws_assert_near(back.rolls, 0, 0);
    assert_int_equal(back.colon, WS_COLON_IN);
    assert_string_equal(back.note, "brown glass, brim-full");
    aid_ok(ws_batch_find(book, "mqb-014", &back, aid_why()));
    assert_int_equal(back.row, batch.row);
    again = batch;
    aid_ok(ws_batch_add(book, &again, 5000, aid_why())); /* the same id: a second try */
    assert_int_equal(again.row, batch.row);
    memset(&again.id, 0, sizeof again.id);
    aid_is(ws_batch_add(book, &again, 5000, aid_why()), WS_EXISTS);
    aid_says("MQB-014");
    wrong = (struct ws_batch){ .number = "x", .what = "y", .volume_ml = -1 };
    aid_is(ws_batch_add(book, &wrong, 1, aid_why()), WS_BAD_INPUT);
    aid_says("volume");
    wrong = (struct ws_batch){ .number = "", .what = "y", .volume_ml = 1 };
    aid_is(ws_batch_add(book, &wrong, 1, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_batch){ .number = "x", .what = "", .volume_ml = 1 };
    aid_is(ws_batch_add(book, &wrong, 1, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_batch){ .number = "x", .what = "y", .volume_ml = 1, .kind = WS_BATCH_KINDS };
    aid_is(ws_batch_add(book, &wrong, 1, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_batch){ .number = "x", .what = "y", .volume_ml = 1, .made_day = "soon" };
    aid_is(ws_batch_add(book, &wrong, 1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_batch_find(book, "MQB-015", &back, aid_why()), WS_NOT_FOUND);
    aid_says("the nearest is MQB-014");
    assert_int_equal(ws_batch_get(book, &(struct ws_id){ { 1 } }, &back), WS_NOT_FOUND);
    for (int i = 0; i < WS_BATCH_KINDS; i++)
        assert_non_null(ws_batch_kind_name((enum ws_batch_kind)i));
    assert_null(ws_batch_kind_name(WS_BATCH_KINDS));
    assert_null(ws_ledger_kind_name(WS_LEDGER_KINDS));
}

/* Method: discards down to nothing in steps that are no whole binary fractions, then one drop more;
 * a stock-take is the only way on. */
static void test_the_ledger(void **state)
{
    struct ws_ledger_line line[32];
    struct ws_batch batch = aid_batch(book, "F-009", 1);
    int n;

    (void)state;
    for (int i = 0; i < 10; i++)
        aid_ok(ws_batch_discard(book, batch.row, 0.1, "drain", 2000 + i, aid_why()));
    assert_true(left("F-009") == 0.0);
    aid_is(ws_batch_discard(book, batch.row, 0.1, "drain", 3000, aid_why()), WS_SHORT);
    aid_says("F-009 holds 0 ml, but 0.1 ml are asked");
    aid_says("stock-take");
    aid_ok(ws_batch_stock_take(book, batch.row, 50, "found a second bottle", 4000, aid_why()));
    ws_assert_near(left("F-009"), 50, 0);
    aid_ok(ws_batch_stock_take(book, batch.row, 20, NULL, 5000, aid_why()));
    aid_ok(ws_batch_ledger(book, batch.row, line, 32, &n));
    assert_int_equal(n, 13);
    assert_int_equal(line[0].kind, WS_LEDGER_MADE);
    ws_assert_near(line[0].ml, 1, 0);
    assert_int_equal(line[1].kind, WS_LEDGER_DISCARDED);
    ws_assert_near(line[1].ml, -0.1, 0);
    assert_string_equal(line[1].reason, "drain");
    assert_int_equal(line[11].kind, WS_LEDGER_STOCK_TAKE);
    ws_assert_near(line[11].ml, 50, 0);
    assert_string_equal(line[11].reason, "found a second bottle");
    ws_assert_near(line[12].ml, -30, 0);
    assert_int_equal(line[12].wall_ms, 5000);
    aid_is(ws_batch_stock_take(book, batch.row, -1, "", 1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_batch_discard(book, batch.row, 0, "", 1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_batch_discard(book, batch.row, NAN, "", 1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_batch_discard(book, 99, 1, "", 1, aid_why()), WS_NOT_FOUND);
}

/* Method: a volume that is not known stays so whatever is taken, until somebody counts. */
static void test_an_unknown_volume(void **state)
{
    struct ws_ledger_line line[8];
    struct ws_batch batch = aid_batch(book, "C-2", NAN);
    int n;

    (void)state;
    assert_true(isnan(left("C-2")));
    aid_ok(ws_batch_discard(book, batch.row, 5000, "drain", 2000, aid_why()));
    assert_true(isnan(left("C-2")));
    aid_ok(ws_batch_stock_take(book, batch.row, 300, "measured", 3000, aid_why()));
    ws_assert_near(left("C-2"), 300, 0);
    aid_ok(ws_batch_ledger(book, batch.row, line, 8, &n));
    assert_int_equal(n, 3);
    assert_true(isnan(line[0].ml));
    ws_assert_near(line[1].ml, -5000, 0);
    assert_true(isnan(line[2].ml));
    aid_ok(ws_batch_stock_take(book, batch.row, NAN, "no idea", 4000, aid_why()));
    assert_true(isnan(left("C-2")));
}

/* Method: a ledger row or a balance changed behind the book's back is found by the check. */
static void test_a_forged_ledger_is_found(void **state)
{
    static const char *const forgery[] = {
        "UPDATE batch SET left_ml = 900",
        "UPDATE ledger SET left_ml = 1 WHERE kind = 'discarded'",
        "UPDATE ledger SET ml = -1 WHERE kind = 'stock-take'",
        "DELETE FROM ledger WHERE kind = 'made'",
    };
    struct ws_batch batch = aid_batch(book, "F-009", 1000);

    (void)state;
    aid_ok(ws_batch_discard(book, batch.row, 100, "drain", 2000, aid_why()));
    aid_ok(ws_batch_stock_take(book, batch.row, 800, "counted", 3000, aid_why()));
    aid_ok(ws_batch_discard(book, batch.row, 100, "drain", 4000, aid_why()));
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    for (size_t i = 0; i < sizeof forgery / sizeof forgery[0]; i++) {
        long size;
        unsigned char *bytes = aid_bytes(aid_path("book.db"), &size);

        aid_execute(aid_path("book.db"), forgery[i]);
        book = aid_open(aid_path("book.db"), WS_BOOK_READ);
        aid_is(ws_book_check(book, aid_why()), WS_DAMAGED);
        aid_says("F-009");
        ws_book_close(book);
        aid_write(aid_path("book.db"), bytes, (size_t)size);
        free(bytes);
    }
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
}

/* Method: four batches; newest made first, the empty one last, and only those of a use. */
static void test_the_list(void **state)
{
    static const struct {
        const char *number, *day;
        enum ws_bath_kind use;
    } made[] = { { "A", "2026-01-01", WS_BATH_DEVELOPER },
                 { "B", "2026-03-01", WS_BATH_DEVELOPER },
                 { "C", "2026-02-01", WS_BATH_FIXER },
                 { "D", "", WS_BATH_DEVELOPER } };
    struct ws_batch list[8];
    int n;

    (void)state;
    for (int i = 0; i < 4; i++) {
        struct ws_batch batch = { .what = "stock", .volume_ml = 100, .use = made[i].use };

        ws_text_copy(batch.number, sizeof batch.number, made[i].number);
        ws_text_copy(batch.made_day, sizeof batch.made_day, made[i].day);
        aid_ok(ws_batch_add(book, &batch, 1, aid_why()));
        if (i == 1)
            aid_ok(ws_batch_discard(book, batch.row, 100, "drain", 2, aid_why()));
    }
    aid_ok(ws_batch_list(book, WS_BATH_KINDS, list, 8, &n));
    assert_int_equal(n, 4);
    assert_string_equal(list[0].number, "C");
    assert_string_equal(list[1].number, "A");
    assert_string_equal(list[2].number, "D");
    assert_string_equal(list[3].number, "B");
    aid_ok(ws_batch_list(book, WS_BATH_DEVELOPER, list, 8, &n));
    assert_int_equal(n, 3);
    assert_string_equal(list[0].number, "A");
    aid_ok(ws_batch_list(book, WS_BATH_STOP, list, 8, &n));
    assert_int_equal(n, 0);
}

/* Method: the answers about a bottle are kept, and what they were before. */
static void test_answers_of_a_bottle(void **state)
{
    struct ws_batch batch = aid_batch(book, "X", 500);

    (void)state;
    aid_ok(ws_batch_set_colon(book, batch.row, WS_COLON_IN, aid_why()));
    aid_ok(ws_batch_set_colon(book, batch.row, WS_COLON_IN, aid_why()));
    aid_ok(ws_batch_set_least(book, batch.row, 100, aid_why()));
    aid_ok(ws_batch_set_least(book, batch.row, 100, aid_why()));
    aid_ok(ws_batch_set_least(book, batch.row, 62.5, aid_why()));
    aid_is(ws_batch_set_least(book, batch.row, -1, aid_why()), WS_BAD_INPUT);
    aid_is(ws_batch_set_colon(book, 99, WS_COLON_IN, aid_why()), WS_NOT_FOUND);
    aid_is(ws_batch_set_colon(book, batch.row, (enum ws_colon)7, aid_why()), WS_BAD_INPUT);
    aid_ok(ws_batch_get(book, &batch.id, &batch));
    assert_int_equal(batch.colon, WS_COLON_IN);
    ws_assert_near(batch.least_ml, 62.5, 0);
    assert_int_equal(
        aid_number(aid_path("book.db"), "SELECT count(*) FROM correction WHERE what = 'batch'"), 3);
    assert_int_equal(aid_number(aid_path("book.db"),
                                "SELECT old = '100.0' AND new = '62.5' FROM correction"
                                " WHERE field = 'least_ml' ORDER BY correction DESC"),
                     1);
}

/* Method: a tank is kept, changed under its name, and found; the old numbers are kept. */
static void test_tanks(void **state)
{
    struct ws_tank tank = { .name = "Tank A",
                            .reels = 2,
                            .least_135_ml = 290,
                            .least_120_ml = 590,
                            .most_ml = 1000,
                            .halving_ms = 1.2e6 };
    struct ws_tank back, list[4], tray = { .name = "tray" }, wrong;
    int64_t row;
    int n;

    (void)state;
    aid_is(ws_tank_find(book, "A", &back, aid_why()), WS_NOT_FOUND);
    aid_ok(ws_tank_keep(book, &tank, aid_why()));
    row = tank.row;
    aid_ok(ws_tank_keep(book, &tray, aid_why()));
    tank.least_135_ml = 300;
    memset(&tank.id, 0, sizeof tank.id);
    tank.row = 0;
    aid_ok(ws_tank_keep(book, &tank, aid_why()));
    aid_ok(ws_tank_keep(book, &tank, aid_why()));
    assert_int_equal(tank.row, row);
    assert_false(ws_id_none(&tank.id));
    aid_ok(ws_tank_find(book, "tank a", &back, aid_why()));
    ws_assert_near(back.least_135_ml, 300, 0);
    ws_assert_near(back.halving_ms, 1.2e6, 0);
    aid_ok(ws_tank_list(book, list, 4, &n));
    assert_int_equal(n, 2);
    assert_int_equal(
        aid_number(aid_path("book.db"), "SELECT count(*) FROM correction WHERE what = 'tank'"), 1);
    aid_is(ws_tank_find(book, "Tank B", &back, aid_why()), WS_NOT_FOUND);
    aid_says("the nearest is Tank A");
    ws_assert_near(ws_tank_cover_ml(&tank, WS_FORMAT_135_24, 2), 600, 0);
    ws_assert_near(ws_tank_cover_ml(&tank, WS_FORMAT_220, 1), 590, 0);
    ws_assert_near(ws_tank_cover_ml(&tank, WS_FORMAT_4X5, 1), 0, 0);
    ws_assert_near(ws_tank_cover_ml(&tank, WS_FORMAT_120, 0), 0, 0);
    wrong = (struct ws_tank){ .name = "x", .reels = -1 };
    aid_is(ws_tank_keep(book, &wrong, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_tank){ .name = "x", .most_ml = NAN };
    aid_is(ws_tank_keep(book, &wrong, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_tank){ .name = "x", .halving_ms = -1 };
    aid_is(ws_tank_keep(book, &wrong, aid_why()), WS_BAD_INPUT);
    wrong = (struct ws_tank){ .name = "" };
    aid_is(ws_tank_keep(book, &wrong, aid_why()), WS_BAD_INPUT);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_adding),
        TEST(test_the_ledger),
        TEST(test_an_unknown_volume),
        TEST(test_a_forged_ledger_is_found),
        TEST(test_the_list),
        TEST(test_answers_of_a_bottle),
        TEST(test_tanks),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
