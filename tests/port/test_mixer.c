/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mixer: cues at the wrong moments for each other, played to a tape that takes ten milliseconds
 * at a time, and listened to. */
#include "aid.h"

#include <stdlib.h>

#include "../../src/port/mixer.h"
#include "aid_hear.h"

#define SEC   1000000000LL
#define BEGAN (5000 * SEC) /* boot moment of the tape's first frame */
#define VOICE 217.0        /* Hz: lower than any tone */

enum { TAPE = 60 * WS_SOUND_HZ, BLOCK = WS_SOUND_HZ / 100 };

struct rig {
    struct ws_mixer mixer;
    int16_t tape[TAPE];
    int frames;
    int16_t said[WS_SOUND_SAID_MOST];
    struct hear_note note[HEAR_NOTES];
    int notes;
};

static int64_t now_ns(const struct rig *rig)
{
    return BEGAN + rig->frames * SEC / WS_SOUND_HZ;
}

static int begin(void **state)
{
    struct rig *rig = calloc(1, sizeof *rig);

    ws_mixer_begin(&rig->mixer);
    /* Words begin and end at their loudest, as when their silence was cut off. */
    for (int i = 0; i < WS_SOUND_SAID_MOST; i++)
        rig->said[i] = (int16_t)lround(30000 * cos(6.283185307 * VOICE * i / WS_SOUND_HZ));
    *state = rig;
    return 0;
}

static int end(void **state)
{
    free(*state);
    return 0;
}

static void run(struct rig *rig, int ms)
{
    for (int left = ws_tone_frames(ms); left > 0; left -= BLOCK) {
        int frames = left < BLOCK ? left : BLOCK;

        assert_true(rig->frames + frames <= TAPE);
        ws_mixer_mix(&rig->mixer, rig->tape + rig->frames, frames, now_ns(rig));
        rig->frames += frames;
    }
}

/* Until all is silent; at most 20 s. */
static void run_out(struct rig *rig)
{
    for (int i = 0; i < 2000 && ws_mixer_busy(&rig->mixer); i++)
        run(rig, 10);
    assert_false(ws_mixer_busy(&rig->mixer));
}

static void play(struct rig *rig, enum ws_cue_kind kind, int tank)
{
    struct ws_sounding what = { .kind = kind, .tank = tank, .volume_percent = 100 };

    ws_mixer_play(&rig->mixer, &what, now_ns(rig));
}

static void insist(struct rig *rig, enum ws_cue_kind kind, int tank)
{
    struct ws_sounding what = { .kind = kind, .tank = tank, .volume_percent = 100, .insist = true };

    ws_mixer_play(&rig->mixer, &what, now_ns(rig));
}

static void say(struct rig *rig, enum ws_cue_kind kind, int tank, int said_ms, int64_t from_ns)
{
    struct ws_sounding what = { .kind = kind,
                                .tank = tank,
                                .volume_percent = 100,
                                .said = rig->said,
                                .said_frames = ws_tone_frames(said_ms),
                                .said_not_before_boot_ns = from_ns };

    ws_mixer_play(&rig->mixer, &what, now_ns(rig));
}

/* Listens to the tape: its notes, and that it never clicks. */
static void listen(struct rig *rig)
{
    rig->notes = hear_notes(rig->tape, rig->frames, rig->note, HEAR_NOTES);
    assert_true(rig->notes < HEAR_NOTES);
    assert_true(hear_click(rig->tape, rig->frames) < HEAR_CLICK);
    assert_true(hear_step(rig->tape, rig->frames) < HEAR_STEEPEST);
}

/* The cue that begins with note `first`; its notes. */
static int cue_at(const struct rig *rig, int first, enum ws_cue_kind kind, int tank)
{
    struct ws_note want[WS_TONE_NOTES];
    int n = ws_tone_notes(kind, tank, want), which_tank = -1;
    enum ws_cue_kind which = WS_CUE_KINDS;

    assert_true(first + n <= rig->notes);
    assert_int_equal(hear_which(rig->note + first, n, 12, &which, &which_tank), 1);
    assert_int_equal(which, kind);
    assert_int_equal(which_tank, tank);
    return n;
}

static bool is_voice(const struct hear_note *note)
{
    return fabs(note->hz - VOICE) < 3;
}

