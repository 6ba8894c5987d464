/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The system gives no thread for the sound: runs begin all the same, the drive rings the terminal,
 * and the ear says why. The test's own functions stand in the place of those that start threads. */
#include "aid.h"

#include <stdatomic.h>
#include <stdlib.h>

#include "../../src/drive/threads.h"
#include "rig.h"

static _Atomic int refused; /* so many more are refused */

bool ws_thread_start(pthread_t *thread, void *(*run)(void *self), void *self)
{
    if (atomic_load(&refused) > 0) {
        atomic_fetch_sub(&refused, 1);
        return false;
    }
    return pthread_create(thread, NULL, run, self) == 0;
}

void ws_thread_name(const char *name)
{
    (void)name;
}

struct fixture {
    struct rig rig;
    struct ws_sound sound;
    struct ws_plan plan;
    _Atomic int plays;
};

static void count(void *self, const struct ws_sounding *what)
{
    struct fixture *f = self;

    (void)what;
    atomic_fetch_add(&f->plays, 1);
}

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);

    rig_make(&f->rig);
    f->sound = (struct ws_sound){ .name = "sound", .play = count, .self = f };
    rig_start(&f->rig, &f->sound);
    plan_one_roll(&f->plan);
    *state = f;
    return 0;
}

static int clear(void **state)
{
    struct fixture *f = *state;

    atomic_store(&refused, 0);
    rig_stop(&f->rig);
    rig_clear(&f->rig);
    free(f);
    return 0;
}

/* Method: a run of the book, its hands never there. Each cue rings the terminal once, POUR OUT
 * every two seconds from then on, with nothing that could play; the ear says why, in one line. */
static void test_a_run_begins(void **state)
{
    struct fixture *f = *state;
    int tank, said, bells = 0;

    atomic_store(&refused, 1);
    f->plan.bath[0].time_ms = 2 * MIN;
    tank = rig_begin(&f->rig, &f->plan, false);
    assert_int_equal(atomic_load(&refused), 0);
    rig_look_at_drive(&f->rig);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_NONE);
    assert_string_equal(f->rig.frame.ear.name, "terminal bell");
    assert_non_null(strstr(f->rig.frame.ear.why.text, "no thread for the sound"));
    assert_false(f->rig.frame.sound);
    assert_int_equal(ws_drive_bells(f->rig.drive), 1); /* GET READY */
    rig_hand(&f->rig);
    said = f->rig.saids;
    while (rig_session(&f->rig, tank)->stage != WS_STAGE_DRAINING)
        rig_pass(&f->rig, 500);
    assert_int_equal(ws_drive_bells(f->rig.drive), f->rig.saids - said);
    for (int i = 0; i < 20; i++) {
        rig_pass(&f->rig, 500);
        bells += ws_drive_bells(f->rig.drive);
    }
    assert_in_range(bells, 4, 6);
    assert_int_equal(atomic_load(&f->plays), 0);
}

/* Method: lights out is refused without a sound that could cue in the dark, and the notice says so.
 */
static void test_no_black(void **state)
{
    struct fixture *f = *state;
    int tank;

    atomic_store(&refused, 1);
    tank = rig_begin(&f->rig, &f->plan, false);
    rig_stroke(&f->rig, WS_STROKE_LIGHTS_OUT, tank);
    assert_false(rig_session(&f->rig, tank)->open_film);
    assert_non_null(strstr(f->rig.frame.notice, "lights out refused"));
}

/* Method: the pre-flight asks for the sound and is told why there is none; its test rings the bell.
 * Asked again when there are threads, there is a sound, it plays what is due, and no bell rings. */
static void test_the_next_one_tries_again(void **state)
{
    struct fixture *f = *state;
    struct ws_message why = { "" };
    int tank;

    atomic_store(&refused, 1);
    assert_int_equal(ws_drive_sound(f->rig.drive, &why), WS_NO_MEMORY);
    assert_non_null(strstr(why.text, "no thread for the sound"));
    rig_stroke(&f->rig, WS_STROKE_TEST, -1);
    assert_int_equal(ws_drive_bells(f->rig.drive), 1);
    tank = rig_begin(&f->rig, &f->plan, true);
    f->rig.settle = WS_SETTLE_SOUND;
    rig_look(&f->rig);
    rig_look(&f->rig);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_PLAYS);
    assert_string_equal(f->rig.frame.ear.why.text, "");
    rig_pass(&f->rig, 1000); /* a press right after another key is none */
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 70000);
    assert_int_equal(atomic_load(&f->plays), f->rig.saids);
    assert_true(f->rig.saids > 3);
    assert_int_equal(ws_drive_bells(f->rig.drive), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_run_begins, make, clear),
        cmocka_unit_test_setup_teardown(test_no_black, make, clear),
        cmocka_unit_test_setup_teardown(test_the_next_one_tries_again, make, clear),
    };

    return cmocka_run_group_tests_name("no thread", tests, NULL, NULL);
}
