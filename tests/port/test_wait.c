/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Waiting: for a moment, for a call, for one more descriptor. Nothing here asserts a duration: only
 * that a wait is never short, and what ended it. */
#include "aid.h"

#include <pthread.h>
#include <unistd.h>

#include "wetside/port/wait.h"

#define MS INT64_C(1000000)

struct fixture {
    struct ws_clock clock;
    struct ws_wait wait;
};

static int open_real(void **state)
{
    static struct fixture f;

    ws_clock_real(&f.clock);
    *state = &f;
    return ws_wait_open(&f.wait, &f.clock, NULL) == WS_OK ? 0 : -1;
}

static int open_stepped(void **state)
{
    static struct fixture f;

    ws_clock_stepped(&f.clock, 1000 * MS, 0);
    *state = &f;
    return ws_wait_open(&f.wait, &f.clock, NULL) == WS_OK ? 0 : -1;
}

static int shut(void **state)
{
    struct fixture *f = *state;

    ws_wait_close(&f->wait);
    return 0;
}

/* Method: 20 moments a few ms ahead, each with odd nanoseconds; the clock must have reached the
 * moment when the wait says so. */
static void test_never_short(void **state)
{
    struct fixture *f = *state;

    for (int i = 0; i < 20; i++) {
        int64_t moment = ws_clock_boot_ns(&f->clock) + 2 * MS + i * 7919;

        assert_int_equal(ws_wait_until(&f->wait, moment), WS_WOKE_TIMER);
        assert_true(ws_clock_boot_ns(&f->clock) >= moment);
    }
}

/* Method: the same on a scaled clock, whose moments are rounded up to the machine's. */
static void test_never_short_when_scaled(void **state)
{
    struct fixture *f = *state;
    struct ws_clock fast;

    ws_clock_scaled(&fast, 333.3);
    f->wait.clock = &fast;
    for (int i = 0; i < 20; i++) {
        int64_t moment = ws_clock_boot_ns(&fast) + 500 * MS + i * 7919;

        assert_int_equal(ws_wait_until(&f->wait, moment), WS_WOKE_TIMER);
        assert_true(ws_clock_boot_ns(&fast) >= moment);
    }
    f->wait.clock = &f->clock;
}

/* Method: a moment that has passed returns at once, and takes a waiting call along. */
static void test_past_moment(void **state)
{
    struct fixture *f = *state;
    int64_t now = ws_clock_boot_ns(&f->clock);

    assert_int_equal(ws_wait_until(&f->wait, now - 1), WS_WOKE_TIMER);
    ws_wait_wake(&f->wait);
    assert_int_equal(ws_wait_until(&f->wait, now - 1), WS_WOKE_TIMER | WS_WOKE_CALL);
    assert_int_equal(ws_wait_until(&f->wait, now - 1), WS_WOKE_TIMER);
}

/* Method: calls made before the wait are not lost; many count as one. A moment set earlier and not
 * waited for does not end a later wait. */
static void test_calls_before_the_wait(void **state)
{
    struct fixture *f = *state;

    ws_wait_wake(&f->wait);
    ws_wait_wake(&f->wait);
    assert_int_equal(ws_wait_until(&f->wait, ws_clock_boot_ns(&f->clock) + 3 * MS), WS_WOKE_CALL);
    ws_wait_wake(&f->wait);
    assert_int_equal(ws_wait_until(&f->wait, INT64_MAX), WS_WOKE_CALL);
}

static void *wake(void *self)
{
    ws_wait_wake(self);
    return NULL;
}

/* Method: another thread's call ends a wait without a moment. */
static void test_call_from_another_thread(void **state)
{
    struct fixture *f = *state;
    pthread_t thread;

    assert_int_equal(pthread_create(&thread, NULL, wake, &f->wait), 0);
    assert_int_equal(ws_wait_until(&f->wait, INT64_MAX), WS_WOKE_CALL);
    pthread_join(thread, NULL);
}

/* Method: no waiting moves a stepped clock: a moment ahead waits for a call, one that was stepped
 * over has passed. */
static void test_stepped(void **state)
{
    struct fixture *f = *state;
    pthread_t thread;

    assert_int_equal(pthread_create(&thread, NULL, wake, &f->wait), 0);
    assert_int_equal(ws_wait_until(&f->wait, 1001 * MS), WS_WOKE_CALL);
    pthread_join(thread, NULL);
    ws_clock_step_to(&f->clock, 1001 * MS);
    assert_int_equal(ws_wait_until(&f->wait, 1001 * MS), WS_WOKE_TIMER);
}

/* Method: the extra descriptor is told and left for its owner to read; when its other end dies it
 * is dropped, so that the next wait does not spin. */
static void test_extra(void **state)
{
    struct fixture *f = *state;
    int end[2];
    char byte;

    assert_int_equal(pipe(end), 0);
    f->wait.extra_fd = end[0];
    assert_int_equal(write(end[1], "x", 1), 1);
    assert_int_equal(ws_wait_until(&f->wait, INT64_MAX), WS_WOKE_EXTRA);
    assert_int_equal(read(end[0], &byte, 1), 1);
    close(end[1]);
    ws_wait_wake(&f->wait);
    assert_int_equal(ws_wait_until(&f->wait, INT64_MAX), WS_WOKE_CALL);
    assert_int_equal(f->wait.extra_fd, -1);
    close(end[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_never_short, open_real, shut),
        cmocka_unit_test_setup_teardown(test_never_short_when_scaled, open_real, shut),
        cmocka_unit_test_setup_teardown(test_past_moment, open_real, shut),
        cmocka_unit_test_setup_teardown(test_calls_before_the_wait, open_real, shut),
        cmocka_unit_test_setup_teardown(test_call_from_another_thread, open_real, shut),
        cmocka_unit_test_setup_teardown(test_stepped, open_stepped, shut),
        cmocka_unit_test_setup_teardown(test_extra, open_real, shut),
    };

    return cmocka_run_group_tests_name("wait", tests, NULL, NULL);
}
