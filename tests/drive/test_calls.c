/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calls in a frame: what the eyes are told is what the ears are told.
 *
 * Method: runs on a stepped clock, gone through in half seconds, with an ear in the place of a
 * device. In each half second the frame's calls or repeats have grown exactly when something was
 * heard that is no beat within a rhythm. */
#include "aid.h"

#include <pthread.h>
#include <stdlib.h>

#include "rig.h"

enum { STEP_MS = 500 };

struct fixture {
    struct rig rig;
    struct ws_sound sound;
    pthread_mutex_t lock;
    int heard; /* calls and repeats, on the sound's thread */
    int beats;
    int calls, repeats; /* as the frames had them, of this test */
};

static void listen(void *self, const struct ws_sounding *what)
{
    struct fixture *f = self;
    bool beat =
        what->kind == WS_CUE_INVERT || what->kind == WS_CUE_SHUFFLE || what->kind == WS_CUE_PASS;

    pthread_mutex_lock(&f->lock);
    if (beat)
        f->beats++;
    else
        f->heard++;
    pthread_mutex_unlock(&f->lock);
}

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);

    rig_make(&f->rig);
    f->rig.settle = WS_SETTLE_SOUND;
    pthread_mutex_init(&f->lock, NULL);
    f->sound = (struct ws_sound){ .name = "ear", .play = listen, .self = f };
    rig_start(&f->rig, &f->sound);
    *state = f;
    return 0;
}

static int clear(void **state)
{
    struct fixture *f = *state;

    rig_stop(&f->rig);
    rig_clear(&f->rig);
    pthread_mutex_destroy(&f->lock);
    free(f);
    return 0;
}

/* Goes on, comparing; `hand`: each third second something is asked for is answered. */
static void go_on(struct fixture *f, int tank, int64_t ms, bool hand)
{
    for (int64_t passed = 0; passed < ms; passed += STEP_MS) {
        const struct ws_frame_tank *at = &f->rig.frame.tank[tank];
        uint32_t calls = at->calls, repeats = at->repeats;
        int heard = f->heard;
        struct ws_view view;
        bool seen;

        rig_pass(&f->rig, STEP_MS);
        ws_session_view(&at->session, at->plan, at->at_ms, &view);
        if (hand && passed % (6 * STEP_MS) == 0 && view.wants_hand) {
            rig_hand(&f->rig);
            rig_pass(&f->rig, 0);
        }
        seen = at->calls != calls || (at->repeats != repeats && at->repeats > 0);
        if (seen != (f->heard > heard))
            print_error("at %lld ms: calls %u to %u, repeats %u to %u, %d heard\n",
                        (long long)at->at_ms, calls, at->calls, repeats, at->repeats,
                        f->heard - heard);
        assert_int_equal(seen, f->heard > heard);
        f->calls += at->calls != calls;
        f->repeats += at->repeats != repeats && at->repeats > 0;
    }
}

static void in_time(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    plan.bath[0].agitation.inversions = 4;
    tank = rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    assert_int_equal(f->rig.frame.tank[tank].calls, 1); /* GET READY */
    rig_hand(&f->rig);
    go_on(f, tank, 9 * MIN, true);
    assert_true(f->calls > 15);
    assert_int_equal(f->repeats, 0);
    assert_true(f->beats > 30);
}

static void unanswered(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    rig_hand(&f->rig);
    go_on(f, tank, 10 * MIN + 20 * SEC, false);
    assert_true(f->repeats >= 15); /* POUR OUT and OVERTIME, each two seconds */
    rig_hand(&f->rig);
    f->repeats = 0;
    go_on(f, tank, 30 * SEC, false); /* drained, and no stop bath comes */
    assert_true(f->repeats >= 10);
}

static void reminded(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank;

    ws_plan_default(&plan);
    plan_bath(&plan, WS_BATH_DEVELOPER, 30 * MIN);
    plan.bath[0].agitation.rhythm = WS_STAND;
    tank = rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    rig_hand(&f->rig);
    go_on(f, tank, 21 * SEC, false);
    rig_hand(&f->rig);
    go_on(f, tank, 29 * MIN, false);
    assert_true(f->repeats >= 8); /* COME BACK, each ten seconds */
}

/* Method: the clock jumps ten minutes. What fell due and is over calls nobody. */
static void late(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    uint32_t calls;
    int tank, said;

    plan_one_roll(&plan);
    tank = rig_begin(&f->rig, &plan, true);
    rig_hand(&f->rig);
    go_on(f, tank, 2 * MIN, true);
    calls = f->rig.frame.tank[tank].calls;
    said = f->rig.saids;
    ws_clock_step_to(&f->rig.clock, ws_clock_boot_ns(&f->rig.clock) + 10 * MIN * NS_IN_MS);
    rig_look(&f->rig);
    assert_true(f->rig.saids - said > 10);
    assert_true(f->rig.frame.tank[tank].calls - calls <= 2); /* POUR OUT, OVERTIME */
    assert_true(f->rig.frame.tank[tank].calls > calls);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(in_time, make, clear),
        cmocka_unit_test_setup_teardown(unanswered, make, clear),
        cmocka_unit_test_setup_teardown(reminded, make, clear),
        cmocka_unit_test_setup_teardown(late, make, clear),
    };

    return cmocka_run_group_tests_name("calls in a frame", tests, NULL, NULL);
}
