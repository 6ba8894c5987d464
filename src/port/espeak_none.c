/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The voice of a program built without the headers of espeak-ng: it says so. */
#ifndef WS_ESPEAK

#include "voice.h"

static enum ws_status open_nothing(void *self, const char *language, struct ws_message *why)
{
    (void)self;
    (void)language;
    return ws_fail(why, WS_NOT_FOUND, "no speech: this wetside was built without");
}

static int render_nothing(void *self, const char *text, int16_t *frame, int most, int *hz)
{
    (void)self;
    (void)text;
    (void)frame;
    (void)most;
    *hz = WS_SOUND_HZ;
    return 0;
}

static void close_nothing(void *self)
{
    (void)self;
}

const struct ws_speaker ws_espeak_voice = { open_nothing, render_nothing, close_nothing, NULL };

void ws_espeak_name(const char *library)
{
    (void)library;
}

bool ws_speech_built(void)
{
    return false;
}

#else
/* Built with it: espeak.c. */
extern int ws_espeak_is_built;
#endif
