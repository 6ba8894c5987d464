/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound and voice in the pre-flight. */
#ifndef WETSIDE_SRC_CONSOLE_PREFLIGHT_H
#define WETSIDE_SRC_CONSOLE_PREFLIGHT_H

#include "choose.h"

/* The line of the sound as it is now. */
void preflight_sound(const struct ws_console *console, struct ws_preflight *line);
/* The voice's own line. False: there is nothing to say of it beside what stands in the sound's. */
bool preflight_voice(const struct choosing *c, struct ws_preflight *line);
/* Whether film may lie open by what is known of the sound; while it is being opened, it may. */
bool preflight_may_be_dark(const struct ws_console *console);

/* Sounds as a POUR OUT does; with words as well where there is a voice. */
void preflight_try(const struct ws_console *console, bool words);
/* A step louder or softer, kept as the setting, and heard. */
void preflight_volume(struct ws_console *console, int direction);
/* Has the drive look at the sound: a device that does not come back from being opened is seen only
 * then, and without a run nothing else wakes it. */
void preflight_wake_drive(const struct ws_console *console);

#endif
