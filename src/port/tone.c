/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tones of the cues: a table of rhythms, a mark for the tank, a soft note.
 *
 * How they are told apart, in this order: by rhythm (how many notes, how far apart, long or short),
 * then by the tank's mark, then by pitch. The rhythms are our own, as the bell's are, and stay with
 * the bell's where a bell can do it: slow three for what comes soon, two short for a cycle, fast
 * and many for what must be done now. One long note, which a bell can't give, begins a bath.
 *
 * The mark: one short stroke before the rhythm for the second tank, two for the third, three for
 * the fourth; the first has none. Tanks past the fourth begin again.
 *
 * None is longer than 1.2 s, so that a second cue which has to wait for it is no later than 1.5 s;
 * what insists is so short that two tanks which insist are both heard every two seconds. */
#include "wetside/port/tone.h"

#include <math.h>

enum { TANKS = 4, FIGURE_NOTES = 8, STROKE_MS = 45, STROKE_EVERY_MS = 85, PAUSE_MS = 100 };

/* Steps are semitones above the tank's own pitch. */
struct figure {
    int notes;
    struct {
        int from_ms, length_ms, step;
    } note[FIGURE_NOTES];
};

/* One cue a line. */
/* clang-format off */
static const struct figure figure[WS_CUE_KINDS] = {
    /* three slow */
    [WS_CUE_GET_READY] = { 3, { { 0, 220, 0 }, { 450, 220, 0 }, { 900, 220, 0 } } },
    /* one long */
    [WS_CUE_POUR_IN] = { 1, { { 0, 1000, 0 } } },
    /* two short, rising */
    [WS_CUE_AGITATE] = { 2, { { 0, 180, 0 }, { 350, 180, 3 } } },
    /* one tick */
    [WS_CUE_INVERT] = { 1, { { 0, 60, 2 } } },
    /* two long, falling */
    [WS_CUE_REST] = { 2, { { 0, 400, 3 }, { 700, 400, 0 } } },
    /* long short, long short: a call */
    [WS_CUE_COME_BACK] = { 4, { { 0, 330, 0 }, { 390, 90, 3 }, { 660, 330, 0 }, { 1050, 90, 3 } } },
    /* short long short */
    [WS_CUE_READING_DUE] = { 3, { { 0, 100, 0 }, { 200, 400, 2 }, { 700, 100, 0 } } },
    /* slow, slow, quick quick: soon */
    [WS_CUE_READY_TO_POUR] = { 4, { { 0, 200, 0 }, { 450, 200, 0 }, { 900, 90, 3 },
                                    { 1060, 90, 3 } } },
    /* five fast: now */
    [WS_CUE_POUR_OUT] = { 5, { { 0, 90, 0 }, { 140, 90, 0 }, { 280, 90, 0 }, { 420, 90, 0 },
                               { 560, 90, 0 } } },
    /* three and three, faster, rising: it should have been */
    [WS_CUE_OVERTIME] = { 6, { { 0, 60, 0 }, { 95, 60, 0 }, { 190, 60, 0 },
                               { 450, 60, 3 }, { 545, 60, 3 }, { 640, 60, 3 } } },
    /* long, and three short upwards */
    [WS_CUE_DONE] = { 4, { { 0, 450, 0 }, { 640, 110, 1 }, { 830, 110, 2 }, { 1020, 120, 3 } } },
    /* two pairs, falling */
    [WS_CUE_OUT_OF_RANGE] = { 4, { { 0, 100, 3 }, { 150, 100, 0 }, { 500, 100, 3 },
                                   { 650, 100, 0 } } },
    /* long short short */
    [WS_CUE_OFFER] = { 3, { { 0, 400, 0 }, { 550, 100, 2 }, { 700, 100, 2 } } },
    /* short long, rising; its turn is long short long, falling */
    [WS_CUE_PIECE_IN] = { 2, { { 0, 100, 0 }, { 270, 450, 3 } } },
    [WS_CUE_PIECE_OUT] = { 3, { { 0, 300, 3 }, { 400, 100, 0 }, { 600, 300, 0 } } },
    /* a double tick, and the one that ends a pass, with a longer note after it */
    [WS_CUE_SHUFFLE] = { 2, { { 0, 45, 2 }, { 110, 45, 2 } } },
    [WS_CUE_PASS] = { 3, { { 0, 45, 2 }, { 110, 45, 2 }, { 220, 250, 0 } } },
};
/* clang-format on */

