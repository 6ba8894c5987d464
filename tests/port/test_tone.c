/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tones: every cue of every tank has its own rhythm, and is soft, low enough and never too
 * loud. */
#include "aid.h"

#include <stdlib.h>

#include "aid_hear.h"

enum { ROOM = 3 * WS_SOUND_HZ };

static int16_t frame[ROOM];

#define EACH_CUE(kind, tank)                                                                       \
    for (int kind = 0; kind < WS_CUE_KINDS; kind++)                                                \
        for (int tank = 0; tank < HEAR_TANKS; tank++)

/* Method: the table of every cue at every tank: notes in order, the first at once, none shorter
 * than can be heard, none so close to the next that both become one, the whole so short (of the
 * first two tanks) that what waits for it and a gap of 150 ms is late by 1.5 s at most. */
static void test_notes_are_in_order(void **state)
{
    struct ws_note note[WS_TONE_NOTES];

    (void)state;
    EACH_CUE(kind, tank)
    {
        int n = ws_tone_notes((enum ws_cue_kind)kind, tank, note);
        int length_ms = ws_tone_length_ms((enum ws_cue_kind)kind, tank);

        assert_in_range(n, 1, WS_TONE_NOTES);
        assert_int_equal(note[0].from_ms, 0);
        for (int i = 0; i < n; i++) {
            assert_true(note[i].length_ms >= 40);
            if (i > 0)
                assert_true(note[i].from_ms >= note[i - 1].from_ms + note[i - 1].length_ms + 30);
        }
        assert_int_equal(length_ms, note[n - 1].from_ms + note[n - 1].length_ms);
        assert_true(length_ms <= (tank < 2 ? 1350 : WS_TONE_MOST_MS));
    }
    assert_int_equal(ws_tone_notes(WS_CUE_KINDS, 0, note), 0);
    assert_int_equal(ws_tone_notes((enum ws_cue_kind) - 1, 0, note), 0);
    assert_int_equal(ws_tone_length_ms(WS_CUE_KINDS, 0), 0);
    assert_int_equal(ws_tone_render(WS_CUE_KINDS, 0, 100, frame, ROOM), 0);
}

/* Whether ears that tell no pitch tell two rhythms apart by the moments at which notes begin: as
 * many notes or not, and if so, two moments that differ by a fifth and 40 ms (ears notice a tenth:
 * from memory). */
static bool moments_differ(const struct ws_note *a, int as, const struct ws_note *b, int bs)
{
    if (as != bs)
        return true;
    for (int i = 1; i < as; i++) {
        double p = a[i].from_ms - a[i - 1].from_ms, q = b[i].from_ms - b[i - 1].from_ms;

        if (fabs(p - q) >= 40 && fabs(p - q) >= 0.2 * fmax(p, q))
            return true;
    }
    return false;
}

/* Method: all pairs of (cue, tank), of which no two begin their notes at the same moments. Pitch
 * and length are left out, but for the two cues of a single note at the same tank: one is ten times
 * as long as the other. */
static void test_all_rhythms_differ(void **state)
{
    struct ws_note one[WS_TONE_NOTES], other[WS_TONE_NOTES];

    (void)state;
    EACH_CUE(a, at)
    EACH_CUE(b, bt)
    {
        int n = ws_tone_notes((enum ws_cue_kind)a, at, one);
        int m = ws_tone_notes((enum ws_cue_kind)b, bt, other);

        if ((a == b && at == bt) || moments_differ(one, n, other, m))
            continue;
        if (at != bt || n != at + 1 ||
            fmax(one[at].length_ms, other[at].length_ms) <
                10 * fmin(one[at].length_ms, other[at].length_ms))
            fail_msg("cue %d at tank %d sounds like %d at %d", a, at, b, bt);
    }
}