static bool is_silent(const struct rig *rig, int from_ms, int to_ms)
{
    for (int i = ws_tone_frames(from_ms); i < ws_tone_frames(to_ms); i++)
        if (rig->tape[i] != 0)
            return false;
    return true;
}

/* Method: one cue after silence: its first note begins at once, it is what was asked for, and after
 * it there is nothing but exact silence. */
static void test_begins_at_once(void **state)
{
    struct rig *rig = *state;

    assert_false(ws_mixer_busy(&rig->mixer));
    run(rig, 500);
    assert_true(is_silent(rig, 0, 500));
    play(rig, WS_CUE_READY_TO_POUR, 1);
    assert_true(ws_mixer_busy(&rig->mixer));
    run_out(rig);
    run(rig, 500);
    listen(rig);
    assert_int_equal(cue_at(rig, 0, WS_CUE_READY_TO_POUR, 1), rig->notes);
    ws_assert_near(rig->note[0].from_ms, 500, 3);
    assert_true(is_silent(rig, 500 + ws_tone_length_ms(WS_CUE_READY_TO_POUR, 1) + 1,
                          rig->frames * 1000 / WS_SOUND_HZ));
}

/* Method: three cues of two tanks, the second while the first sounds, the third at the same moment:
 * all are heard whole, one after another, 150 ms apart; of those that wait the weightier is first.
 */
static void test_one_after_another(void **state)
{
    struct rig *rig = *state;
    int n, after_ms;

    play(rig, WS_CUE_AGITATE, 0);
    run(rig, 200);
    play(rig, WS_CUE_REST, 0);
    play(rig, WS_CUE_POUR_OUT, 1);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_AGITATE, 0);
    after_ms = ws_tone_length_ms(WS_CUE_AGITATE, 0) + 150;
    ws_assert_near(rig->note[n].from_ms, after_ms, 3);
    n += cue_at(rig, n, WS_CUE_POUR_OUT, 1);
    after_ms += ws_tone_length_ms(WS_CUE_POUR_OUT, 1) + 150;
    ws_assert_near(rig->note[n].from_ms, after_ms, 3);
    n += cue_at(rig, n, WS_CUE_REST, 0);
    assert_int_equal(n, rig->notes);
}

/* Method: every cue of the second tank, whose mark makes them longer than the first's, and at the
 * same moment or 50 ms later every cue again. Both are heard whole, the weightier first unless the
 * other has begun, the second no later than 1.5 s after it was played. But of a pair of which the
 * first is void only the second is heard, and a beat only if it need not wait. */
static void test_second_is_never_late(void **state)
{
    struct rig *rig = *state;

    for (int a = 0; a < WS_CUE_KINDS; a++)
        for (int b = 0; b < WS_CUE_KINDS; b++) {
            const enum ws_cue_kind one = (enum ws_cue_kind)a, two = (enum ws_cue_kind)b;
            const int begun_ms = 50 * (a % 3 / 2);
            const bool begun = begun_ms > 0;
            const int wait_ms = ws_tone_length_ms(one, 1) - begun_ms + WS_MIXER_GAP_MS;
            int at = 0;

            rig->frames = 0;
            play(rig, one, 1);
            run(rig, begun_ms);
            play(rig, two, 1);
            run_out(rig);
            listen(rig);
            if (hear_is_void(one, two)) {
                at = rig->notes - ws_tone_notes(two, 1, (struct ws_note[WS_TONE_NOTES]){ { 0 } });
                assert_true(at <= (begun ? 1 : 0));
                at += cue_at(rig, at, two, 1);
            } else if (hear_weight(two) == 0 && wait_ms > WS_MIXER_BEAT_MS) {
                at += cue_at(rig, at, one, 1);
            } else if (!begun && hear_weight(one) == 0 && hear_weight(two) > 0) {
                at += cue_at(rig, at, two, 1);
            } else if (!begun && hear_weight(one) < hear_weight(two)) {
                at += cue_at(rig, at, two, 1);
                assert_true(rig->note[at].from_ms <= WS_MIXER_WAIT_MS + 3);
                at += cue_at(rig, at, one, 1);
            } else {
                at += cue_at(rig, at, one, 1);
                assert_true(rig->note[at].from_ms <= begun_ms + WS_MIXER_WAIT_MS + 3);
                at += cue_at(rig, at, two, 1);
            }
            assert_int_equal(at, rig->notes);
        }
}

