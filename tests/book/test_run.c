/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs: what is kept in one transaction, the journal that can be written twice, and the end. */
#include "book_aid.h"

#include <stdlib.h>

#include "wetside/book/check.h"
#include "wetside/calc/units.h"

static struct ws_book *book;
static struct ws_plan plan;

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

static struct ws_batch find_batch(const char *number)
{
    struct ws_batch batch;

    aid_ok(ws_batch_find(book, number, &batch, aid_why()));
    return batch;
}

static int count(const char *statement)
{
    return (int)aid_number(aid_path("book.db"), statement);
}

static int64_t keep(int64_t wall_ms)
{
    struct ws_stamp stamp = aid_stamp(wall_ms);
    int64_t row = 0;

    aid_ok(ws_run_keep(book, &plan, &stamp, &row, aid_why()));
    assert_true(row > 0);
    return row;
}

/* Method: one roll, 150 ml of 740 and a bottle that is not in the book. All that is said of the run
 * in one transaction is read back. */
static void test_keeping(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 740);
    struct ws_roll roll = aid_roll(book, "2026-0143", "Tarn 125");
    struct ws_journal_row event[4];
    struct ws_ledger_line line[4];
    struct ws_roll_line found[2];
    struct ws_run_line run;
    struct ws_plan back;
    char *one, *two;
    int64_t row;
    int n;

    (void)state;
    aid_plan(&plan, &batch, NULL);
    aid_place(&plan, &roll);
    row = keep(7000);
    ws_assert_near(find_batch("MQB-014").left_ml, 590, 0);
    aid_ok(ws_batch_ledger(book, batch.row, line, 4, &n));
    assert_int_equal(n, 2);
    assert_int_equal(line[1].kind, WS_LEDGER_DRAWN);
    ws_assert_near(line[1].ml, -150, 0);
    assert_int_equal(line[1].run, row);
    assert_int_equal(line[1].wall_ms, 7000);

    aid_ok(ws_run_get(book, row, &run));
    assert_int_equal(run.began_ms, 7000);
    assert_int_equal(run.ended_ms, 0);
    assert_false(run.given_up);
    assert_string_equal(run.tank, "A");
    assert_string_equal(run.process, "test process");
    assert_string_equal(run.rolls, "2026-0143");
    assert_true(ws_id_equal(&run.id, &plan.id));

    aid_ok(ws_run_events(book, row, 0, event, 4, &n));
    assert_int_equal(n, 1);
    assert_int_equal(event[0].event.kind, WS_EVENT_BEGIN);
    assert_int_equal(event[0].event.sequence, 1);
    assert_int_equal(event[0].event.at_ms, 0);
    assert_int_equal(event[0].epoch, 1);
    assert_int_equal(event[0].stamp.wall_ns, 7000000000);

    aid_ok(ws_run_plan(book, row, &back, aid_why()));
    one = ws_plan_to_json(&plan);
    two = ws_plan_to_json(&back);
    assert_string_equal(one, two);
    free(one);
    free(two);

    aid_ok(ws_roll_search(book, "mqb", 0, found, 2, &n));
    assert_int_equal(n, 1);
    assert_int_equal(found[0].run, row);
    assert_int_equal(found[0].developed_ms, 7000);
    assert_string_equal(found[0].batch, "MQB-014");
    assert_string_equal(found[0].dilution, "1+1");
    assert_string_equal(found[0].developer, "MQB stock");
    ws_assert_near(found[0].stock_ml, 150, 0);
    aid_ok(ws_roll_queue(book, found, 2, &n));
    assert_int_equal(n, 0); /* it is in the tank */
    assert_int_equal(count("SELECT count(*) FROM measured WHERE name = 'bought fixer' AND batch IS"
                           " NULL AND ml = 300"),
                     1);
}

/* Method: the same plan once more is the same run, drawn once; another plan under its id is not. */
static void test_keeping_twice(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 740);
    struct ws_stamp stamp = aid_stamp(9000);
    int64_t row, again = 0;

    (void)state;
    aid_plan(&plan, &batch, NULL);
    row = keep(7000);
    assert_int_equal(keep(8000), row);
    ws_assert_near(find_batch("MQB-014").left_ml, 590, 0);
    assert_int_equal(count("SELECT count(*) FROM journal"), 1);
    plan.room_c = 18;
    aid_is(ws_run_keep(book, &plan, &stamp, &again, aid_why()), WS_EXISTS);
    /* Who changed the plan after a try that was kept can find that try. */
    aid_ok(ws_run_by_id(book, &plan.id, &again, aid_why()));
    assert_int_equal(again, row);
    plan.id.byte[0] ^= 1;
    aid_ok(ws_run_by_id(book, &plan.id, &again, aid_why()));
    assert_int_equal(again, 0);
    memset(&plan.id, 0, sizeof plan.id);
    aid_is(ws_run_keep(book, &plan, &stamp, &again, aid_why()), WS_BAD_INPUT);
}

