/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Watching a run from outside: what is seen is what its own screen has, and nothing is written.
 *
 * Method: a drive on a stepped clock drives a run of its book; a watcher on the same clock looks
 * whenever the test lets it read. */
#include "aid.h"

#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "rig.h"
#include "wetside/drive/watch.h"

struct watching {
    struct rig rig;
    struct ws_watch *watch;
    struct ws_watched seen;
};

static int make(void **state)
{
    struct watching *w = calloc(1, sizeof *w);

    rig_make(&w->rig);
    rig_start(&w->rig, NULL);
    *state = w;
    return 0;
}

static int clear(void **state)
{
    struct watching *w = *state;

    ws_watch_stop(w->watch);
    rig_stop(&w->rig);
    rig_clear(&w->rig);
    free(w);
    return 0;
}

static void begin(struct watching *w, int64_t run)
{
    struct ws_message why = { "" };

    if (ws_watch_start(w->rig.path, &w->rig.clock, run, &w->watch, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* Reads, and takes what is new. */
static bool look(struct watching *w)
{
    ws_watch_settle(w->watch);
    return ws_watch_look(w->watch, &w->seen);
}

static void assert_same(struct watching *w, int at, int tank)
{
    struct ws_frame_tank seen;
    const struct ws_frame_tank *own = &w->rig.frame.tank[tank];
    struct ws_view theirs, ours;

    ws_glimpse_tank(&w->seen.run[at].glimpse, &w->rig.clock, &seen);
    assert_int_equal(seen.at_ms, own->at_ms);
    assert_int_equal(seen.began_wall_ms, own->began_wall_ms);
    assert_int_equal(seen.session.sequence, own->session.sequence);
    ws_session_view(&seen.session, seen.plan, seen.at_ms, &theirs);
    ws_session_view(&own->session, own->plan, own->at_ms, &ours);
    assert_int_equal(theirs.word, ours.word);
    assert_int_equal(theirs.left_ms, ours.left_ms);
    assert_int_equal(theirs.unconfirmed, ours.unconfirmed);
    assert_int_equal(theirs.pour_out_ms, ours.pour_out_ms);
}

/* Method: no run, then one, then two; presses at both; each look shows what the drive's own frame
 * has, and says that there is something new only when there is. At the end the runs are over. */
static void test_sees_what_is_driven(void **state)
{
    struct watching *w = *state;
    struct ws_plan plan;

    begin(w, 0);
    assert_true(look(w));
    assert_true(w->seen.read && !w->seen.lost);
    assert_int_equal(w->seen.runs, 0);
    assert_false(look(w));
    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    assert_true(look(w));
    assert_int_equal(w->seen.runs, 1);
    assert_int_equal(w->seen.run[0].holder.hold, WS_HOLD_HERE);
    assert_same(w, 0, 0);
    rig_hand(&w->rig);
    rig_pass(&w->rig, 90 * SEC);
    rig_look(&w->rig);
    assert_true(look(w));
    assert_same(w, 0, 0);
    rig_pass(&w->rig, 45 * SEC);
    rig_look(&w->rig);
    assert_false(look(w)); /* time alone is nothing new */
    assert_same(w, 0, 0);
    rig_begin(&w->rig, &plan, false);
    rig_hand(&w->rig);
    rig_look(&w->rig);
    assert_true(look(w));
    assert_int_equal(w->seen.runs, 2);
    assert_same(w, 0, 0);
    assert_same(w, 1, 1);
    for (int tank = 0; tank < 2; tank++) {
        rig_stroke(&w->rig, WS_STROKE_CLOSE, tank);
        rig_look(&w->rig);
        assert_true(look(w));
        assert_true(w->seen.run[tank].over);
        assert_true(w->seen.run[tank].glimpse.line.ended_ms > 0);
    }
}

/* Method: of two runs only one is asked for. */
static void test_one_of_two(void **state)
{
    struct watching *w = *state;
    struct ws_plan plan;

    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    rig_begin(&w->rig, &plan, false);
    begin(w, w->rig.frame.tank[1].run);
    assert_true(look(w));
    assert_int_equal(w->seen.runs, 1);
    assert_int_equal(w->seen.run[0].glimpse.line.row, w->rig.frame.tank[1].run);
}

/* Method: the drive ends in mid-run: nobody answers for the run any more, and the numbers go on.
 * Another one takes it up. */
static void test_left_alone(void **state)
{
    struct watching *w = *state;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int64_t run;
    bool ask;
    int tank;

    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    rig_hand(&w->rig);
    rig_look(&w->rig);
    run = w->rig.frame.tank[0].run;
    begin(w, 0);
    assert_true(look(w));
    assert_int_equal(w->seen.run[0].holder.hold, WS_HOLD_HERE);
    rig_stop(&w->rig);
    assert_true(look(w));
    assert_int_equal(w->seen.run[0].holder.hold, WS_HOLD_NONE);
    assert_false(w->seen.run[0].over || w->seen.lost);
    ws_clock_step_to(&w->rig.clock, ws_clock_boot_ns(&w->rig.clock) + 100 * SEC * NS_IN_MS);
    rig_start(&w->rig, NULL);
    assert_int_equal(ws_drive_resume(w->rig.drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(&w->rig);
    assert_true(look(w));
    assert_int_equal(w->seen.run[0].holder.hold, WS_HOLD_HERE);
    assert_same(w, 0, tank);
}

/* Method: the book is moved away and put back while it is watched. */
static void test_book_goes_away(void **state)
{
    struct watching *w = *state;
    struct ws_plan plan;
    char away[128];

    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    rig_stop(&w->rig);
    begin(w, 0);
    assert_true(look(w));
    snprintf(away, sizeof away, "%s.away", w->rig.path);
    assert_int_equal(rename(w->rig.path, away), 0);
    assert_true(look(w));
    assert_true(w->seen.lost);
    assert_non_null(strstr(w->seen.why.text, w->rig.path));
    assert_int_equal(w->seen.runs, 1); /* what was seen is not lost */
    assert_false(look(w));
    assert_int_equal(rename(away, w->rig.path), 0);
    assert_true(look(w));
    assert_false(w->seen.lost);
    rig_start(&w->rig, NULL);
}

/* ---- nothing is written ---- */

struct kept_file {
    char *bytes;
    size_t length;
};

static struct kept_file read_file(const char *path)
{
    struct kept_file file = { NULL, 0 };
    struct stat is;
    int fd = open(path, O_RDONLY);

    if (fd < 0 || fstat(fd, &is) != 0)
        return file;
    file.length = (size_t)is.st_size;
    file.bytes = malloc(file.length + 1);
    assert_non_null(file.bytes);
    assert_int_equal(read(fd, file.bytes, file.length), file.length);
    close(fd);
    return file;
}

static void assert_unchanged(const char *path, const struct kept_file *was)
{
    struct kept_file is = read_file(path);

    assert_int_equal(is.length, was->length);
    assert_true(was->bytes == NULL || memcmp(is.bytes, was->bytes, is.length) == 0);
    free(is.bytes);
}

/* Method: a closed book with an open run, in a folder where nothing can be made, is watched: book
 * and folder are as they were, byte for byte. Then the same while a drive has it open: neither the
 * book nor its log has a byte more, and the drive writes its next event meanwhile. */
static void test_writes_nothing(void **state)
{
    struct watching *w = *state;
    struct kept_file book, log;
    struct ws_plan plan;
    char log_path[128];
    int64_t run;
    bool ask;
    int tank;

    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    rig_hand(&w->rig);
    rig_look(&w->rig);
    run = w->rig.frame.tank[0].run;
    rig_stop(&w->rig);
    snprintf(log_path, sizeof log_path, "%s-wal", w->rig.path);
    assert_int_equal(access(log_path, F_OK), -1);
    book = read_file(w->rig.path);
    assert_non_null(book.bytes);
    assert_int_equal(chmod(w->rig.dir, 0500), 0);
    begin(w, 0);
    assert_true(look(w));
    assert_int_equal(w->seen.runs, 1);
    look(w);
    assert_int_equal(chmod(w->rig.dir, 0700), 0);
    assert_unchanged(w->rig.path, &book);
    assert_int_equal(access(log_path, F_OK), -1);
    free(book.bytes);

    rig_start(&w->rig, NULL);
    assert_int_equal(ws_drive_resume(w->rig.drive, run, -1, &ask, &tank, NULL), WS_OK);
    rig_look(&w->rig);
    book = read_file(w->rig.path);
    log = read_file(log_path);
    assert_true(log.length > 0);
    for (int i = 0; i < 20; i++)
        look(w);
    assert_unchanged(w->rig.path, &book);
    assert_unchanged(log_path, &log);
    free(book.bytes);
    free(log.bytes);
    for (int i = 0; i < 20; i++) {
        rig_pass(&w->rig, 60 * SEC / 20);
        rig_stroke(&w->rig, i % 2 == 0 ? WS_STROKE_AWAY : WS_STROKE_BACK, tank);
        look(w);
        rig_look(&w->rig);
        assert_int_equal(w->rig.frame.tank[tank].kept, WS_KEPT_ALL);
    }
}

/* Method: while a watcher reads as often as it can, a drive ends: the book it leaves is closed,
 * with no log beside it, as without one. (It may find the watcher in the book at that moment, and
 * then leaves the log to the next: so some tries.) */
static void test_holds_up_no_closing(void **state)
{
    struct watching *w = *state;
    struct ws_plan plan;
    char log_path[128];
    bool closed = false;

    plan_one_roll(&plan);
    rig_begin(&w->rig, &plan, false);
    rig_look(&w->rig);
    begin(w, 0);
    look(w);
    snprintf(log_path, sizeof log_path, "%s-wal", w->rig.path);
    for (int i = 0; i < 10 && !closed; i++) {
        rig_stop(&w->rig);
        closed = access(log_path, F_OK) != 0;
        rig_start(&w->rig, NULL);
    }
    assert_true(closed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_sees_what_is_driven, make, clear),
        cmocka_unit_test_setup_teardown(test_one_of_two, make, clear),
        cmocka_unit_test_setup_teardown(test_left_alone, make, clear),
        cmocka_unit_test_setup_teardown(test_book_goes_away, make, clear),
        cmocka_unit_test_setup_teardown(test_writes_nothing, make, clear),
        cmocka_unit_test_setup_teardown(test_holds_up_no_closing, make, clear),
    };

    return cmocka_run_group_tests_name("watcher", tests, NULL, NULL);
}
