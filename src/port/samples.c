/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Samples of a voice made fit for the sound. */
#include "samples.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Silence is what lies 40 dB below the loudest: the end of a word is heard to there over water
 * (common practice for cutting speech). */
static const double silence = 0.01;

/* As tones do, with room at the top. A voice is raised by no more than this, or noise would be. */
static const double loudest = 0.9 * 32767, raised_most = 4;

static int peak_of(const int16_t *frame, int frames)
{
    int peak = 0;

    for (int i = 0; i < frames; i++)
        if (abs(frame[i]) > peak)
            peak = abs(frame[i]);
    return peak;
}

/* The raised cosine, 0 just before the first frame of an edge and 1 just after its last. */
static double edge(int frame, int edge_frames)
{
    if (frame >= edge_frames)
        return 1;
    return 0.5 - 0.5 * cos(3.141592653589793 * (frame + 1) / (edge_frames + 1));
}

int ws_samples_shape(int16_t *frame, int frames, int hz)
{
    int peak = peak_of(frame, frames), edge_frames = hz * WS_SAMPLES_EDGE_MS / 1000;
    int first = 0, end = frames;
    double gain;

    if (peak == 0)
        return 0;
    while (abs(frame[first]) < silence * peak)
        first++;
    while (abs(frame[end - 1]) < silence * peak)
        end--;
    /* The edges lie in the silence where there is any, so that nothing of the voice is lost. */
    first = first > edge_frames ? first - edge_frames : 0;
    end = end < frames - edge_frames ? end + edge_frames : frames;
    frames = end - first;
    memmove(frame, frame + first, (size_t)frames * sizeof *frame);
    gain = fmin(loudest / peak, raised_most);
    for (int i = 0; i < frames; i++)
        frame[i] = (int16_t)lround(gain * frame[i] * edge(i, edge_frames) *
                                   edge(frames - 1 - i, edge_frames));
    return frames;
}

int ws_samples_resample(const int16_t *from, int frames, int from_hz, int16_t *to, int most,
                        int to_hz)
{
    int64_t length = (int64_t)frames * to_hz / from_hz;
    int written = (int)(length < most ? length : most);

    for (int i = 0; i < written; i++) {
        double at = (double)i * from_hz / to_hz;
        int before = (int)at, after = before + 1 < frames ? before + 1 : before;
        double part = at - before;

        to[i] = (int16_t)lround(from[before] * (1 - part) + from[after] * part);
    }
    return written;
}