/* Three semitones apart, and six between the first two, which are used together most. With three
 * steps and the octave above each note all lies between 300 and 1,500 Hz: high enough for small
 * loudspeakers, low enough for older ears. */
static const double tank_hz[TANKS] = { 440.0, 622.25, 523.25, 369.99 };

/* Of the octave above: it carries the note on small loudspeakers, which give little below 500 Hz
 * (from memory). */
static const double overtone = 0.35;

/* The most that sin x + 0.35 sin 2x reaches: where cos x + 0.7 cos 2x = 0, which is at
 * cos x = (-1 + sqrt(1 + 8 * 0.7^2)) / (4 * 0.7). What is left to the top is for devices that
 * change the rate and overshoot (common practice). */
static const double peak = 1.1747, head = 0.9;

static const double two_pi = 6.283185307179586;

int ws_tone_notes(enum ws_cue_kind kind, int tank, struct ws_note note[WS_TONE_NOTES])
{
    int place = tank > 0 ? tank % TANKS : 0;
    int from_ms = place > 0 ? place * STROKE_EVERY_MS + PAUSE_MS : 0;
    int n = 0;

    if ((int)kind < 0 || kind >= WS_CUE_KINDS)
        return 0;
    for (; n < place; n++)
        note[n] = (struct ws_note){ n * STROKE_EVERY_MS, STROKE_MS, tank_hz[place] };
    for (int i = 0; i < figure[kind].notes; i++)
        note[n++] = (struct ws_note){ from_ms + figure[kind].note[i].from_ms,
                                      figure[kind].note[i].length_ms,
                                      tank_hz[place] * exp2(figure[kind].note[i].step / 12.0) };
    return n;
}

int ws_tone_length_ms(enum ws_cue_kind kind, int tank)
{
    struct ws_note note[WS_TONE_NOTES];
    int n = ws_tone_notes(kind, tank, note);

    return n > 0 ? note[n - 1].from_ms + note[n - 1].length_ms : 0;
}

/* Loudness goes with the power 0.6 of sound pressure (Stevens 1955, "The measurement of loudness"),
 * so half as loud is 10 dB less. */
double ws_tone_amplitude(int volume_percent)
{
    double loudness = volume_percent > 100 ? 1 : volume_percent < 0 ? 0 : volume_percent / 100.0;

    return pow(loudness, 1 / 0.6);
}

double ws_tone_edge(int frame)
{
    if (frame < 0)
        return 0;
    if (frame >= WS_TONE_EDGE_FRAMES)
        return 1;
    return 0.5 - 0.5 * cos(two_pi / 2 * frame / WS_TONE_EDGE_FRAMES);
}

double ws_tone_sample(const struct ws_note *note, int frame)
{
    int frames = ws_tone_frames(note->length_ms);
    double x = two_pi * note->hz * frame / WS_SOUND_HZ;

    if (frame < 0 || frame >= frames)
        return 0;
    return head / peak * sin(x) * (1 + 2 * overtone * cos(x)) * ws_tone_edge(frame) *
           ws_tone_edge(frames - 1 - frame);
}

int ws_tone_frames(int ms)
{
    return (int)((int64_t)ms * WS_SOUND_HZ / 1000);
}

int ws_tone_render(enum ws_cue_kind kind, int tank, int volume_percent, int16_t *frame, int most)
{
    struct ws_note note[WS_TONE_NOTES];
    double amplitude = 32767 * ws_tone_amplitude(volume_percent);
    int notes = ws_tone_notes(kind, tank, note);
    int frames = ws_tone_frames(ws_tone_length_ms(kind, tank));

    for (int i = 0, at = 0; at < frames && at < most; at++) {
        while (at >= ws_tone_frames(note[i].from_ms + note[i].length_ms) && i < notes - 1)
            i++;
        frame[at] = (int16_t)lround(amplitude *
                                    ws_tone_sample(&note[i], at - ws_tone_frames(note[i].from_ms)));
    }
    return frames < most ? frames : most > 0 ? most : 0;
}