/* Method: any two tanks' same cue: the pitch of the last note is two semitones away or more. */
static void test_tanks_differ_by_pitch_too(void **state)
{
    struct ws_note one[WS_TONE_NOTES], other[WS_TONE_NOTES];

    (void)state;
    EACH_CUE(kind, tank)
    for (int t = 0; t < tank; t++) {
        int n = ws_tone_notes((enum ws_cue_kind)kind, tank, one);
        int m = ws_tone_notes((enum ws_cue_kind)kind, t, other);

        assert_true(fabs(12 * log2(one[n - 1].hz / other[m - 1].hz)) >= 2);
    }
}

/* Method: what is rendered is listened to: as many notes as the table has, each at its moment, as
 * long and as high as it says; and the rhythm alone tells which cue of which tank it was. */
static void test_rendered_is_the_table(void **state)
{
    (void)state;
    EACH_CUE(kind, tank)
    {
        struct ws_note want[WS_TONE_NOTES];
        struct hear_note heard[HEAR_NOTES];
        int n = ws_tone_notes((enum ws_cue_kind)kind, tank, want);
        int frames = ws_tone_render((enum ws_cue_kind)kind, tank, 100, frame, ROOM);
        enum ws_cue_kind which_kind;
        int which_tank;

        ws_assert_near(frames, ws_tone_length_ms((enum ws_cue_kind)kind, tank) * 22.05, 1);
        assert_int_equal(hear_notes(frame, frames, heard, HEAR_NOTES), n);
        for (int i = 0; i < n; i++) {
            ws_assert_near(heard[i].from_ms, want[i].from_ms, 3);
            ws_assert_near(heard[i].length_ms, want[i].length_ms, 6);
            ws_assert_near(heard[i].hz, want[i].hz, 0.01 * want[i].hz);
        }
        assert_int_equal(hear_which(heard, n, 12, &which_kind, &which_tank), 1);
        assert_int_equal(which_kind, kind);
        assert_int_equal(which_tank, tank);
    }
}

/* Method: every note, one by one: its pitch and the octave above lie in the range, both are really
 * in the samples, and together they are all there is: what they leave of the power is under a
 * hundredth, the edges' share. */
static void test_pitches_lie_in_range(void **state)
{
    (void)state;
    EACH_CUE(kind, tank)
    {
        struct ws_note note[WS_TONE_NOTES];
        int n = ws_tone_notes((enum ws_cue_kind)kind, tank, note);

        ws_tone_render((enum ws_cue_kind)kind, tank, 100, frame, ROOM);
        for (int i = 0; i < n; i++) {
            int from = ws_tone_frames(note[i].from_ms) + WS_TONE_EDGE_FRAMES;
            int whole = (int)((note[i].length_ms - 20) / 1000.0 * note[i].hz);
            int frames = (int)(whole * WS_SOUND_HZ / note[i].hz);
            double one = hear_pitch(frame + from, frames, note[i].hz);
            double two = hear_pitch(frame + from, frames, 2 * note[i].hz), power = 0;

            assert_true(note[i].hz >= WS_TONE_LOWEST_HZ && 2 * note[i].hz <= WS_TONE_HIGHEST_HZ);
            for (int f = from; f < from + frames; f++)
                power += frame[f] / 32768.0 * frame[f] / 32768.0 / frames;
            assert_true(one > 0.5 && two > 0.2);
            ws_assert_near((one * one + two * two) / 2, power, 0.01 * power);
        }
    }
}

static double top(enum ws_cue_kind kind, int tank, int volume)
{
    int frames = ws_tone_render(kind, tank, volume, frame, ROOM);
    double most = 0;

    for (int i = 0; i < frames; i++)
        most = fmax(most, abs(frame[i]) / 32768.0);
    return most;
}

/* Method: the highest sample of every cue at several volumes: never near the end of the scale,
 * louder with each step, still there at 1, ten decibels less at half, nothing at all at 0; beyond
 * the range is the end of the range. */
