/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speech: the cache and the thread with a voice of the test's own, then every shipped phrase with
 * the real one. How the real one starts is in test_speech_start.c. */
#include "aid.h"

#include <poll.h>
#include <pthread.h>
#include <semaphore.h>
#include <stdbool.h>
#include <stdlib.h>
#include <time.h>

#include "../../src/port/voice.h"
#include "wetside/port/phrases.h"
#include "wetside/port/tone.h"

enum { PATIENCE_MS = 20000 };

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000LL + now.tv_nsec / 1000000;
}

/* ---- a voice of the test's own --------------------------------------------------------------- */

/* A number n as text is n hundred frames of n thousand; it renders only when let, by `go`. */
struct puppet {
    struct ws_speaker voice;
    sem_t go, begun, told; /* begun: once for each render; told: for each that is over, and close */
    bool refuses;
    int hz, rendered;
    char order[200];
};

static enum ws_status puppet_open(void *self, const char *language, struct ws_message *why)
{
    struct puppet *puppet = self;

    sem_wait(&puppet->go);
    if (puppet->refuses)
        return ws_fail(why, WS_NOT_FOUND, "no voice for %s", language);
    return WS_OK;
}

static int puppet_render(void *self, const char *text, int16_t *frame, int most, int *hz)
{
    struct puppet *puppet = self;
    int n = atoi(text), frames = n * 100;

    sem_post(&puppet->begun);
    sem_wait(&puppet->go);
    assert_true(frames <= most);
    for (int i = 0; i < frames; i++)
        frame[i] = (int16_t)(n * 1000);
    if (strlen(puppet->order) + strlen(text) + 2 < sizeof puppet->order)
        strcat(strcat(puppet->order, text), " ");
    puppet->rendered++;
    *hz = puppet->hz;
    sem_post(&puppet->told);
    return frames;
}

static void puppet_close(void *self)
{
    sem_post(&((struct puppet *)self)->told);
}

static void puppet_make(struct puppet *puppet, int lets)
{
    *puppet = (struct puppet){ .voice = { puppet_open, puppet_render, puppet_close, puppet },
                               .hz = WS_SOUND_HZ };
    sem_init(&puppet->go, 0, (unsigned)lets);
    sem_init(&puppet->begun, 0, 0);
    sem_init(&puppet->told, 0, 0);
}

static void puppet_end(struct puppet *puppet)
{
    sem_destroy(&puppet->go);
    sem_destroy(&puppet->begun);
    sem_destroy(&puppet->told);
}

static struct ws_speech *start(struct puppet *puppet)
{
    struct ws_speech *speech = NULL;
    struct ws_message why = { "" };

    assert_int_equal(ws_speech_start_with(&puppet->voice, "en", &speech, &why), WS_OK);
    return speech;
}

/* Waits until something is ready, or for the state; fails after PATIENCE_MS. */
static void wait_for_more(struct ws_speech *speech)
{
    struct pollfd ready = { .fd = ws_speech_fd(speech), .events = POLLIN };

    assert_int_equal(poll(&ready, 1, PATIENCE_MS), 1);
    ws_speech_seen(speech);
}

static enum ws_speech_state wait_for_state(struct ws_speech *speech, struct ws_message *why)
{
    while (ws_speech_state(speech, why) == WS_SPEECH_STARTING)
        wait_for_more(speech);
    return ws_speech_state(speech, why);
}

static int wait_for(struct ws_speech *speech, const char *text)
{
    int64_t until_ms = now_ms() + PATIENCE_MS;

    while (ws_speech_frames(speech, text) == 0 && now_ms() < until_ms)
        wait_for_more(speech);
    return ws_speech_frames(speech, text);
}

/* Method: the voice is held back; before it may open, and before it has rendered, there is nothing
 * to take; afterwards there is, at any volume, and only as much as there is room for. */
