/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How the sound is: a device that can't be opened, vanishes in mid-run or does not come back from a
 * call. The bell stands in, the person is told once in one line, and the run goes on. */
#include "aid.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

#include "rig.h"

/* A device whose faults are switched by the test. */
struct device {
    _Atomic int opens, plays, closes;
    _Atomic bool absent, gone, stuck, inside, blind;
};

static enum ws_status device_open(void *self, char *name, size_t size, struct ws_message *why)
{
    struct device *device = self;

    atomic_fetch_add(&device->opens, 1);
    if (atomic_load(&device->absent))
        return ws_fail(why, WS_NOT_FOUND, "no sound device: the terminal bell rings instead");
    snprintf(name, size, "a test's device");
    return WS_OK;
}

static void device_play(void *self, const struct ws_sounding *what)
{
    struct device *device = self;
    struct timespec pause = { 0, 1000000 };

    (void)what;
    atomic_store(&device->inside, true);
    while (atomic_load(&device->stuck))
        nanosleep(&pause, NULL);
    atomic_store(&device->inside, false);
    atomic_fetch_add(&device->plays, 1);
}

static enum ws_status device_feed(void *self, struct ws_message *why)
{
    struct device *device = self;

    if (atomic_load(&device->gone))
        return ws_fail(why, WS_IO, "the sound device is gone: the terminal bell rings instead");
    return WS_OK;
}

/* Asked for what is to be waited for; while `blind`, it does not come back. */
static int device_fds(void *self, struct pollfd *fds, int most)
{
    struct device *device = self;
    struct timespec pause = { 0, 1000000 };

    (void)fds;
    (void)most;
    while (atomic_load(&device->blind)) {
        atomic_store(&device->inside, true);
        nanosleep(&pause, NULL);
    }
    return 0;
}

static void device_close(void *self)
{
    struct device *device = self;

    atomic_fetch_add(&device->closes, 1);
}

struct fixture {
    struct rig rig;
    struct device device;
    struct ws_sound sound;
    struct ws_plan plan;
};

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);

    rig_make(&f->rig);
    f->rig.settle = WS_SETTLE_SOUND;
    f->sound = (struct ws_sound){ .name = "sound",
                                  .play = device_play,
                                  .self = &f->device,
                                  .open = device_open,
                                  .fds = device_fds,
                                  .feed = device_feed,
                                  .close = device_close };
    plan_one_roll(&f->plan);
    *state = f;
    return 0;
}

static int clear(void **state)
{
    struct fixture *f = *state;

    atomic_store(&f->device.stuck, false);
    atomic_store(&f->device.blind, false);
    if (f->rig.drive != NULL)
        rig_stop(&f->rig);
    rig_clear(&f->rig);
    free(f);
    return 0;
}

/* Lets the drive look at what the sound's thread has told. */
static void look(struct fixture *f)
{
    rig_look(&f->rig);
    rig_look(&f->rig);
}

/* Method: nothing is opened before it is asked for; asked for, the frame names what plays. */
static void test_opens_when_asked(void **state)
{
    struct fixture *f = *state;
    struct ws_message why = { "" };

    rig_start(&f->rig, &f->sound);
    rig_look(&f->rig);
    assert_int_equal(atomic_load(&f->device.opens), 0);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_STARTING);
    assert_false(f->rig.frame.sound);
    assert_int_equal(ws_drive_sound(f->rig.drive, &why), WS_OK);
    assert_int_equal(ws_drive_sound(f->rig.drive, &why), WS_OK);
    look(f);
    assert_int_equal(atomic_load(&f->device.opens), 1);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_PLAYS);
    assert_string_equal(f->rig.frame.ear.name, "a test's device");
    assert_true(f->rig.frame.sound);
    assert_string_equal(f->rig.frame.notice, "");
}

/* Method: without a device the cues ring the bell, the frame says why, and lights out is refused in
 * a real run. Ten seconds later the device is there: it is opened, and the next cue is played. */
