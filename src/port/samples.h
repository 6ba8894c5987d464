/* What a voice rendered, made fit for the sound: its silence cut off, as loud as the next, at the
 * sound's rate, without clicks. Pure. */
#ifndef WETSIDE_SRC_PORT_SAMPLES_H
#define WETSIDE_SRC_PORT_SAMPLES_H

#include <stdint.h>

/* In place: takes silence off both ends, but for the edges, and brings the loudest frame to where
 * the loudest of a tone is (a whisper is left a whisper). Both ends fade within WS_SAMPLES_EDGE_MS.
 * Returns the frames, 0 when all is silence. */
int ws_samples_shape(int16_t *frame, int frames, int hz);

enum { WS_SAMPLES_EDGE_MS = 5 };

/* From one rate to another, along straight lines; returns the frames written, at most `most`. */
int ws_samples_resample(const int16_t *from, int frames, int from_hz, int16_t *to, int most,
                        int to_hz);

#endif
