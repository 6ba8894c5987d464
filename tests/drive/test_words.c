/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The words of a run: rendered before they are due, however many tanks there are; a voice that
 * changes or hangs, and what is wrong with a person's phrases. With a voice of the test's own,
 * which is there in every build: what it says lasts as long as its text is long. */
#include "aid.h"

#include <pthread.h>
#include <semaphore.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "../../src/drive/mouth.h"
#include "../../src/port/voice.h"
#include "rig.h"

enum { HEARD = 8192, A_LETTER_MS = 60 };

#define SECOND_NS INT64_C(1000000000)

/* ---- a voice of the test's own ---- */

struct reader {
    _Atomic bool hangs; /* it does not come back from the next phrase, until `go` */
    _Atomic int opened, inside;
    sem_t go;
};

static struct reader reader;

static enum ws_status reader_open(void *self, const char *language, struct ws_message *why)
{
    struct reader *r = self;

    (void)language;
    (void)why;
    atomic_fetch_add(&r->opened, 1);
    return WS_OK;
}

static int reader_render(void *self, const char *text, int16_t *frame, int most, int *hz)
{
    struct reader *r = self;
    int frames = (int)strlen(text) * A_LETTER_MS * WS_SOUND_HZ / 1000;

    if (atomic_load(&r->hangs)) {
        atomic_fetch_add(&r->inside, 1);
        sem_wait(&r->go);
    }
    frames = frames < most ? frames : most;
    for (int i = 0; i < frames; i++)
        frame[i] = 9000;
    *hz = WS_SOUND_HZ;
    return frames;
}

static void reader_close(void *self)
{
    (void)self;
}

static const struct ws_speaker speaker = { reader_open, reader_render, reader_close, &reader };

/* ---- a drive that is listened to ---- */

struct heard {
    enum ws_cue_kind kind;
    int tank, frames;
    bool yields;
    int64_t at_ns;
};

struct fixture {
    struct rig rig;
    pthread_mutex_t lock;
    struct heard heard[HEARD];
    int n;
    struct ws_sound sound;
};

static void listen(void *self, const struct ws_sounding *what)
{
    struct fixture *f = self;

    pthread_mutex_lock(&f->lock);
    if (f->n < HEARD)
        f->heard[f->n++] = (struct heard){ what->kind, what->tank, what->said_frames, what->yields,
                                           ws_clock_boot_ns(&f->rig.clock) };
    pthread_mutex_unlock(&f->lock);
}

static void choose(struct fixture *f, enum ws_speech_level level, const char *language)
{
    struct ws_voice voice = { .volume_percent = 40, .level = level };

    snprintf(voice.language, sizeof voice.language, "%s", language);
    ws_drive_voice(f->rig.drive, &voice);
}

static int make(void **state)
{
    struct fixture *f = calloc(1, sizeof *f);
    struct ws_drive_options options;
    struct ws_message why = { "" };

    memset(&reader, 0, sizeof reader);
    sem_init(&reader.go, 0, 0);
    ws_speech_speaker(&speaker);
    pthread_mutex_init(&f->lock, NULL);
    rig_make(&f->rig);
    setenv("XDG_CONFIG_HOME", f->rig.dir, 1);
    f->rig.settle = WS_SETTLE_SOUND;
    f->sound = (struct ws_sound){ .name = "ear", .play = listen, .self = f };
    options =
        (struct ws_drive_options){ .clock = &f->rig.clock, .sound = &f->sound, .speech = true };
    assert_int_equal(ws_drive_start(&options, &f->rig.drive, &why), WS_OK);
    choose(f, WS_SPEAK_MINUTES, "en");
    *state = f;
    return 0;
}

static void begin_sound(struct fixture *f)
{
    assert_int_equal(ws_drive_sound(f->rig.drive, NULL), WS_OK);
    rig_look(&f->rig); /* the voice has started, */
    rig_look(&f->rig); /* and the drive has been told */
}

static int clear(void **state)
{
    struct fixture *f = *state;

    rig_stop(&f->rig);
    rig_clear(&f->rig);
    ws_speech_speaker(NULL);
    pthread_mutex_destroy(&f->lock);
    free(f);
    return 0;
}