/* Method: four long cues at once are more than 1.5 s holds: the least weighty, which sounds, is cut
 * within 10 ms and without a click; the two others are heard whole, the last of them in time; and
 * one that weighs as little and comes now is not heard. */
static void test_the_least_gives_way(void **state)
{
    struct rig *rig = *state;
    int n;

    play(rig, WS_CUE_REST, 0);
    run(rig, 200);
    play(rig, WS_CUE_GET_READY, 1);
    play(rig, WS_CUE_POUR_OUT, 2);
    play(rig, WS_CUE_REST, 3);
    run_out(rig);
    listen(rig);
    ws_assert_near(rig->note[0].length_ms, 210, 5);
    ws_assert_near(rig->note[1].from_ms, 350, 3);
    n = 1 + cue_at(rig, 1, WS_CUE_POUR_OUT, 2);
    assert_true(rig->note[n].from_ms <= 200 + WS_MIXER_WAIT_MS + 3);
    n += cue_at(rig, n, WS_CUE_GET_READY, 1);
    assert_int_equal(n, rig->notes);
}

/* Method: three cues that weigh the same, at one moment: the third waits longer than 1.5 s, rather
 * than that one of them is not heard. */
static void test_of_equals_none_is_lost(void **state)
{
    struct rig *rig = *state;
    int n;

    play(rig, WS_CUE_POUR_IN, 0);
    play(rig, WS_CUE_POUR_OUT, 1);
    play(rig, WS_CUE_PIECE_IN, 2);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_POUR_IN, 0);
    n += cue_at(rig, n, WS_CUE_POUR_OUT, 1);
    assert_true(rig->note[n].from_ms > WS_MIXER_WAIT_MS);
    n += cue_at(rig, n, WS_CUE_PIECE_IN, 2);
    assert_int_equal(n, rig->notes);
}

/* Method: one insists every two seconds; a new cue of another tank that could not be in time makes
 * the repeat give way, not a cue that is said once. */
static void test_a_repeat_gives_way_first(void **state)
{
    struct rig *rig = *state;
    int n;

    insist(rig, WS_CUE_POUR_OUT, 0);
    run(rig, 2000);
    play(rig, WS_CUE_READY_TO_POUR, 1);
    run(rig, 10);
    insist(rig, WS_CUE_POUR_OUT, 0);
    play(rig, WS_CUE_AGITATE, 2);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_POUR_OUT, 0);
    n += cue_at(rig, n, WS_CUE_READY_TO_POUR, 1);
    n += cue_at(rig, n, WS_CUE_AGITATE, 2);
    assert_int_equal(n, rig->notes);
}

/* Method: four tanks insist at the same moments for 40 s, far more than can be heard: each is heard
 * whole at least every ten seconds. */
static void test_each_tank_has_its_turn(void **state)
{
    struct rig *rig = *state;
    double last[HEAR_TANKS] = { 0 };
    int strokes = ws_tone_notes(WS_CUE_OVERTIME, 0, (struct ws_note[WS_TONE_NOTES]){ { 0 } });

    for (int second = 0; second < 40; second += 2) {
        for (int tank = 0; tank < HEAR_TANKS; tank++)
            insist(rig, WS_CUE_OVERTIME, tank);
        run(rig, 2000);
    }
    run_out(rig);
    listen(rig);
    for (int i = 0; i < rig->notes;) {
        int at = i;

        for (int tank = 0; tank < HEAR_TANKS && at == i; tank++) {
            enum ws_cue_kind kind;
            int which, n = strokes + tank;

            if (i + n > rig->notes || hear_which(rig->note + i, n, 12, &kind, &which) != 1 ||
                which != tank || kind != WS_CUE_OVERTIME)
                continue;
            assert_true(rig->note[i].from_ms - last[tank] < 10000);
            last[tank] = rig->note[i].from_ms;
            i += n;
        }
        i += at == i;
    }
    for (int tank = 0; tank < HEAR_TANKS; tank++)
        assert_true(last[tank] > 30000);
}