static void test_take_before_ready_is_nothing(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    struct ws_message why = { "untouched" };
    int16_t frame[600];

    (void)state;
    puppet_make(&puppet, 0);
    speech = start(&puppet);
    assert_int_equal(ws_speech_state(speech, &why), WS_SPEECH_STARTING);
    ws_speech_want(speech, "5");
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 600), 0);
    assert_int_equal(ws_speech_frames(speech, "5"), 0);
    sem_post(&puppet.go);
    assert_int_equal(wait_for_state(speech, &why), WS_SPEECH_READY);
    assert_string_equal(why.text, "untouched");
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 600), 0);
    sem_post(&puppet.go);
    assert_int_equal(wait_for(speech, "5"), 500);
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 600), 500);
    ws_assert_near(frame[250], 20000, 1); /* raised as far as a whisper is */
    assert_int_equal(ws_speech_take(speech, "5", 50, frame, 600), 500);
    ws_assert_near(frame[250], 20000 * ws_tone_amplitude(50), 1);
    assert_int_equal(ws_speech_take(speech, "5", 0, frame, 600), 500);
    assert_int_equal(frame[250], 0);
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 400), 400);
    assert_true(abs(frame[399]) < 400); /* cut, and softly */
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 0), 0);
    assert_int_equal(ws_speech_take(speech, "6", 100, frame, 600), 0);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* Method: what is asked for twice is rendered once, and in the order in which it was asked for
 * last; an empty text and one without end are nothing. */
static void test_rendered_once_and_in_order(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    char endless[WS_SPEECH_BYTES + 1];

    (void)state;
    puppet_make(&puppet, 0);
    speech = start(&puppet);
    ws_speech_want(speech, "2");
    ws_speech_want(speech, "3");
    ws_speech_want(speech, "1");
    ws_speech_want(speech, "2");
    ws_speech_want(speech, "");
    memset(endless, '7', sizeof endless);
    endless[WS_SPEECH_BYTES] = '\0';
    ws_speech_want(speech, endless);
    for (int i = 0; i < 10; i++)
        sem_post(&puppet.go);
    assert_int_equal(wait_for(speech, "2"), 200);
    ws_speech_stop(speech);
    assert_string_equal(puppet.order, "3 1 2 ");
    puppet_end(&puppet);
}

/* Method: one more than the cache holds; the one asked for longest ago is gone, asking for another
 * anew has saved it, and what is gone can be asked for again. */