/* ---- many tanks ---- */

/* A tank's process: baths of all kinds, cycles with many inversions. */
static void plan_tank(struct ws_plan *plan, int tank)
{
    static const char *const film[WS_TANKS] = { "Tarn 125", "Halden 400", "Corvex Pan 100",
                                                "Osprey 200" };

    ws_plan_default(plan);
    plan->places = 1;
    snprintf(plan->place[0].film, sizeof plan->place[0].film, "%s", film[tank]);
    plan_bath(plan, WS_BATH_DEVELOPER, 6 * MIN + tank * 7 * SEC);
    plan->bath[0].count_in_ms = 5 * SEC;
    plan->bath[0].agitation.every_ms = 30 * SEC;
    plan->bath[0].agitation.inversions = 4 + 2 * tank;
    plan_bath(plan, WS_BATH_STOP, 30 * SEC);
    plan->bath[1].agitation.first_ms = 10 * SEC;
    plan_bath(plan, WS_BATH_FIXER, 5 * MIN);
    plan_bath(plan, WS_BATH_WASH, 2 * MIN);
}

/* A press for whatever is poured, POUR OUT only after five seconds. */
static void press(struct fixture *f, int tank)
{
    const struct ws_frame_tank *at = &f->rig.frame.tank[tank];
    struct ws_view view;

    if (at->plan == NULL || at->session.closed)
        return;
    ws_session_view(&at->session, at->plan, at->at_ms, &view);
    if (view.stage == WS_STAGE_WAITING || view.stage == WS_STAGE_FILLING ||
        (view.stage == WS_STAGE_DRAINING && at->at_ms - view.pour_out_ms >= 5000))
        rig_stroke(&f->rig, WS_STROKE_HAND, tank);
}

/* Method: four tanks with a film each, begun seven seconds apart, hands in time, every minute said.
 * Whatever tone has words comes with them: nothing that is due was pushed out by what is due later.
 */
static void test_four_tanks(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int with_words[WS_CUE_KINDS] = { 0 };

    begin_sound(f);
    for (int tank = 0; tank < WS_TANKS; tank++) {
        plan_tank(&plan, tank);
        assert_int_equal(rig_begin(&f->rig, &plan, true), tank);
        rig_pass(&f->rig, 7000);
        rig_look(&f->rig);
    }
    for (int second = 0; second < 20 * 60; second++) {
        rig_pass(&f->rig, 1000);
        rig_look(&f->rig);
        press(f, second % WS_TANKS);
        rig_look(&f->rig);
    }
    for (int i = 0; i < f->n; i++) {
        const struct heard *heard = &f->heard[i];

        if (heard->kind == WS_CUE_INVERT || heard->kind == WS_CUE_KINDS)
            continue;
        /* Those of the moment at which the run begins come by themselves, a moment later. */
        if (heard->frames == 0 && i + 1 < f->n && f->heard[i + 1].kind == WS_CUE_KINDS &&
            f->heard[i + 1].tank == heard->tank && f->heard[i + 1].at_ns == heard->at_ns)
            continue;
        if (heard->frames == 0)
            fail_msg("%s of tank %c at %lld s came without its words", ws_cue_token(heard->kind),
                     'A' + heard->tank, (long long)((heard->at_ns - RIG_BOOT_NS) / SECOND_NS));
        with_words[heard->kind]++;
    }
    assert_true(with_words[WS_CUE_AGITATE] > 40);
    assert_true(with_words[WS_CUE_READY_TO_POUR] >= 3 * WS_TANKS);
    assert_true(with_words[WS_CUE_POUR_OUT] >= 3 * WS_TANKS);
}

/* Method: what was due before its words could be rendered, GET READY of a run that has just begun,
 * sounds at once, and its words come by themselves as soon as they are there. A press before that
 * answers it, and they are not said. */
