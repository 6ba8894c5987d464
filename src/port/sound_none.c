/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sound there is where there can be none: it does not open, and says why; the bell stands in.
 */
#include "wetside/port/sound.h"

static enum ws_status open_nothing(void *self, char *name, size_t size, struct ws_message *why)
{
    (void)name;
    (void)size;
    return ws_fail(why, WS_NOT_FOUND, "%s", (const char *)self);
}

static void play_nothing(void *self, const struct ws_sounding *what)
{
    (void)self;
    (void)what;
}

void ws_sound_none(struct ws_sound *sound, const char *why)
{
    *sound = (struct ws_sound){ .name = "terminal bell",
                                .play = play_nothing,
                                .self = (void *)why, /* only read, see above */
                                .open = open_nothing };
}
