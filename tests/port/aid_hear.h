/* An ear for the tests of sound: finds the notes in samples, tells which cue of which tank it was
 * by rhythm alone, and hears clicks. */
#ifndef WETSIDE_TESTS_AID_HEAR_H
#define WETSIDE_TESTS_AID_HEAR_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/port/tone.h"

enum { HEAR_TANKS = 4, HEAR_NOTES = 512 };

struct hear_note {
    double from_ms, length_ms, hz;
};

/* The notes in samples at WS_SOUND_HZ: stretches above a twentieth of the top, apart by 15 ms of
 * less. Pitch by the zeros crossed upwards in the middle of the note. */
int hear_notes(const int16_t *frame, int frames, struct hear_note *note, int room);

/* How many (kind, tank) have these notes within `within_ms` in onset and length, pitch left out;
 * gives the last. */
int hear_which(const struct hear_note *note, int notes, double within_ms, enum ws_cue_kind *kind,
               int *tank);

/* What matters more, by the house: what is poured now, what is to be poured soon, a cycle, the
 * rest; a beat (0) least. */
int hear_weight(enum ws_cue_kind kind);
/* What a cue asks for is asked for by another one of its tank now. */
bool hear_is_void(enum ws_cue_kind kind, enum ws_cue_kind other);

/* The greatest step between two samples, of full scale 1. No note of ours is steeper than
 * HEAR_STEEPEST: 0.9 / 1.1747 of full scale, the slope of sin x + 0.35 sin 2x at its zero, 740 Hz.
 */
#define HEAR_STEEPEST 0.275
double hear_step(const int16_t *frame, int frames);

/* The loudest moment above 4 kHz, of full scale 1: what a click is heard by. A whole note at the
 * loudest gives less than a hundredth, a note cut off at its top more than a fifth. */
#define HEAR_CLICK 0.02
double hear_click(const int16_t *frame, int frames);

/* The amplitude at a pitch, of full scale 1 (Goertzel 1958, "An algorithm for the evaluation of
 * finite trigonometric series"). */
double hear_pitch(const int16_t *frame, int frames, double hz);

#endif