/* Method: the batch holds less than the two baths together ask, though each alone would do. Nothing
 * is written; after a stock-take it goes, and the balance is exact. */
static void test_too_little_left(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 400);
    struct ws_roll roll = aid_roll(book, "1", "Tarn 125");
    struct ws_stamp stamp = aid_stamp(7000);
    struct ws_roll_line queue[2];
    int64_t row = 0;
    int n;

    (void)state;
    aid_plan(&plan, &batch, &batch);
    aid_place(&plan, &roll);
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_SHORT);
    aid_says("MQB-014 holds 400 ml, but 450 ml are asked");
    assert_int_equal(row, 0);
    assert_int_equal(count("SELECT (SELECT count(*) FROM run) + (SELECT count(*) FROM run_bath)"
                           " + (SELECT count(*) FROM measured) + (SELECT count(*) FROM place)"
                           " + (SELECT count(*) FROM journal)"),
                     0);
    assert_int_equal(count("SELECT count(*) FROM ledger"), 1);
    aid_ok(ws_roll_queue(book, queue, 2, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_batch_stock_take(book, batch.row, 450, "there is more left", 6000, aid_why()));
    keep(7000);
    assert_true(find_batch("MQB-014").left_ml == 0.0);
}

/* Method: 1.66 ml go into the bath, but 10 ml leave the bottle for a pre-dilution: those are drawn,
 * asked for when the bottle holds less, and kept in the plan. */
static void test_a_predilution_is_drawn_whole(void **state)
{
    struct ws_batch batch = aid_batch(book, "C-2", 9);
    struct ws_stamp stamp = aid_stamp(7000);
    static struct ws_plan back;
    int64_t row = 0;

    (void)state;
    aid_plan(&plan, &batch, NULL);
    plan.bath[0].part[0].ml = 1.66;
    plan.bath[0].part[0].drawn_ml = 10;
    plan.bath[0].part[1].ml = 298.34;
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_SHORT);
    aid_says("C-2 holds 9 ml, but 10 ml are asked");
    aid_ok(ws_batch_stock_take(book, batch.row, 50, "there is more left", 6000, aid_why()));
    row = keep(7000);
    ws_assert_near(find_batch("C-2").left_ml, 40, 0);
    assert_int_equal(count("SELECT count(*) FROM ledger WHERE kind = 'drawn' AND ml = -10"), 1);
    aid_ok(ws_run_plan(book, row, &back, aid_why()));
    ws_assert_near(back.bath[0].part[0].ml, 1.66, 0);
    ws_assert_near(back.bath[0].part[0].drawn_ml, 10, 0);
    ws_assert_near(back.bath[0].part[1].drawn_ml, 0, 0);
}

/* Method: a batch of unknown volume gives whatever is asked and stays unknown. */
static void test_an_unknown_volume(void **state)
{
    struct ws_batch batch = aid_batch(book, "C-2", NAN);

    (void)state;
    aid_plan(&plan, &batch, NULL);
    keep(7000);
    assert_true(isnan(find_batch("C-2").left_ml));
    assert_int_equal(count("SELECT count(*) FROM ledger WHERE kind = 'drawn' AND ml = -150"
                           " AND left_ml IS NULL"),
                     1);
}

/* Method: a plan the engine can't run, a roll and a batch from another book, a name that is no
 * UTF-8: each refused, and nothing is written. */
