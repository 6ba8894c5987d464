/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound: each cue once, at its moment, though it was told ahead; what is not answered again and
 * again; what is late or answered not at all. */
#include "aid.h"

#include <poll.h>
#include <pthread.h>
#include <stdlib.h>

#include "rig.h"

enum { HEARD = 4096 };

struct heard {
    enum ws_cue_kind kind;
    int tank;
    int64_t due_ns, now_ns;
    bool insist;
};

struct ear {
    pthread_mutex_t lock;
    const struct ws_clock *clock;
    struct heard heard[HEARD];
    int n;
};

struct fixture {
    struct rig rig;
    struct ear ear;
    struct ws_sound sound;
};

static void listen(void *self, const struct ws_sounding *what)
{
    struct ear *ear = self;

    pthread_mutex_lock(&ear->lock);
    if (ear->n < HEARD)
        ear->heard[ear->n++] = (struct heard){ what->kind, what->tank, what->due_boot_ns,
                                               ws_clock_boot_ns(ear->clock), what->insist };
    pthread_mutex_unlock(&ear->lock);
}

static int make_with(void **state, bool bells)
{
    struct fixture *f = calloc(1, sizeof *f);

    rig_make(&f->rig);
    f->rig.settle = WS_SETTLE_SOUND;
    pthread_mutex_init(&f->ear.lock, NULL);
    f->ear.clock = &f->rig.clock;
    f->sound = (struct ws_sound){ .name = "ear", .play = listen, .self = &f->ear };
    rig_start(&f->rig, bells ? NULL : &f->sound);
    *state = f;
    return 0;
}

static int make_ear(void **state)
{
    return make_with(state, false);
}

static int make_bells(void **state)
{
    return make_with(state, true);
}

static int clear(void **state)
{
    struct fixture *f = *state;

    rig_stop(&f->rig);
    rig_clear(&f->rig);
    pthread_mutex_destroy(&f->ear.lock);
    free(f);
    return 0;
}

/* How often a kind was heard since heard[from]. */
static int count(const struct fixture *f, enum ws_cue_kind kind, int from)
{
    int n = 0;

    for (int i = from; i < f->ear.n; i++)
        n += f->ear.heard[i].kind == kind;
    return n;
}

/* Pours the first bath and goes to `ms` on its clock. */
static void pour_and_go(struct fixture *f, int tank, int64_t ms)
{
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 20 * SEC + ms);
}

/* Method: one developer with hands that confirm each cycle. Up to POUR OUT, what was handed over on
 * the drive's thread is what was heard: the same cues in the same order, each once, at its due. */
static void test_each_once(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    plan.bath[0].agitation.inversions = 4;
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 3 * SEC);
    rig_hand(&f->rig);
    for (int cycle = 1; cycle <= 9; cycle++) {
        rig_go(&f->rig, tank, 20 * SEC + cycle * MIN + 2 * SEC);
        rig_hand(&f->rig);
    }
    rig_go(&f->rig, tank, 20 * SEC + 9 * MIN + 20 * SEC);
    assert_int_equal(f->ear.n, f->rig.saids);
    assert_true(f->ear.n > 50);
    for (int i = 0; i < f->ear.n; i++) {
        assert_int_equal(f->ear.heard[i].kind, f->rig.said[i].cue.kind);
        assert_true(f->ear.heard[i].due_ns == f->rig.said[i].due_ns);
        assert_true(f->ear.heard[i].now_ns == f->rig.said[i].due_ns);
        assert_int_equal(f->ear.heard[i].tank, tank);
        assert_int_equal(f->ear.heard[i].insist, f->ear.heard[i].kind == WS_CUE_POUR_OUT);
    }
}

/* The repeats between two moments of `tank`, stepped through in half seconds. */
static int repeats(struct fixture *f, int64_t ms, enum ws_cue_kind kind)
{
    int from = f->ear.n;

    for (int64_t passed = 0; passed < ms; passed += 500)
        rig_pass(&f->rig, 500);
    return count(f, kind, from);
}

/* Method: POUR OUT is heard every two seconds until the press; OVERTIME takes its place. After the
 * press it is the next pour that hurries, and after that press nothing does. */
