/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The demo: what it puts into an empty book. */
#include "book_aid.h"

#include <stdlib.h>
#include <time.h>

#include "wetside/book/data.h"
#include "wetside/book/demo.h"

#define WALL_MS INT64_C(1773500000000) /* a day in March 2026 */
#define DAY_MS  INT64_C(86400000)

static struct ws_book *book;
static struct ws_plan plan;
static struct ws_session session;

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

/* The run's journal folded over its plan, into `plan` and `session`. */
static void fold(int64_t run)
{
    struct ws_journal_row *row = calloc(2048, sizeof *row);
    struct ws_event *event = calloc(2048, sizeof *event);
    int n;

    assert_non_null(row);
    assert_non_null(event);
    aid_ok(ws_run_plan(book, run, &plan, aid_why()));
    aid_ok(ws_run_events(book, run, 0, row, 2048, &n));
    assert_in_range(n, 10, 2047);
    for (int i = 0; i < n; i++)
        event[i] = row[i].event;
    aid_ok(ws_session_fold(&session, &plan, event, n, aid_why()));
    free(row);
    free(event);
}

/* Method: the demo is put in once; a second time, and into a book with a single film, it is refused
 * and nothing changes. */
static void test_only_into_an_empty_book(void **state)
{
    struct ws_book *other;
    char note[256] = "", name[8][WS_NAME];
    int n;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_setting_get(book, "demo", note, sizeof note));
    assert_non_null(strstr(note, "invented"));
    aid_is(ws_demo_fill(book, WALL_MS, aid_why()), WS_EXISTS);
    aid_says("empty book");
    aid_ok(ws_film_list(book, name, 8, &n));
    assert_int_equal(n, 4);
    other = aid_open(aid_path("other.db"), WS_BOOK_WRITE);
    aid_ok(ws_film_add(other, "Tarn 125", aid_why()));
    aid_is(ws_demo_fill(other, WALL_MS, aid_why()), WS_EXISTS);
    ws_book_close(other);
    other = aid_open(aid_path("other.db"), WS_BOOK_READ);
    aid_is(ws_demo_fill(other, WALL_MS, aid_why()), WS_READ_ONLY);
    ws_book_close(other);
}

/* Method: the shelf. The stock of the first scenario has 740 ml left and is eleven days old; the
 * fixer is whole again after every run, and has seen all five rolls. */
static void test_the_shelf(void **state)
{
    time_t then = (time_t)((WALL_MS - 11 * DAY_MS) / 1000);
    struct ws_batch batch;
    struct ws_tank tank[4];
    struct ws_roll_line line[8];
    char day[WS_DAY];
    struct tm local;
    int n;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_batch_find(book, "MQB-014", &batch, aid_why()));
    ws_assert_near(batch.left_ml, 740, 1e-9);
    ws_assert_near(batch.least_ml, 100, 0);
    strftime(day, sizeof day, "%Y-%m-%d", localtime_r(&then, &local));
    assert_string_equal(batch.made_day, day);
    aid_ok(ws_batch_find(book, "F-009", &batch, aid_why()));
    ws_assert_near(batch.left_ml, 1000, 1e-9);
    ws_assert_near(batch.rolls, 5, 1e-9);
    aid_ok(ws_batch_find(book, "MQB-013", &batch, aid_why()));
    assert_true(batch.left_ml == 0.0);
    aid_ok(ws_batch_find(book, "Q-3", &batch, aid_why()));
    assert_true(isnan(batch.left_ml));
    aid_ok(ws_batch_rolls(book, batch.row, line, 8, &n));
    assert_int_equal(n, 2);
    aid_ok(ws_tank_list(book, tank, 4, &n));
    assert_int_equal(n, 3);
    assert_int_equal(tank[2].reels, 0);
}

/* Method: rolls that wait, and those that were developed, latest first; one verdict is due. */
static void test_the_rolls(void **state)
{
    static const char *const waiting[] = { "2026-0143", "2026-0144", "2026-0145", "S-21", "S-22" };
    struct ws_roll_line line[16];
    struct ws_process_line process[8];
    int n;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_roll_queue(book, line, 16, &n));
    assert_int_equal(n, 5);
    for (int i = 0; i < 5; i++)
        assert_string_equal(line[i].number, waiting[i]);
    aid_ok(ws_roll_search(book, "", 0, line, 16, &n));
    assert_int_equal(n, 10);
    assert_string_equal(line[0].number, "2026-0140");
    ws_assert_near(line[0].stock_ml, 500.0 / 101, 1e-9);
    assert_string_equal(line[4].number, "2026-0136");
    assert_int_equal(line[4].verdict, WS_VERDICT_GOOD);
    aid_ok(ws_verdict_due(book, WALL_MS, line, 16, &n));
    assert_int_equal(n, 1);
    assert_string_equal(line[0].number, "2026-0140");
    aid_ok(ws_process_list(book, process, 8, &n));
    assert_int_equal(n, 5);
    assert_string_equal(process[0].name, "Osprey 200 stand");
    assert_int_equal(process[1].runs, 2);
}