static void test_plans_refused(void **state)
{
    struct ws_batch stranger = { .number = "S-1", .what = "stock", .id = { { 9 } } };
    struct ws_roll roll = { .number = "77", .film = "Tarn 125", .id = { { 5 } } };
    struct ws_stamp stamp = aid_stamp(7000);
    int64_t row;

    (void)state;
    aid_plan(&plan, &stranger, NULL);
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_NOT_FOUND);
    aid_says("batch S-1 is not in the book");
    aid_plan(&plan, NULL, NULL);
    aid_place(&plan, &roll);
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_NOT_FOUND);
    aid_says("roll 77 is not in the book");
    aid_plan(&plan, NULL, NULL);
    plan.bath[0].time_ms = -1;
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_BAD_PLAN);
    aid_plan(&plan, NULL, NULL);
    plan.who[0] = '\xFF';
    aid_is(ws_run_keep(book, &plan, &stamp, &row, aid_why()), WS_BAD_INPUT);
    aid_says("who");
    assert_int_equal(count("SELECT count(*) FROM run"), 0);
}

/* Method: a run in time from beginning to end. Its rolls are developed, the fixer that was poured
 * and goes back is back in its bottle and has seen the roll, the diluted developer is not. */
static void test_a_finished_run(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 740);
    struct ws_batch fixer = aid_batch(book, "F-009", 1000);
    struct ws_roll roll = aid_roll(book, "2026-0143", "Tarn 125");
    struct ws_roll_line due[2];
    struct ws_stamp stamp = aid_stamp(900000);
    struct ws_run_line run;
    int64_t row;
    int n;

    (void)state;
    aid_plan(&plan, &batch, &fixer);
    plan.bath[0].afterwards = WS_TO_BOTTLE;
    aid_place(&plan, &roll);
    row = keep(7000);
    ws_assert_near(find_batch("F-009").left_ml, 700, 0);
    aid_hands(book, row, &plan, INT64_MAX - 1);
    aid_ok(ws_run_close(book, row, NULL, &stamp, aid_why()));
    ws_assert_near(find_batch("F-009").left_ml, 1000, 0);
    ws_assert_near(find_batch("F-009").rolls, 1, 0);
    ws_assert_near(find_batch("MQB-014").left_ml, 590, 0);
    aid_ok(ws_roll_get(book, roll.row, &roll));
    assert_true(roll.developed);
    aid_ok(ws_run_get(book, row, &run));
    assert_int_equal(run.ended_ms, 900000);
    assert_false(run.given_up);
    /* Once more is nothing. */
    aid_ok(ws_run_close(book, row, "again", &stamp, aid_why()));
    ws_assert_near(find_batch("F-009").left_ml, 1000, 0);
    aid_ok(ws_run_get(book, row, &run));
    assert_false(run.given_up);
    /* The verdict is asked once it is dry, until it is given. */
    aid_ok(ws_verdict_due(book, 900000, due, 2, &n));
    assert_int_equal(n, 0);
    aid_ok(ws_verdict_due(book, 900001, due, 2, &n));
    assert_int_equal(n, 1);
    assert_string_equal(due[0].number, "2026-0143");
    aid_ok(ws_verdict_add(book, roll.row, WS_VERDICT_GOOD, "", 950000, aid_why()));
    aid_ok(ws_verdict_due(book, INT64_MAX, due, 2, &n));
    assert_int_equal(n, 0);
    aid_is(ws_run_close(book, 99, NULL, &stamp, aid_why()), WS_NOT_FOUND);
}

/* Method: given up before any liquid: the roll waits again, nothing was poured and nothing returns.
 * Given up in the developer: the roll counts as developed. */
static void test_runs_given_up(void **state)
{
    struct ws_batch fixer = aid_batch(book, "F-009", 1000);
    struct ws_roll dry = aid_roll(book, "1", "Tarn 125"), wet = aid_roll(book, "2", "Tarn 125");
    struct ws_stamp stamp = aid_stamp(900000);
    struct ws_roll_line line[4];
    struct ws_run_line run[4];
    int64_t first, second;
    int n;

    (void)state;
    aid_plan(&plan, NULL, &fixer);
    aid_place(&plan, &dry);
    first = keep(7000);
    aid_ok(ws_run_close(book, first, "the core was missing", &stamp, aid_why()));
    aid_ok(ws_roll_queue(book, line, 4, &n));
    assert_int_equal(n, 2);
    ws_assert_near(find_batch("F-009").left_ml, 700, 0);
    ws_assert_near(find_batch("F-009").rolls, 0, 0);
    aid_ok(ws_run_of_roll(book, dry.row, run, 4, &n));
    assert_int_equal(n, 1);
    assert_true(run[0].given_up);
    assert_string_equal(run[0].reason, "the core was missing");
    aid_ok(ws_batch_rolls(book, fixer.row, line, 4, &n));
    assert_int_equal(n, 0);

    aid_plan(&plan, NULL, &fixer);
    aid_place(&plan, &wet);
    second = keep(8000);
    aid_hands(book, second, &plan, 60000);
    aid_ok(ws_run_close(book, second, "door opened", &stamp, aid_why()));
    aid_ok(ws_roll_get(book, wet.row, &wet));
    assert_true(wet.developed);
    aid_ok(ws_roll_queue(book, line, 4, &n));
    assert_int_equal(n, 1);
    assert_string_equal(line[0].number, "1");
    ws_assert_near(find_batch("F-009").left_ml, 400, 0);
    ws_assert_near(find_batch("F-009").rolls, 0, 0); /* the fixer was measured out, never poured */
}