static void test_insists(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 9 * MIN + 20 * SEC);
    assert_int_equal(count(f, WS_CUE_POUR_OUT, 0), 1);
    assert_int_equal(repeats(f, 12 * SEC, WS_CUE_POUR_OUT), 6);
    assert_int_equal(count(f, WS_CUE_OVERTIME, 0), 0);
    assert_int_equal(repeats(f, SEC, WS_CUE_OVERTIME), 1);
    assert_int_equal(repeats(f, 6 * SEC, WS_CUE_OVERTIME), 3);
    assert_int_equal(repeats(f, 60 * SEC, WS_CUE_POUR_OUT), 0);
    rig_hand(&f->rig);
    assert_int_equal(count(f, WS_CUE_POUR_IN, 0), 2);
    assert_int_equal(repeats(f, 6 * SEC, WS_CUE_POUR_IN), 3);
    assert_int_equal(count(f, WS_CUE_OVERTIME, f->ear.n - 4), 0);
    assert_int_equal(repeats(f, 4 * SEC, WS_CUE_OVERTIME), 1);
    rig_hand(&f->rig);
    assert_int_equal(repeats(f, 10 * SEC, WS_CUE_OVERTIME), 0);
    assert_int_equal(repeats(f, 4 * SEC, WS_CUE_POUR_IN), 0);
}

/* Method: the press that emptied the tank is undone: POUR OUT is asked for again, and heard. */
static void test_insists_after_undo(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 9 * MIN + 24 * SEC);
    rig_hand(&f->rig);
    assert_int_equal(repeats(f, 4 * SEC, WS_CUE_POUR_OUT), 0);
    rig_stroke(&f->rig, WS_STROKE_UNDO, -1);
    assert_true(repeats(f, 4 * SEC, WS_CUE_OVERTIME) + count(f, WS_CUE_POUR_OUT, f->ear.n - 3) >=
                2);
}

/* Method: a fixer may stand: its POUR OUT only reminds, every ten seconds. */
static void test_reminds(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    ws_plan_default(&plan);
    plan_bath(&plan, WS_BATH_FIXER, 2 * MIN);
    plan.bath[0].count_in_ms = 5 * SEC;
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, MIN + 50 * SEC);
    assert_int_equal(count(f, WS_CUE_POUR_OUT, 0), 1);
    assert_int_equal(repeats(f, 40 * SEC, WS_CUE_POUR_OUT), 4);
}

/* Method: a stand of half an hour. COME BACK two minutes before its end reminds every ten seconds
 * until a press; that press ends it. */
static void test_come_back(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    ws_plan_default(&plan);
    plan_bath(&plan, WS_BATH_DEVELOPER, 30 * MIN);
    plan.bath[0].agitation.rhythm = WS_STAND;
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, SEC);
    rig_hand(&f->rig); /* the first agitation */
    rig_go(&f->rig, tank, 20 * SEC + 26 * MIN);
    assert_int_equal(count(f, WS_CUE_COME_BACK, 0), 0);
    while (count(f, WS_CUE_COME_BACK, 0) == 0)
        rig_pass(&f->rig, SEC);
    assert_int_equal(repeats(f, 30 * SEC, WS_CUE_COME_BACK), 3);
    rig_hand(&f->rig);
    assert_int_equal(repeats(f, 30 * SEC, WS_CUE_COME_BACK), 0);
}

/* Method: a minute more for a fixer whose POUR OUT is being repeated: it falls silent, and is heard
 * again at the new end. */
static void test_a_minute_more_hushes(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    ws_plan_default(&plan);
    plan_bath(&plan, WS_BATH_FIXER, 2 * MIN);
    plan.bath[0].count_in_ms = 5 * SEC;
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, MIN + 55 * SEC);
    assert_int_equal(count(f, WS_CUE_POUR_OUT, 0), 1);
    rig_stroke(&f->rig, WS_STROKE_MINUTE, -1);
    assert_int_equal(rig_session(&f->rig, tank)->stage, WS_STAGE_IN_BATH);
    assert_int_equal(repeats(f, 54500, WS_CUE_POUR_OUT), 0);
    assert_int_equal(repeats(f, 10500, WS_CUE_POUR_OUT), 2);
}