/* Method: two tanks insist at the same moments: both are heard whole each time. */
static void test_two_tanks_both_insist(void **state)
{
    struct rig *rig = *state;
    int at = 0;

    for (int time = 0; time < 10; time++) {
        insist(rig, WS_CUE_POUR_OUT, 0);
        insist(rig, WS_CUE_POUR_OUT, 1);
        run(rig, 2000);
    }
    run_out(rig);
    listen(rig);
    for (int time = 0; time < 10; time++) {
        at += cue_at(rig, at, WS_CUE_POUR_OUT, 0);
        at += cue_at(rig, at, WS_CUE_POUR_OUT, 1);
    }
    assert_int_equal(at, rig->notes);
}

/* Method: words come after the tone's gap, whole; words that have a moment come then, not
 * sooner. */
static void test_words_follow_the_tone(void **state)
{
    struct rig *rig = *state;
    int n;

    say(rig, WS_CUE_REST, 0, 700, 0);
    run_out(rig);
    rig->frames = ws_tone_frames(10000);
    say(rig, WS_CUE_REST, 0, 700, BEGAN + 13 * SEC);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_REST, 0);
    assert_true(is_voice(&rig->note[n]));
    ws_assert_near(rig->note[n].from_ms, ws_tone_length_ms(WS_CUE_REST, 0) + 150, 3);
    ws_assert_near(rig->note[n].length_ms, 700, 6);
    n += 1 + cue_at(rig, n + 1, WS_CUE_REST, 0);
    assert_true(is_voice(&rig->note[n]));
    ws_assert_near(rig->note[n].from_ms, 13000, 3);
    ws_assert_near(rig->note[n].length_ms, 700, 6);
    assert_int_equal(n + 1, rig->notes);
}

/* Method: a tone in the middle of words: they fade within 10 ms, the tone begins at once, and they
 * are not taken up again. Words alone cut words, with a gap. */
static void test_a_tone_cuts_words(void **state)
{
    struct rig *rig = *state;

    say(rig, WS_CUE_KINDS, 0, 3000, 0);
    run(rig, 1000);
    play(rig, WS_CUE_POUR_IN, 1);
    run(rig, 3000);
    assert_false(ws_mixer_busy(&rig->mixer));
    say(rig, WS_CUE_KINDS, 0, 3000, 0);
    run(rig, 500);
    say(rig, WS_CUE_KINDS, 0, 400, 0);
    run_out(rig);
    listen(rig);
    /* Words and the tone's mark run into each other; from the mark's end on it is the tone. */
    assert_int_equal(rig->notes, 4);
    ws_assert_near(rig->note[0].length_ms, 1045, 4);
    ws_assert_near(rig->note[1].from_ms, 1185, 3);
    ws_assert_near(rig->note[1].length_ms, 1000, 6);
    ws_assert_near(hear_pitch(rig->tape + ws_tone_frames(1015), ws_tone_frames(30), VOICE), 0, 0.1);
    ws_assert_near(rig->note[2].length_ms, 510, 6);
    ws_assert_near(rig->note[3].from_ms, 4500 + 150, 3);
    ws_assert_near(rig->note[3].length_ms, 400, 6);
}

/* Method: words that wait for their tone outlive a tick of another tank that says nothing, and give
 * way to one that speaks. */
static void test_words_that_wait(void **state)
{
    struct rig *rig = *state;
    int n;

    say(rig, WS_CUE_AGITATE, 0, 300, 0);
    run(rig, 400);
    play(rig, WS_CUE_INVERT, 1);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_AGITATE, 0);
    n += cue_at(rig, n, WS_CUE_INVERT, 1);
    assert_true(is_voice(&rig->note[n]));
    assert_int_equal(n + 1, rig->notes);

    rig->frames = 0;
    say(rig, WS_CUE_AGITATE, 0, 300, 0);
    run(rig, 400);
    say(rig, WS_CUE_INVERT, 1, 600, 0);
    run_out(rig);
    listen(rig);
    assert_int_equal(rig->notes, n + 1);
    ws_assert_near(rig->note[n].length_ms, 600, 6);
}

/* Words alone that yield. */
static void remark(struct rig *rig, int tank, int said_ms)
{
    struct ws_sounding what = { .kind = WS_CUE_KINDS,
                                .tank = tank,
                                .volume_percent = 100,
                                .said = rig->said,
                                .said_frames = ws_tone_frames(said_ms),
                                .yields = true };

    ws_mixer_play(&rig->mixer, &what, now_ns(rig));
}

