/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keeps the machine awake for a run, and a Linux console lit. */
#include "wetside/console/room.h"

#include "layers.h"

/* A rehearsal is with water: it may sleep. */
static bool film_is_at_work(const struct ws_console *console)
{
    const struct ws_frame *frame = &console->frame;

    for (int i = 0; console->have_frame && i < frame->tanks; i++)
        if (frame->tank[i].plan != NULL && !frame->tank[i].rehearsal &&
            !frame->tank[i].session.closed)
            return true;
    return false;
}

void console_keep_awake(struct ws_console *console)
{
    bool wanted = console->awake_way != NULL && (console->before_pour || film_is_at_work(console));

    if (wanted && console->awake == NULL) {
        /* Not enough memory for it now: tried again with the next frame. */
        if (ws_awake_begin(console->awake_way, &console->awake, NULL) != WS_OK)
            console->awake = NULL;
    } else if (!wanted) {
        ws_awake_end(console->awake);
        console->awake = NULL;
    }
}

/* A frame comes each second of a run, and with every cue: no longer than that is its clock unseen.
 * Nothing is lit over open film, whatever else asks for it. */
void console_light(const struct ws_console *console)
{
    const struct ws_awake_way *way = console->awake_way;

    if (way == NULL || console->black || !ws_console_run_open(console))
        return;
    if (way->is_console(ws_terminal_out_fd()))
        way->unblank(ws_terminal_out_fd());
}