static void test_late_words(void **state)
{
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 };
    struct ws_plan plan;
    int tank;

    begin_sound(f);
    plan_tank(&plan, 0);
    rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    assert_int_equal(f->n, 2);
    assert_int_equal(f->heard[0].kind, WS_CUE_GET_READY);
    assert_int_equal(f->heard[0].frames, 0);
    assert_int_equal(f->heard[1].kind, WS_CUE_KINDS);
    assert_true(f->heard[1].frames > WS_SOUND_HZ);
    assert_false(f->heard[1].yields);

    f->rig.settle = 0; /* the voice does not settle now */
    atomic_store(&reader.hangs, true);
    plan_tank(&plan, 1);
    tank = rig_begin(&f->rig, &plan, true);
    while (atomic_load(&reader.inside) == 0)
        nanosleep(&pause, NULL);
    atomic_store(&reader.hangs, false);
    rig_stroke(&f->rig, WS_STROKE_HAND, tank);
    f->rig.settle = WS_SETTLE_SOUND;
    sem_post(&reader.go);
    rig_look(&f->rig);
    for (int i = 2; i < f->n; i++)
        if (f->heard[i].kind == WS_CUE_KINDS && f->heard[i].tank == tank)
            assert_true(f->heard[i].yields); /* the count, no words of GET READY */
}

/* Method: the voice hangs in a phrase, and the person tries other languages, twenty times: the
 * change is over long before a voice that is waited for (a second each time) would have been, and
 * the cue due then is played. When the old ones let go at last, they end by themselves and the
 * newest speaks. */
static void test_language_delays_nothing(void **state)
{
    enum { CHANGES = 20, MOST_S = CHANGES / 2 };
    struct fixture *f = *state;
    struct timespec pause = { 0, 1000000 }, began, ended;
    struct ws_plan plan;
    int before, tank;

    begin_sound(f);
    plan_tank(&plan, 0);
    tank = rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    rig_stroke(&f->rig, WS_STROKE_HAND, tank);
    rig_pass(&f->rig, 6000);
    rig_look(&f->rig);
    f->rig.settle = 0;
    atomic_store(&reader.hangs, true);
    clock_gettime(CLOCK_MONOTONIC, &began);
    for (int i = 0; i < CHANGES; i++) {
        int opened = atomic_load(&reader.opened);

        choose(f, WS_SPEAK_MINUTES, i % 2 == 0 ? "de" : "en");
        while (atomic_load(&reader.opened) == opened)
            nanosleep(&pause, NULL);
    }
    clock_gettime(CLOCK_MONOTONIC, &ended);
    assert_true(ended.tv_sec - began.tv_sec <= MOST_S);

    pthread_mutex_lock(&f->lock);
    before = f->n;
    pthread_mutex_unlock(&f->lock);
    rig_stroke(&f->rig, WS_STROKE_HAND, tank); /* full: the first agitation is due, and played */
    for (bool heard = false; !heard; nanosleep(&pause, NULL)) {
        pthread_mutex_lock(&f->lock);
        for (int i = before; i < f->n; i++)
            heard = heard || f->heard[i].kind == WS_CUE_AGITATE;
        pthread_mutex_unlock(&f->lock);
    }
    atomic_store(&reader.hangs, false);
    for (int i = 0; i < 2 * CHANGES; i++)
        sem_post(&reader.go);
    f->rig.settle = WS_SETTLE_SOUND;
    rig_look(&f->rig);
    rig_look(&f->rig);
    assert_true(f->rig.frame.ear.speaks);
}

/* Method: a broken line in the person's own phrases: the drive's notice says where, and the voice
 * speaks all the same. */
static void test_fault_in_phrases(void **state)
{
    struct fixture *f = *state;
    char path[128];
    FILE *file;

    snprintf(path, sizeof path, "%s/wetside", f->rig.dir);
    assert_int_equal(mkdir(path, 0700), 0);
    snprintf(path, sizeof path, "%s/wetside/phrases.en", f->rig.dir);
    file = fopen(path, "w");
    assert_non_null(file);
    fputs("agitate: turn it over\nno_such_phrase: x\n", file);
    fclose(file);
    begin_sound(f);
    assert_true(f->rig.frame.ear.speaks);
    assert_string_equal(f->rig.frame.ear.mute.text, "");
    assert_non_null(strstr(f->rig.frame.ear.fault.text, "no_such_phrase"));
    assert_string_equal(f->rig.frame.notice, f->rig.frame.ear.fault.text);
    unlink(path);
    snprintf(path, sizeof path, "%s/wetside", f->rig.dir);
    rmdir(path);
}