/* Method: words that yield come while others sound; while others wait for their tone, and a tick
 * without words has come in between; while others sound and another tank was hushed. Each time the
 * others are heard whole and these are not. When all is silent, they are heard. */
static void test_words_that_yield(void **state)
{
    struct rig *rig = *state;
    int n = 0;

    say(rig, WS_CUE_KINDS, 0, 900, 0);
    run(rig, 300);
    remark(rig, 1, 500);
    run_out(rig);
    run(rig, 200);
    say(rig, WS_CUE_AGITATE, 0, 900, 0);
    run(rig, 400);
    play(rig, WS_CUE_INVERT, 1);
    run(rig, 100);
    remark(rig, 1, 500);
    run_out(rig);
    run(rig, 200);
    say(rig, WS_CUE_KINDS, 0, 900, 0);
    run(rig, 300);
    ws_mixer_hush(&rig->mixer, 1);
    remark(rig, 1, 500);
    run_out(rig);
    run(rig, 200);
    remark(rig, 1, 500);
    run_out(rig);
    run(rig, 200);
    listen(rig);
    ws_assert_near(rig->note[n].length_ms, 900, 6);
    n++;
    n += cue_at(rig, n, WS_CUE_AGITATE, 0);
    n += cue_at(rig, n, WS_CUE_INVERT, 1);
    ws_assert_near(rig->note[n].length_ms, 900, 6);
    ws_assert_near(rig->note[n + 1].length_ms, 900, 6);
    ws_assert_near(rig->note[n + 2].length_ms, 500, 6);
    assert_int_equal(n + 3, rig->notes);
}

/* Method: words that would be more than a second late, since other tones came first, are not said:
 * a number in them would be false. Nor are words whose moment is more than ten seconds off. */
static void test_late_words_are_not_said(void **state)
{
    struct rig *rig = *state;
    int n;

    say(rig, WS_CUE_AGITATE, 0, 300, 0);
    run(rig, 100);
    play(rig, WS_CUE_GET_READY, 1);
    run_out(rig);
    say(rig, WS_CUE_INVERT, 0, 300, now_ns(rig) + 11 * SEC);
    run_out(rig);
    listen(rig);
    n = cue_at(rig, 0, WS_CUE_AGITATE, 0);
    n += cue_at(rig, n, WS_CUE_GET_READY, 1);
    n += cue_at(rig, n, WS_CUE_INVERT, 0);
    assert_int_equal(n, rig->notes);
}

/* Method: at many moments of a long note, of words and of the gap between: after hush there is
 * nothing from 50 ms on (10, in fact), and no click. */
static void test_hush_is_soon_and_soft(void **state)
{
    struct rig *rig = *state;

    for (int at_ms = 1; at_ms < 1600; at_ms += 23) {
        rig->frames = 0;
        say(rig, WS_CUE_POUR_IN, 0, 1000, 0);
        run(rig, at_ms);
        ws_mixer_hush(&rig->mixer, 0);
        run(rig, 1000);
        assert_false(ws_mixer_busy(&rig->mixer));
        listen(rig);
        assert_true(is_silent(rig, at_ms + 11, at_ms + 1000));
    }
}

/* Method: a tank is hushed while another waits: the other is heard, whole and after a gap. A tank
 * that waits is hushed: the one that sounds goes on. All are hushed: nothing is left. */
static void test_hush_is_for_one_tank(void **state)
{
    struct rig *rig = *state;
    int n;

    say(rig, WS_CUE_POUR_IN, 0, 500, 0);
    say(rig, WS_CUE_AGITATE, 1, 500, 0);
    run(rig, 300);
    ws_mixer_hush(&rig->mixer, 0);
    run_out(rig);
    listen(rig);
    ws_assert_near(rig->note[0].length_ms, 310, 6);
    ws_assert_near(rig->note[1].from_ms, 450, 3);
    n = 1 + cue_at(rig, 1, WS_CUE_AGITATE, 1);
    assert_true(is_voice(&rig->note[n]));
    assert_int_equal(n + 1, rig->notes);

    rig->frames = 0;
    play(rig, WS_CUE_REST, 0);
    run(rig, 10);
    say(rig, WS_CUE_AGITATE, 1, 500, 0);
    run(rig, 300);
    ws_mixer_hush(&rig->mixer, 1);
    run_out(rig);
    listen(rig);
    assert_int_equal(cue_at(rig, 0, WS_CUE_REST, 0), rig->notes);

    play(rig, WS_CUE_REST, 0);
    play(rig, WS_CUE_REST, 1);
    ws_mixer_hush(&rig->mixer, -1);
    assert_false(ws_mixer_busy(&rig->mixer));
}

