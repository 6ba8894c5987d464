/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An ear for the tests of sound. */
#include "aid_hear.h"

#include <math.h>
#include <stdlib.h>

static const double two_pi = 6.283185307179586;

static double to_ms(double frames)
{
    return frames * 1000.0 / WS_SOUND_HZ;
}

/* Zeros crossed upwards between two frames: their rate. */
static double pitch_between(const int16_t *frame, int from, int to)
{
    double first = 0, last = 0;
    int crossed = 0;

    for (int i = from + 1; i < to; i++) {
        if (frame[i - 1] >= 0 || frame[i] < 0)
            continue;
        last = i - frame[i] / (double)(frame[i] - frame[i - 1]);
        if (crossed++ == 0)
            first = last;
    }
    return crossed > 1 ? (crossed - 1) * WS_SOUND_HZ / (last - first) : 0;
}

int hear_notes(const int16_t *frame, int frames, struct hear_note *note, int room)
{
    const int level = 32768 / 20, apart = ws_tone_frames(15);
    int n = 0, from = -1, last = -1;

    for (int i = 0; i <= frames; i++) {
        bool loud = i < frames && abs(frame[i]) > level;

        if (loud && from < 0)
            from = i;
        if (from >= 0 && (i == frames || i - last > apart) && !loud) {
            int middle = (last - from) / 5;

            if (n < room)
                note[n] = (struct hear_note){ to_ms(from), to_ms(last + 1 - from),
                                              pitch_between(frame, from + middle, last - middle) };
            n++;
            from = -1;
        }
        if (loud)
            last = i;
    }
    return n < room ? n : room;
}

int hear_which(const struct hear_note *note, int notes, double within_ms, enum ws_cue_kind *kind,
               int *tank)
{
    int found = 0;

    for (int k = 0; k < WS_CUE_KINDS; k++)
        for (int t = 0; t < HEAR_TANKS; t++) {
            struct ws_note want[WS_TONE_NOTES];
            bool same = ws_tone_notes((enum ws_cue_kind)k, t, want) == notes;

            for (int i = 0; i < notes && same; i++)
                same = fabs(note[i].from_ms - note[0].from_ms - want[i].from_ms) <= within_ms &&
                       fabs(note[i].length_ms - want[i].length_ms) <= within_ms;
            if (!same)
                continue;
            found++;
            *kind = (enum ws_cue_kind)k;
            *tank = t;
        }
    return found;
}

int hear_weight(enum ws_cue_kind kind)
{
    static const int weight[WS_CUE_KINDS] = {
        [WS_CUE_POUR_IN] = 4,       [WS_CUE_POUR_OUT] = 4,    [WS_CUE_OVERTIME] = 4,
        [WS_CUE_PIECE_IN] = 4,      [WS_CUE_PIECE_OUT] = 4,   [WS_CUE_GET_READY] = 3,
        [WS_CUE_READY_TO_POUR] = 3, [WS_CUE_COME_BACK] = 3,   [WS_CUE_AGITATE] = 2,
        [WS_CUE_REST] = 1,          [WS_CUE_READING_DUE] = 1, [WS_CUE_DONE] = 1,
        [WS_CUE_OUT_OF_RANGE] = 1,  [WS_CUE_OFFER] = 1,
    };

    return weight[kind];
}

bool hear_is_void(enum ws_cue_kind kind, enum ws_cue_kind other)
{
    static const enum ws_cue_kind pair[][2] = {
        { WS_CUE_GET_READY, WS_CUE_POUR_IN },      { WS_CUE_GET_READY, WS_CUE_PIECE_IN },
        { WS_CUE_READY_TO_POUR, WS_CUE_POUR_OUT }, { WS_CUE_READY_TO_POUR, WS_CUE_PIECE_OUT },
        { WS_CUE_POUR_OUT, WS_CUE_OVERTIME },      { WS_CUE_POUR_OUT, WS_CUE_PIECE_OUT },
    };

    for (size_t i = 0; i < sizeof pair / sizeof pair[0]; i++)
        if (pair[i][0] == kind && pair[i][1] == other)
            return true;
    return false;
}

double hear_step(const int16_t *frame, int frames)
{
    double most = 0;

    for (int i = 1; i < frames; i++)
        most = fmax(most, abs(frame[i] - frame[i - 1]) / 32768.0);
    return most;
}

double hear_click(const int16_t *frame, int frames)
{
    /* Two high-pass sections (Bristow-Johnson's cookbook of audio equalisers, Q 0.7071). */
    double w = two_pi * 4000 / WS_SOUND_HZ, alpha = sin(w) / (2 * 0.7071);
    double b = (1 + cos(w)) / 2 / (1 + alpha);
    double a1 = -2 * cos(w) / (1 + alpha), a2 = (1 - alpha) / (1 + alpha);
    double x[2][3] = { { 0 } }, y[2][3] = { { 0 } }, most = 0;

    for (int i = 0; i < frames; i++) {
        double in = frame[i] / 32768.0;

        for (int s = 0; s < 2; s++) {
            x[s][2] = x[s][1];
            x[s][1] = x[s][0];
            x[s][0] = in;
            y[s][2] = y[s][1];
            y[s][1] = y[s][0];
            y[s][0] = b * (x[s][0] - 2 * x[s][1] + x[s][2]) - a1 * y[s][1] - a2 * y[s][2];
            in = y[s][0];
        }
        most = fmax(most, fabs(in));
    }
    return most;
}

double hear_pitch(const int16_t *frame, int frames, double hz)
{
    double w = two_pi * hz / WS_SOUND_HZ, s1 = 0, s2 = 0;

    for (int i = 0; i < frames; i++) {
        double s = frame[i] / 32768.0 + 2 * cos(w) * s1 - s2;

        s2 = s1;
        s1 = s;
    }
    return 2 * sqrt(fmax(0, s1 * s1 + s2 * s2 - 2 * cos(w) * s1 * s2)) / frames;
}
