/* Sound behind a small interface. The sound thread of the drive calls all of it, and nothing else
 * does; each call may block without harm, since deadlines belong to another thread. */
#ifndef WETSIDE_PORT_SOUND_H
#define WETSIDE_PORT_SOUND_H

#include <poll.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/status.h"
#include "wetside/session/session.h"

/* Samples are mono, 16 bit signed, of the machine's byte order, so many a second. */
enum { WS_SOUND_HZ = 22050, WS_SOUND_FDS = 8, WS_SOUND_SAID_MOST = 12 * WS_SOUND_HZ };

/* One cue to be heard: a tone, words, or a tone and then words. `tank` tells tanks apart. */
struct ws_sounding {
    enum ws_cue_kind kind; /* WS_CUE_KINDS: no tone, only what is said */
    int tank;
    int64_t due_boot_ns;
    bool insist; /* not answered yet: the caller plays it again every two seconds while it stands */
    int volume_percent;  /* 0: silent */
    const int16_t *said; /* spoken after the tone; null: nothing. Borrowed for the call. */
    int said_frames;     /* at most WS_SOUND_SAID_MOST */
    /* CLOCK_BOOTTIME itself, whatever clock the cues go by; 0, or one past already: as soon as the
     * tone is over. Farther than ten seconds away it is not said, nor more than one too late. */
    int64_t said_not_before_boot_ns;
    bool yields; /* words alone that are not said while others are said, or wait to be */
};

/* Only `play` must be there; a null of the others is: always open, never busy, nothing to feed. */
struct ws_sound {
    const char *name; /* "terminal bell", for the pre-flight; open may give a better one */
    /* Begins it; what is said from before is cut, a tone that still sounds is let end, and the new
     * one follows within 1.5 s (the exact rules: src/port/mixer.h). */
    void (*play)(void *self, const struct ws_sounding *what);
    void *self;
    /* Opens the device, and plays a tenth of a second of silence to see that it does play. Before
     * anything else, and again, not sooner than ten seconds later, after it failed. Not WS_OK: no
     * sound, `why` says so in one line, and the bell stands in. */
    enum ws_status (*open)(void *self, char *name, size_t size, struct ws_message *why);
    /* While something sounds: what to poll for; 0 when all is silent and nothing is to be fed. */
    int (*fds)(void *self, struct pollfd *fds, int most);
    /* After every play, and when one of the descriptors is ready. Not WS_OK: the device is gone. */
    enum ws_status (*feed)(void *self, struct ws_message *why);
    /* Takes back what sounds and waits of a tank, of all with a negative one: a press answered. It
     * fades within 10 ms of what the device does not hold yet, which is 40 ms, or more on a device
     * that needs more. */
    void (*hush)(void *self, int tank);
    void (*close)(void *self);
};

/* A sound that never opens and says why, a text that outlives it: what can't be had is heard of where
 * every other fault of a device is. */
void ws_sound_none(struct ws_sound *sound, const char *why);

/* How a cue sounds where there is only a bell: moments in ms after its due at which it rings;
 * cues differ in rhythm. Returns how many (0: silent). */
int ws_bell_rhythm(enum ws_cue_kind kind, int64_t at_ms[8]);

#endif