/* Method: each run's journal is folded by the engine: finished, dated before now, every agitation
 * confirmed but two in one run (the hands were off from 4:10 to 6:20), and the stand was an hour.
 */
static void test_the_runs(void **state)
{
    struct ws_run_line run[8];
    int n;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_run_list(book, false, 0, run, 8, &n));
    assert_int_equal(n, 0);
    aid_ok(ws_run_list(book, true, 0, run, 8, &n));
    assert_int_equal(n, 4);
    for (int i = 0; i < n; i++) {
        int missed = 0;

        fold(run[i].row);
        assert_true(session.closed);
        assert_int_equal(session.stage, WS_STAGE_OVER);
        assert_true(run[i].ended_ms > run[i].began_ms);
        assert_true(run[i].ended_ms < WALL_MS);
        assert_false(run[i].given_up);
        for (int k = 0; k < plan.baths; k++)
            missed += session.record[k].asked - session.record[k].confirmed;
        assert_int_equal(missed, strcmp(run[i].rolls, "2026-0138, 2026-0139") == 0 ? 2 : 0);
        if (i == 0)
            assert_int_equal(session.record[0].time_ms, 3600000);
        if (strcmp(run[i].process, "Halden 400 in Q 1+100") == 0)
            assert_true(session.record[0].time_ms < 900000); /* half a degree warmer */
    }
}

/* Method: the process for trying the program out, played by hands in time, takes about a minute. */
static void test_the_minute(void **state)
{
    static struct ws_process process;
    struct ws_stamp stamp = aid_stamp(1000);
    int64_t run;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_process_find(book, "A minute to try", &process, aid_why()));
    ws_plan_default(&plan);
    ws_id_make(&plan.id);
    plan.baths = process.baths;
    memcpy(plan.bath, process.bath, sizeof plan.bath);
    plan.bath[0].time_ms = process.bath[0].point[0].time_ms;
    aid_ok(ws_run_keep(book, &plan, &stamp, &run, aid_why()));
    aid_hands(book, run, &plan, INT64_MAX - 1);
    fold(run);
    assert_int_equal(session.stage, WS_STAGE_OVER);
    assert_in_range(session.now_ms, 50000, 90000);
}

/* Method: the process for sheets goes through its trays with one rhythm, film lies open from its
 * first bath to its fixer, over which light may go on after two minutes, and then no longer. */
static void test_the_trays(void **state)
{
    static struct ws_process process;

    (void)state;
    aid_ok(ws_demo_fill(book, WALL_MS, aid_why()));
    aid_ok(ws_process_find(book, "Corvex Pan 100 in trays", &process, aid_why()));
    assert_int_equal(process.bath[3].kind, WS_BATH_FIXER);
    for (int i = 0; i < process.baths; i++) {
        const struct ws_bath *bath = &process.bath[i];

        assert_int_equal(bath->open_film, i <= 3);
        assert_int_equal(bath->pieces, i <= 3 ? 6 : 0);
        assert_int_equal(bath->piece_every_ms, i <= 3 ? 10000 : 0);
        assert_int_equal(bath->light_ms, i == 3 ? 120000 : 0);
    }
}

/* Method: no name of a maker can be checked by a machine, but the demo must say of itself that it
 * is invented, and a clock long ago or far ahead must do. */
static void test_any_clock(void **state)
{
    (void)state;
    assert_non_null(strstr((const char *)ws_data_demo_json, "invented"));
    aid_ok(ws_demo_fill(book, 86400000LL * 200, aid_why()));
    ws_book_close(book);
    book = aid_open(aid_path("late.db"), WS_BOOK_WRITE);
    aid_ok(ws_demo_fill(book, INT64_C(4102444800000), aid_why()));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_only_into_an_empty_book),
        TEST(test_the_shelf),
        TEST(test_the_rolls),
        TEST(test_the_runs),
        TEST(test_the_minute),
        TEST(test_the_trays),
        TEST(test_any_clock),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
