/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All threads at once, on a clock that goes by itself, as fast as it can: what the thread sanitizer
 * is to look at. Asserted is only what must hold whatever the order. */
#include "aid.h"

#include <poll.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <unistd.h>

#include "rig.h"

struct crowd {
    struct ws_clock clock;
    struct ws_drive *drive;
    _Atomic bool over;
    _Atomic int cues, jobs;
};

static void count_cue(void *self, int tank, const struct ws_cue *cue, int64_t due_ns,
                      int64_t now_ns)
{
    struct crowd *crowd = self;

    (void)tank;
    (void)cue;
    assert_true(now_ns >= due_ns); /* never early */
    atomic_fetch_add(&crowd->cues, 1);
}

static void count_job(struct ws_book *book, void *arg)
{
    struct crowd *crowd = arg;
    struct ws_run_line line[8];
    int n = 0;

    assert_int_equal(ws_run_list(book, true, 0, line, 8, &n), WS_OK);
    atomic_fetch_add(&crowd->jobs, 1);
}

/* A room that asks the book for things. */
static void *ask_book(void *self)
{
    struct crowd *crowd = self;

    while (!atomic_load(&crowd->over))
        ws_drive_book(crowd->drive, count_job, crowd);
    return NULL;
}

/* A terminal: takes frames and bells when the descriptor says so, and leans on the keys. */
static void *sit_at_terminal(void *self)
{
    static const enum ws_stroke_kind kinds[] = { WS_STROKE_HAND,  WS_STROKE_HAND, WS_STROKE_HAND,
                                                 WS_STROKE_OTHER, WS_STROKE_UNDO, WS_STROKE_ON_TIME,
                                                 WS_STROKE_AWAY,  WS_STROKE_BACK, WS_STROKE_READING,
                                                 WS_STROKE_MINUTE };
    struct crowd *crowd = self;
    struct pollfd fd = { ws_drive_screen_fd(crowd->drive), POLLIN, 0 };
    struct ws_frame *frame = malloc(sizeof *frame);
    uint32_t last = 0;
    uint64_t seed = 1852;

    while (!atomic_load(&crowd->over)) {
        struct ws_stroke stroke = { .tank = -1, .value_c = 20.0 };

        poll(&fd, 1, 2);
        ws_drive_seen(crowd->drive);
        if (ws_drive_frame(crowd->drive, frame)) {
            assert_true(frame->number > last);
            last = frame->number;
        }
        assert_true(ws_drive_bells(crowd->drive) >= 0);
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        if ((seed >> 40) % 3 != 0)
            continue;
        stroke.kind = kinds[(seed >> 33) % (sizeof kinds / sizeof kinds[0])];
        stroke.boot_ns = ws_clock_boot_ns(&crowd->clock);
        ws_drive_post(crowd->drive, &stroke);
    }
    assert_true(last > 0);
    free(frame);
    return NULL;
}

static int64_t began_run(struct crowd *crowd, bool rehearsal)
{
    struct ws_plan plan;
    int tank = -1;

    plan_short(&plan);
    plan.bath[0].agitation.inversions = 4;
    ws_id_make(&plan.id);
    assert_int_equal(ws_drive_begin(crowd->drive, &plan, rehearsal, &tank, NULL), WS_OK);
    return tank;
}

/* Method: three runs at 300 times the speed, one of them a rehearsal, a terminal that types at
 * random, a room that asks the book without pause, until some hundred cues have been handed over
 * and some jobs done. Then what is in the book of each run folds without a fault. */
static void test_crowd(void **state)
{
    static struct rig rig;
    static struct ws_journal_row row[4096];
    static struct ws_event event[4096];
    struct crowd crowd = { .over = false };
    struct ws_drive_options options = {
        .clock = &crowd.clock, .mode = WS_BOOK_WRITE, .on_cue = count_cue, .on_cue_self = &crowd
    };
    pthread_t terminal, room;
    struct ws_plan plan;

    (void)state;
    rig_make(&rig);
    options.book_path = rig.path;
    ws_clock_scaled(&crowd.clock, 300.0);
    assert_int_equal(ws_drive_start(&options, &crowd.drive, NULL), WS_OK);
    began_run(&crowd, false);
    began_run(&crowd, true);
    assert_int_equal(pthread_create(&terminal, NULL, sit_at_terminal, &crowd), 0);
    assert_int_equal(pthread_create(&room, NULL, ask_book, &crowd), 0);
    began_run(&crowd, false);
    while (atomic_load(&crowd.cues) < 60 || atomic_load(&crowd.jobs) < 20)
        poll(NULL, 0, 1);
    atomic_store(&crowd.over, true);
    pthread_join(terminal, NULL);
    pthread_join(room, NULL);
    ws_drive_stop(crowd.drive, NULL);

    rig_start(&rig, NULL);
    plan_short(&plan);
    plan.bath[0].agitation.inversions = 4;
    for (int64_t run = 1; run <= 2; run++) {
        struct ws_session folded;
        int n = rig_journal(&rig, run, row, 4096);

        assert_true(n >= 1);
        for (int i = 0; i < n; i++) {
            event[i] = row[i].event;
            assert_int_equal(event[i].sequence, i + 1);
            if (i > 0)
                assert_true(event[i].at_ms >= event[i - 1].at_ms);
        }
        assert_int_equal(ws_session_fold(&folded, &plan, event, n, NULL), WS_OK);
        assert_int_equal(folded.sequence, n);
    }
    rig_stop(&rig);
    rig_clear(&rig);
}

/* Method: a whole run with hands in time at 200 times the speed on a scaled clock, not stepped: it
 * ends, and the book has it as finished. */
static void test_headless_on_a_scaled_clock(void **state)
{
    static struct rig rig;
    struct crowd crowd = { .over = false };
    struct ws_drive_options options = {
        .clock = &crowd.clock, .mode = WS_BOOK_WRITE, .on_cue = count_cue, .on_cue_self = &crowd
    };
    struct ws_message why = { "" };
    struct ws_run_line line;

    (void)state;
    rig_make(&rig);
    options.book_path = rig.path;
    ws_clock_scaled(&crowd.clock, 200.0);
    assert_int_equal(ws_drive_start(&options, &crowd.drive, NULL), WS_OK);
    if (ws_headless_run(crowd.drive, (int)began_run(&crowd, false), NULL, NULL, &why) != WS_OK)
        fail_msg("%s", why.text);
    ws_drive_stop(crowd.drive, NULL);
    rig_start(&rig, NULL);
    rig_line(&rig, 1, &line);
    assert_true(line.ended_ms > 0);
    assert_false(line.given_up);
    rig_stop(&rig);
    rig_clear(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_crowd),
        cmocka_unit_test(test_headless_on_a_scaled_clock),
    };

    alarm(300);
    return cmocka_run_group_tests_name("threads", tests, NULL, NULL);
}
