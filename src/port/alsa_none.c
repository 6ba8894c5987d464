/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device of a program built without the headers of libasound: it says so, and the bell stands
 * in. */
#ifndef WS_ALSA

#include "wetside/port/alsa.h"

#include <stdlib.h>

struct ws_alsa {
    int nothing;
};

static enum ws_status open_nothing(void *self, char *name, size_t size, struct ws_message *why)
{
    (void)self;
    (void)name;
    (void)size;
    return ws_fail(why, WS_NOT_FOUND, "no sound but the bell: this wetside was built without");
}

static void play_nothing(void *self, const struct ws_sounding *what)
{
    (void)self;
    (void)what;
}

enum ws_status ws_alsa_new(const char *device, struct ws_alsa **out, struct ws_sound *sound,
                           struct ws_message *why)
{
    struct ws_alsa *alsa = calloc(1, sizeof *alsa);

    (void)device;
    if (alsa == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the sound");
    *out = alsa;
    *sound = (struct ws_sound){
        .name = "terminal bell", .play = play_nothing, .self = alsa, .open = open_nothing
    };
    return WS_OK;
}

void ws_alsa_free(struct ws_alsa *alsa)
{
    free(alsa);
}

bool ws_alsa_built(void)
{
    return false;
}

#else
/* Built with it: alsa.c. */
extern int ws_alsa_is_built;
#endif