/* Method: rows come twice, out of an older owner's hands, with another content, for no run, and as
 * ticks. Only what is new and the owner's is taken, and a batch of rows is taken whole or not. */
static void test_the_journal(void **state)
{
    struct ws_journal_row row[3] = { 0 }, back[8], other;
    int64_t run, epoch = 0;
    int n;

    (void)state;
    aid_plan(&plan, NULL, NULL);
    run = keep(7000);
    for (int i = 0; i < 3; i++) {
        row[i].run = run;
        row[i].epoch = 1;
        row[i].stamp = aid_stamp(7000 + i);
        row[i].event = (struct ws_event){ .at_ms = 1000 * i,
                                          .sequence = (uint32_t)(2 + i),
                                          .kind = WS_EVENT_READING,
                                          .bath = -1,
                                          .value_c = 20.1,
                                          .value_ms = INT64_MAX,
                                          .cause = WS_BY_TEMPERATURE,
                                          .of = UINT32_MAX,
                                          .estimated = i == 1 };
    }
    row[2].event.value_c = NAN;
    aid_ok(ws_run_journal(book, row, 2, aid_why()));
    aid_ok(ws_run_journal(book, row, 3, aid_why()));
    aid_ok(ws_run_journal(book, row, 3, aid_why()));
    aid_ok(ws_run_events(book, run, 2, back, 8, &n));
    assert_int_equal(n, 3);
    for (int i = 0; i < 3; i++) {
        assert_int_equal(back[i].run, run);
        assert_int_equal(back[i].epoch, 1);
        assert_int_equal(back[i].event.at_ms, row[i].event.at_ms);
        assert_int_equal(back[i].event.sequence, row[i].event.sequence);
        assert_int_equal(back[i].event.of, UINT32_MAX);
        assert_int_equal(back[i].event.kind, WS_EVENT_READING);
        assert_int_equal(back[i].event.cause, WS_BY_TEMPERATURE);
        assert_int_equal(back[i].event.bath, -1);
        assert_true(back[i].event.value_ms == INT64_MAX);
        assert_int_equal(back[i].event.estimated, i == 1);
        assert_true(ws_id_equal(&back[i].stamp.boot, &row[i].stamp.boot));
        assert_int_equal(back[i].stamp.boot_ns, row[i].stamp.boot_ns);
        assert_int_equal(back[i].stamp.wall_ns, row[i].stamp.wall_ns);
    }
    assert_true(back[0].event.value_c == 20.1);
    assert_true(isnan(back[2].event.value_c));

    other = row[1];
    other.event.value_c = 20.2;
    aid_is(ws_run_journal(book, &other, 1, aid_why()), WS_BAD_EVENT);
    aid_says("entry 3 is there already");
    aid_ok(ws_run_own(book, run, &epoch, aid_why()));
    assert_int_equal(epoch, 2);
    aid_ok(ws_run_journal(book, row, 3, aid_why())); /* what is there already is passed over */
    row[0].event.sequence = 5;
    aid_is(ws_run_journal(book, row, 1, aid_why()), WS_OWNED);
    aid_says("another program");
    row[0].epoch = row[1].epoch = 2;
    row[1].event.sequence = 6;
    row[1].event.kind = WS_EVENT_TICK;
    aid_is(ws_run_journal(book, row, 2, aid_why()), WS_BAD_EVENT);
    aid_ok(ws_run_events(book, run, 5, back, 8, &n));
    assert_int_equal(n, 0);
    aid_ok(ws_run_journal(book, row, 1, aid_why()));
    row[0].run = 99;
    aid_is(ws_run_journal(book, row, 1, aid_why()), WS_NOT_FOUND);
    row[0].run = run;
    row[0].event.sequence = 0;
    aid_is(ws_run_journal(book, row, 1, aid_why()), WS_BAD_EVENT);
    aid_is(ws_run_own(book, 99, &epoch, aid_why()), WS_NOT_FOUND);
    aid_spoiled(
        "event 4 can't be where it is"); /* a reading of nothing, which the engine refuses */
}

