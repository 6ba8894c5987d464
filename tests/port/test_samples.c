/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a voice rendered, made fit for the sound. */
#include "aid.h"

#include <stdlib.h>

#include "../../src/port/samples.h"

enum { HZ = 22050, EDGE = HZ * WS_SAMPLES_EDGE_MS / 1000, ROOM = HZ };

/* A tone of 441 Hz, `peak` high, from `first` up to `end`, in `frames` of faint hiss (fixed seed)
 * no louder than `hiss`. */
static void make(int16_t *frame, int frames, int first, int end, int peak, int hiss)
{
    uint64_t random = 1;

    for (int i = 0; i < frames; i++) {
        random = random * 6364136223846793005U + 1442695040888963407U;
        frame[i] = (int16_t)((int)(random >> 33) % (2 * hiss + 1) - hiss);
        if (i >= first && i < end)
            frame[i] = (int16_t)lround(peak * sin(6.283185307179586 * 441 * (i - first + 1) / HZ));
    }
}

static int loudest(const int16_t *frame, int from, int to)
{
    int most = 0;

    for (int i = from; i < to; i++)
        if (abs(frame[i]) > most)
            most = abs(frame[i]);
    return most;
}

/* Method: tones at several places in hiss 45 dB below; what is left is the tone and an edge of
 * silence at each end that has one, within 1 ms, and the loudest frame is where a tone's is. */
static void test_silence_is_cut_off(void **state)
{
    static const struct {
        int first, end;
    } row[] = { { 3000, 9000 }, { 0, 9000 },         { 50, 9000 },
                { 3000, ROOM }, { 3000, ROOM - 50 }, { 0, ROOM } };
    static int16_t frame[ROOM];

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        int before = row[i].first < EDGE ? row[i].first : EDGE;
        int after = ROOM - row[i].end < EDGE ? ROOM - row[i].end : EDGE, frames;

        make(frame, ROOM, row[i].first, row[i].end, 8000, 8000 / 178);
        frames = ws_samples_shape(frame, ROOM, HZ);
        ws_assert_near(frames, before + row[i].end - row[i].first + after, HZ / 1000);
        ws_assert_near(loudest(frame, 0, frames), 0.9 * 32767, 40);
    }
}

/* Method: the first and the last frame are all but silent, and neighbours at the ends differ by no
 * more than in the middle: nothing clicks, though the tone begins and ends at once. */
static void test_ends_are_soft(void **state)
{
    static int16_t frame[ROOM];
    int steepest = 0, frames;

    (void)state;
    for (int i = 0; i < ROOM; i++)
        frame[i] = (int16_t)lround(20000 * cos(6.283185307179586 * 441 * i / HZ));
    frames = ws_samples_shape(frame, ROOM, HZ);
    assert_int_equal(frames, ROOM);
    assert_true(abs(frame[0]) < 330 && abs(frame[frames - 1]) < 330);
    for (int i = frames / 2; i < frames / 2 + 200; i++)
        if (abs(frame[i + 1] - frame[i]) > steepest)
            steepest = abs(frame[i + 1] - frame[i]);
    for (int i = 0; i < EDGE; i++) {
        assert_true(abs(frame[i + 1] - frame[i]) <= steepest);
        assert_true(abs(frame[frames - 1 - i] - frame[frames - 2 - i]) <= steepest);
    }
}

/* Method: nothing, silence, one frame, the most a sample holds, and a whisper, which is raised four
 * times and no more. */
static void test_the_ends_of_loudness(void **state)
{
    static int16_t frame[ROOM];
    int frames;

    (void)state;
    memset(frame, 0, sizeof frame);
    assert_int_equal(ws_samples_shape(frame, 0, HZ), 0);
    assert_int_equal(ws_samples_shape(frame, ROOM, HZ), 0);
    frame[777] = -32768;
    frames = ws_samples_shape(frame, ROOM, HZ);
    assert_int_equal(frames, 2 * EDGE + 1);
    assert_int_equal(frame[EDGE], -lround(0.9 * 32767));
    make(frame, ROOM, 3000, 9000, 100, 0);
    frames = ws_samples_shape(frame, ROOM, HZ);
    ws_assert_near(loudest(frame, 0, frames), 400, 1);
}

/* Method: a slow sine through rates up and down, against the sine itself; and room that is short.
 */
static void test_other_rates(void **state)
{
    static const int from_hz[] = { 8000, 11025, 16000, 22050, 44100, 48000 };
    static int16_t from[48000], to[ROOM];

    (void)state;
    for (size_t r = 0; r < sizeof from_hz / sizeof from_hz[0]; r++) {
        int frames;

        for (int i = 0; i < from_hz[r]; i++)
            from[i] = (int16_t)lround(20000 * sin(6.283185307179586 * 100 * i / from_hz[r]));
        frames = ws_samples_resample(from, from_hz[r], from_hz[r], to, ROOM, HZ);
        assert_int_equal(frames, HZ);
        /* Straight lines miss a sine by at most (2 pi f / hz)^2 / 8 of it. */
        for (int i = 0; i < frames - 3; i++)
            ws_assert_near(to[i], 20000 * sin(6.283185307179586 * 100 * i / HZ), 20);
        assert_int_equal(ws_samples_resample(from, from_hz[r], from_hz[r], to, 100, HZ), 100);
    }
    assert_int_equal(ws_samples_resample(from, 0, 8000, to, ROOM, HZ), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_silence_is_cut_off),
        cmocka_unit_test(test_ends_are_soft),
        cmocka_unit_test(test_the_ends_of_loudness),
        cmocka_unit_test(test_other_rates),
    };

    return cmocka_run_group_tests_name("samples", tests, NULL, NULL);
}
