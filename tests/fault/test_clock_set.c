/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Clocks that are set, jump, go on through sleep or begin anew, in the middle of a run.
 *
 * A drive on a stepped clock of which the test sets the boot clock and the wall clock apart. Where
 * a run is left, its process is killed (SIGKILL) and the next takes it up at the moment the case
 * says. What must come out is reckoned by the test from how long things took. */
#include <signal.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "../book/book_aid.h"
#include "../drive/rig.h"
#include "torture.h"

#define HOUR (60 * MIN)

/* Moments of the calendar, UTC, in ms since 1970. */
#define NEW_YEAR_2027 INT64_C(1798761600000) /* 2027-01-01 00:00 */
#define SUMMER_2026   INT64_C(1774746000000) /* 2026-03-29 01:00: 2:00 becomes 3:00 in Berlin */
#define WINTER_2026   INT64_C(1792890000000) /* 2026-10-25 01:00: 3:00 becomes 2:00 */
#define LEAP_2028     INT64_C(1835395200000) /* 2028-02-29 00:00 */
#define SOME_DAY      RIG_WALL_MS

static struct rig *rig;
static int cases;

/* ---- the rig, in memory that a child shares ---- */

static int make(void **state)
{
    (void)state;
    rig = mmap(NULL, sizeof *rig, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (rig == MAP_FAILED)
        return -1;
    rig_make(rig);
    return 0;
}

static int clear(void **state)
{
    char command[128];
    int failed;

    (void)state;
    rig_stop(rig);
    snprintf(command, sizeof command, "rm -rf '%s'", rig->dir);
    failed = system(command);
    munmap(rig, sizeof *rig);
    return failed;
}

static void set_wall(int64_t by_ms)
{
    rig_look(rig); /* every thread has done with the clock for now */
    rig->clock.wall_origin_ns += by_ms * NS_IN_MS;
}

/* A clock that shows that moment by the wall, in a boot of its own. */
static void boot_at(int64_t wall_ms)
{
    ws_clock_stepped(&rig->clock, RIG_BOOT_NS, wall_ms * NS_IN_MS);
}

/* Another boot of the machine, without a word to the wall clock. */
static void reboot(void)
{
    struct ws_stamp now;

    ws_clock_stamp(&rig->clock, &now);
    ws_clock_stepped(&rig->clock, 40 * SEC * NS_IN_MS, now.wall_ns);
}

static void pass_while_dead(int64_t ms)
{
    ws_clock_step_to(&rig->clock, ws_clock_boot_ns(&rig->clock) + ms * NS_IN_MS);
}

/* ---- a run that is left and taken up again ---- */

struct left {
    const char *what;
    int64_t at_wall_ms; /* about when it is left */
    const char *zone;   /* null: UTC */
    int64_t set_ms;     /* the wall clock is set by so much in mid-run */
    bool press_after;   /* and a press is journaled after that */
    int64_t away_ms;    /* really */
    bool reboots;
    int64_t away_set_ms; /* the wall clock is set by so much while it is away */
    bool asks;           /* must ask how long it was */
    int64_t wrong_ms;    /* what the time may be off, since nobody can know better */
};

static const struct left lefts[] = {
    /* The same boot: the wall clock is of no consequence. */
    { "left for five minutes", SOME_DAY, NULL, 0, true, 5 * MIN, false, 0, false, 0 },
    { "set back an hour in mid-run", SOME_DAY, NULL, -HOUR, true, 5 * MIN, false, 0, false, 0 },
    { "set forward an hour in mid-run", SOME_DAY, NULL, HOUR, true, 5 * MIN, false, 0, false, 0 },
    { "set back, no press after it", SOME_DAY, NULL, -HOUR, false, 5 * MIN, false, 0, false, 0 },
    { "set forward, no press after it", SOME_DAY, NULL, HOUR, false, 5 * MIN, false, 0, false, 0 },
    { "set back while away", SOME_DAY, NULL, 0, true, 5 * MIN, false, -HOUR, false, 0 },
    { "set forward while away", SOME_DAY, NULL, 0, true, 5 * MIN, false, HOUR, false, 0 },
    { "set to 1970 in mid-run", SOME_DAY, NULL, -SOME_DAY, true, 5 * MIN, false, 0, false, 0 },
    { "asleep for forty minutes", SOME_DAY, NULL, 0, true, 40 * MIN, false, 0, false, 0 },
    { "asleep for a day", SOME_DAY, NULL, 0, true, 24 * HOUR, false, 0, false, 0 },
    { "over new year", NEW_YEAR_2027, NULL, 0, true, 5 * MIN, false, 0, false, 0 },
    { "summer time begins", SUMMER_2026, "Europe/Berlin", 0, true, 5 * MIN, false, 0, false, 0 },
    { "summer time ends", WINTER_2026, "Europe/Berlin", 0, true, 5 * MIN, false, 0, false, 0 },
    { "into a leap day", LEAP_2028, NULL, 0, true, 5 * MIN, false, 0, false, 0 },
    /* Another boot: the wall clock is all there is. */
    { "power cut", SOME_DAY, NULL, 0, true, 5 * MIN, true, 0, false, 0 },
    { "set back, power cut", SOME_DAY, NULL, -HOUR, true, 5 * MIN, true, 0, false, 0 },
    { "set forward, power cut", SOME_DAY, NULL, HOUR, true, 5 * MIN, true, 0, false, 0 },
    { "power cut over new year", NEW_YEAR_2027, NULL, 0, true, 5 * MIN, true, 0, false, 0 },
    { "power cut as summer begins", SUMMER_2026, "Europe/Berlin", 0, true, 5 * MIN, true, 0, false,
      0 },
    { "power cut as summer ends", WINTER_2026, "Europe/Berlin", 0, true, 5 * MIN, true, 0, false,
      0 },
    { "power cut into a leap day", LEAP_2028, NULL, 0, true, 5 * MIN, true, 0, false, 0 },
    { "power cut of half a day less a little", SOME_DAY, NULL, 0, true, 12 * HOUR - MIN, true, 0,
      false, 0 },
    /* What can't be true is asked; what might be is believed, and marked as estimated. */
    { "power cut of more than half a day", SOME_DAY, NULL, 0, true, 12 * HOUR + MIN, true, 0, true,
      0 },
    { "power cut, set back meanwhile", SOME_DAY, NULL, 0, true, 5 * MIN, true, -HOUR, true, 0 },
    { "power cut, begun at 1970", SOME_DAY, NULL, 0, true, 5 * MIN, true, -SOME_DAY, true, 0 },
    { "set back without a press, power cut", SOME_DAY, NULL, -HOUR, false, 5 * MIN, true, 0, true,
      0 },
    { "power cut, set forward meanwhile", SOME_DAY, NULL, 0, true, 5 * MIN, true, HOUR, false,
      HOUR },
    { "set forward without a press, power cut", SOME_DAY, NULL, HOUR, false, 5 * MIN, true, 0,
      false, HOUR },
};

/* A developer of fourteen hours, so that no case comes to its end; presses at 0:00, when full, and
 * (run time) at 3:00. Left at 3:10, or at 2:10 without the last press. */
static void plan_of(struct ws_plan *plan)
{
    plan_one_roll(plan);
    plan->bath[0].time_ms = 14 * HOUR;
    plan->bath[0].count_in_ms = 0;
    strcpy(plan->tank, "tank A");
}

static int64_t leave(const struct left *left)
{
    struct ws_plan plan;

    plan_of(&plan);
    rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_pass(rig, 15 * SEC);
    rig_hand(rig);
    rig_pass(rig, MIN + 45 * SEC);
    set_wall(left->set_ms);
    if (left->press_after) {
        rig_pass(rig, MIN);
        rig_stroke(rig, WS_STROKE_AWAY, 0);
    }
    rig_pass(rig, 10 * SEC);
    rig_look(rig);
    return rig->frame.tank[0].run;
}

static void be_killed(const struct left *left, int64_t *run)
{
    int status = 0;
    pid_t child = fork();

    assert_true(child >= 0);
    if (child == 0) {
        rig_start(rig, NULL);
        *run = leave(left);
        kill(getpid(), SIGKILL);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    rig->drive = NULL;
    rig->saids = 0;
}

static void check_book(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    (void)arg;
    if (ws_book_check(book, &why) != WS_OK)
        fail_msg("%s", why.text);
}

/* No cue is said twice by one process. */
static void assert_once(const struct rig_said *said, int n)
{
    for (int i = 0; i < n; i++)
        for (int k = 0; k < i; k++)
            if (said[i].cue.kind == said[k].cue.kind && said[i].cue.bath == said[k].cue.bath &&
                said[i].cue.index == said[k].cue.index &&
                said[i].cue.attempt == said[k].cue.attempt)
                fail_msg("cue %s %d of bath %d is said twice", ws_cue_token(said[i].cue.kind),
                         said[i].cue.index, said[i].cue.bath);
}

static void come_back(const struct left *left, int64_t run)
{
    /* Run time at which it was left, and of the last event before. */
    int64_t left_ms = left->press_after ? 3 * MIN + 10 * SEC : 2 * MIN + 10 * SEC;
    int64_t last_ms = left->press_after ? 3 * MIN : 15 * SEC;
    int64_t want_ms = left_ms + left->away_ms + left->wrong_ms;
    const struct ws_session *session;
    struct ws_message why = { "" };
    struct ws_view view;
    bool ask = false;
    int tank = -1;

    if (ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
    if (ask != left->asks)
        fail_msg("%s", ask ? "it asks" : "it does not ask");
    if (ask && ws_drive_resume(rig->drive, run, (double)(left_ms - last_ms + left->away_ms) / MIN,
                               &ask, &tank, &why) != WS_OK)
        fail_msg("%s", why.text);
    rig_look(rig);
    session = rig_session(rig, tank);
    if (rig->frame.tank[tank].at_ms != want_ms)
        fail_msg("it is at %lld ms, and really at %lld ms", (long long)rig->frame.tank[tank].at_ms,
                 (long long)want_ms);
    if (session->estimated != left->reboots)
        fail_msg("%s", session->estimated ? "it is estimated" : "it is not marked as estimated");
    /* Full at 0:15: what remains is the bath's time less the drain and what has gone. */
    ws_session_view(session, rig->frame.tank[tank].plan, want_ms, &view);
    assert_true(view.stage != WS_STAGE_IN_BATH ||
                view.left_ms == 15 * SEC + 14 * HOUR - 10 * SEC - want_ms);
    rig_pass(rig, 30 * SEC);
    rig_look(rig);
    assert_true(rig->frame.tank[tank].at_ms == want_ms + 30 * SEC);
    assert_true(rig->frame.tank[tank].kept == WS_KEPT_ALL);
    assert_once(rig->said, rig->saids);
    ws_drive_book(rig->drive, check_book, NULL);
}

/* Method: each case is left, killed, and taken up. What is asked is answered as it really was. */
static void test_left(void **state)
{
    struct {
        int64_t run;
    } *shared =
        mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

    (void)state;
    assert_true(shared != MAP_FAILED);
    for (size_t i = 0; i < sizeof lefts / sizeof lefts[0]; i++) {
        const struct left *left = &lefts[i];

        if (!torture_wants(left->what))
            continue;
        setenv("TZ", left->zone != NULL ? left->zone : "UTC", 1);
        tzset();
        print_message("%s\n", left->what);
        boot_at(left->at_wall_ms - 6 * MIN);
        be_killed(left, &shared->run);
        pass_while_dead(left->away_ms);
        if (left->reboots)
            reboot();
        rig->clock.wall_origin_ns += left->away_set_ms * NS_IN_MS;
        rig_start(rig, NULL);
        come_back(left, shared->run);
        rig_stop(rig);
        cases++;
    }
    unsetenv("TZ");
    tzset();
    munmap(shared, sizeof *shared);
}

/* ---- a run that is looked at all the time ---- */

struct heard {
    struct rig_said said[RIG_SAID_ROOM];
    int n;
};
static struct heard plain, other;

/* From first liquid to the fixer, with hands in time; `set` is called at 4:30 of it. */
static void run_through(struct heard *out, void (*set)(void))
{
    struct ws_plan plan;
    int tank;

    boot_at(SOME_DAY);
    rig->saids = 0;
    rig_start(rig, NULL);
    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_go(rig, tank, 4 * MIN + 30 * SEC);
    if (set != NULL)
        set();
    rig_go(rig, tank, 12 * MIN);
    rig_hand(rig);
    rig_go(rig, tank, 20 * MIN);
    rig_look(rig);
    rig_stroke(rig, WS_STROKE_CLOSE, tank);
    rig_look(rig);
    memcpy(out->said, rig->said, sizeof out->said);
    out->n = rig->saids;
    assert_once(out->said, out->n);
    ws_drive_book(rig->drive, check_book, NULL);
    rig_stop(rig);
}

static void back_an_hour(void)
{
    set_wall(-HOUR);
}

static void forward_an_hour(void)
{
    set_wall(HOUR);
}

static void to_1970(void)
{
    set_wall(-SOME_DAY);
}

/* Method: the same run, once as it is and then with the wall clock set in mid-run: every cue is the
 * same, is due at the same moment and is said at the same moment. */
static void test_set_while_it_runs(void **state)
{
    void (*const set[])(void) = { back_an_hour, forward_an_hour, to_1970 };

    (void)state;
    run_through(&plain, NULL);
    for (size_t i = 0; i < sizeof set / sizeof set[0]; i++, cases++) {
        run_through(&other, set[i]);
        assert_int_equal(other.n, plain.n);
        for (int k = 0; k < plain.n; k++) {
            assert_int_equal(other.said[k].cue.kind, plain.said[k].cue.kind);
            assert_int_equal(other.said[k].cue.index, plain.said[k].cue.index);
            assert_int_equal(other.said[k].cue.late, plain.said[k].cue.late);
            assert_true(other.said[k].cue.due_ms == plain.said[k].cue.due_ms);
            assert_true(other.said[k].due_ns == plain.said[k].due_ns);
            assert_true(other.said[k].now_ns == plain.said[k].now_ns);
        }
    }
    assert_true(plain.n > 20);
}

/* ---- the machine sleeps ---- */

/* The boot clock goes on through it, and the drive's timer with that (CLOCK_BOOTTIME). */
static void sleep_for(int64_t ms)
{
    rig_look(rig);
    ws_clock_step_to(&rig->clock, ws_clock_boot_ns(&rig->clock) + ms * NS_IN_MS);
    rig_look(rig);
}

static void sleep_to_the_rest(void)
{
    sleep_for(2 * MIN + 20 * SEC);
}

static void sleep_past_the_end(void)
{
    sleep_for(40 * MIN);
}

static const struct rig_said *find(const struct heard *heard, const struct ws_cue *cue)
{
    for (int i = 0; i < heard->n; i++)
        if (heard->said[i].cue.kind == cue->kind && heard->said[i].cue.bath == cue->bath &&
            heard->said[i].cue.index == cue->index && heard->said[i].cue.attempt == cue->attempt)
            return &heard->said[i];
    return NULL;
}

/* Method: the machine sleeps from 4:30 to 6:50. All cues come that come without it; those within
 * the sleep are said when it wakes, and marked as late, but for what is still to be done then. */
static void test_sleep(void **state)
{
    int slept = 0;

    (void)state;
    run_through(&plain, NULL);
    run_through(&other, sleep_to_the_rest);
    assert_int_equal(other.n, plain.n);
    for (int i = 0; i < plain.n; i++) {
        const struct rig_said *said = find(&other, &plain.said[i].cue);
        int64_t from_ms = 4 * MIN + 30 * SEC, to_ms = 6 * MIN + 50 * SEC;

        assert_non_null(said);
        assert_true(said->cue.due_ms == plain.said[i].cue.due_ms);
        if (said->cue.due_ms <= from_ms || said->cue.due_ms >= to_ms) {
            assert_int_equal(said->cue.late, plain.said[i].cue.late);
            continue;
        }
        slept++;
        assert_int_equal(said->cue.late,
                         to_ms - said->cue.due_ms > 2 * SEC && said->cue.until_ms <= to_ms);
    }
    assert_true(slept >= 3);
    cases++;
}

/* Method: the machine sleeps for forty minutes, far past the end of the developer. On waking POUR
 * OUT is called, not as late, and the time it is over is what it really is. */
static void test_sleep_past_the_end(void **state)
{
    struct ws_plan plan;
    struct ws_view view;
    const struct rig_said *out;
    int tank, before, pours = 0;

    (void)state;
    boot_at(SOME_DAY);
    rig_start(rig, NULL);
    plan_one_roll(&plan);
    tank = rig_begin(rig, &plan, false);
    rig_hand(rig);
    rig_go(rig, tank, 4 * MIN + 30 * SEC);
    before = rig->saids;
    sleep_past_the_end();
    assert_true(rig_at_ms(rig, tank) == 44 * MIN + 30 * SEC);
    out = rig_find(rig, WS_CUE_POUR_OUT, 0);
    assert_non_null(out);
    assert_false(out->cue.late);
    for (int i = before; i < rig->saids; i++) {
        pours += rig->said[i].cue.kind == WS_CUE_POUR_OUT;
        /* Those that can't be answered any more. */
        if (rig->said[i].cue.kind == WS_CUE_AGITATE || rig->said[i].cue.kind == WS_CUE_REST)
            assert_true(rig->said[i].cue.late);
    }
    assert_int_equal(pours, 1);
    assert_once(rig->said, rig->saids);
    /* Five seconds of count-in, fifteen of pouring in, 9:30 less ten of draining. */
    ws_session_view(rig_session(rig, tank), rig->frame.tank[tank].plan, rig_at_ms(rig, tank),
                    &view);
    assert_true(view.over_ms == 44 * MIN + 30 * SEC - (9 * MIN + 40 * SEC));
    rig_pass(rig, 5 * SEC);
    rig_hand(rig);
    rig_look(rig);
    assert_true(rig_session(rig, tank)->record[0].empty_ms == 44 * MIN + 35 * SEC);
    cases++;
}

/* ---- twelve hours ---- */

/* Method: a stand development of twelve hours over midnight and new year, left at six hours for an
 * hour by a kill, and at nine for half an hour by a power cut. COME BACK and POUR OUT fall due
 * where they were due from the first. */
static void test_stand(void **state)
{
    static const struct left six = { .away_ms = HOUR },
                             nine = { .away_ms = 30 * MIN, .reboots = true };
    const struct left *const away[] = { &six, &nine };
    const int64_t left_ms[] = { 6 * HOUR, 9 * HOUR };
    const int64_t out_ms = 20 * SEC + 12 * HOUR - 10 * SEC;
    const struct rig_said *back, *out;
    struct ws_message why = { "" };
    struct ws_plan plan;
    int64_t run;
    bool ask;
    int tank;

    (void)state;
    boot_at(NEW_YEAR_2027 - 8 * HOUR);
    rig_start(rig, NULL);
    plan_one_roll(&plan);
    plan.bath[0].time_ms = 12 * HOUR;
    plan.bath[0].agitation.rhythm = WS_STAND;
    tank = rig_begin(rig, &plan, false);
    run = rig->frame.tank[tank].run;
    rig_hand(rig);
    for (int i = 0; i < 2; i++) {
        rig_go(rig, tank, left_ms[i]);
        rig_look(rig);
        rig_stop(rig);
        rig->saids = 0;
        pass_while_dead(away[i]->away_ms);
        if (away[i]->reboots)
            reboot();
        rig_start(rig, NULL);
        if (ws_drive_resume(rig->drive, run, -1, &ask, &tank, &why) != WS_OK)
            fail_msg("%s", why.text);
        assert_false(ask);
        rig_look(rig);
        assert_true(rig->frame.tank[tank].at_ms == left_ms[i] + away[i]->away_ms);
        /* What was said since the last press is shown once more, as late; none of it sounds. */
        for (int k = 0; k < rig->saids; k++)
            assert_true(rig->said[k].cue.late);
        rig->saids = 0;
    }
    rig_go(rig, tank, out_ms + SEC);
    rig_look(rig);
    back = rig_find(rig, WS_CUE_COME_BACK, 0);
    out = rig_find(rig, WS_CUE_POUR_OUT, 0);
    assert_non_null(back);
    assert_non_null(out);
    assert_true(out->cue.due_ms == out_ms && !out->cue.late && out->now_ns == out->due_ns);
    assert_true(back->cue.due_ms == out_ms - plan.ready_lead_ms - plan.come_back_lead_ms);
    assert_true(!back->cue.late && back->now_ns == back->due_ns);
    assert_once(rig->said, rig->saids);
    rig_pass(rig, 9 * SEC);
    rig_hand(rig);
    rig_look(rig);
    assert_true(rig_session(rig, tank)->record[0].empty_ms == out_ms + 10 * SEC);
    assert_true(rig_session(rig, tank)->estimated);
    ws_drive_book(rig->drive, check_book, NULL);
    cases++;
    torture_figure("%d cases of clocks set, asleep or begun anew", cases);
}

int main(int argc, char **argv)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        TEST(test_left),  TEST(test_set_while_it_runs),
        TEST(test_sleep), TEST(test_sleep_past_the_end),
        TEST(test_stand),
    };

    (void)argc;
    torture_begin(argv[0]);
    return cmocka_run_group_tests(tests, NULL, NULL);
}
