/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A book that can't be written for a while, or for good: no event is lost meanwhile, and it is said
 * plainly. */
#include "aid.h"

#include <poll.h>
#include <sched.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <unistd.h>

#include "../../src/drive/keeper.h"
#include "disk.h"
#include "rig.h"

static int make(void **state)
{
    struct rig *rig = malloc(sizeof *rig);
    struct ws_plan plan;

    disk_install();
    rig_make(rig);
    rig_start(rig, NULL);
    plan_one_roll(&plan);
    assert_int_equal(rig_begin(rig, &plan, false), 0);
    rig_look(rig);
    *state = rig;
    return 0;
}

static int clear(void **state)
{
    struct rig *rig = *state;

    disk_fail_writes(0);
    disk_fail_syncs(0);
    rig_stop(rig);
    rig_clear(rig);
    free(rig);
    return 0;
}

static void do_nothing(struct ws_book *book, void *arg)
{
    (void)book;
    (void)arg;
}

static void press_cycles(struct rig *rig, int presses)
{
    for (int i = 0; i < presses; i++) {
        rig_pass(rig, MIN);
        rig_hand(rig);
    }
}

/* The kinds and numbers of the journal: BEGIN, then presses, each once. */
static void assert_journal(struct rig *rig, int rows)
{
    struct ws_journal_row row[32];

    assert_int_equal(rig_journal(rig, rig->frame.tank[0].run, row, 32), rows);
    for (int i = 0; i < rows; i++) {
        assert_int_equal(row[i].event.sequence, i + 1);
        assert_int_equal(row[i].event.kind, i == 0 ? WS_EVENT_BEGIN : WS_EVENT_HAND);
    }
}

/* Method: the disk is full from the third press on. Frame and notice say so, with how many wait;
 * presses go on counting. When there is room again all rows are there once, and nothing is said. */
static void test_disk_full(void **state)
{
    struct rig *rig = *state;

    rig_hand(rig);
    press_cycles(rig, 1);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    disk_fail_writes(SQLITE_FULL);
    press_cycles(rig, 1);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    assert_non_null(strstr(rig->frame.notice, "NOT KEPT YET: 1 event waits"));
    press_cycles(rig, 2);
    rig_look(rig);
    assert_non_null(strstr(rig->frame.notice, "NOT KEPT YET: 3 events wait"));
    assert_int_equal(rig_session(rig, 0)->record[0].confirmed, 4);
    disk_fail_writes(0);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    assert_string_equal(rig->frame.notice, "");
    assert_journal(rig, 6);
}

/* Method: a COMMIT whose sync fails may have written or not. The retry writes each row once. */
static void test_unknown_commit(void **state)
{
    struct rig *rig = *state;

    rig_hand(rig);
    disk_fail_syncs(SQLITE_IOERR_FSYNC);
    press_cycles(rig, 3);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_syncs(0);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    assert_journal(rig, 5);
}

/* Method: nobody asks the book for anything: it is tried again by itself, and the terminal is told
 * by a frame. */
static void test_retries_by_itself(void **state)
{
    struct rig *rig = *state;
    struct pollfd fd = { ws_drive_screen_fd(rig->drive), POLLIN, 0 };

    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_writes(0);
    while (rig->frame.tank[0].kept != WS_KEPT_ALL) {
        assert_int_equal(poll(&fd, 1, 60000), 1);
        ws_drive_seen(rig->drive);
        ws_drive_frame(rig->drive, &rig->frame);
    }
    assert_journal(rig, 2);
}

/* Method: rows that could not be written are written when the program ends, if the disk lets it. */
static void test_written_at_the_end(void **state)
{
    struct rig *rig = *state;

    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    press_cycles(rig, 2);
    rig_look(rig);
    disk_fail_writes(0);
    rig_stop(rig);
    rig_start(rig, NULL);
    assert_journal(rig, 4);
}

/* Method: the disk fails twice more when the program ends, then lets it: the rows are there. */
static void test_tried_again_at_the_end(void **state)
{
    struct rig *rig = *state;

    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_next_writes(SQLITE_FULL, 2);
    rig_stop(rig);
    rig_start(rig, NULL);
    assert_journal(rig, 2);
}

/* Method: the disk stays full to the end. The end says how many events it did not keep, and why;
 * after a disk with room it says nothing. */