/* Method: at volume 0 nothing is played and nothing said; an unknown cue without words is
 * nothing. */
static void test_silent_at_nought(void **state)
{
    struct rig *rig = *state;
    struct ws_sounding what = { .kind = WS_CUE_AGITATE, .said = rig->said, .said_frames = 100 };

    ws_mixer_play(&rig->mixer, &what, now_ns(rig));
    play(rig, WS_CUE_KINDS, 0);
    assert_false(ws_mixer_busy(&rig->mixer));
}

/* Method: ten minutes of cues, repeats, words and presses at random moments (fixed seed):
 * never a click, never a step too steep, always silent in the end. */
static void test_whatever_comes(void **state)
{
    struct rig *rig = *state;
    unsigned seed = 20260314;

    for (int round = 0; round < 40; round++) {
        rig->frames = 0;
        for (int i = 0; i < 25; i++) {
            struct ws_sounding what = { .volume_percent = 100, .said = rig->said };

            seed = seed * 1664525 + 1013904223;
            what.kind = (enum ws_cue_kind)((seed >> 8) % (WS_CUE_KINDS + 1));
            what.tank = (int)((seed >> 16) % 5);
            what.insist = (seed >> 20) % 2;
            what.said_frames = (seed >> 21) % 3 == 0 ? (int)((seed >> 22) % 40000) : 0;
            what.said_not_before_boot_ns =
                (seed >> 24) % 3 == 0 ? now_ns(rig) + (seed >> 26) % 3 * SEC : 0;
            if ((seed >> 10) % 5 == 0)
                ws_mixer_hush(&rig->mixer, what.tank);
            else
                ws_mixer_play(&rig->mixer, &what, now_ns(rig));
            run(rig, (int)((seed >> 12) % 1300));
        }
        run_out(rig);
        run(rig, 20);
        /* A phrase at its loudest and a fading note together may touch the end of the scale. */
        assert_true(hear_click(rig->tape, rig->frames) < 2 * HEAR_CLICK);
        assert_true(hear_step(rig->tape, rig->frames) < HEAR_STEEPEST);
        assert_int_equal(rig->tape[rig->frames - 1], 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_begins_at_once, begin, end),
        cmocka_unit_test_setup_teardown(test_one_after_another, begin, end),
        cmocka_unit_test_setup_teardown(test_second_is_never_late, begin, end),
        cmocka_unit_test_setup_teardown(test_the_least_gives_way, begin, end),
        cmocka_unit_test_setup_teardown(test_of_equals_none_is_lost, begin, end),
        cmocka_unit_test_setup_teardown(test_a_repeat_gives_way_first, begin, end),
        cmocka_unit_test_setup_teardown(test_each_tank_has_its_turn, begin, end),
        cmocka_unit_test_setup_teardown(test_two_tanks_both_insist, begin, end),
        cmocka_unit_test_setup_teardown(test_words_follow_the_tone, begin, end),
        cmocka_unit_test_setup_teardown(test_a_tone_cuts_words, begin, end),
        cmocka_unit_test_setup_teardown(test_words_that_wait, begin, end),
        cmocka_unit_test_setup_teardown(test_words_that_yield, begin, end),
        cmocka_unit_test_setup_teardown(test_late_words_are_not_said, begin, end),
        cmocka_unit_test_setup_teardown(test_hush_is_soon_and_soft, begin, end),
        cmocka_unit_test_setup_teardown(test_hush_is_for_one_tank, begin, end),
        cmocka_unit_test_setup_teardown(test_silent_at_nought, begin, end),
        cmocka_unit_test_setup_teardown(test_whatever_comes, begin, end),
    };

    return cmocka_run_group_tests_name("mixer", tests, NULL, NULL);
}
