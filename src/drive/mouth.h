/* The device and the voice of the sound's thread.
 *
 *   mouth.c   the device: opened, played, fed; the voice: begun, changed
 *   words.c   what is said: in which words, rendered ahead in order of due, and when it begins */
#ifndef WETSIDE_SRC_DRIVE_MOUTH_H
#define WETSIDE_SRC_DRIVE_MOUTH_H

#include "ringer.h"
#include "wetside/port/speech.h"

struct ws_mouth {
    struct ws_ringer *ringer;
    const struct ws_clock *clock;
    double pace;      /* seconds of the clock in one of the machine's, in which sounds last */
    bool open;        /* the device plays */
    int64_t retry_ns; /* when it is tried again, boot ns of the clock */
    struct ws_voice voice;
    struct ws_speech *speech;
    enum ws_speech_state speech_state;
    struct ws_phrases phrases;
    /* What will be said, in order of due. */
    char ahead[WS_SPEECH_EXPECTED][WS_SPOKEN_BYTES];
    int16_t said[WS_SOUND_SAID_MOST];
    int last_frames; /* of words, of what was played last */
    bool unfed;      /* something was played that the device was not fed with yet */
};

/* What is to be played at a tank. */
struct ws_mouth_tank {
    const struct ws_ring_list *list;
    const int64_t *next_ns; /* of each item, when it is played next; INT64_MAX: no more */
};

/* ---- mouth.c ---- */
/* Opens the device and begins the voice, or tries again what failed. True: the voice has become
 * ready, nothing is rendered yet. */
bool ws_mouth_open(struct ws_mouth *mouth);
void ws_mouth_close(struct ws_mouth *mouth);
/* A new choice of the person's: loudness, what is spoken, in which language. Waits for nothing. */
void ws_mouth_voice(struct ws_mouth *mouth, const struct ws_voice *voice);
/* Plays an item now, all of one moment before the device is fed. False: there is no device, the bell
 * is to ring. */
bool ws_mouth_play(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                   const struct ws_ring_item *item, int64_t due_ns);
/* Speaks the answer to a key; false: it is not rendered yet, ask again soon. */
bool ws_mouth_reply(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                    const struct ws_ring_item *item);
/* Nothing is being rendered. */
bool ws_mouth_idle(const struct ws_mouth *mouth);
void ws_mouth_hush(struct ws_mouth *mouth, int tank);
/* Descriptors to wait for, and what is to be done when one is ready. */
int ws_mouth_fds(struct ws_mouth *mouth, struct pollfd *fds, int most);
void ws_mouth_feed(struct ws_mouth *mouth);
/* When it is to be looked at again though nothing is due; INT64_MAX never. */
int64_t ws_mouth_again_ns(const struct ws_mouth *mouth);
/* How long something that lasts real_ms lasts by the clock. */
int64_t ws_mouth_lasts_ns(const struct ws_mouth *mouth, double real_ms);

/* ---- words.c ---- */
/* Has what the tanks are going to say rendered ahead, what is due first first. */
void ws_mouth_expect(struct ws_mouth *mouth, const struct ws_mouth_tank tank[WS_TANKS],
                     int64_t now_ns);
/* The words of an item, so that a number is true when its phrase ends: with text, its frames and
 * the moment at which it is to begin (0: as soon as it can, from from_ns on). False: nothing is
 * said. */
bool ws_words_choose(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                     const struct ws_saying *saying, int64_t from_ns, char text[WS_SPOKEN_BYTES],
                     int64_t *begin_ns);
enum ws_words { WS_WORDS_READY, WS_WORDS_WAIT, WS_WORDS_NONE };
/* Gives the words of an answer that is to begin at from_ns the seconds that will be left when they
 * have been said; WAIT: they are being rendered. */
enum ws_words ws_words_answer(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                              struct ws_saying *saying, int64_t from_ns);
/* They are to be said with a tone, have no moment, and were not rendered in time: they are asked
 * for now, and may still be said by themselves. */
bool ws_words_are_late(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list,
                       const struct ws_ring_item *item);
/* The person wants it said, and there is a voice to do it. */
bool ws_words_are_said(const struct ws_mouth *mouth, const struct ws_saying *saying);

#endif