/* Method: what is said by itself yields to words that are being said; what comes with a tone, and
 * the answer to a key, does not. */
static void test_what_yields(void **state)
{
    struct fixture *f = *state;
    struct ws_plan plan;
    int tank, before, alone = 0;

    begin_sound(f);
    plan_tank(&plan, 0);
    tank = rig_begin(&f->rig, &plan, true);
    rig_look(&f->rig);
    before = f->n;
    for (int second = 0; second < 120; second++) {
        press(f, tank);
        rig_look(&f->rig);
        rig_pass(&f->rig, 1000);
        rig_look(&f->rig);
    }
    for (int i = before; i < f->n; i++) {
        assert_int_equal(f->heard[i].yields, f->heard[i].kind == WS_CUE_KINDS);
        alone += f->heard[i].kind == WS_CUE_KINDS;
    }
    assert_true(alone > 3);
    before = f->n;
    rig_stroke(&f->rig, WS_STROKE_TELL, tank);
    rig_look(&f->rig);
    assert_int_equal(f->n, before + 1);
    assert_int_equal(f->heard[before].kind, WS_CUE_KINDS);
    assert_false(f->heard[before].yields);
}

/* ---- a clock that is no real one ---- */

/* A mouth by itself, whose voice has rendered what `list` says. */
static struct ws_mouth *mouth_at(double pace, const struct ws_ring_list *list)
{
    struct ws_mouth *mouth = calloc(1, sizeof *mouth);
    struct ws_mouth_tank tank[WS_TANKS];
    struct ws_message fault;
    static const struct ws_ring_list none;
    static int64_t next_ns[WS_RING_ITEMS];
    struct timespec pause = { 0, 1000000 };

    mouth->pace = pace;
    mouth->voice.level = WS_SPEAK_MINUTES;
    assert_int_equal(ws_speech_start_own("en", &mouth->speech, NULL), WS_OK);
    while (ws_speech_state(mouth->speech, NULL) == WS_SPEECH_STARTING)
        nanosleep(&pause, NULL);
    mouth->speech_state = WS_SPEECH_READY;
    ws_speech_phrases(mouth->speech, &mouth->phrases, &fault);
    for (int i = 0; i < WS_TANKS; i++)
        tank[i] = (struct ws_mouth_tank){ i == 0 ? list : &none, next_ns };
    for (int i = 0; i < list->items; i++)
        next_ns[i] = list->item[i].due_ns;
    ws_mouth_expect(mouth, tank, 0);
    while (!ws_speech_idle(mouth->speech))
        nanosleep(&pause, NULL);
    return mouth;
}

static void close_mouth(struct ws_mouth *mouth)
{
    ws_speech_stop(mouth->speech);
    free(mouth);
}

/* Method: "pour out in N", asked for 15, 75 and 120 seconds before the end, on clocks of several
 * paces. Words last real time, so that on a fast clock they last more of its seconds: what is left
 * at their end is N of the clock's seconds all the same, and they never begin sooner than they may,
 * nor later than the sound would wait. On a clock at which they can't be over before the end they
 * are not said at all. */
