/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device of a program built without the headers of libasound: it says so, and the bell stands
 * in. */
#ifndef WS_ALSA

#include "wetside/port/alsa.h"

enum ws_status ws_alsa_new(const char *device, struct ws_alsa **out, struct ws_sound *sound,
                           struct ws_message *why)
{
    (void)device;
    (void)why;
    *out = NULL;
    ws_sound_none(sound, "no sound but the bell: this wetside was built without");
    return WS_OK;
}

void ws_alsa_free(struct ws_alsa *alsa)
{
    (void)alsa;
}

bool ws_alsa_built(void)
{
    return false;
}

#else
/* Built with it: alsa.c. */
extern int ws_alsa_is_built;
#endif