static void test_not_kept_at_the_end(void **state)
{
    struct rig *rig = *state;
    struct ws_message why = { "" };

    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    press_cycles(rig, 2);
    rig_look(rig);
    assert_int_equal(ws_drive_stop(rig->drive, &why), WS_IO);
    disk_fail_writes(0);
    rig_start(rig, NULL);
    assert_memory_equal(why.text, "3 events NOT KEPT: ", 19);
    assert_non_null(strstr(why.text, "room"));
    why.text[0] = '\0';
    assert_int_equal(ws_drive_stop(rig->drive, &why), WS_OK);
    assert_string_equal(why.text, "");
    rig_start(rig, NULL);
}

/* Method: another program takes the run over without asking. What this one adds is refused for
 * good: it learns by that, says so, and its cues end; what was refused is not counted as kept. */
static void test_other_owner(void **state)
{
    struct rig *rig = *state;
    struct ws_book *other = NULL;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int64_t epoch = 0;
    int said;

    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(ws_book_open(rig->path, WS_BOOK_WRITE, &other, NULL), WS_OK);
    assert_int_equal(ws_run_own(other, rig->frame.tank[0].run, &epoch, NULL), WS_OK);
    ws_book_close(other);
    assert_true(epoch == 2);
    press_cycles(rig, 1);
    rig_look(rig);
    rig_look(rig);
    assert_null(rig->frame.tank[0].plan);
    assert_non_null(strstr(rig->frame.notice, "another wetside has taken the run up"));
    assert_journal(rig, 2);
    said = rig->saids;
    rig_pass(rig, 3 * MIN);
    assert_int_equal(rig->saids, said);
    /* What the book will never take holds no place for ever. */
    plan_short(&plan);
    for (int i = 0; i < WS_TANKS; i++)
        rig_begin(rig, &plan, true);
    /* Nor is it forgotten: the press. */
    assert_int_equal(ws_drive_stop(rig->drive, &why), WS_IO);
    assert_non_null(strstr(why.text, "1 event NOT KEPT"));
    rig_start(rig, NULL);
}

/* Method: nothing is kept until the ring is full of rows, as by hours of pressing. The run goes on,
 * and it is said that it must be written down; what fitted is kept in the end. */
static void test_ring_full(void **state)
{
    struct rig *rig = *state;
    struct ws_stroke stroke = { .tank = 0 };
    struct ws_journal_row *row;

    disk_fail_writes(SQLITE_FULL);
    rig_hand(rig);
    rig_go(rig, 0, 30 * SEC);
    stroke.boot_ns = ws_clock_boot_ns(&rig->clock);
    for (int i = 0; i < WS_JOURNAL_ROOM - 1; i++) {
        stroke.kind = i % 2 == 0 ? WS_STROKE_AWAY : WS_STROKE_BACK;
        while (!ws_drive_post(rig->drive, &stroke))
            ws_drive_settle(rig->drive, WS_SETTLE_DRIVE);
    }
    rig_look_at_drive(rig);
    assert_null(strstr(rig->frame.notice, "write the run down"));
    rig_stroke(rig, WS_STROKE_BACK, 0);
    assert_non_null(strstr(rig->frame.notice, "write the run down"));
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    rig_pass(rig, SEC);
    rig_hand(rig);
    assert_int_equal(rig_session(rig, 0)->record[0].confirmed, 1);
    disk_fail_writes(0);
    rig_look(rig);
    row = calloc(WS_JOURNAL_ROOM + 8, sizeof *row);
    assert_int_equal(rig_journal(rig, rig->frame.tank[0].run, row, WS_JOURNAL_ROOM + 8),
                     WS_JOURNAL_ROOM + 1);
    free(row);
    /* A journal with a hole in it is never called kept. */
    rig_pass(rig, MIN);
    rig_hand(rig);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    assert_non_null(strstr(rig->frame.notice, "write the run down"));
}

/* Method: a run that finishes while the disk is full is closed once it can be. */
static void test_close_waits(void **state)
{
    struct rig *rig = *state;
    struct ws_run_line line;

    disk_fail_writes(SQLITE_FULL);
    rig_stroke(rig, WS_STROKE_CLOSE, 0);
    rig_look(rig);
    assert_true(rig_session(rig, 0)->closed);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_writes(0);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[0].kept, WS_KEPT_ALL);
    rig_line(rig, rig->frame.tank[0].run, &line);
    assert_true(line.given_up);
}