static void test_true_on_any_clock(void **state)
{
    static const double pace[] = { 0.5, 1, 2, 4, 60 };
    static const int ahead_s[] = { 15, 75, 120 };
    static struct ws_ring_list list;
    int said = 0;

    (void)state;
    ws_speech_speaker(&speaker);
    memset(&reader, 0, sizeof reader);
    for (size_t i = 0; i < sizeof pace / sizeof pace[0]; i++)
        for (size_t j = 0; j < sizeof ahead_s / sizeof ahead_s[0]; j++) {
            struct ws_saying *saying = &list.item[0].saying;
            char text[WS_SPOKEN_BYTES];
            struct ws_mouth *mouth;
            int64_t begin_ns;
            bool is_said;

            list.items = 1;
            list.item[0] = (struct ws_ring_item){ .cue = { .kind = WS_CUE_READY_TO_POUR },
                                                  .due_ns = SECOND_NS };
            *saying = (struct ws_saying){ .phrase = WS_PHRASE_READY_TO_POUR,
                                          .bath = WS_BATH_KINDS,
                                          .count = -1,
                                          .of = -1,
                                          .to_ns = (1 + ahead_s[j]) * SECOND_NS,
                                          .seconds = -1 };
            mouth = mouth_at(pace[i], &list);
            is_said = ws_words_choose(mouth, 0, &list, saying, SECOND_NS, text, &begin_ns);
            said += is_said;
            if (is_said) {
                double lasts_s = (double)strlen(text) * A_LETTER_MS / 1000.0 * pace[i];
                double left_s = (double)(saying->to_ns - begin_ns) / 1e9 - lasts_s;
                int number = 0;

                assert_int_equal(sscanf(text, "pour out in %d", &number), 1);
                ws_assert_near(left_s, number, 0.001 * pace[i]);
                assert_true(begin_ns >= SECOND_NS);
                assert_true(begin_ns <= 6 * SECOND_NS);
            }
            /* Eleven letters and a number of two or three. */
            assert_int_equal(is_said, 14 * 0.060 * pace[i] < ahead_s[j] - 2);
            close_mouth(mouth);
        }
    assert_int_equal(said, 14);
    ws_speech_speaker(NULL);
}

static enum ws_status open_never(void *self, char *name, size_t size, struct ws_message *why)
{
    (void)name;
    (void)size;
    ++*(int *)self;
    return ws_fail(why, WS_NOT_FOUND, "no device");
}

/* Method: a device that does not open, on a clock sixty times as fast: it is tried again ten real
 * seconds later, which are six hundred of the clock's. */
static void test_tries_again_in_real_time(void **state)
{
    struct ws_mouth *mouth = calloc(1, sizeof *mouth);
    struct ws_drive_options options = { .speech = false };
    _Atomic int bells = 0;
    struct ws_ringer *ringer;
    struct ws_sound sound;
    struct ws_wait drive;
    struct ws_clock clock;
    int64_t before_ns, after_ns;
    int opens = 0;

    (void)state;
    ws_clock_scaled(&clock, 60.0);
    sound =
        (struct ws_sound){ .name = "sound", .play = listen, .self = &opens, .open = open_never };
    options.clock = &clock;
    options.sound = &sound;
    assert_int_equal(ws_wait_open(&drive, &clock, NULL), WS_OK);
    assert_int_equal(ws_ringer_new(&ringer, &options, &drive, &bells, -1, NULL), WS_OK);
    mouth->ringer = ringer;
    mouth->clock = &clock;
    mouth->pace = 60.0;
    mouth->retry_ns = INT64_MIN;
    before_ns = ws_clock_boot_ns(&clock);
    ws_mouth_open(mouth);
    after_ns = ws_clock_boot_ns(&clock);
    assert_int_equal(opens, 1);
    assert_true(ws_mouth_again_ns(mouth) >= before_ns + 600 * SECOND_NS);
    assert_true(ws_mouth_again_ns(mouth) <= after_ns + 600 * SECOND_NS);
    ws_ringer_free(ringer);
    ws_wait_close(&drive);
    free(mouth);
}

int main(void)
{
#define WORDS(name) cmocka_unit_test_setup_teardown(name, make, clear)
    const struct CMUnitTest tests[] = {
        WORDS(test_four_tanks),
        WORDS(test_late_words),
        WORDS(test_language_delays_nothing),
        WORDS(test_fault_in_phrases),
        WORDS(test_what_yields),
        cmocka_unit_test(test_true_on_any_clock),
        cmocka_unit_test(test_tries_again_in_real_time),
    };

    return cmocka_run_group_tests_name("words", tests, NULL, NULL);
}