/* Method: an entry of a kind this program does not know, put in behind the book's back; it is not
 * passed over in silence, and the run can still be closed, saying nothing of what was poured. */
static void test_an_unknown_entry(void **state)
{
    struct ws_batch fixer = aid_batch(book, "F-009", 1000);
    struct ws_journal_row back[4];
    int64_t run;
    int n;

    (void)state;
    aid_plan(&plan, NULL, &fixer);
    run = keep(7000);
    ws_book_close(book);
    aid_execute(
        aid_path("book.db"),
        "INSERT INTO journal SELECT run, 2, 'dance', 5, 0, 0, -1, 0, NULL, 0, boot, boot_ns,"
        " wall_ns, epoch FROM journal");
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    assert_int_equal(ws_run_events(book, run, 0, back, 4, &n), WS_DAMAGED);
    assert_int_equal(n, 1);
    aid_spoiled("run 1: event 2 (\"dance\"): its kind");
}

/* Method: a journal the engine can't follow (its second entry lies before its first). The run can
 * be closed all the same; what was poured is not known, so nothing goes back. */
static void test_a_journal_that_cannot_be_followed(void **state)
{
    struct ws_batch fixer = aid_batch(book, "F-009", 1000);
    struct ws_stamp stamp = aid_stamp(900000);
    struct ws_journal_row row[2] = { 0 };
    int64_t run;

    (void)state;
    aid_plan(&plan, NULL, &fixer);
    run = keep(7000);
    for (int i = 0; i < 2; i++) {
        row[i].run = run;
        row[i].epoch = 1;
        row[i].event = (struct ws_event){ .at_ms = 5000 - 1000 * i,
                                          .sequence = (uint32_t)(2 + i),
                                          .kind = WS_EVENT_HAND,
                                          .bath = -1 };
    }
    aid_ok(ws_run_journal(book, row, 2, aid_why()));
    aid_ok(ws_run_close(book, run, "lost", &stamp, aid_why()));
    ws_assert_near(find_batch("F-009").left_ml, 700, 0);
    assert_int_equal(count("SELECT count(*) FROM run_bath WHERE poured IS NULL"), 2);
    aid_spoiled("run 1: event 3 is earlier than the one before it");
}

/* Method: three runs of two rolls; lists by openness, page and roll, latest first; a corrected
 * number shows in the run. */
