/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run taken up again: after the program ended, after a power cut, by a clock that can or can't be
 * trusted. */
#include "aid.h"

#include <sqlite3.h>
#include <stdlib.h>

#include "rig.h"

static int make(void **state)
{
    struct rig *rig = malloc(sizeof *rig);

    rig_make(rig);
    rig_start(rig, NULL);
    *state = rig;
    return 0;
}

static int clear(void **state)
{
    struct rig *rig = *state;

    rig_stop(rig);
    rig_clear(rig);
    free(rig);
    return 0;
}

/* Another boot of the machine, its wall clock `away_ms` after the old one's now. */
static void reboot(struct rig *rig, int64_t away_ms)
{
    struct ws_stamp stamp;

    ws_clock_stamp(&rig->clock, &stamp);
    rig_stop(rig);
    ws_clock_stepped(&rig->clock, 40 * SEC * NS_IN_MS, stamp.wall_ns + away_ms * NS_IN_MS);
    rig->saids = 0;
    memset(&rig->frame, 0, sizeof rig->frame);
    rig_start(rig, NULL);
}

static int resume(struct rig *rig, int64_t run, double minutes_away)
{
    struct ws_message why = { "" };
    bool ask = true;
    int tank = -1;

    if (ws_drive_resume(rig->drive, run, minutes_away, &ask, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_false(ask);
    rig_look(rig);
    return tank;
}

/* Goes on with hands in time up to `ms` on the first bath's clock of tank a (and of b). */
static void in_time_to(struct rig *rig, int tank, int64_t at_ms)
{
    while (rig_at_ms(rig, tank) < at_ms) {
        int64_t step_ms = at_ms - rig_at_ms(rig, tank);

        for (int i = 0; i < rig->frame.tanks; i++) {
            const struct ws_session *session = rig_session(rig, i);
            int64_t next_ms = ws_session_next_ms(session, rig->frame.tank[i].plan);

            if (ws_session_answer_ms(session, rig->frame.tank[i].plan) <= rig_at_ms(rig, i)) {
                rig_pass(rig, 1000 < step_ms ? 1000 : step_ms);
                rig_hand(rig);
                step_ms = 0;
                break;
            }
            if (next_ms != WS_NEVER && next_ms - rig_at_ms(rig, i) < step_ms)
                step_ms = next_ms - rig_at_ms(rig, i);
        }
        if (step_ms > 0)
            rig_pass(rig, step_ms);
    }
}

static bool confirmed(const struct ws_session *session, int bath, int cycle)
{
    return (session->record[bath].was_confirmed[cycle / 64] >> (cycle % 64) & 1) != 0;
}

static bool asked(const struct ws_session *session, int bath, int cycle)
{
    return (session->record[bath].was_asked[cycle / 64] >> (cycle % 64) & 1) != 0;
}

/* Method: two tanks, A 8:00 and B 11:00, B 3:30 after A. At A 5:12 the mains fail; the machine is
 * back after 2:40 with a good clock. A is at 7:52 and B at 4:22; A's cycles at 6:00 and 7:00 and
 * B's at 2:00, 3:00 and 4:00 are not confirmed; A's POUR OUT was due at 7:50 and is asked for now.
 */
static void test_power_cut(void **state)
{
    struct rig *rig = *state;
    struct ws_plan a_plan, b_plan;
    const struct ws_session *a, *b;
    const struct rig_said *out;
    int64_t a_run, b_run;
    int a_tank, b_tank;

    plan_one_roll(&a_plan);
    strcpy(a_plan.tank, "tank A");
    a_plan.bath[0].time_ms = 8 * MIN;
    b_plan = a_plan;
    strcpy(b_plan.tank, "tank B");
    b_plan.bath[0].time_ms = 11 * MIN;
    a_tank = rig_begin(rig, &a_plan, false);
    in_time_to(rig, a_tank, 3 * MIN + 30 * SEC);
    b_tank = rig_begin(rig, &b_plan, false);
    a_run = rig->frame.tank[a_tank].run;
    b_run = rig->frame.tank[b_tank].run;
    /* Run time of A at its clock's 5:12: hands took a second to begin. */
    in_time_to(rig, a_tank, rig_session(rig, a_tank)->span.clock_ms + 5 * MIN + 12 * SEC);
    rig_look(rig);
    assert_true(confirmed(rig_session(rig, a_tank), 0, 5));
    assert_true(confirmed(rig_session(rig, b_tank), 0, 1));
    assert_false(confirmed(rig_session(rig, b_tank), 0, 2));

    reboot(rig, 2 * MIN + 40 * SEC);
    b_tank = resume(rig, b_run, -1);
    a_tank = resume(rig, a_run, -1);
    a = rig_session(rig, a_tank);
    b = rig_session(rig, b_tank);
    assert_true(rig->frame.tank[a_tank].at_ms - a->span.clock_ms == 7 * MIN + 52 * SEC);
    assert_int_equal(a->stage, WS_STAGE_DRAINING);
    for (int cycle = 0; cycle <= 7; cycle++) {
        assert_true(asked(a, 0, cycle));
        assert_int_equal(confirmed(a, 0, cycle), cycle < 6);
    }
    assert_int_equal(b->stage, WS_STAGE_IN_BATH);
    for (int cycle = 2; cycle <= 4; cycle++)
        assert_true(asked(b, 0, cycle) && !confirmed(b, 0, cycle));
    out = rig_find(rig, WS_CUE_POUR_OUT, 0);
    assert_non_null(out);
    assert_int_equal(out->tank, a_tank);
    assert_false(out->cue.late);
    assert_true(out->now_ns - out->due_ns == 2 * SEC * NS_IN_MS);
    for (int i = 0; i < rig->saids; i++)
        if (rig->said[i].cue.kind == WS_CUE_AGITATE && rig->said[i].now_ns != rig->said[i].due_ns)
            assert_int_equal(rig->said[i].cue.late,
                             rig->said[i].cue.until_ms <= rig_at_ms(rig, rig->said[i].tank));
    /* Since A's last press at 5:01. */
    assert_non_null(strstr(rig->frame.notice, "tank A: you were away 2:51"));
    assert_non_null(strstr(rig->frame.notice, "POUR OUT NOW, over +0:02"));
    assert_int_equal(rig->frame.tank[a_tank].kept, WS_KEPT_ALL);
}

/* Method: the program ends and is started again on the same boot: not a millisecond is lost, and
 * nothing is estimated; the new owner's row is journaled. */
static void test_same_boot(void **state)
{
    struct rig *rig = *state;
    struct ws_journal_row row[16];
    struct ws_plan plan;
    int64_t run;
    int tank, n;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    ws_clock_step_to(&rig->clock, ws_clock_boot_ns(&rig->clock) + 1234567);
    rig_hand(rig);
    rig_pass(rig, 100 * SEC);
    run = rig->frame.tank[tank].run;
    rig_stop(rig);
    ws_clock_step_to(&rig->clock, ws_clock_boot_ns(&rig->clock) + 50 * SEC * NS_IN_MS);
    rig_start(rig, NULL);
    tank = resume(rig, run, -1);
    assert_true(rig->frame.tank[tank].at_ms == 150 * SEC + 1);
    assert_false(rig_session(rig, tank)->estimated);
    n = rig_journal(rig, run, row, 16);
    assert_int_equal(n, 3);
    assert_int_equal(row[2].event.kind, WS_EVENT_OWNER);
    assert_true(row[2].epoch == 2);
    assert_true(row[2].event.sequence == 3);
    /* And again: from that row on, a tenth of a millisecond into a whole one. */
    rig_stop(rig);
    ws_clock_step_to(&rig->clock, RIG_BOOT_NS + 200 * SEC * NS_IN_MS + 100000);
    rig_start(rig, NULL);
    tank = resume(rig, run, -1);
    assert_true(rig->frame.tank[tank].at_ms == 200 * SEC);
}

/* Method: a wall clock that went back over another boot can't be trusted: it is asked, and nothing
 * is taken up. Answered, the run goes on from there, marked as estimated. */
static void test_asks(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };
    struct ws_journal_row row[16];
    struct ws_plan plan;
    bool ask = false;
    int64_t run;
    int tank, n;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_go(rig, tank, 80 * SEC);
    rig_hand(rig);
    run = rig->frame.tank[tank].run;
    reboot(rig, -30 * 365 * 24 * 60 * MIN);
    assert_int_equal(ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why), WS_OK);
    assert_true(ask);
    rig_look(rig);
    assert_int_equal(rig->frame.tanks, 0);
    assert_int_equal(rig_journal(rig, run, row, 16), 3);

    tank = resume(rig, run, 2.5);
    assert_true(rig->frame.tank[tank].at_ms == 80 * SEC + 150 * SEC);
    assert_true(rig_session(rig, tank)->estimated);
    assert_non_null(strstr(rig->frame.notice, "(estimated)"));
    n = rig_journal(rig, run, row, 16);
    assert_int_equal(n, 5);
    assert_int_equal(row[3].event.kind, WS_EVENT_TIME_LOST);
    assert_int_equal(row[4].event.kind, WS_EVENT_OWNER);
    assert_true(row[3].event.estimated && row[4].event.estimated);
    /* Later moments run on by this boot's clock. */
    rig_pass(rig, 10 * SEC);
    rig_look(rig);
    assert_true(rig->frame.tank[tank].at_ms == 240 * SEC);
}

