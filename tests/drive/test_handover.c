/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One owner at any moment: a run is asked for, handed over, kept when the newcomer goes away, and
 * taken from a process that does not answer.
 *
 * Method: two drives on one book, each on a stepped clock of its own that is stepped alike. They
 * know each other by lock and socket alone, as two processes do. */
#include "aid.h"

#include <signal.h>
#include <sqlite3.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "../../src/drive/inside.h"
#include "disk.h"
#include "rig.h"

struct pair {
    struct rig a, b;
};

static int make(void **state)
{
    struct pair *pair = calloc(1, sizeof *pair);

    rig_make(&pair->a);
    rig_start(&pair->a, NULL);
    *state = pair;
    return 0;
}

static int clear(void **state)
{
    struct pair *pair = *state;

    rig_stop(&pair->a);
    rig_stop(&pair->b);
    rig_clear(&pair->a);
    free(pair);
    return 0;
}

/* The newcomer: the same book, the same moment. */
static void come(struct pair *pair)
{
    struct ws_stamp now;

    ws_clock_stamp(&pair->a.clock, &now);
    memcpy(pair->b.path, pair->a.path, sizeof pair->b.path);
    ws_clock_stepped(&pair->b.clock, now.boot_ns, now.wall_ns);
    pair->b.clock.boot = pair->a.clock.boot;
    rig_start(&pair->b, NULL);
}

/* A run in its developer, the third cycle confirmed. */
static int64_t run_at_a(struct pair *pair)
{
    struct ws_plan plan;

    plan_one_roll(&plan);
    rig_begin(&pair->a, &plan, false);
    rig_hand(&pair->a);
    rig_pass(&pair->a, 22 * SEC);
    for (int i = 0; i < 3; i++) {
        rig_pass(&pair->a, MIN);
        rig_hand(&pair->a);
    }
    rig_look(&pair->a);
    assert_int_equal(pair->a.frame.tank[0].kept, WS_KEPT_ALL);
    return pair->a.frame.tank[0].run;
}

