/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run that another process drives, taken over: asked for in words where somebody may be looking
 * at that one's screen. */
#include <poll.h>
#include <stdio.h>

#include "layers.h"

enum { SOUND_LOOKS = 30, SOUND_LOOK_MS = 50 };

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

/* Nothing had to be heard here until now. A device takes a moment to be opened, a stuck one longer
 * than anybody is to wait for. */
static bool sounds_here(struct ws_console *console)
{
    struct ws_message why;

    if (ws_drive_sound(console->drive, &why) != WS_OK)
        return false;
    for (int i = 0; i < SOUND_LOOKS; i++) {
        struct pollfd news = { .fd = ws_drive_screen_fd(console->drive), .events = POLLIN };

        console_look(console);
        if (console->have_frame && console->frame.ear.state != WS_EAR_STARTING)
            break;
        poll(&news, 1, SOUND_LOOK_MS);
    }
    return console->frame.sound;
}

/* Its hands may stand in the dark, where nothing but the sound of that machine cues them. */
static void question_about(struct ws_console *console, int64_t run, int pid, char *text,
                           size_t size)
{
    if (!dark_run(console, run))
        snprintf(text, size, "Another wetside (process %d) drives this run: take it over here?",
                 pid);
    else if (sounds_here(console))
        snprintf(text, size, "In the dark, process %d cues it: take it over, and go black here?",
                 pid);
    else
        snprintf(text, size,
                 "In the dark, process %d cues it; NO SOUND HERE: take it over all the same?", pid);
}

bool console_fetch(struct ws_console *console, int64_t run)
{
    char question[WS_MESSAGE_BYTES];
    struct ws_holder holder;

    ws_drive_holder(console->drive, run, &holder);
    if (holder.hold == WS_HOLD_HERE)
        return true;
    question_about(console, run, holder.pid, question, sizeof question);
    if (holder.hold == WS_HOLD_SEEN && !ws_console_ask(console, question))
        return false;
    return fetch(console, run, holder.pid, true);
}

bool console_fetch_seen(struct ws_console *console, int64_t run, int pid)
{
    char question[WS_MESSAGE_BYTES];

    if (dark_run(console, run)) {
        question_about(console, run, pid, question, sizeof question);
        if (!ws_console_ask(console, question))
            return false;
    }
    return fetch(console, run, pid, true);
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