/* Method: what can't be taken up is said: no such run, one at the sink already, a closed one. */
static void test_refused(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };
    struct ws_plan plan;
    bool ask = false;
    int64_t run;
    int tank;

    assert_int_equal(ws_drive_resume(rig->drive, 99, -1, &ask, &tank, &why), WS_NOT_FOUND);
    assert_non_null(strstr(why.text, "99"));
    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    run = rig->frame.tank[tank].run;
    assert_int_equal(ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why), WS_EXISTS);
    rig_stroke(rig, WS_STROKE_CLOSE, tank);
    rig_look(rig);
    assert_int_equal(ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why), WS_NOT_FOUND);
    assert_non_null(strstr(why.text, "closed"));
}

struct close_row {
    int64_t run;
    struct ws_stamp stamp;
};

static void write_close_row(struct ws_book *book, void *arg)
{
    struct close_row *close = arg;
    struct ws_journal_row row = {
        .run = close->run,
        .event = { .kind = WS_EVENT_CLOSE, .at_ms = 5 * SEC, .sequence = 2, .bath = -1 },
        .stamp = close->stamp,
        .epoch = 1
    };

    assert_int_equal(ws_run_journal(book, &row, 1, NULL), WS_OK);
}

/* Method: the power went between the CLOSE row and the closing of the run: taking it up closes it,
 * as given up, since its baths were not done. */
