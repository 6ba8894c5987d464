/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Signals come to the terminal as something in a frame, never as an interruption. */
#include "aid.h"

#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <unistd.h>

#include "wetside/drive/drive.h"

struct fixture {
    struct ws_clock clock;
    struct ws_drive *drive;
    struct ws_frame frame;
};

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    struct ws_drive_options options = { .clock = &f->clock, .take_signals = true };

    ws_clock_real(&f->clock);
    *state = f;
    return ws_drive_start(&options, &f->drive, NULL) == WS_OK ? 0 : -1;
}

static int clear(void **state)
{
    struct fixture *f = *state;

    ws_drive_stop(f->drive, NULL);
    free(f);
    return 0;
}

/* Waits for the next frame, however long it takes. */
static void next_frame(struct fixture *f)
{
    struct pollfd fd = { ws_drive_screen_fd(f->drive), POLLIN, 0 };

    while (!ws_drive_frame(f->drive, &f->frame)) {
        poll(&fd, 1, -1);
        ws_drive_seen(f->drive);
    }
}

/* Method: TERM in the middle of it: the program goes on, and a frame says that it is to end. */
static void test_asked_to_end(void **state)
{
    struct fixture *f = *state;

    next_frame(f);
    assert_int_equal(f->frame.signal, 0);
    kill(getpid(), SIGTERM);
    next_frame(f);
    assert_int_equal(f->frame.signal, SIGTERM);
    assert_false(f->frame.resized);
}

/* Method: a resize is told in one frame, and told again if nobody took that one. */
static void test_resized(void **state)
{
    struct fixture *f = *state;
    struct pollfd fd = { ws_drive_screen_fd(f->drive), POLLIN, 0 };

    next_frame(f);
    kill(getpid(), SIGWINCH);
    next_frame(f);
    assert_true(f->frame.resized);
    ws_drive_seen(f->drive);
    kill(getpid(), SIGWINCH);
    poll(&fd, 1, -1); /* a frame is there, and not taken */
    ws_drive_seen(f->drive);
    kill(getpid(), SIGTSTP);
    poll(&fd, 1, -1); /* the next one is */
    next_frame(f);
    assert_true(f->frame.resized);
    assert_non_null(strstr(f->frame.notice, "does not stop"));
    assert_int_equal(f->frame.signal, 0);
    kill(getpid(), SIGINT);
    next_frame(f);
    assert_int_equal(f->frame.signal, SIGINT);
    assert_false(f->frame.resized);
}

/* Method: when the drive has stopped, signals are as they were before. */
static void test_given_back(void **state)
{
    struct fixture f;
    struct ws_drive_options options = { .clock = &f.clock, .take_signals = true };
    sigset_t before, during, after;

    (void)state;
    ws_clock_real(&f.clock);
    pthread_sigmask(SIG_BLOCK, NULL, &before);
    assert_int_equal(ws_drive_start(&options, &f.drive, NULL), WS_OK);
    pthread_sigmask(SIG_BLOCK, NULL, &during);
    ws_drive_stop(f.drive, NULL);
    pthread_sigmask(SIG_BLOCK, NULL, &after);
    assert_true(sigismember(&during, SIGTERM) && sigismember(&during, SIGWINCH));
    assert_false(sigismember(&during, SIGSEGV) || sigismember(&during, SIGCHLD));
    for (int i = 1; i < 32; i++)
        assert_int_equal(sigismember(&before, i), sigismember(&after, i));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_asked_to_end, make, clear),
        cmocka_unit_test_setup_teardown(test_resized, make, clear),
        cmocka_unit_test(test_given_back),
    };

    return cmocka_run_group_tests_name("signals", tests, NULL, NULL);
}