static void test_volume(void **state)
{
    (void)state;
    EACH_CUE(kind, tank)
    {
        enum ws_cue_kind cue = (enum ws_cue_kind)kind;
        double full = top(cue, tank, 100);

        assert_true(full > 0.85 && full <= 0.901);
        ws_assert_near(20 * log10(top(cue, tank, 50) / full), -10.03, 0.05);
        assert_true(top(cue, tank, 1) > 0);
        assert_true(top(cue, tank, 0) == 0);
        ws_assert_near(top(cue, tank, 900), full, 0);
        ws_assert_near(top(cue, tank, -1), 0, 0);
    }
    for (int volume = 1; volume <= 100; volume++)
        assert_true(top(WS_CUE_AGITATE, 0, volume) > top(WS_CUE_AGITATE, 0, volume - 1));
}

/* Method: the ear for clicks hears none in any cue at full volume, and no step is steeper than the
 * steepest note. That it would hear one is shown by a note cut off at its top. */
static void test_no_clicks(void **state)
{
    int frames, cut;

    (void)state;
    EACH_CUE(kind, tank)
    {
        frames = ws_tone_render((enum ws_cue_kind)kind, tank, 100, frame, ROOM - 1000);
        memset(frame + frames, 0, 1000 * sizeof frame[0]);
        assert_true(hear_click(frame, frames + 1000) < HEAR_CLICK / 2);
        assert_true(hear_step(frame, frames + 1000) < HEAR_STEEPEST);
    }
    frames = ws_tone_render(WS_CUE_POUR_IN, 0, 100, frame, ROOM - 1000);
    for (cut = frames / 2; abs(frame[cut]) < 29000; cut++)
        continue;
    memset(frame + cut + 1, 0, 1000 * sizeof frame[0]);
    assert_true(hear_click(frame, cut + 1000) > 10 * HEAR_CLICK);
    assert_true(hear_step(frame, cut + 1000) > 3 * HEAR_STEEPEST);
}

/* Method: the edge rises from 0 to 1 in 10 ms, half way in the middle, and never falls; a note is
 * its own mirror in the edges. */
static void test_edges(void **state)
{
    (void)state;
    ws_assert_near(ws_tone_edge(-1), 0, 0);
    ws_assert_near(ws_tone_edge(0), 0, 0);
    ws_assert_near(ws_tone_edge(WS_TONE_EDGE_FRAMES / 2), 0.5, 0.01);
    ws_assert_near(ws_tone_edge(WS_TONE_EDGE_FRAMES), 1, 0);
    ws_assert_near(WS_TONE_EDGE_FRAMES * 1000.0 / WS_SOUND_HZ, 10, 0.05);
    for (int i = 0; i < WS_TONE_EDGE_FRAMES; i++)
        assert_true(ws_tone_edge(i + 1) > ws_tone_edge(i));
    ws_assert_near(ws_tone_sample(&(struct ws_note){ 0, 100, 440 }, -1), 0, 0);
    ws_assert_near(ws_tone_sample(&(struct ws_note){ 0, 100, 440 }, 2205), 0, 0);
    ws_assert_near(ws_tone_sample(&(struct ws_note){ 0, 100, 440 }, 2204), 0, 1e-12);
}

/* Method: into less room than the tone needs, only the room is written. */
static void test_room_is_kept(void **state)
{
    (void)state;
    memset(frame, 0x55, sizeof frame);
    assert_int_equal(ws_tone_render(WS_CUE_REST, 1, 100, frame, 100), 100);
    assert_int_equal(frame[100], 0x5555);
    assert_int_equal(ws_tone_render(WS_CUE_REST, 1, 100, frame, 0), 0);
    assert_int_equal(ws_tone_render(WS_CUE_REST, 1, 100, frame, -5), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_notes_are_in_order),
        cmocka_unit_test(test_all_rhythms_differ),
        cmocka_unit_test(test_tanks_differ_by_pitch_too),
        cmocka_unit_test(test_rendered_is_the_table),
        cmocka_unit_test(test_pitches_lie_in_range),
        cmocka_unit_test(test_volume),
        cmocka_unit_test(test_no_clicks),
        cmocka_unit_test(test_edges),
        cmocka_unit_test(test_room_is_kept),
    };

    return cmocka_run_group_tests_name("tone", tests, NULL, NULL);
}
