/* The device and the voice of the sound's thread. */
#ifndef WETSIDE_SRC_DRIVE_MOUTH_H
#define WETSIDE_SRC_DRIVE_MOUTH_H

#include "ringer.h"
#include "wetside/port/speech.h"

struct ws_mouth {
    struct ws_ringer *ringer;
    const struct ws_clock *clock;
    bool open;        /* the device plays */
    int64_t retry_ns; /* when it is tried again, boot ns of the clock */
    struct ws_voice voice;
    struct ws_speech *speech;
    enum ws_speech_state speech_state;
    struct ws_phrases phrases;
    int64_t speaking_until_ns; /* what is said now ends then, boot ns of the clock */
    int16_t said[WS_SOUND_SAID_MOST];
};

/* Opens the device and begins the voice, or tries again what failed. True: the voice has become
 * ready, nothing is rendered yet. */
bool ws_mouth_open(struct ws_mouth *mouth);
void ws_mouth_close(struct ws_mouth *mouth);
/* A new choice of the person's: loudness, what is spoken, in which language. */
void ws_mouth_voice(struct ws_mouth *mouth, const struct ws_voice *voice);
/* Has what the items of a list say rendered ahead. */
void ws_mouth_want(struct ws_mouth *mouth, int tank, const struct ws_ring_list *list);
/* Plays an item now. False: there is no device, the bell is to ring. */
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

#endif