static void take_up_at_b(struct pair *pair, int64_t run)
{
    struct ws_message why = { "" };
    bool ask = true;
    int tank = -1;

    if (ws_drive_resume(pair->b.drive, run, -1, &ask, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_false(ask);
    assert_int_equal(tank, 0);
    rig_look(&pair->b);
}

/* The journal has each number once and in order, and no epoch falls. */
static int assert_gapless(struct rig *rig, int64_t run)
{
    static struct ws_journal_row row[256];
    int n = rig_journal(rig, run, row, 256);

    for (int i = 0; i < n; i++) {
        assert_int_equal(row[i].event.sequence, i + 1);
        assert_true(i == 0 || row[i].epoch >= row[i - 1].epoch);
    }
    return n;
}

static enum ws_hold hold_of(struct rig *rig, int64_t run)
{
    struct ws_holder holder;

    ws_drive_holder(rig->drive, run, &holder);
    return holder.hold;
}

/* ---- handing over ---- */

static void test_handed_over(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair), at_ms = rig_at_ms(&pair->a, 0);
    struct ws_message why = { "" };
    bool ask;
    int tank, said;

    come(pair);
    assert_int_equal(hold_of(&pair->a, run), WS_HOLD_HERE);
    assert_int_equal(ws_drive_resume(pair->b.drive, run, -1, &ask, &tank, &why), WS_BUSY);
    assert_non_null(strstr(why.text, "another wetside drives it"));
    assert_int_equal(ws_drive_fetch(pair->b.drive, run, false, &why), WS_OK);
    take_up_at_b(pair, run);
    assert_int_equal(rig_at_ms(&pair->b, 0), at_ms);
    assert_int_equal(rig_session(&pair->b, 0)->stage, WS_STAGE_IN_BATH);
    /* The one before shows it no more, says where it went, and cues nothing. */
    rig_look(&pair->a);
    assert_null(pair->a.frame.tank[0].plan);
    assert_non_null(strstr(pair->a.frame.notice, "goes on at another wetside"));
    said = pair->a.saids;
    rig_pass(&pair->a, 2 * MIN);
    assert_int_equal(pair->a.saids, said);
    /* And back again. */
    rig_pass(&pair->b, 2 * MIN);
    rig_hand(&pair->b);
    rig_look(&pair->b);
    assert_int_equal(ws_drive_fetch(pair->a.drive, run, false, &why), WS_OK);
    assert_int_equal(ws_drive_resume(pair->a.drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(&pair->a);
    assert_int_equal(rig_at_ms(&pair->a, tank), at_ms + 2 * MIN);
    assert_gapless(&pair->a, run);
}

/* Method: the disk takes nothing while three cycles are confirmed, and works again when the run is
 * asked for: what the owner had in memory is in the book under its own epoch. */
static void test_unwritten_handed_over(void **state)
{
    struct pair *pair = *state;
    static struct ws_journal_row row[64];
    int64_t run = run_at_a(pair);
    struct ws_message why = { "" };
    int n = assert_gapless(&pair->a, run);

    disk_fail_writes(SQLITE_FULL);
    for (int i = 0; i < 3; i++) {
        rig_pass(&pair->a, MIN);
        rig_hand(&pair->a);
    }
    rig_look(&pair->a);
    assert_int_equal(pair->a.frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_writes(0);
    come(pair);
    if (ws_drive_fetch(pair->b.drive, run, false, &why) != WS_OK)
        fail_msg("%s", why.text);
    take_up_at_b(pair, run);
    assert_int_equal(assert_gapless(&pair->b, run), n + 4); /* and the new owner's own */
    rig_journal(&pair->b, run, row, 64);
    assert_int_equal(row[n + 2].event.kind, WS_EVENT_HAND);
    assert_int_equal(row[n + 2].epoch, 1);
    assert_int_equal(row[n + 3].event.kind, WS_EVENT_OWNER);
}

/* Method: the disk fails for both, and there is a press that it did not take: the run stays where
 * it is, with all it has. */
static void test_kept_when_it_cant_be_written(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    struct ws_message why = { "" };

    come(pair);
    disk_fail_writes(SQLITE_FULL);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    assert_int_equal(ws_drive_fetch(pair->b.drive, run, false, &why), WS_DISK_FULL);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    disk_fail_writes(0);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_non_null(pair->a.frame.tank[0].plan);
    assert_int_equal(pair->a.frame.tank[0].kept, WS_KEPT_ALL);
    assert_int_equal(hold_of(&pair->b, run), WS_HOLD_HERE); /* of the same process in this test */
    assert_gapless(&pair->a, run);
}

/* Method: the disk takes nothing: the run is handed over all the same, since nothing waits for it,
 * and the newcomer's epoch waits in its memory with a press. The disk works again, and the run is
 * asked back before the newcomer has tried again: the press is in the book, under that epoch. */
static void test_epoch_handed_over(void **state)
{
    struct pair *pair = *state;
    static struct ws_journal_row row[64];
    int64_t run = run_at_a(pair);
    struct ws_message why = { "" };
    bool ask;
    int tank, n;

    come(pair);
    disk_fail_writes(SQLITE_FULL);
    assert_int_equal(ws_drive_fetch(pair->b.drive, run, false, &why), WS_OK);
    take_up_at_b(pair, run);
    rig_pass(&pair->b, MIN);
    rig_hand(&pair->b);
    rig_look(&pair->b);
    assert_int_equal(pair->b.frame.tank[0].kept, WS_KEPT_FAILING);
    disk_fail_writes(0);
    if (ws_drive_fetch(pair->a.drive, run, false, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_int_equal(ws_drive_resume(pair->a.drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(&pair->a);
    n = assert_gapless(&pair->a, run);
    rig_journal(&pair->a, run, row, 64);
    assert_int_equal(row[n - 3].event.kind, WS_EVENT_OWNER);
    assert_int_equal(row[n - 2].event.kind, WS_EVENT_HAND);
    assert_int_equal(row[n - 2].epoch, 2);
    assert_int_equal(row[n - 1].epoch, 3);
}

/* ---- a newcomer that goes away ---- */

/* Method: who asks hangs up before it says that it has the run; and one sends what is no word. The
 * run goes on: the next cycle is called and confirmed. */
static void test_newcomer_goes_away(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    int cycles = pair->a.saids, n = assert_gapless(&pair->a, run), fd;
    struct ws_door_word word;
    size_t length;
    pid_t pid;

    for (int round = 0; round < 3; round++) {
        assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
        assert_int_equal(pid, getpid());
        ws_door_word(&word, WS_DOOR_YIELD, run);
        if (round == 1)
            word.version++;
        if (round == 2)
            word.run++;
        assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
        assert_int_equal(ws_line_receive(fd, &word, sizeof word, &length, 3000), WS_OK);
        assert_true(ws_door_understands(&word, length));
        assert_int_equal(word.kind, round == 0 ? WS_DOOR_YIELD : WS_DOOR_REFUSE);
        close(fd);
    }
    assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
    assert_int_equal(ws_line_send(fd, "?", 1, 1000), WS_OK);
    assert_int_equal(ws_line_receive(fd, &word, sizeof word, &length, 3000), WS_OK);
    assert_int_equal(word.kind, WS_DOOR_REFUSE);
    close(fd);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_true(pair->a.saids > cycles);
    assert_int_equal(assert_gapless(&pair->a, run), n + 1);
}

/* Method: who asks says that it has the run and hangs up at once, as one does whose patience was at
 * its end while the owner was stopped: both words are there when the owner looks. It keeps the run,
 * and what it writes then is taken. */
static void test_newcomer_gave_up(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    int n = assert_gapless(&pair->a, run), fd;
    struct ws_door_word word;
    pid_t pid;

    /* Under this lock the door answers nobody: as if the process were stopped. */
    pthread_mutex_lock(&pair->a.drive->seating);
    assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
    ws_door_word(&word, WS_DOOR_YIELD, run);
    assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
    ws_door_word(&word, WS_DOOR_TAKEN, run);
    assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
    close(fd);
    pthread_mutex_unlock(&pair->a.drive->seating);
    /* Whoever comes after it is answered after it. */
    assert_int_equal(hold_of(&pair->a, run), WS_HOLD_HERE);
    assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
    ws_door_word(&word, WS_DOOR_WHO, run);
    assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
    assert_int_equal(ws_line_receive(fd, &word, sizeof word, &(size_t){ 0 }, 3000), WS_OK);
    assert_int_equal(word.kind, WS_DOOR_WHO);
    close(fd);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_non_null(pair->a.frame.tank[0].plan);
    assert_int_equal(pair->a.frame.tank[0].kept, WS_KEPT_ALL);
    assert_int_equal(assert_gapless(&pair->a, run), n + 1);
}

/* Method: a run is fetched, and the person then thinks better of it. It is asked for again from
 * there, which costs nothing; then from where it was, and goes back at once. */
static void test_fetched_and_not_used(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    struct ws_message why = { "" };
    bool ask;
    int tank;

    come(pair);
    for (int i = 0; i < 2; i++)
        assert_int_equal(ws_drive_fetch(pair->b.drive, run, i == 1, &why), WS_OK);
    if (ws_drive_fetch(pair->a.drive, run, false, &why) != WS_OK)
        fail_msg("%s", why.text);
    assert_int_equal(ws_drive_resume(pair->b.drive, run, -1, &ask, &tank, &why), WS_BUSY);
    assert_int_equal(ws_drive_resume(pair->a.drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(&pair->a);
    assert_non_null(pair->a.frame.tank[tank].plan);
    /* And one that can't be taken up after all is let go. */
    assert_int_equal(ws_drive_fetch(pair->b.drive, run + 1, false, &why), WS_OK);
    assert_int_equal(hold_of(&pair->a, run + 1), WS_HOLD_HERE);
    assert_int_equal(ws_drive_resume(pair->b.drive, run + 1, -1, &ask, &tank, &why), WS_NOT_FOUND);
    assert_int_equal(hold_of(&pair->a, run + 1), WS_HOLD_NONE);
    assert_gapless(&pair->a, run);
}

/* ---- a lock that was taken away ---- */

/* Method: somebody removes the lock file, so that a newcomer finds the run free. The owner before
 * learns of it by its next press, which the book refuses; it leaves the run to the newcomer, whose
 * lock stays, and can have it back. */
static void test_lock_removed(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    int n = assert_gapless(&pair->a, run), tank;
    struct ws_message why = { "" };
    struct ws_owner *other;
    char lock[160];
    bool ask;

    snprintf(lock, sizeof lock, "%s-run-%lld.lock", pair->a.path, (long long)run);
    assert_int_equal(unlink(lock), 0);
    come(pair);
    assert_int_equal(ws_drive_fetch(pair->b.drive, run, false, &why), WS_OK);
    take_up_at_b(pair, run);
    rig_pass(&pair->a, MIN);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_null(pair->a.frame.tank[0].plan);
    assert_non_null(strstr(pair->a.frame.notice, "another wetside has taken the run up"));
    assert_int_equal(assert_gapless(&pair->b, run), n + 1);
    /* It is driven there still, and can be asked for from here. */
    assert_int_equal(ws_drive_resume(pair->a.drive, run, -1, &ask, &tank, &why), WS_BUSY);
    assert_int_equal(ws_owner_take(pair->a.path, run, &other, &why), WS_BUSY);
    assert_int_equal(ws_drive_fetch(pair->a.drive, run, false, &why), WS_OK);
    assert_int_equal(ws_drive_resume(pair->a.drive, run, -1, &ask, &tank, &why), WS_OK);
    rig_look(&pair->a);
    assert_int_equal(pair->a.frame.tank[tank].kept, WS_KEPT_ALL);
    assert_int_equal(assert_gapless(&pair->a, run), n + 2);
}

/* Method: who asks has the owner's answer and says nothing more. What is pressed meanwhile is not
 * taken, and that is said; when it has hung up the run takes presses again. */
static void test_pressed_while_handed(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    int n = assert_gapless(&pair->a, run), fd;
    struct ws_door_word word;
    size_t length;
    pid_t pid;

    assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
    ws_door_word(&word, WS_DOOR_YIELD, run);
    assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
    assert_int_equal(ws_line_receive(fd, &word, sizeof word, &length, 3000), WS_OK);
    assert_int_equal(word.kind, WS_DOOR_YIELD);
    ws_clock_step_to(&pair->a.clock, ws_clock_boot_ns(&pair->a.clock) + MIN * NS_IN_MS);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_non_null(strstr(pair->a.frame.notice, "another wetside is just taking the run over"));
    assert_int_equal(assert_gapless(&pair->a, run), n);
    close(fd);
    /* The door has done with it when it answers the next. */
    assert_int_equal(ws_owner_call(pair->a.path, run, &fd, &pid, NULL), WS_OK);
    ws_door_word(&word, WS_DOOR_WHO, run);
    assert_int_equal(ws_line_send(fd, &word, sizeof word, 1000), WS_OK);
    assert_int_equal(ws_line_receive(fd, &word, sizeof word, &length, 5000), WS_OK);
    close(fd);
    rig_pass(&pair->a, SEC);
    rig_hand(&pair->a);
    rig_look(&pair->a);
    assert_int_equal(assert_gapless(&pair->a, run), n + 1);
}

/* ---- an owner that does not answer ---- */

/* Method: a process that holds the run is stopped. The newcomer is told so after three seconds, and
 * only what it is allowed to end it ends. */
static void test_stopped_owner(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    struct ws_holder holder;
    struct ws_message why = { "" };
    int ends[2], status;
    char path[96];
    pid_t child;

    memcpy(path, pair->a.path, sizeof path);
    rig_stop(&pair->a);
    assert_int_equal(pipe(ends), 0);
    child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        struct ws_owner *owner;

        if (ws_owner_take(path, run, &owner, NULL) != WS_OK || write(ends[1], "", 1) != 1)
            _exit(1);
        raise(SIGSTOP);
        _exit(2);
    }
    assert_int_equal(read(ends[0], &status, 1), 1);
    assert_int_equal(waitpid(child, &status, WUNTRACED), child);
    assert_true(WIFSTOPPED(status));
    rig_start(&pair->a, NULL);
    ws_drive_holder(pair->a.drive, run, &holder);
    assert_int_equal(holder.hold, WS_HOLD_DUMB);
    assert_int_equal(holder.pid, child);
    assert_int_equal(ws_drive_fetch(pair->a.drive, run, false, &why), WS_BUSY);
    assert_non_null(strstr(why.text, "does not answer"));
    assert_int_equal(ws_drive_fetch(pair->a.drive, run, true, &why), WS_OK);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    close(ends[0]);
    close(ends[1]);
    assert_int_equal(hold_of(&pair->a, run), WS_HOLD_HERE);
}

/* ---- looking without taking ---- */

static void test_glimpse(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair), at_ms = rig_at_ms(&pair->a, 0);
    struct ws_glimpse *glimpse = calloc(1, sizeof *glimpse);
    struct ws_view seen, own;
    struct ws_frame_tank tank;
    struct ws_message why = { "" };

    assert_non_null(glimpse);
    rig_pass(&pair->a, 2 * MIN);
    come(pair);
    assert_int_equal(ws_drive_glimpse(pair->b.drive, run, -1, glimpse, &why), WS_OK);
    assert_true(glimpse->same_boot && !glimpse->ask && !glimpse->estimated);
    assert_int_equal(glimpse->last_ms, at_ms);
    ws_glimpse_tank(glimpse, &pair->b.clock, &tank);
    assert_int_equal(tank.at_ms, at_ms + 2 * MIN);
    /* As the owner's own screen has it. */
    rig_look(&pair->a);
    ws_session_view(&tank.session, tank.plan, tank.at_ms, &seen);
    ws_session_view(rig_session(&pair->a, 0), pair->a.frame.tank[0].plan, tank.at_ms, &own);
    assert_int_equal(seen.word, own.word);
    assert_int_equal(seen.left_ms, own.left_ms);
    assert_int_equal(seen.pour_out_ms, own.pour_out_ms);
    assert_int_equal(tank.began_wall_ms, pair->a.frame.tank[0].began_wall_ms);
    assert_int_equal(ws_drive_glimpse(pair->b.drive, run + 1, -1, glimpse, &why), WS_NOT_FOUND);
    free(glimpse);
}

/* ---- without a terminal ---- */

struct lone {
    struct ws_drive *drive;
    int signal;
};

static void *be_alone(void *self)
{
    struct lone *lone = self;

    ws_drive_alone(lone->drive, &lone->signal);
    return NULL;
}

/* Method: the developer is over and nobody pours; the terminal goes. What stands is repeated each
 * minute, no longer each two seconds; a newcomer sees that it is alone and takes it over, and what
 * drove it alone ends. */
static void test_alone(void **state)
{
    struct pair *pair = *state;
    int64_t run = run_at_a(pair);
    struct lone lone = { .drive = pair->a.drive, .signal = -1 };
    struct ws_message why = { "" };
    int64_t slowest_ns = 0, quickest_ns = INT64_MAX;
    struct ws_ringer *ringer;
    pthread_t thread;

    rig_pass(&pair->a, 7 * MIN);
    assert_true(ws_drive_has_run(pair->a.drive));
    assert_int_equal(pthread_create(&thread, NULL, be_alone, &lone), 0);
    come(pair);
    while (!atomic_load(&pair->a.drive->is_alone))
        sched_yield();
    ws_drive_settle(pair->a.drive, WS_SETTLE_DRIVE);
    ringer = pair->a.drive->ringer;
    pthread_mutex_lock(&ringer->lock);
    for (int i = 0; i < ringer->handed[0].items; i++) {
        int64_t again_ns = ringer->handed[0].item[i].again_ns;

        slowest_ns = again_ns > slowest_ns ? again_ns : slowest_ns;
        quickest_ns = again_ns > 0 && again_ns < quickest_ns ? again_ns : quickest_ns;
    }
    pthread_mutex_unlock(&ringer->lock);
    assert_int_equal(slowest_ns, MIN * NS_IN_MS);
    assert_int_equal(quickest_ns, MIN * NS_IN_MS);
    assert_int_equal(ws_drive_fetch(pair->b.drive, run, false, &why), WS_OK);
    take_up_at_b(pair, run);
    assert_int_equal(pthread_join(thread, NULL), 0);
    assert_int_equal(lone.signal, 0);
    assert_false(ws_drive_has_run(pair->a.drive));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_handed_over, make, clear),
        cmocka_unit_test_setup_teardown(test_unwritten_handed_over, make, clear),
        cmocka_unit_test_setup_teardown(test_kept_when_it_cant_be_written, make, clear),
        cmocka_unit_test_setup_teardown(test_epoch_handed_over, make, clear),
        cmocka_unit_test_setup_teardown(test_newcomer_goes_away, make, clear),
        cmocka_unit_test_setup_teardown(test_newcomer_gave_up, make, clear),
        cmocka_unit_test_setup_teardown(test_fetched_and_not_used, make, clear),
        cmocka_unit_test_setup_teardown(test_pressed_while_handed, make, clear),
        cmocka_unit_test_setup_teardown(test_lock_removed, make, clear),
        cmocka_unit_test_setup_teardown(test_stopped_owner, make, clear),
        cmocka_unit_test_setup_teardown(test_glimpse, make, clear),
        cmocka_unit_test_setup_teardown(test_alone, make, clear),
    };

    disk_install();
    return cmocka_run_group_tests_name("handover", tests, NULL, NULL);
}