static void test_absent(void **state)
{
    struct fixture *f = *state;
    int tank, before;

    atomic_store(&f->device.absent, true);
    rig_start(&f->rig, &f->sound);
    tank = rig_begin(&f->rig, &f->plan, false);
    look(f);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_NONE);
    assert_string_equal(f->rig.frame.ear.why.text,
                        "no sound device: the terminal bell rings instead");
    assert_string_equal(f->rig.frame.notice, "");
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    assert_true(ws_drive_bells(f->rig.drive) > 0);
    assert_int_equal(atomic_load(&f->device.plays), 0);
    rig_stroke(&f->rig, WS_STROKE_LIGHTS_OUT, tank);
    look(f);
    assert_false(rig_session(&f->rig, tank)->open_film);

    before = atomic_load(&f->device.opens);
    atomic_store(&f->device.absent, false);
    rig_pass(&f->rig, 11000);
    look(f);
    assert_int_equal(atomic_load(&f->device.opens), before + 1);
    assert_true(f->rig.frame.sound);
    (void)ws_drive_bells(f->rig.drive);
    rig_go(&f->rig, tank, 70000);
    assert_true(atomic_load(&f->device.plays) > 0);
    assert_int_equal(ws_drive_bells(f->rig.drive), 0);
    rig_stroke(&f->rig, WS_STROKE_LIGHTS_OUT, tank);
    look(f);
    assert_true(rig_session(&f->rig, tank)->open_film);
}

/* Method: the device vanishes in mid-run: it is closed once, the frame says so in one line, and
 * from the next cue on the bell rings; every cue is handed over all the same. */
static void test_vanishes(void **state)
{
    struct fixture *f = *state;
    int tank, said;

    rig_start(&f->rig, &f->sound);
    tank = rig_begin(&f->rig, &f->plan, false);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 40000);
    assert_true(atomic_load(&f->device.plays) > 0);
    assert_int_equal(ws_drive_bells(f->rig.drive), 0);
    atomic_store(&f->device.gone, true);
    atomic_store(&f->device.absent, true);
    said = f->rig.saids;
    for (int i = 0; i < 60 && f->rig.frame.ear.state == WS_EAR_PLAYS; i++) {
        rig_pass(&f->rig, 1000);
        look(f);
    }
    assert_string_equal(f->rig.frame.notice,
                        "the sound device is gone: the terminal bell rings instead");
    rig_go(&f->rig, tank, 140000);
    look(f);
    assert_int_equal(atomic_load(&f->device.closes), 1);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_NONE);
    assert_true(f->rig.saids > said);
    assert_true(ws_drive_bells(f->rig.drive) > 0);
}

/* Method: a call of the device does not come back. A second and a half later the frame says that it
 * hangs, and each cue then due rings the terminal once. It comes back: it plays again. */
static void test_hangs(void **state)
{
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 };
    int tank, said, bells;

    rig_start(&f->rig, &f->sound);
    tank = rig_begin(&f->rig, &f->plan, false);
    look(f);
    f->rig.settle = 0; /* the sound does not settle any more */
    atomic_store(&f->device.stuck, true);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    rig_hand(&f->rig); /* full: a new list wakes the sound, which nothing else does on this clock */
    while (!atomic_load(&f->device.inside))
        nanosleep(&pause, NULL);
    rig_pass(&f->rig, 3000);
    (void)ws_drive_bells(f->rig.drive);
    said = f->rig.saids;
    rig_go(&f->rig, tank, 140000);
    bells = ws_drive_bells(f->rig.drive);
    assert_true(f->rig.saids > said);
    assert_int_equal(bells, f->rig.saids - said);
    rig_look_at_drive(&f->rig);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_HANGS);
    assert_false(f->rig.frame.sound);

    atomic_store(&f->device.stuck, false);
    f->rig.settle = WS_SETTLE_SOUND;
    look(f);
    rig_pass(&f->rig, 2000);
    look(f);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_PLAYS);
}

/* Method: the device does not come back when it is asked what to wait for: that is a hang as any
 * other, seen after a second and a half, and cues ring the terminal. */
static void test_hangs_while_it_waits(void **state)
{
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 };
    int tank, said;

    rig_start(&f->rig, &f->sound);
    tank = rig_begin(&f->rig, &f->plan, false);
    look(f);
    f->rig.settle = 0;
    atomic_store(&f->device.blind, true);
    rig_hand(&f->rig); /* a new list wakes the sound */
    while (!atomic_load(&f->device.inside))
        nanosleep(&pause, NULL);
    rig_pass(&f->rig, 3000);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_HANGS);
    assert_false(f->rig.frame.sound);
    (void)ws_drive_bells(f->rig.drive);
    said = f->rig.saids;
    rig_go(&f->rig, tank, 140000);
    assert_true(f->rig.saids > said);
    assert_int_equal(ws_drive_bells(f->rig.drive), f->rig.saids - said);
}