/* Method: the developer is ended early. What was told ahead for its old end is not heard any more,
 * POUR OUT is heard at the new one, once as a first. */
static void test_moved_end(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank, from;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 8 * MIN + 40 * SEC);
    from = f->ear.n;
    rig_stroke(&f->rig, WS_STROKE_LEAVE, -1);
    assert_int_equal(count(f, WS_CUE_POUR_OUT, from), 1);
    assert_true(f->ear.heard[f->ear.n - 1].now_ns == ws_clock_boot_ns(&f->rig.clock));
    rig_pass(&f->rig, 4 * SEC); /* a press in the first three would confirm the last cycle */
    rig_hand(&f->rig);
    rig_pass(&f->rig, SEC);
    rig_hand(&f->rig);
    from = f->ear.n;
    rig_go(&f->rig, tank, 20 * SEC + 9 * MIN + 25 * SEC);
    for (int i = from; i < f->ear.n; i++)
        assert_true(f->ear.heard[i].kind != WS_CUE_OVERTIME);
    assert_int_equal(count(f, WS_CUE_READY_TO_POUR, from), 1); /* the stop's */
}

/* Method: the clock jumps over ten minutes (a lid was closed). What fell due then and is over is
 * not heard; POUR OUT, which is still to be done, is, at once. */
static void test_late(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank, from;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 2 * MIN + 30 * SEC);
    from = f->ear.n;
    ws_clock_step_to(&f->rig.clock, ws_clock_boot_ns(&f->rig.clock) + 10 * MIN * NS_IN_MS);
    rig_look(&f->rig);
    for (int i = from; i < f->ear.n; i++)
        assert_true(f->ear.heard[i].kind == WS_CUE_POUR_OUT ||
                    f->ear.heard[i].kind == WS_CUE_OVERTIME);
    assert_true(f->ear.n > from);
    assert_true(f->rig.saids > f->ear.n);
}

/* Method: a second run at the same place says the same cues by name: they are heard again. */
static void test_second_run(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank, from;

    plan_short(&plan);
    for (int run = 0; run < 2; run++) {
        from = f->ear.n;
        tank = rig_begin(&f->rig, &plan, true);
        assert_int_equal(tank, 0);
        rig_pass(&f->rig, SEC);
        rig_hand(&f->rig);
        rig_go(&f->rig, tank, 30 * SEC);
        assert_int_equal(count(f, WS_CUE_GET_READY, from), 1);
        assert_int_equal(count(f, WS_CUE_POUR_IN, from), 1);
        assert_int_equal(count(f, WS_CUE_AGITATE, from), 1);
        rig_stroke(&f->rig, WS_STROKE_CLOSE, tank);
        ws_drive_forget(f->rig.drive, tank);
    }
}

/* ---- the bell ---- */

/* Bells asked for while 2.5 s pass in steps of 50 ms. */
static int bells_in(struct fixture *f, int64_t ms)
{
    int bells = 0;

    for (int64_t passed = 0; passed < ms; passed += 50) {
        ws_clock_step_to(&f->rig.clock, ws_clock_boot_ns(&f->rig.clock) + 50 * NS_IN_MS);
        rig_look_at_drive(&f->rig);
        bells += ws_drive_bells(f->rig.drive);
    }
    return bells;
}

/* Method: without a sound the terminal is asked for bells, in each cue's rhythm: GET READY when the
 * run begins, POUR IN after the count-in, and the descriptor is readable for them. */
static void test_bells(void **state)
{
    struct fixture *f = *state;
    struct pollfd fd = { ws_drive_screen_fd(f->rig.drive), POLLIN, 0 };
    struct ws_plan plan;
    int64_t at_ms[8];
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    assert_int_equal(ws_drive_bells(f->rig.drive), 1);
    ws_clock_step_to(&f->rig.clock, RIG_BOOT_NS + 600 * NS_IN_MS);
    ws_drive_settle(f->rig.drive, WS_SETTLE_ALL);
    assert_int_equal(poll(&fd, 1, 0), 1);
    assert_int_equal(ws_drive_bells(f->rig.drive), 1);
    assert_int_equal(bells_in(f, 3 * SEC), ws_bell_rhythm(WS_CUE_GET_READY, at_ms) - 2);
    rig_hand(&f->rig);
    assert_int_equal(bells_in(f, 4950), 0);
    assert_int_equal(bells_in(f, 2 * SEC), ws_bell_rhythm(WS_CUE_POUR_IN, at_ms));
    assert_int_equal(rig_session(&f->rig, tank)->stage, WS_STAGE_FILLING);
}