static void test_half_closed(void **state)
{
    struct rig *rig = *state;
    struct close_row close;
    struct ws_message why = { "" };
    struct ws_run_line line;
    struct ws_plan plan;
    bool ask = false;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    close.run = rig->frame.tank[tank].run;
    ws_clock_stamp(&rig->clock, &close.stamp);
    ws_drive_book(rig->drive, write_close_row, &close);
    reboot(rig, MIN);
    assert_int_equal(ws_drive_resume(rig->drive, close.run, -1, &ask, &tank, &why), WS_NOT_FOUND);
    rig_line(rig, close.run, &line);
    assert_true(line.ended_ms > 0);
    assert_true(line.given_up);
}

/* Another program's press, written when this one's connection is about to own the run. */
static struct late {
    const char *path;
    struct ws_journal_row row;
    bool armed, written;
} late;

static int write_late(unsigned what, void *self, void *statement, void *text)
{
    struct ws_book *other = NULL;

    (void)what;
    (void)self;
    (void)statement;
    if (!late.armed || strncmp(text, "BEGIN", 5) != 0)
        return 0;
    late.armed = false;
    late.written = ws_book_open(late.path, WS_BOOK_WRITE, &other, NULL) == WS_OK &&
                   ws_run_journal(other, &late.row, 1, NULL) == WS_OK;
    ws_book_close(other);
    return 0;
}

static int watch(sqlite3 *db, const char **fault, const struct sqlite3_api_routines *api)
{
    (void)fault;
    (void)api;
    return sqlite3_trace_v2(db, SQLITE_TRACE_STMT, write_late, NULL);
}

/* Method: the owner before writes a press between the first look at the journal and the taking up.
 * The run goes on from that press, its own rows come after it, and the book takes them. */
static void test_a_late_row_of_the_owner_before(void **state)
{
    struct rig *rig = *state;
    struct ws_journal_row row[8];
    struct ws_plan plan;
    int64_t run;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    run = rig->frame.tank[tank].run;
    late.path = rig->path;
    late.row = (struct ws_journal_row){
        .run = run, .epoch = 1, .event = { .kind = WS_EVENT_HAND, .sequence = 2, .bath = -1 }
    };
    ws_clock_stamp(&rig->clock, &late.row.stamp);
    assert_int_equal(sqlite3_auto_extension((void (*)(void))watch), SQLITE_OK);
    reboot(rig, MIN);
    late.armed = true;
    tank = resume(rig, run, -1);
    sqlite3_reset_auto_extension();
    assert_true(late.written);
    assert_int_not_equal(rig_session(rig, tank)->stage, WS_STAGE_WAITING);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_ALL);
    assert_int_equal(rig_journal(rig, run, row, 8), 3);
    assert_int_equal(row[1].event.kind, WS_EVENT_HAND);
    assert_int_equal(row[2].event.kind, WS_EVENT_OWNER);
}

/* Method: a run whose last bath was out long ago when the program came back closes itself. */
static void test_finished_long_ago(void **state)
{
    struct rig *rig = *state;
    struct ws_run_line line;
    struct ws_plan plan;
    int64_t run;
    int tank;

    plan_short(&plan);
    plan.baths = 1;
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_go(rig, tank, 75 * SEC);
    run = rig->frame.tank[tank].run;
    reboot(rig, 60 * MIN);
    tank = resume(rig, run, -1);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_DRAINING);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, tank)->stage, WS_STAGE_OVER);
    rig_look(rig);
    reboot(rig, 60 * MIN);
    rig_line(rig, run, &line);
    assert_true(line.ended_ms > 0);
    assert_false(line.given_up);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        TEST(test_power_cut),
        TEST(test_same_boot),
        TEST(test_asks),
        TEST(test_refused),
        TEST(test_half_closed),
        TEST(test_finished_long_ago),
        TEST(test_a_late_row_of_the_owner_before),
    };

    return cmocka_run_group_tests_name("resume", tests, NULL, NULL);
}