static void test_the_oldest_is_forgotten(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    char text[16];

    (void)state;
    puppet_make(&puppet, 1000);
    speech = start(&puppet);
    for (int i = 1; i <= WS_SPEECH_PHRASES; i++) {
        snprintf(text, sizeof text, "%d", i % 20 + 1);
        snprintf(text + strlen(text), sizeof text - strlen(text), ".%d", i);
        ws_speech_want(speech, text);
        assert_true(wait_for(speech, text) > 0);
    }
    ws_speech_want(speech, "2.1"); /* the first: now the latest */
    ws_speech_want(speech, "9.new");
    assert_true(wait_for(speech, "9.new") > 0);
    assert_true(ws_speech_frames(speech, "2.1") > 0);
    assert_int_equal(ws_speech_frames(speech, "3.2"), 0);
    assert_true(ws_speech_frames(speech, "4.3") > 0);
    ws_speech_want(speech, "3.2");
    assert_int_equal(wait_for(speech, "3.2"), 300);
    assert_int_equal(ws_speech_frames(speech, "4.3"), 0);
    assert_int_equal(puppet.rendered, WS_SPEECH_PHRASES + 2);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* As many texts "N.i" as asked for, in order; each is a hundred frames or more. */
static void make_list(char (*text)[16], const char **list, int texts, const char *of)
{
    for (int i = 0; i < texts; i++) {
        snprintf(text[i], sizeof text[i], "%d.%s%d", i % 20 + 1, of, i);
        list[i] = text[i];
    }
}

/* Method: a list in order of due while the voice is held back: it is rendered in that order,
 * however it stood before, a phrase wanted by itself first of all; and what no list holds any more
 * last. */
static void test_expected_in_order_of_due(void **state)
{
    static const char *const first[] = { "3", "4", "5", "6" };
    static const char *const second[] = { "6", "", "4", "7", "3", "4" };
    struct puppet puppet;
    struct ws_speech *speech;

    (void)state;
    puppet_make(&puppet, 0);
    speech = start(&puppet);
    ws_speech_expect(speech, first, 4);
    ws_speech_expect(speech, second, 6);
    ws_speech_want(speech, "9");
    ws_speech_expect(speech, second, 6);
    for (int i = 0; i < 10; i++)
        sem_post(&puppet.go);
    assert_int_equal(wait_for(speech, "5"), 500);
    assert_true(ws_speech_knows(speech, "9"));
    assert_false(ws_speech_knows(speech, "8"));
    ws_speech_stop(speech);
    assert_string_equal(puppet.order, "9 6 4 7 3 5 ");
    puppet_end(&puppet);
}

/* Method: three lists, each as long as may be, come one after another, and then again and again
 * with a few more at their end than there is room for. What is due soonest is rendered once and
 * stays; what is beyond the room is not rendered at all. */
static void test_what_is_due_soonest_stays(void **state)
{
    enum { MANY = WS_SPEECH_EXPECTED + 20 };
    static char text[4][MANY][16];
    static const char *list[4][MANY];
    static const char *const of[4] = { "a", "b", "c", "d" };
    struct puppet puppet;
    struct ws_speech *speech;

    (void)state;
    puppet_make(&puppet, 10000);
    speech = start(&puppet);
    for (int l = 0; l < 4; l++) {
        make_list(text[l], list[l], MANY, of[l]);
        ws_speech_expect(speech, list[l], l < 3 ? (int)WS_SPEECH_EXPECTED : (int)MANY);
        while (!ws_speech_idle(speech))
            wait_for_more(speech);
    }
    assert_int_equal(puppet.rendered, 4 * WS_SPEECH_EXPECTED);
    for (int round = 0; round < 3; round++) {
        ws_speech_expect(speech, list[3], MANY);
        ws_speech_want(speech, text[0][round]);
        while (!ws_speech_idle(speech))
            wait_for_more(speech);
    }
    assert_int_equal(puppet.rendered, 4 * WS_SPEECH_EXPECTED + 3);
    for (int i = 0; i < MANY; i++)
        assert_int_equal(ws_speech_knows(speech, text[3][i]), i < WS_SPEECH_EXPECTED);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* Method: a phrase is forgotten while the voice is at it, by as many others as the cache holds, and
 * asked for again; nothing is lost and nothing is freed twice (the sanitizers look). */
static void test_forgotten_while_rendered(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    char text[16];

    (void)state;
    puppet_make(&puppet, 1);
    speech = start(&puppet);
    ws_speech_want(speech, "9");
    sem_wait(&puppet.begun);
    for (int i = 0; i < WS_SPEECH_PHRASES; i++) {
        snprintf(text, sizeof text, "3.%d", i);
        ws_speech_want(speech, text);
    }
    ws_speech_want(speech, "9");
    for (int i = 0; i < WS_SPEECH_PHRASES + 4; i++)
        sem_post(&puppet.go);
    assert_int_equal(wait_for(speech, "9"), 900);
    assert_int_equal(wait_for(speech, text), 300);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* Method: a voice that refuses. */
static void test_no_voice(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    struct ws_message why = { "" };
    int16_t frame[10];

    (void)state;
    puppet_make(&puppet, 1);
    puppet.refuses = true;
    speech = start(&puppet);
    assert_int_equal(wait_for_state(speech, &why), WS_SPEECH_NONE);
    assert_string_equal(why.text, "no voice for en");
    ws_speech_want(speech, "5");
    assert_int_equal(ws_speech_take(speech, "5", 100, frame, 10), 0);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* Method: a voice with nothing to hear ("0"), and one at twice the rate, which gives half the
 * frames. */
static void test_silence_and_other_rates(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;

    (void)state;
    puppet_make(&puppet, 1000);
    puppet.hz = 2 * WS_SOUND_HZ;
    speech = start(&puppet);
    ws_speech_want(speech, "0");
    ws_speech_want(speech, "6");
    assert_int_equal(wait_for(speech, "6"), 300);
    assert_int_equal(ws_speech_frames(speech, "0"), 0);
    ws_speech_stop(speech);
    puppet_end(&puppet);
}

/* Method: the voice hangs in a phrase for good. Stopping comes back, and when the voice lets go at
 * last, what was left behind ends by itself. */
static void test_a_voice_that_hangs_is_left_behind(void **state)
{
    struct puppet puppet;
    struct ws_speech *speech;
    int64_t began_ms;

    (void)state;
    puppet_make(&puppet, 1);
    speech = start(&puppet);
    ws_speech_want(speech, "4");
    sem_wait(&puppet.begun);
    began_ms = now_ms();
    ws_speech_stop(speech);
    assert_true(now_ms() - began_ms < 10000);
    assert_int_equal(puppet.rendered, 0);
    sem_post(&puppet.go);
    sem_wait(&puppet.told); /* rendered */
    sem_wait(&puppet.told); /* closed */
    puppet_end(&puppet);
}

/* Method: a voice hangs in a phrase and is left: that comes back at once, though nothing has been
 * let go (a stop would have waited a second each of twenty times). Let go, each ends by itself. */
static void test_leaving_waits_for_nothing(void **state)
{
    enum { VOICES = 20 };
    static struct puppet puppet[VOICES];
    int64_t began_ms, took_ms = 0;

    (void)state;
    for (int i = 0; i < VOICES; i++) {
        struct ws_speech *speech;

        puppet_make(&puppet[i], 1);
        speech = start(&puppet[i]);
        ws_speech_want(speech, "4");
        sem_wait(&puppet[i].begun);
        began_ms = now_ms();
        ws_speech_leave(speech);
        took_ms += now_ms() - began_ms;
    }
    assert_true(took_ms < 10000);
    for (int i = 0; i < VOICES; i++) {
        assert_int_equal(puppet[i].rendered, 0);
        sem_post(&puppet[i].go);
        sem_wait(&puppet[i].told); /* rendered */
        sem_wait(&puppet[i].told); /* closed */
        puppet_end(&puppet[i]);
    }
}

/* ---- the real voice -------------------------------------------------------------------------- */

static struct ws_speech *start_real(const char *language)
{
    struct ws_speech *speech = NULL;
    struct ws_message why = { "" };

    assert_int_equal(ws_speech_start(language, &speech, &why), WS_OK);
    if (wait_for_state(speech, &why) != WS_SPEECH_READY)
        fail_msg("%s", why.text);
    return speech;
}

struct take {
    int frames;
    int16_t frame[WS_SOUND_SAID_MOST];
};

static void take_real(struct ws_speech *speech, const char *text, struct take *take)
{
    ws_speech_want(speech, text);
    wait_for(speech, text);
    take->frames = ws_speech_take(speech, text, 100, take->frame, WS_SOUND_SAID_MOST);
    if (take->frames == 0)
        fail_msg("nothing to hear: %s", text);
}

/* Loud at both ends within 10 ms, soft at the very ends, and not clipped. */
static void assert_trimmed(const struct take *take, const char *text)
{
    int edge = WS_SOUND_HZ / 100, peak = 0, at_begin = 0, at_end = 0;

    for (int i = 0; i < take->frames; i++) {
        int loud = abs(take->frame[i]);

        peak = loud > peak ? loud : peak;
        if (i < edge && loud > at_begin)
            at_begin = loud;
        if (i >= take->frames - edge && loud > at_end)
            at_end = loud;
    }
    if (peak > 29500 || peak < 20000 || at_begin < peak / 200 || at_end < peak / 200 ||
        abs(take->frame[0]) > 400 || abs(take->frame[take->frames - 1]) > 400)
        fail_msg("%s: peak %d, at the ends %d %d", text, peak, at_begin, at_end);
}

/* Method: every phrase of both languages with the facts of a run is rendered: there is something to
 * hear, in less than 4 s, without silence at the ends; and none is the same as another. */
static void test_every_phrase_is_heard(void **state)
{
    static const char *const language[] = { "en", "de" };
    static struct take take[WS_PHRASES];

    (void)state;
    if (!ws_speech_built())
        skip();
    for (int l = 0; l < 2; l++) {
        struct ws_speech *speech = start_real(language[l]);
        struct ws_phrases phrases;

        assert_int_equal(ws_phrases_shipped(language[l], &phrases), WS_OK);
        for (int i = 0; i < WS_PHRASES; i++) {
            struct ws_phrase_facts facts = {
                "A", "Corvex Pan 100", phrases.text[WS_PHRASE_DEVELOPER], 3, 4, 150
            };
            char text[WS_SPOKEN_BYTES];

            /* The leads of the house; what is left, at its longest. */
            if (i == WS_PHRASE_COUNT_IN || i == WS_PHRASE_READY_TO_POUR ||
                i == WS_PHRASE_FIRST_OUT_IN)
                facts.seconds = 15;
            else if (i == WS_PHRASE_COME_BACK)
                facts.seconds = 120;
            ws_phrase_say(&phrases, (enum ws_phrase)i, &facts, text, sizeof text);
            take_real(speech, text, &take[i]);
            assert_trimmed(&take[i], text);
            if (take[i].frames >= 4 * WS_SOUND_HZ)
                fail_msg("%d ms: %s", take[i].frames * 1000 / WS_SOUND_HZ, text);
            for (int j = 0; j < i; j++)
                if (take[j].frames == take[i].frames &&
                    memcmp(take[j].frame, take[i].frame,
                           (size_t)take[i].frames * sizeof take[i].frame[0]) == 0)
                    fail_msg("sounds like %s: %s", ws_phrase_name((enum ws_phrase)j), text);
        }
        ws_speech_stop(speech);
    }
}

/* Method: the counts of inversions from 1 to 12 in both languages are over in 0.6 s, and each is
 * heard to be another. */
static void test_counts_are_short(void **state)
{
    static const char *const language[] = { "en", "de" };
    static struct take take[12];

    (void)state;
    if (!ws_speech_built())
        skip();
    for (int l = 0; l < 2; l++) {
        struct ws_speech *speech = start_real(language[l]);

        for (int n = 0; n < 12; n++) {
            char text[8];

            snprintf(text, sizeof text, "%d", n + 1);
            take_real(speech, text, &take[n]);
            assert_trimmed(&take[n], text);
            if (take[n].frames >= WS_SOUND_HZ * 6 / 10)
                fail_msg("%s %s: %d ms", language[l], text, take[n].frames * 1000 / WS_SOUND_HZ);
            for (int m = 0; m < n; m++)
                assert_false(take[m].frames == take[n].frames &&
                             memcmp(take[m].frame, take[n].frame,
                                    (size_t)take[n].frames * sizeof take[n].frame[0]) == 0);
        }
        ws_speech_stop(speech);
    }
}

/* Method: texts that would be markup, phonemes or commands to the library, by themselves: what is
 * rendered is cut at the most a phrase may be, and a pause of nine seconds asked for by markup is
 * not made. */
static void test_nothing_is_markup(void **state)
{
    static const char *const text[] = { "a <break time=\"9s\"/> b", "[[h@l'oU]]", "&amp;",
                                        "HP-5/ö" };
    static struct take take, other;
    struct ws_speech *speech;
    char endless[WS_SPEECH_BYTES];

    (void)state;
    if (!ws_speech_built())
        skip();
    speech = start_real("en");
    for (size_t i = 0; i < sizeof text / sizeof text[0]; i++) {
        take_real(speech, text[i], &take);
        assert_true(take.frames < 6 * WS_SOUND_HZ);
    }
    /* As phonemes it would be the one word "hello". */
    take_real(speech, "[[h@l'oU]]", &take);
    take_real(speech, "hello", &other);
    assert_int_not_equal(take.frames, other.frames);
    /* As a command all after it would be said at less than half the pace. */
    take_real(speech, "a \0011S b", &take);
    take_real(speech, "hello?", &take);
    ws_assert_near(take.frames, other.frames, WS_SOUND_HZ / 10);
    for (size_t i = 0; i < sizeof endless - 1; i++)
        endless[i] = "ab9 "[i % 4];
    endless[sizeof endless - 1] = '\0';
    take_real(speech, endless, &take);
    assert_true(take.frames > 11 * WS_SOUND_HZ && take.frames <= WS_SOUND_SAID_MOST);
    take_real(speech, "still there", &take);
    assert_trimmed(&take, "still there");
    ws_speech_stop(speech);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_take_before_ready_is_nothing),
        cmocka_unit_test(test_rendered_once_and_in_order),
        cmocka_unit_test(test_the_oldest_is_forgotten),
        cmocka_unit_test(test_expected_in_order_of_due),
        cmocka_unit_test(test_what_is_due_soonest_stays),
        cmocka_unit_test(test_forgotten_while_rendered),
        cmocka_unit_test(test_no_voice),
        cmocka_unit_test(test_silence_and_other_rates),
        cmocka_unit_test(test_a_voice_that_hangs_is_left_behind),
        cmocka_unit_test(test_leaving_waits_for_nothing),
        cmocka_unit_test(test_every_phrase_is_heard),
        cmocka_unit_test(test_counts_are_short),
        cmocka_unit_test(test_nothing_is_markup),
    };

    return cmocka_run_group_tests_name("speech", tests, NULL, NULL);
}
