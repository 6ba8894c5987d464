/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The door to SQLite: values, transactions within one another, and what a failure is called. */
#include "book_aid.h"

#include <stdlib.h>

#include "../../src/book/sql.h"
#include "fault_vfs.h"

static struct ws_book *book;

static int begin(void **state)
{
    if (aid_begin(state) != 0)
        return -1;
    fault_begin();
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    return 0;
}

static int end(void **state)
{
    fault_set(FAULT_NONE, 0, 0);
    ws_book_close(book);
    fault_end();
    return aid_end(state);
}

static int films(void)
{
    struct ws_sql sql;
    int64_t n;

    ws_sql_open(&sql, book, "SELECT count(*) FROM film");
    aid_ok(ws_sql_number(&sql, 0, &n, aid_why()));
    return (int)n;
}

/* Method: values of each kind go in and come out of one row of no table. */
static void test_values(void **state)
{
    struct ws_id id, back;
    struct ws_sql sql;
    char text[16];

    (void)state;
    ws_id_make(&id);
    ws_sql_open(&sql, book, "SELECT ?, ?, ?, ?, ?, ?, ?, ?");
    ws_sql_put_int(&sql, INT64_MIN);
    ws_sql_put_double(&sql, 0.1);
    ws_sql_put_double(&sql, NAN);
    ws_sql_put_text(&sql, "it's; \"x\"");
    ws_sql_put_text(&sql, NULL);
    ws_sql_put_id(&sql, &id);
    ws_sql_put_row(&sql, 0);
    ws_sql_put_stated(&sql, "");
    assert_true(ws_sql_row(&sql));
    assert_int_equal(ws_sql_int(&sql, 0), INT64_MIN);
    assert_true(ws_sql_double(&sql, 1) == 0.1);
    assert_true(isnan(ws_sql_double(&sql, 2)));
    ws_sql_text(&sql, 3, text, sizeof text);
    assert_string_equal(text, "it's; \"x\"");
    ws_sql_text(&sql, 4, text, sizeof text);
    assert_string_equal(text, "");
    assert_true(ws_sql_null(&sql, 4));
    ws_sql_id(&sql, 5, &back);
    assert_true(ws_id_equal(&id, &back));
    assert_true(ws_sql_null(&sql, 6));
    assert_true(ws_sql_null(&sql, 7));
    ws_sql_id(&sql, 0, &back);
    assert_true(ws_id_none(&back));
    assert_false(ws_sql_row(&sql));
    aid_ok(ws_sql_end(&sql, aid_why()));
}

/* Method: a statement is walked while it is opened a second time; both give all rows. A wrong
 * statement and a value too many are errors that stick. */
static void test_statements(void **state)
{
    static const char two[] = "SELECT 1 UNION ALL SELECT 2";
    struct ws_sql outer, inner;
    int rows = 0;

    (void)state;
    ws_sql_open(&outer, book, two);
    while (ws_sql_row(&outer)) {
        ws_sql_open(&inner, book, two);
        while (ws_sql_row(&inner))
            rows++;
        aid_ok(ws_sql_end(&inner, aid_why()));
    }
    aid_ok(ws_sql_end(&outer, aid_why()));
    assert_int_equal(rows, 4);
    ws_sql_open(&outer, book, "SELECT x FROM nowhere");
    ws_sql_put_int(&outer, 1);
    assert_false(ws_sql_row(&outer));
    aid_is(ws_sql_end(&outer, aid_why()), WS_DAMAGED);
    aid_says("nowhere");
    ws_sql_open(&outer, book, "SELECT 1");
    ws_sql_put_int(&outer, 1);
    assert_false(ws_sql_row(&outer));
    aid_is(ws_sql_end(&outer, aid_why()), WS_IO);
}

/* Method: of three levels the middle one fails and the others do not; then the outermost fails. */
static void test_transactions_within_one_another(void **state)
{
    (void)state;
    aid_ok(ws_sql_begin(book, aid_why()));
    aid_ok(ws_film_add(book, "Tarn 125", aid_why()));
    aid_ok(ws_sql_begin(book, aid_why()));
    aid_ok(ws_film_add(book, "Halden 400", aid_why()));
    aid_is(ws_sql_commit(book, WS_BAD_INPUT, aid_why()), WS_BAD_INPUT);
    aid_ok(ws_film_add(book, "Osprey 200", aid_why()));
    aid_ok(ws_sql_commit(book, WS_OK, aid_why()));
    assert_int_equal(films(), 2);
    aid_ok(ws_sql_begin(book, aid_why()));
    aid_ok(ws_film_add(book, "Corvex Pan 100", aid_why()));
    aid_is(ws_sql_commit(book, WS_SHORT, aid_why()), WS_SHORT);
    assert_int_equal(films(), 2);
    assert_int_equal(book->depth, 0);
}

/* Method: the disk is full from the n-th write on, for each n until all writes pass. Nothing may be
 * half there, and afterwards the same goes through. */
static void test_a_full_disk(void **state)
{
    int full = 0;

    (void)state;
    for (int n = 1; n < 40; n++) {
        char name[24];
        enum ws_status status;
        struct ws_roll roll = { .format = WS_FORMAT_120, .film = "Tarn 125" };
        int before, after;

        snprintf(name, sizeof name, "R-%d", n);
        memcpy(roll.number, name, sizeof name);
        fault_set(FAULT_WRITE, n, SQLITE_FULL);
        status = ws_roll_add(book, &roll, aid_why());
        fault_set(FAULT_NONE, 0, 0);
        aid_ok(ws_roll_count_number(book, name, &before));
        if (status == WS_OK) {
            assert_int_equal(before, 1);
            break;
        }
        full++;
        aid_expect_at(status, WS_DISK_FULL, "a write on a full disk", __FILE__, __LINE__);
        aid_says("no room");
        assert_int_equal(before, 0);
        aid_ok(ws_roll_add(book, &roll, aid_why()));
        aid_ok(ws_roll_count_number(book, name, &after));
        assert_int_equal(after, 1);
    }
    assert_true(full > 3);
    aid_ok(ws_book_check(book, aid_why()));
}