static void test_lists_of_runs(void **state)
{
    struct ws_roll a = aid_roll(book, "2026-0150", "Tarn 125");
    struct ws_roll b = aid_roll(book, "2026-0151", "Tarn 125");
    struct ws_stamp stamp = aid_stamp(900000);
    struct ws_run_line run[4];
    int64_t row[3];
    int n;

    (void)state;
    for (int i = 0; i < 3; i++) {
        aid_plan(&plan, NULL, NULL);
        aid_place(&plan, &b);
        if (i == 1)
            aid_place(&plan, &a);
        row[i] = keep(1000 * (i + 1));
        if (i == 0) {
            aid_hands(book, row[0], &plan, INT64_MAX - 1);
            aid_ok(ws_run_close(book, row[0], NULL, &stamp, aid_why()));
        }
    }
    aid_ok(ws_run_list(book, false, 0, run, 4, &n));
    assert_int_equal(n, 2);
    assert_int_equal(run[0].row, row[2]);
    aid_ok(ws_run_list(book, true, 0, run, 4, &n));
    assert_int_equal(n, 3);
    assert_int_equal(run[2].row, row[0]);
    aid_ok(ws_run_list(book, true, 1, run, 1, &n));
    assert_int_equal(n, 1);
    assert_int_equal(run[0].row, row[1]);
    assert_string_equal(run[0].rolls, "2026-0151, 2026-0150");
    aid_ok(ws_run_of_roll(book, a.row, run, 4, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_run_of_roll(book, b.row, run, 4, &n));
    assert_int_equal(n, 3);
    aid_ok(ws_roll_correct(book, b.row, "number", "2026-0152", "the sleeve says so", 9, aid_why()));
    aid_ok(ws_run_get(book, row[0], &run[0]));
    assert_string_equal(run[0].rolls, "2026-0152");
    assert_int_equal(ws_run_get(book, 99, &run[0]), WS_NOT_FOUND);
    aid_is(ws_run_plan(book, 99, &plan, aid_why()), WS_NOT_FOUND);
}

/* Method: a closed run turns out to have held the other of two rolls. The histories change places,
 * the batch has seen as much film as before, the ledger is the same, and the old roll is kept. */
static void test_another_roll_was_in_the_tank(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 740);
    struct ws_roll wrong = aid_roll(book, "2026-0151", "Tarn 125");
    struct ws_roll right = aid_roll(book, "2026-0150", "Tarn 125");
    struct ws_stamp stamp = aid_stamp(900000);
    struct ws_roll_line line[4];
    struct ws_run_line run[2];
    int64_t row;
    int n;

    (void)state;
    aid_plan(&plan, &batch, NULL);
    aid_place(&plan, &wrong);
    row = keep(7000);
    aid_hands(book, row, &plan, INT64_MAX - 1);
    aid_ok(ws_run_close(book, row, NULL, &stamp, aid_why()));
    aid_is(ws_run_correct_roll(book, row, right.row, wrong.row, "x", 9, aid_why()), WS_NOT_FOUND);
    aid_is(ws_run_correct_roll(book, row, wrong.row, wrong.row, "x", 9, aid_why()), WS_EXISTS);
    aid_is(ws_run_correct_roll(book, row, wrong.row, 99, "x", 9, aid_why()), WS_NOT_FOUND);
    aid_is(ws_run_correct_roll(book, row, wrong.row, right.row, "", 9, aid_why()), WS_BAD_INPUT);
    aid_ok(ws_run_correct_roll(book, row, wrong.row, right.row, "the sleeve says so", 950000,
                               aid_why()));
    aid_ok(ws_run_of_roll(book, right.row, run, 2, &n));
    assert_int_equal(n, 1);
    assert_string_equal(run[0].rolls, "2026-0150");
    aid_ok(ws_run_reel(book, row, right.row, &n));
    assert_int_equal(n, 1);
    aid_ok(ws_run_reel(book, row, wrong.row, &n));
    assert_int_equal(n, 0);
    aid_ok(ws_run_of_roll(book, wrong.row, run, 2, &n));
    assert_int_equal(n, 0);
    aid_ok(ws_roll_get(book, wrong.row, &wrong));
    assert_false(wrong.developed);
    aid_ok(ws_roll_queue(book, line, 4, &n));
    assert_int_equal(n, 1);
    assert_string_equal(line[0].number, "2026-0151");
    aid_ok(ws_batch_rolls(book, batch.row, line, 4, &n));
    assert_int_equal(n, 1);
    assert_string_equal(line[0].number, "2026-0150");
    ws_assert_near(find_batch("MQB-014").rolls, 1, 0);
    ws_assert_near(find_batch("MQB-014").left_ml, 590, 0);
    assert_int_equal(count("SELECT count(*) FROM correction WHERE what = 'place' AND old ="
                           " '2026-0151' AND new = '2026-0150' AND wall_ms = 950000"
                           " AND reason = 'the sleeve says so'"),
                     1);
}

/* Method: the fixer is asked for the rolls it has seen; a bath used twice in a run counts once, and
 * a corrected format changes the area. */
static void test_what_a_batch_has_seen(void **state)
{
    struct ws_batch batch = aid_batch(book, "MQB-014", 5000);
    struct ws_roll_line line[8];
    struct ws_roll roll[2];
    int n;

    (void)state;
    roll[0] = aid_roll(book, "1", "Tarn 125");
    roll[1] = aid_roll(book, "2", "Halden 400");
    for (int i = 0; i < 3; i++) {
        aid_plan(&plan, &batch, &batch);
        aid_place(&plan, &roll[0]);
        if (i == 2)
            aid_place(&plan, &roll[1]);
        keep(1000 * (i + 1));
    }
    ws_assert_near(find_batch("MQB-014").rolls, 4, 1e-12);
    aid_ok(ws_batch_rolls(book, batch.row, line, 8, &n));
    assert_int_equal(n, 4);
    assert_int_equal(line[0].developed_ms, 3000);
    assert_string_equal(line[0].number, "1");
    assert_string_equal(line[1].number, "2");
    assert_int_equal(line[3].developed_ms, 1000);
    aid_ok(ws_roll_correct(book, roll[1].row, "format", "220", "it was two long", 9, aid_why()));
    ws_assert_near(find_batch("MQB-014").rolls, 5, 1e-12);
}