/* Method: a tank's ring is given to the next run while the disk holds the commit of the run
 * before. What that commit comes to says nothing of the next run: none of its rows wait, none is
 * acknowledged but what it was begun with, and its first row is written. */
static void test_handed_on_in_flight(void **state)
{
    struct rig *rig = *state;
    struct ws_keeper *keeper = calloc(1, sizeof *keeper);
    struct ws_event away = { .kind = WS_EVENT_AWAY, .sequence = 2, .bath = -1 };
    struct ws_journal_row row[8];
    struct ws_keeper_view view;
    struct ws_stamp stamp;
    struct ws_plan plan;
    struct ws_wait wake;
    int64_t first, second;

    plan_short(&plan);
    assert_int_equal(rig_begin(rig, &plan, false), 1);
    rig_look(rig);
    first = rig->frame.tank[0].run;
    second = rig->frame.tank[1].run;
    ws_clock_stamp(&rig->clock, &stamp);
    assert_int_equal(ws_wait_open(&wake, &rig->clock, NULL), WS_OK);
    assert_int_equal(ws_keeper_start(keeper, rig->path, WS_BOOK_WRITE, &wake, NULL), WS_OK);
    assert_int_equal(ws_keeper_opened(keeper, NULL), WS_OK);
    ws_keeper_assign(keeper, 0, first, 1, true, 1);
    disk_hold();
    assert_true(ws_keeper_put(keeper, 0, &away, &stamp));
    while (disk_waiting() == 0)
        sched_yield();
    ws_keeper_assign(keeper, 0, second, 1, true, 1);
    disk_release();
    ws_keeper_do(keeper, do_nothing, NULL);
    ws_keeper_look(keeper, 0, &view);
    assert_int_equal(view.waiting, 0);
    assert_int_equal(view.acked, 1);
    assert_true(ws_keeper_put(keeper, 0, &away, &stamp));
    ws_keeper_do(keeper, do_nothing, NULL);
    ws_keeper_look(keeper, 0, &view);
    assert_int_equal(view.waiting, 0);
    assert_int_equal(view.acked, 2);
    assert_int_equal(ws_keeper_stop(keeper, NULL), WS_OK);
    ws_wait_close(&wake);
    free(keeper);
    assert_int_equal(rig_journal(rig, first, row, 8), 2);
    assert_int_equal(rig_journal(rig, second, row, 8), 2);
}

/* Method: the disk is full when a run is taken up. It goes on all the same, with its own cues and
 * presses, and says what waits; with room again the book learns of the owner and of all it did. */
static void test_taken_up_on_a_full_disk(void **state)
{
    struct rig *rig = *state;
    static struct ws_journal_row row[64];
    struct ws_message why = { "" };
    int64_t run = rig->frame.tank[0].run;
    bool ask;
    int tank, n;

    rig_hand(rig);
    press_cycles(rig, 2);
    rig_look(rig);
    n = rig_journal(rig, run, row, 64);
    rig_stop(rig);
    rig_start(rig, NULL);
    disk_fail_writes(SQLITE_FULL);
    assert_int_equal(ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_FAILING);
    press_cycles(rig, 1);
    assert_int_equal(rig_journal(rig, run, row, 64), n);
    disk_fail_writes(0);
    press_cycles(rig, 1);
    rig_look(rig);
    assert_int_equal(rig->frame.tank[tank].kept, WS_KEPT_ALL);
    assert_int_equal(rig_journal(rig, run, row, 64), n + 3);
    for (int i = 0; i < n + 3; i++) {
        assert_int_equal(row[i].event.sequence, i + 1);
        assert_int_equal(row[i].epoch, i < n ? 1 : 2);
    }
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        TEST(test_disk_full),
        TEST(test_unknown_commit),
        TEST(test_retries_by_itself),
        TEST(test_tried_again_at_the_end),
        TEST(test_written_at_the_end),
        TEST(test_other_owner),
        TEST(test_close_waits),
        TEST(test_ring_full),
        TEST(test_handed_on_in_flight),
        TEST(test_not_kept_at_the_end),
        TEST(test_taken_up_on_a_full_disk),
    };

    return cmocka_run_group_tests_name("failing", tests, NULL, NULL);
}
