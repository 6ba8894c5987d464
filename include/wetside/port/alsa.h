/* Tones and speech through ALSA: one device, opened when first needed, silent and stopped between
 * cues so that a run at rest does not wake the machine.
 *
 * libasound is loaded when the device is opened, on the sound's thread: a program built with it
 * starts without it, and start-up does not pay for it. Built without its headers, open says so.
 * ALSA's own messages never reach the screen. */
#ifndef WETSIDE_PORT_ALSA_H
#define WETSIDE_PORT_ALSA_H

#include "wetside/port/sound.h"

struct ws_alsa;

/* device: an ALSA name, null for WETSIDE_SOUND of the environment, else "default". Nothing is
 * opened yet. The ws_sound borrows the ws_alsa. Not WS_OK: *out is null, and the ws_sound is one that
 * does not open and says why; it may be used all the same. */
enum ws_status ws_alsa_new(const char *device, struct ws_alsa **out, struct ws_sound *sound,
                           struct ws_message *why);
/* After the sound's thread has let go of it. */
void ws_alsa_free(struct ws_alsa *alsa);

/* For --version: built in or not. */
bool ws_alsa_built(void);

#endif
