/* A device of sound that plays, can't be opened, hangs or vanishes as a test tells it to. */
#ifndef WETSIDE_TESTS_CONSOLE_AID_DEVICE_H
#define WETSIDE_TESTS_CONSOLE_AID_DEVICE_H

#include <stdatomic.h>

#include "wetside/port/clock.h"
#include "wetside/port/sound.h"

struct aid_device {
    _Atomic int tones, pours, words; /* what it was given to play: tones, POUR OUT among them */
    _Atomic int volume;              /* of the last */
    _Atomic int64_t there_ns;        /* boot moment from which on it can be opened */
    _Atomic int64_t gone_ns;         /* and from which on it is gone */
    _Atomic bool stuck;              /* opening does not come back */
    _Atomic int opens;               /* how often it was begun to be opened */
    const struct ws_clock *clock;
};

extern struct aid_device aid_device;
extern const struct ws_sound aid_device_sound;

/* There, and nothing played yet. */
void aid_device_reset(const struct ws_clock *clock);
/* Waits, in real time, until so many were played; fails when there are more. */
void aid_device_expect(_Atomic int *what, int many);

#endif