static struct {
    const char *wanted;
    bool found;
} looked;

static void look_for(void *self, const struct ws_fault *fault)
{
    struct ws_message line;

    (void)self;
    ws_fault_print(fault, &line);
    looked.found = looked.found || strstr(line.text, looked.wanted) != NULL;
}

/* Method: what follows from other rows, and what refers to them, is changed behind the book's back,
 * one thing at a time; the check names what is wrong. */
static void test_what_is_derived_is_checked(void **state)
{
    static const char *const forgery[][2] = {
        { "UPDATE roll SET state = 2", "roll 1: its state" },
        { "UPDATE roll SET verdict = 'thin'", "roll 1: its verdict" },
        { "UPDATE roll SET run = NULL", "roll 1: its latest run" },
        { "UPDATE roll SET listed = 12345", "roll 1: its place in the list" },
        { "DELETE FROM roll_word", "roll 1: its words for the search are missing" },
        { "UPDATE roll_word SET words = 'other words'",
          "roll 1: its words for the search are not" },
        { "DELETE FROM film", "table roll, row 1: refers to a film that is not there" },
        { "DELETE FROM run", "refers to a run that is not there" },
        { "DELETE FROM sqlite_schema WHERE name = 'roll_number'", "the file: is damaged" },
        { "DELETE FROM sqlite_schema WHERE name = 'roll_number'", "index roll_number: is missing" },
        { "UPDATE roll_word_content SET c0 = 'other words'", "their index does not fit" },
    };
    struct ws_roll roll = aid_roll(book, "1", "Tarn 125");

    (void)state;
    aid_plan(&plan, NULL, NULL);
    aid_place(&plan, &roll);
    keep(7000);
    aid_ok(ws_book_check(book, aid_why()));
    ws_book_close(book);
    for (size_t i = 0; i < sizeof forgery / sizeof forgery[0]; i++) {
        char statement[160];
        struct ws_book_seen seen;
        long size;
        unsigned char *bytes = aid_bytes(aid_path("book.db"), &size);

        snprintf(statement, sizeof statement, "PRAGMA writable_schema = ON; %s", forgery[i][0]);
        aid_execute(aid_path("book.db"), statement);
        book = aid_open(aid_path("book.db"), WS_BOOK_READ);
        looked.wanted = forgery[i][1];
        looked.found = false;
        aid_ok(ws_book_faults(book, look_for, NULL, &seen, aid_why()));
        assert_int_not_equal(seen.faults, 0);
        if (!looked.found)
            fail_msg("%s: no fault says \"%s\"", forgery[i][0], forgery[i][1]);
        ws_book_close(book);
        aid_write(aid_path("book.db"), bytes, (size_t)size);
        free(bytes);
    }
    book = aid_open(aid_path("book.db"), WS_BOOK_READ);
}

/* Method: the plan in the run's row is spoiled behind the book's back. */
static void test_a_spoiled_plan(void **state)
{
    int64_t run;

    (void)state;
    aid_plan(&plan, NULL, NULL);
    run = keep(7000);
    ws_book_close(book);
    aid_execute(aid_path("book.db"), "UPDATE run SET plan = '{}'");
    book = aid_open(aid_path("book.db"), WS_BOOK_WRITE);
    aid_is(ws_run_plan(book, run, &plan, aid_why()), WS_DAMAGED);
    aid_says("its plan: id: missing");
    aid_spoiled("run 1: its plan can't be read: id: missing");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(test_keeping),
        TEST(test_keeping_twice),
        TEST(test_too_little_left),
        TEST(test_a_predilution_is_drawn_whole),
        TEST(test_an_unknown_volume),
        TEST(test_plans_refused),
        TEST(test_a_finished_run),
        TEST(test_runs_given_up),
        TEST(test_the_journal),
        TEST(test_an_unknown_entry),
        TEST(test_a_journal_that_cannot_be_followed),
        TEST(test_lists_of_runs),
        TEST(test_another_roll_was_in_the_tank),
        TEST(test_what_a_batch_has_seen),
        TEST(test_what_is_derived_is_checked),
        TEST(test_a_spoiled_plan),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
