/* Sound behind a small interface. The sound thread calls it at the moment of a cue; it may block
 * there without harm, since deadlines belong to another thread. */
#ifndef WETSIDE_PORT_SOUND_H
#define WETSIDE_PORT_SOUND_H

#include <stdint.h>

#include "wetside/session/session.h"

/* One cue to be heard. `tank` tells tanks apart. */
struct ws_sounding {
    enum ws_cue_kind kind;
    int tank;
    int64_t due_boot_ns;
    bool insist; /* not answered yet: the caller plays it again every two seconds while it stands */
};

struct ws_sound {
    const char *name; /* "terminal bell", for the pre-flight */
    void (*play)(void *self, const struct ws_sounding *what);
    void *self;
};

/* How a cue sounds where there is only a bell: moments in ms after its due at which it rings;
 * cues differ in rhythm. Returns how many (0: silent). */
int ws_bell_rhythm(enum ws_cue_kind kind, int64_t at_ms[8]);

#endif
