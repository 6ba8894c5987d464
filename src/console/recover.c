/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first screen after a power cut, a lost terminal, or a program that ended in mid-run.
 *
 * Film waits for no answer: what the clocks vouch for is taken up before the screen is drawn, so
 * that its cues sound from the first second on, whether somebody reads or not. Taking up changes
 * nothing that can't be left as it is: the time goes on anyhow. What is asked first is what a
 * person has to decide: where a clock can't be trusted, where another process drives the run, and
 * where a run was forgotten so long ago that its alarms would only frighten. The hand's key then
 * takes up all that is left; it never counts as a press of the run. What ends something needs two
 * steps, and the first of them a key that stands alone. */
#include "recover.h"

#include <stdlib.h>
#include <string.h>

#include "layers.h"
#include "sink.h"

#define NS_PER_MS INT64_C(1000000)
#define NS_PER_S  INT64_C(1000000000)

/* A tank whose run is closed leaves the frames. */
static void forget_closed(struct ws_console *console)
{
    for (int i = 0; i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && console->frame.tank[i].session.closed)
            ws_drive_forget(console->drive, i);
}

/* ---- keys ---- */

static bool is_hand(const struct ws_console *console, ws_key key)
{
    for (int i = 0; i < console->hands; i++)
        if (key == console->hand[i])
            return true;
    return key == ' ' || key == WS_KEY_ENTER;
}

static const char *const help[] = {
    "space, enter  take up all runs that nobody drives, and go on to the sink",
    "up, down      another run",
    "t             take up, or take over, the marked run alone",
    "w             only watch the marked run: another wetside goes on driving it",
    "c             close the marked run for good; the reason is asked",
    "e             end the process that has the marked run and does not answer",
    "esc           leave the others as they are: they stay open in the book",
    "q             leave wetside",
    NULL
};

/* A key that was seen to stand alone. True: the page is left. */
static bool act(struct recover *recover, ws_key key)
{
    switch (key) {
    case 't':
        recover_take_up_one(recover);
        return false;
    case 'w':
        watching_visit(recover->console, recover->run[recover->at].run);
        return false;
    case 'c':
        recover_close(recover);
        return false;
    case 'e':
        recover_end_other(recover);
        return false;
    case WS_KEY_ESC:
        return true;
    default:
        ws_console_common(recover->console, key, help);
        return false;
    }
}

static bool has_effect(ws_key key)
{
    return key == WS_KEY_ESC || key == '?' || key == 'q' || key == 't' || key == 'w' ||
           key == 'c' || key == 'e';
}

/* A key that was typed. True: the page is left. */
static bool key_typed(struct recover *recover, ws_key key)
{
    int64_t now_ns = recover->console->key_boot_ns, last_ns = recover->last_ns;

    recover->last_ns = now_ns;
    recover->waiting = WS_KEY_NONE;
    if (is_hand(recover->console, key))
        return recover_take_up_all(recover);
    if (key == WS_KEY_UP || key == WS_KEY_DOWN) {
        recover->last_ns = INT64_MIN; /* what follows is meant */
        if (key == WS_KEY_UP && recover->at > 0)
            recover->at--;
        if (key == WS_KEY_DOWN && recover->at + 1 < recover->runs)
            recover->at++;
    } else if (last_ns != INT64_MIN && now_ns - last_ns < SINK_ALONE_MS * NS_PER_MS) {
        ws_console_say(recover->console, "Keys too close together: nothing was done.");
    } else if (has_effect(key)) {
        recover->waiting = key;
    }
    return false;
}

/* Time went on. True: the page is left. */
static bool settle_key(struct recover *recover)
{
    ws_key key = recover->waiting;

    if (key == WS_KEY_NONE ||
        ws_clock_boot_ns(recover->console->clock) - recover->last_ns < SINK_ALONE_MS * NS_PER_MS)
        return false;
    recover->waiting = WS_KEY_NONE;
    return act(recover, key);
}

/* Runs at the sink bring a frame each second; the others are drawn as often. */
static int64_t wake_ns(const struct recover *recover)
{
    int64_t now_ns = ws_clock_boot_ns(recover->console->clock);
    int64_t at_ns = now_ns - now_ns % NS_PER_S + NS_PER_S;

    if (recover->watch != NULL && now_ns + WS_WATCH_MS * NS_PER_MS < at_ns)
        at_ns = now_ns + WS_WATCH_MS * NS_PER_MS;
    if (recover->waiting != WS_KEY_NONE && recover->last_ns + SINK_ALONE_MS * NS_PER_MS < at_ns)
        at_ns = recover->last_ns + SINK_ALONE_MS * NS_PER_MS;
    return at_ns;
}

static void page(struct recover *recover)
{
    struct ws_console *console = recover->console;
    bool left = false;

    while (!left && !ws_console_leaving(console) && !console->black) {
        ws_key key;

        console->wants_frames = true;
        recover_look(recover);
        forget_closed(console);
        if (recover->runs == 0 || console->black)
            break;
        recover_draw(recover);
        console->wake_ns = wake_ns(recover);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (key == WS_KEY_FRAME || key == WS_KEY_REDRAW)
            left = settle_key(recover);
        else
            left = key_typed(recover, key);
    }
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
}

/* ---- the page, from its beginning to its end ---- */

/* Over open film nothing is told, and nothing waits for an answer that could not be asked. */
static bool find_and_tell(struct ws_console *console, int64_t run)
{
    struct recover *recover = calloc(1, sizeof *recover);
    enum ws_room_number was = console->at, go = console->go;

    if (recover == NULL)
        return false;
    recover->console = console;
    recover->waiting = WS_KEY_NONE;
    recover->last_ns = INT64_MIN;
    recover->watched = calloc(1, sizeof *recover->watched);
    console->at = WS_ROOM_SINK;
    console->go = WS_ROOM_NONE; /* the room that is asked for waits */
    ws_drive_greet(console->drive, console->black);
    recover_find(recover);
    for (int i = 0; i < recover->runs; i++)
        if (recover->run[i].run == run)
            recover->at = i;
    if (recover->runs > 0 && !console->black)
        page(recover);
    ws_drive_greet(console->drive, true);
    console->at = was;
    if (console->go == WS_ROOM_NONE)
        console->go = go;
    while (recover->runs > 0)
        recover_drop(recover, 0);
    ws_watch_stop(recover->watch);
    free(recover->watched);
    free(recover);
    console_look(console);
    return ws_console_run_open(console);
}

void recover_first(struct ws_console *console)
{
    if (console->drive == NULL || console->book_path == NULL || console->quit)
        return;
    if (find_and_tell(console, 0))
        console->go = WS_ROOM_SINK;
}

bool recover_again(struct ws_console *console, int64_t run)
{
    return find_and_tell(console, run);
}