/* Method: the program ends while a call of the device does not come back; drive, bells and clock
 * are gone when it does, with an error. Nothing of them is touched (the address sanitizer looks
 * on), and the device is closed. */
static void test_stopped_while_it_hangs(void **state)
{
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 };
    struct ws_clock *clock = malloc(sizeof *clock);
    struct ws_message why = { "" };
    struct ws_drive_options options = { .clock = clock, .sound = &f->sound };
    struct ws_stroke stroke = { .kind = WS_STROKE_TEST };
    struct ws_drive *drive = NULL;

    assert_non_null(clock);
    ws_clock_real(clock);
    assert_int_equal(ws_drive_start(&options, &drive, &why), WS_OK);
    assert_int_equal(ws_drive_sound(drive, &why), WS_OK);
    atomic_store(&f->device.stuck, true);
    assert_true(ws_drive_post(drive, &stroke));
    while (!atomic_load(&f->device.inside))
        nanosleep(&pause, NULL);
    ws_drive_stop(drive, NULL);
    free(clock);
    atomic_store(&f->device.gone, true);
    atomic_store(&f->device.stuck, false);
    while (atomic_load(&f->device.closes) == 0)
        nanosleep(&pause, NULL);
}

/* Method: a cue is on its way into a device that hangs: it is not heard. When that is found out the
 * terminal rings at once, and while POUR OUT stands unanswered every two seconds. */
static void test_hang_of_the_last_cue(void **state)
{
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 };
    int tank, bells;

    rig_start(&f->rig, &f->sound);
    f->plan.bath[0].time_ms = 60000;
    tank = rig_begin(&f->rig, &f->plan, false);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 60000);
    f->rig.settle = 0;
    atomic_store(&f->device.inside, false);
    atomic_store(&f->device.stuck, true);
    for (int i = 0; i < 40 && rig_session(&f->rig, tank)->stage != WS_STAGE_DRAINING; i++)
        rig_pass(&f->rig, 1000);
    assert_int_equal(rig_session(&f->rig, tank)->stage, WS_STAGE_DRAINING);
    rig_stroke(&f->rig, WS_STROKE_TEST, tank); /* wakes the sound, which this clock does not */
    while (!atomic_load(&f->device.inside))
        nanosleep(&pause, NULL);
    (void)ws_drive_bells(f->rig.drive);
    for (int i = 0; i < 20; i++)
        rig_pass(&f->rig, 500);
    assert_int_equal(f->rig.frame.ear.state, WS_EAR_HANGS);
    bells = ws_drive_bells(f->rig.drive);
    assert_in_range(bells, 4, 6);
}

/* Method: without a device the sound test rings the terminal as a POUR OUT does, without a run;
 * what is only said rings nothing. */
static void test_bell_is_tried(void **state)
{
    struct fixture *f = *state;
    struct ws_message why = { "" };
    int64_t at_ms[8];

    atomic_store(&f->device.absent, true);
    rig_start(&f->rig, &f->sound);
    assert_int_equal(ws_drive_sound(f->rig.drive, &why), WS_OK);
    look(f);
    rig_stroke(&f->rig, WS_STROKE_TELL, -1);
    look(f);
    assert_int_equal(ws_drive_bells(f->rig.drive), 0);
    rig_stroke(&f->rig, WS_STROKE_TEST, -1);
    for (int i = 0; i < 20; i++) {
        rig_pass(&f->rig, 50);
        look(f);
    }
    assert_int_equal(ws_drive_bells(f->rig.drive), ws_bell_rhythm(WS_CUE_POUR_OUT, at_ms));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_opens_when_asked, make, clear),
        cmocka_unit_test_setup_teardown(test_absent, make, clear),
        cmocka_unit_test_setup_teardown(test_vanishes, make, clear),
        cmocka_unit_test_setup_teardown(test_hangs, make, clear),
        cmocka_unit_test_setup_teardown(test_hangs_while_it_waits, make, clear),
        cmocka_unit_test_setup_teardown(test_bell_is_tried, make, clear),
        cmocka_unit_test_setup_teardown(test_stopped_while_it_hangs, make, clear),
        cmocka_unit_test_setup_teardown(test_hang_of_the_last_cue, make, clear),
    };

    return cmocka_run_group_tests_name("ear", tests, NULL, NULL);
}
