/* What is to be heard, mixed ahead of the device frame by frame: tones in a queue, and one phrase.
 *
 * Pure: time comes in with each call. The rules, so that no two cues are heard as one:
 * - Tones never overlap. One that comes while another sounds follows it after a short gap; of those
 *   that wait, the weightier comes first: what is done now, what is done soon, a cycle, the rest.
 * - What makes another cue of its tank void takes its place: POUR IN that of GET READY, POUR OUT that
 *   of its own get-ready, OVERTIME that of POUR OUT, a sheet's turn that of all sheets.
 * - A beat within a rhythm (an inversion, a shuffle) tells a moment: if it would be more than
 *   WS_MIXER_BEAT_MS late, it is not heard. AGITATE is its first inversion's beat itself.
 * - No tone waits longer than WS_MIXER_WAIT_MS. If it had to, a tone gives way: first one that is
 *   repeated anyway and waits (of several the one whose tank was heard last, so that each has its
 *   turn), then the least weighty; if that one sounds, it is cut softly. Only where all weigh the
 *   same may one wait twice as long, rather than that another is not heard at all.
 * - There is one phrase, the latest. It begins when no tone sounds or waits, not before its moment.
 *   A tone cuts it. A phrase that has not begun yet outlives a tone that comes without words, but
 *   not by more than WS_MIXER_SAID_LATE_MS; one that has a moment is not heard more than
 *   WS_MIXER_TRUE_MS after it, since the number in it would be false. Words alone that
 *   yield are not said while there is a phrase, whether it sounds or waits.
 * - Whatever is cut fades within 10 ms; nothing clicks.
 * A wait for the moment of a phrase is silence that is played, so it has its limit. */
#ifndef WETSIDE_SRC_PORT_MIXER_H
#define WETSIDE_SRC_PORT_MIXER_H

#include "wetside/port/sound.h"
#include "wetside/port/tone.h"

enum {
    WS_MIXER_TONES = 8,
    WS_MIXER_TANKS = 8, /* told apart when turns are taken; more share */
    WS_MIXER_WAIT_MS = 1500,
    WS_MIXER_BEAT_MS = 400,
    WS_MIXER_GAP_MS = 150,        /* after a tone, before another or words */
    WS_MIXER_SAID_LATE_MS = 1000, /* words without a moment */
    WS_MIXER_TRUE_MS = 300,       /* words with one */
    WS_MIXER_SAID_WAIT_MS = 10000 /* a phrase whose moment is farther away is not said */
};

struct ws_mixer_tone {
    struct ws_note note[WS_TONE_NOTES];
    int notes, in; /* in: the note at hand */
    int frames, at;
    double amplitude;
    enum ws_cue_kind kind;
    int tank;
    bool again; /* a repeat of what was heard lately */
};

struct ws_mixer {
    struct ws_mixer_tone tone[WS_MIXER_TONES]; /* the first sounds, or is next */
    int tones;
    int gap; /* frames of silence to come before anything begins */
    struct {
        enum ws_cue_kind kind;
        int64_t boot_ns; /* when its last tone began; 0: never */
    } heard[WS_MIXER_TANKS];
    int said_frames, said_at, said_tank; /* frames 0: nothing is said */
    enum ws_cue_kind said_with;          /* the cue it belongs to; WS_CUE_KINDS: none */
    int64_t said_from_ns, said_until_ns; /* the phrase begins between the two, or not at all */
    double tail[WS_TONE_EDGE_FRAMES];    /* the fading end of what was cut */
    int tail_at;
    int64_t quiet; /* frames mixed since it was last busy */
    int16_t said[WS_SOUND_SAID_MOST];
};

void ws_mixer_begin(struct ws_mixer *mixer);

/* Takes a cue at boot moment now_ns. Never waits, and renders nothing yet. */
void ws_mixer_play(struct ws_mixer *mixer, const struct ws_sounding *what, int64_t now_ns);

/* Takes back what sounds and waits of a tank; of all with a negative one. */
void ws_mixer_hush(struct ws_mixer *mixer, int tank);

/* The next frames, of which the first is heard at heard_ns. */
void ws_mixer_mix(struct ws_mixer *mixer, int16_t *frame, int frames, int64_t heard_ns);

/* Whether anything is still to come, the gap after the last tone included. */
bool ws_mixer_busy(const struct ws_mixer *mixer);

#endif
