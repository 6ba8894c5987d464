/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The voice in a run: what is said with which cue, when it begins, and that a number is true when
 * its phrase ends. With the real library, rendered ahead; nothing is heard, the samples are
 * counted.
 */
#include "aid.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <time.h>

#include "rig.h"
#include "wetside/port/speech.h"

enum { HEARD = 2048 };

#define SECOND_NS INT64_C(1000000000)

struct heard {
    enum ws_cue_kind kind;
    int frames, volume;
    int64_t due_ns, begin_ns, at_ns;
};

struct fixture {
    struct rig rig;
    pthread_mutex_t lock;
    struct heard heard[HEARD];
    int n;
    struct ws_sound sound;
    struct ws_plan plan;
};

static void listen(void *self, const struct ws_sounding *what)
{
    struct fixture *f = self;

    pthread_mutex_lock(&f->lock);
    if (f->n < HEARD)
        f->heard[f->n++] = (struct heard){ what->kind,
                                           what->said_frames,
                                           what->volume_percent,
                                           what->due_boot_ns,
                                           what->said_not_before_boot_ns,
                                           ws_clock_boot_ns(&f->rig.clock) };
    pthread_mutex_unlock(&f->lock);
}

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    struct ws_drive_options options;
    struct ws_message why = { "" };
    struct timespec pause = { 0, 2000000 };

    pthread_mutex_init(&f->lock, NULL);
    rig_make(&f->rig);
    f->rig.settle = WS_SETTLE_SOUND;
    f->sound = (struct ws_sound){ .name = "ear", .play = listen, .self = f };
    options =
        (struct ws_drive_options){ .clock = &f->rig.clock, .sound = &f->sound, .speech = true };
    assert_int_equal(ws_drive_start(&options, &f->rig.drive, &why), WS_OK);
    plan_one_roll(&f->plan);
    *state = f;
    if (!ws_speech_built())
        return 0;
    assert_int_equal(ws_drive_sound(f->rig.drive, &why), WS_OK);
    /* The library loads on its own thread, in real time. */
    for (int i = 0; i < 5000 && !f->rig.frame.ear.speaks; i++) {
        nanosleep(&pause, NULL);
        rig_look(&f->rig);
    }
    assert_true(f->rig.frame.ear.speaks);
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

/* Real time for what was asked for to be rendered: a phrase takes some milliseconds. */
static void render(struct fixture *f)
{
    struct timespec pause = { 0, 300000000 };

    if (ws_speech_built())
        nanosleep(&pause, NULL);
    rig_look(&f->rig);
}

static const struct heard *find(const struct fixture *f, enum ws_cue_kind kind, int nth)
{
    for (int i = 0; i < f->n; i++)
        if (f->heard[i].kind == kind && nth-- == 0)
            return &f->heard[i];
    return NULL;
}

static void choose(struct fixture *f, enum ws_speech_level level)
{
    struct ws_voice voice = { .volume_percent = 40, .level = level, .language = "en" };

    ws_drive_voice(f->rig.drive, &voice);
    render(f);
}

/* Method: "pour out in N" ends at a whole second before POUR OUT, one of the numbers the voice
 * counts with; its tone is over when it begins. */
static void test_true_at_its_end(void **state)
{
    struct fixture *f = *state;
    const struct ws_bath *developer = &f->plan.bath[0];
    const struct heard *ready, *pour;
    int64_t end_ns, left_ns;
    int tank;

    if (!ws_speech_built())
        return;
    choose(f, WS_SPEAK_CUES);
    tank = rig_begin(&f->rig, &f->plan, true);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    rig_hand(&f->rig);
    for (int64_t at_ms = 30000; at_ms < developer->time_ms + 60000; at_ms += 30000) {
        render(f);
        rig_go(&f->rig, tank, at_ms);
    }
    ready = find(f, WS_CUE_READY_TO_POUR, 0);
    pour = find(f, WS_CUE_POUR_OUT, 0);
    assert_non_null(ready);
    assert_non_null(pour);
    assert_int_equal(ready->volume, 40);
    assert_true(ready->frames > WS_SOUND_HZ / 2);
    end_ns = ready->begin_ns + ready->frames * SECOND_NS / WS_SOUND_HZ;
    left_ns = pour->due_ns - end_ns;
    assert_true(left_ns >= 2 * SECOND_NS && left_ns <= 15 * SECOND_NS);
    ws_assert_near((double)(left_ns % SECOND_NS), 0, 1e6);
    assert_true(pour->frames > 0);
}

