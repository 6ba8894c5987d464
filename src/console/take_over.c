/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run that another process drives, taken over: asked for in words where somebody may be looking
 * at that one's screen. */
#include <stdio.h>

#include "layers.h"

/* Fetches it; who turns out not to answer is ended after a question, or at once. */
static bool fetch(struct ws_console *console, int64_t run, int pid, bool may_ask)
{
    struct ws_message why = { "" };
    char question[WS_MESSAGE_BYTES];
    enum ws_status status = ws_drive_fetch(console->drive, run, false, &why);

    if (status == WS_BUSY) {
        snprintf(question, sizeof question,
                 "Process %d drives it and does not answer: end it? What it has not kept is lost.",
                 pid);
        if (may_ask && !ws_console_ask(console, question))
            return false;
        status = ws_drive_fetch(console->drive, run, true, &why);
    }
    if (status != WS_OK)
        ws_console_say(console, "%s", why.text);
    return status == WS_OK;
}

bool console_fetch(struct ws_console *console, int64_t run)
{
    char question[WS_MESSAGE_BYTES];
    struct ws_holder holder;

    ws_drive_holder(console->drive, run, &holder);
    if (holder.hold == WS_HOLD_HERE)
        return true;
    snprintf(question, sizeof question,
             "Another wetside (process %d) drives this run: take it over here?", holder.pid);
    if (holder.hold == WS_HOLD_SEEN && !ws_console_ask(console, question))
        return false;
    return fetch(console, run, holder.pid, true);
}

bool console_fetch_unasked(struct ws_console *console, int64_t run)
{
    struct ws_holder holder;

    ws_drive_holder(console->drive, run, &holder);
    if (holder.hold == WS_HOLD_SEEN) {
        ws_console_say(console, "Another wetside (process %d) drives a run in the dark.",
                       holder.pid);
        return false;
    }
    return holder.hold == WS_HOLD_HERE || fetch(console, run, holder.pid, false);
}