/* Method: the sync of a commit fails. What was written may be there or not, and the second try of
 * the same roll must leave exactly one. */
static void test_a_commit_nobody_knows_of(void **state)
{
    struct ws_roll roll = { .format = WS_FORMAT_120, .number = "R-1", .film = "Tarn 125" };
    int count;

    (void)state;
    fault_set(FAULT_SYNC, 1, SQLITE_IOERR_FSYNC);
    aid_is(ws_roll_add(book, &roll, aid_why()), WS_UNKNOWN);
    aid_says("nobody can say");
    assert_true(fault_calls() > 0);
    fault_set(FAULT_NONE, 0, 0);
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    assert_true(roll.row > 0);
    aid_ok(ws_roll_count_number(book, "R-1", &count));
    assert_int_equal(count, 1);
}

/* Method: another connection holds the write lock for longer than is waited for. */
static void test_another_writes(void **state)
{
    sqlite3 *other = NULL;

    (void)state;
    assert_int_equal(sqlite3_open(aid_path("book.db"), &other), SQLITE_OK);
    assert_int_equal(sqlite3_exec(other, "BEGIN IMMEDIATE", NULL, NULL, NULL), SQLITE_OK);
    sqlite3_busy_timeout(book->db, 1);
    aid_is(ws_film_add(book, "Tarn 125", aid_why()), WS_BUSY);
    aid_says("another program");
    sqlite3_close(other);
    aid_ok(ws_film_add(book, "Tarn 125", aid_why()));
}

/* Method: the disk is full from the n-th write on while a new book is made; what remains is
 * nothing, or what the next opening goes on from, and at the end the book is made. */
static void test_no_room_for_a_new_book(void **state)
{
    struct ws_book *new = NULL;
    int failed = 0, nothing = 0;

    (void)state;
    for (int n = 1; n < 400 && new == NULL; n++) {
        fault_set(FAULT_WRITE, n, SQLITE_FULL);
        if (ws_book_open(aid_path("new.db"), WS_BOOK_WRITE, &new, aid_why()) != WS_OK) {
            failed++;
            aid_says("no room");
            nothing += !aid_exists(aid_path("new.db"));
            assert_true(aid_exists(aid_path("new.db")) || !aid_exists(aid_path("new.db-journal")));
        }
        fault_set(FAULT_NONE, 0, 0);
    }
    assert_true(failed > 10);
    assert_true(nothing > 0);
    assert_non_null(new);
    aid_ok(ws_book_check(new, aid_why()));
    ws_book_close(new);
}

/* Method: the log can't be made beside the book. */
static void test_no_log_can_be_made(void **state)
{
    struct ws_book *second = NULL;

    (void)state;
    ws_book_close(book);
    fault_set(FAULT_OPEN, 1, SQLITE_CANTOPEN);
    aid_is(ws_book_open(aid_path("book.db"), WS_BOOK_WRITE, &second, aid_why()), WS_IO);
    fault_set(FAULT_NONE, 0, 0);
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
}

/* Method: the names and values of an attack go through every function that takes a text; afterwards
 * all tables are there and the texts are what was given. */
static void test_texts_are_never_statements(void **state)
{
    static const char attack[] = "x'); DROP TABLE roll; --";
    struct ws_roll roll = { .format = WS_FORMAT_120 }, back;
    struct ws_roll_line line[2];
    struct ws_batch batch;
    struct ws_tank tank = { .reels = 1 };
    int n;

    (void)state;
    memcpy(roll.number, attack, sizeof attack);
    memcpy(roll.film, attack, sizeof attack);
    memcpy(roll.subject, attack, sizeof attack);
    aid_ok(ws_roll_add(book, &roll, aid_why()));
    aid_ok(ws_roll_find(book, attack, &back, aid_why()));
    assert_string_equal(back.film, attack);
    aid_ok(ws_roll_correct(book, roll.row, "camera", attack, attack, 1, aid_why()));
    aid_ok(ws_verdict_add(book, roll.row, WS_VERDICT_GOOD, attack, 1, aid_why()));
    aid_ok(ws_roll_search(book, attack, 0, line, 2, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_roll_search(book, "\" OR words : *", 0, line, 2, &n));
    aid_ok(ws_roll_search(book, "NEAR(a b) AND NOT", 0, line, 2, &n));
    assert_int_equal(n, 0);
    memcpy(tank.name, attack, sizeof attack);
    aid_ok(ws_tank_keep(book, &tank, aid_why()));
    aid_is(ws_batch_find(book, attack, &batch, aid_why()), WS_NOT_FOUND);
    aid_is(ws_roll_correct(book, roll.row, attack, "1", "why", 1, aid_why()), WS_BAD_INPUT);
    aid_ok(ws_setting_set(book, attack, attack, aid_why()));
    aid_ok(ws_book_check(book, aid_why()));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_values),
        TEST(test_statements),
        TEST(test_transactions_within_one_another),
        TEST(test_a_full_disk),
        TEST(test_a_commit_nobody_knows_of),
        TEST(test_another_writes),
        TEST(test_no_room_for_a_new_book),
        TEST(test_no_log_can_be_made),
        TEST(test_texts_are_never_statements),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