/* Method: the press that answers POUR OUT stops its rhythm in the middle. */
static void test_press_hushes(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    ws_plan_default(&plan);
    plan_bath(&plan, WS_BATH_DEVELOPER, 3 * MIN);
    tank = rig_begin(&f->rig, &plan, true);
    pour_and_go(f, tank, 2 * MIN + 50 * SEC);
    ws_drive_bells(f->rig.drive);
    assert_true(bells_in(f, 350) >= 2);
    rig_hand(&f->rig); /* confirms the cycle still, POUR OUT stands: it goes on */
    rig_pass(&f->rig, 900);
    ws_drive_bells(f->rig.drive);
    assert_true(bells_in(f, 1000) >= 2);
    rig_hand(&f->rig);
    ws_drive_bells(f->rig.drive);
    assert_int_equal(rig_session(&f->rig, tank)->stage, WS_STAGE_OVER);
    assert_int_equal(bells_in(f, 400), 0);
}

/* ---- a sound that hangs ---- */

struct stuck {
    pthread_mutex_t lock;
    pthread_cond_t change;
    bool hangs, inside, left;
};

static void hang(void *self, const struct ws_sounding *what)
{
    struct stuck *stuck = self;

    (void)what;
    pthread_mutex_lock(&stuck->lock);
    stuck->inside = true;
    pthread_cond_broadcast(&stuck->change);
    while (stuck->hangs)
        pthread_cond_wait(&stuck->change, &stuck->lock);
    stuck->left = true;
    pthread_cond_broadcast(&stuck->change);
    pthread_mutex_unlock(&stuck->lock);
}

/* Method: the program ends while play() hangs: stopping comes back all the same, and what the sound
 * still holds is given up when it lets go. */
static void test_stop_while_it_hangs(void **state)
{
    static struct rig rig;
    static struct stuck stuck = { PTHREAD_MUTEX_INITIALIZER, PTHREAD_COND_INITIALIZER, true, false,
                                  false };
    struct ws_sound sound = { .name = "stuck", .play = hang, .self = &stuck };
    struct ws_plan plan;

    (void)state;
    rig_make(&rig);
    rig_start(&rig, &sound);
    plan_one_roll(&plan);
    rig_begin(&rig, &plan, true);
    pthread_mutex_lock(&stuck.lock);
    while (!stuck.inside)
        pthread_cond_wait(&stuck.change, &stuck.lock);
    pthread_mutex_unlock(&stuck.lock);
    rig_stop(&rig);
    pthread_mutex_lock(&stuck.lock);
    assert_false(stuck.left);
    stuck.hangs = false;
    pthread_cond_broadcast(&stuck.change);
    while (!stuck.left)
        pthread_cond_wait(&stuck.change, &stuck.lock);
    pthread_mutex_unlock(&stuck.lock);
    rig_clear(&rig);
}

int main(void)
{
#define EAR(name)   cmocka_unit_test_setup_teardown(name, make_ear, clear)
#define BELLS(name) cmocka_unit_test_setup_teardown(name, make_bells, clear)
    const struct CMUnitTest tests[] = {
        EAR(test_each_once), EAR(test_insists),        EAR(test_insists_after_undo),
        EAR(test_reminds),   EAR(test_come_back),      EAR(test_a_minute_more_hushes),
        EAR(test_moved_end), EAR(test_late),           EAR(test_second_run),
        BELLS(test_bells),   BELLS(test_press_hushes), cmocka_unit_test(test_stop_while_it_hangs),
    };

    return cmocka_run_group_tests_name("sound", tests, NULL, NULL);
}