/* Method: each minute is said only when that was chosen, and ends at the minute; with the voice off
 * no cue speaks. */
static void test_levels(void **state)
{
    static const enum ws_speech_level level[] = { WS_SPEAK_ASKED, WS_SPEAK_CUES, WS_SPEAK_MINUTES };
    struct fixture *f = *state;
    int alone[3] = { 0 }, with[3] = { 0 };

    if (!ws_speech_built())
        return;
    for (int i = 0; i < 3; i++) {
        int tank, from = f->n;

        choose(f, level[i]);
        tank = rig_begin(&f->rig, &f->plan, true);
        rig_hand(&f->rig);
        rig_go(&f->rig, tank, 6000);
        rig_hand(&f->rig);
        for (int64_t at_ms = 30000; at_ms <= 150000; at_ms += 15000) {
            render(f);
            rig_go(&f->rig, tank, at_ms);
        }
        for (int j = from; j < f->n; j++) {
            alone[i] += f->heard[j].kind == WS_CUE_KINDS;
            with[i] += f->heard[j].kind != WS_CUE_KINDS && f->heard[j].frames > 0;
        }
        rig_stroke(&f->rig, WS_STROKE_CLOSE, tank);
        ws_drive_forget(f->rig.drive, tank);
        rig_look(&f->rig);
    }
    assert_int_equal(alone[0], 0);
    assert_int_equal(with[0], 0);
    assert_true(with[1] > 3);
    assert_true(alone[2] > alone[1]);
}

/* Method: the time left, asked for by a key with the voice off, is spoken at once; its end is a
 * whole second before POUR OUT. Without a run, it says so. */
static void test_asked(void **state)
{
    struct fixture *f = *state;
    const struct heard *reply;
    int64_t left_ns, end_ns;
    struct ws_view view;
    int tank, before;

    if (!ws_speech_built())
        return;
    choose(f, WS_SPEAK_ASKED);
    rig_stroke(&f->rig, WS_STROKE_TELL, -1);
    render(f);
    assert_int_equal(f->n, 1);
    assert_true(f->heard[0].frames > 0);

    tank = rig_begin(&f->rig, &f->plan, true);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 50300);
    before = f->n;
    rig_stroke(&f->rig, WS_STROKE_TELL, tank);
    for (int i = 0; i < 20 && f->n == before; i++)
        render(f);
    assert_int_equal(f->n, before + 1);
    reply = &f->heard[before];
    assert_int_equal(reply->kind, WS_CUE_KINDS);
    ws_session_view(rig_session(&f->rig, tank), &f->plan, rig_at_ms(&f->rig, tank), &view);
    end_ns = reply->begin_ns + reply->frames * SECOND_NS / WS_SOUND_HZ;
    left_ns = ws_clock_boot_ns(&f->rig.clock) + view.left_ms * NS_IN_MS - end_ns;
    assert_true(left_ns > 0);
    ws_assert_near((double)((left_ns + SECOND_NS / 2) % SECOND_NS), 5e8, 2e6);
}

/* Method: a press answers what is being said: the device is told to fall silent. */
static void test_count(void **state)
{
    struct fixture *f = *state;
    int numbers = 0, tank;

    if (!ws_speech_built())
        return;
    choose(f, WS_SPEAK_CUES);
    tank = rig_begin(&f->rig, &f->plan, true);
    render(f);
    rig_hand(&f->rig);
    render(f);
    rig_go(&f->rig, tank, 400);
    for (int64_t at_ms = 500; at_ms <= 5000; at_ms += 100)
        rig_go(&f->rig, tank, at_ms);
    for (int i = 0; i < f->n; i++)
        numbers += f->heard[i].kind == WS_CUE_KINDS && f->heard[i].frames > 0;
    /* "developer in three", then two, one; or from four on, as the voice's length allows */
    assert_in_range(numbers, 2, 4);
}

int main(void)
{
#define VOICE(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        VOICE(test_true_at_its_end),
        VOICE(test_levels),
        VOICE(test_asked),
        VOICE(test_count),
    };

    return cmocka_run_group_tests_name("voice", tests, NULL, NULL);
}
