/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The voice in a run: what is said with which cue, when it begins, and that a number is true when
 * its phrase ends. With the real library, rendered ahead; nothing is heard, the samples are
 * counted.
 */
#include "aid.h"

#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

#include "rig.h"
#include "wetside/port/speech.h"

enum { HEARD = 2048 };

#define SECOND_NS INT64_C(1000000000)

struct heard {
    enum ws_cue_kind kind;
    int frames, volume;
    int64_t due_ns, begin_ns, at_ns;
    bool yields;
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
                                           ws_clock_boot_ns(&f->rig.clock),
                                           what->yields };
    pthread_mutex_unlock(&f->lock);
}

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    struct ws_drive_options options;
    struct ws_message why = { "" };

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
    rig_look(&f->rig); /* the library has started, */
    rig_look(&f->rig); /* and the drive has been told */
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
    rig_look(&f->rig);
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
        skip();
    choose(f, WS_SPEAK_CUES);
    tank = rig_begin(&f->rig, &f->plan, true);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    rig_hand(&f->rig);
    for (int64_t at_ms = 30000; at_ms < developer->time_ms + 60000; at_ms += 30000) {
        rig_look(&f->rig);
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
        skip();
    for (int i = 0; i < 3; i++) {
        int tank, from = f->n;

        choose(f, level[i]);
        tank = rig_begin(&f->rig, &f->plan, true);
        rig_hand(&f->rig);
        rig_go(&f->rig, tank, 6000);
        rig_hand(&f->rig);
        for (int64_t at_ms = 7000; at_ms <= 150000; at_ms += 1000) {
            rig_look(&f->rig);
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
        skip();
    choose(f, WS_SPEAK_ASKED);
    rig_stroke(&f->rig, WS_STROKE_TELL, -1);
    rig_look(&f->rig);
    assert_int_equal(f->n, 1);
    assert_true(f->heard[0].frames > 0);

    tank = rig_begin(&f->rig, &f->plan, true);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 6000);
    rig_hand(&f->rig);
    rig_go(&f->rig, tank, 50300);
    before = f->n;
    rig_stroke(&f->rig, WS_STROKE_TELL, tank);
    rig_look(&f->rig);
    assert_int_equal(f->n, before + 1);
    reply = &f->heard[before];
    assert_int_equal(reply->kind, WS_CUE_KINDS);
    ws_session_view(rig_session(&f->rig, tank), &f->plan, rig_at_ms(&f->rig, tank), &view);
    end_ns = reply->begin_ns + reply->frames * SECOND_NS / WS_SOUND_HZ;
    left_ns = ws_clock_boot_ns(&f->rig.clock) + view.left_ms * NS_IN_MS - end_ns;
    assert_true(left_ns > 0);
    ws_assert_near((double)((left_ns + SECOND_NS / 2) % SECOND_NS), 5e8, 2e6);
}

/* Method: sheets in the dark, with the voice off: each sheet is said as it goes in and out, the
 * first out is said ahead, and light, a minute after the last is in, is said once and not before.
 */
static void test_sheets(void **state)
{
    struct fixture *f = *state;
    struct ws_bath *bath = &f->plan.bath[0];
    int in = 0, out = 0, light = 0, tank;
    int64_t light_ms = 0;

    if (!ws_speech_built())
        skip();
    choose(f, WS_SPEAK_ASKED);
    f->plan.baths = 1;
    *bath = f->plan.bath[2];
    bath->time_ms = 3 * MIN;
    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->open_film = true;
    bath->pieces = 3;
    bath->piece_every_ms = 10 * SEC;
    bath->light_ms = 1 * MIN;
    bath->agitation = (struct ws_agitation){ .rhythm = WS_SHUFFLE, .every_ms = 5 * SEC };
    tank = rig_begin(&f->rig, &f->plan, true);
    rig_stroke(&f->rig, WS_STROKE_LIGHTS_OUT, tank);
    rig_pass(&f->rig, 1000); /* a press right after another key is none */
    rig_hand(&f->rig);
    for (int64_t at_ms = 5000; at_ms <= 3 * MIN + 40 * SEC; at_ms += 5000) {
        rig_go(&f->rig, tank, at_ms);
        rig_look(&f->rig);
    }
    for (int i = 0; i < f->n; i++) {
        const struct heard *heard = &f->heard[i];

        in += heard->kind == WS_CUE_PIECE_IN && heard->frames > 0;
        out += heard->kind == WS_CUE_PIECE_OUT && heard->frames > 0;
        /* What belongs to a cue, and was late, does not yield. */
        if (heard->kind != WS_CUE_KINDS || !heard->yields)
            continue;
        light++;
        light_ms = (heard->due_ns - find(f, WS_CUE_PIECE_IN, 2)->due_ns) / NS_IN_MS;
    }
    assert_int_equal(in, 3);
    assert_int_equal(out, 3);
    assert_int_equal(light, 1);
    assert_int_equal(light_ms, 1 * MIN);
    assert_true(find(f, WS_CUE_READY_TO_POUR, 0)->frames > 0);
    assert_int_equal(find(f, WS_CUE_SHUFFLE, 0)->frames, 0);
}

/* Method: from the press to first liquid the voice counts: "developer in" a number that is true at
 * its end, and the numbers below five, each of which yields to what is being said and ends on its
 * second. */
static void test_count(void **state)
{
    struct fixture *f = *state;
    int numbers = 0, tank, from;
    int64_t zero_ns;

    if (!ws_speech_built())
        skip();
    choose(f, WS_SPEAK_CUES);
    tank = rig_begin(&f->rig, &f->plan, true);
    rig_look(&f->rig);
    from = f->n;
    zero_ns = ws_clock_boot_ns(&f->rig.clock) + 5 * SECOND_NS;
    rig_hand(&f->rig);
    rig_look(&f->rig);
    for (int64_t at_ms = 500; at_ms <= 4900; at_ms += 100)
        rig_go(&f->rig, tank, at_ms);
    for (int i = from; i < f->n; i++) {
        const struct heard *heard = &f->heard[i];
        int64_t left_ns = zero_ns - heard->begin_ns - heard->frames * SECOND_NS / WS_SOUND_HZ;

        assert_int_equal(heard->kind, WS_CUE_KINDS);
        assert_true(heard->yields);
        ws_assert_near((double)((left_ns + SECOND_NS / 2) % SECOND_NS), 5e8, 1e6);
        numbers++;
    }
    assert_int_equal(numbers, 5);
}

int main(void)
{
#define VOICE(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        VOICE(test_true_at_its_end), VOICE(test_levels), VOICE(test_asked),
        VOICE(test_sheets),          VOICE(test_count),
    };

    return cmocka_run_group_tests_name("voice", tests, NULL, NULL);
}
