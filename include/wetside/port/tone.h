/* The tone of every cue: which rhythm, which pitches, as samples. Pure.
 *
 * Each kind of cue has a rhythm of its own; pitch only helps. All pitches lie below 1.5 kHz, so
 * that older ears hear them. Every note begins and ends softly, so that nothing clicks. Tanks
 * differ by pitch and by a mark before the pattern, so that they differ for ears that can't tell
 * pitches. */
#ifndef WETSIDE_PORT_TONE_H
#define WETSIDE_PORT_TONE_H

#include <stddef.h>
#include <stdint.h>

#include "wetside/port/sound.h"
#include "wetside/session/session.h"

enum {
    WS_TONE_NOTES = 16,
    WS_TONE_EDGE_FRAMES = WS_SOUND_HZ / 100, /* 10 ms */
    WS_TONE_LOWEST_HZ = 300,
    WS_TONE_HIGHEST_HZ = 1500,
    WS_TONE_MOST_MS = 2500
};

struct ws_note {
    int from_ms, length_ms; /* from the cue's due */
    double hz;
};

/* The notes of a cue at a tank (0 up), in order, not overlapping. Returns how many, at most
 * WS_TONE_NOTES; 0 for an unknown kind. */
int ws_tone_notes(enum ws_cue_kind kind, int tank, struct ws_note note[WS_TONE_NOTES]);

/* From the cue's due to the end of its last note, ms. */
int ws_tone_length_ms(enum ws_cue_kind kind, int tank);

/* Writes the tone at WS_SOUND_HZ, loudness volume_percent of what the device gives (0..100, as ears
 * hear it, not linear in amplitude); returns the frames written, at most `most`. The
 * functions below are what it is made of, for who mixes a tone as it is played. */
int ws_tone_render(enum ws_cue_kind kind, int tank, int volume_percent, int16_t *frame, int most);

/* Frames in so many ms at WS_SOUND_HZ, rounded down. */
int ws_tone_frames(int ms);

/* One frame of a note, counted from its first: shape and soft edges, -1..1 with room at the top; 0
 * outside of it. */
double ws_tone_sample(const struct ws_note *note, int frame);

/* The soft edge itself, a raised cosine: 0 at frame 0, 1 from WS_TONE_EDGE_FRAMES on. */
double ws_tone_edge(int frame);

/* What a volume multiplies a frame by, 0..1. */
double ws_tone_amplitude(int volume_percent);

#endif
