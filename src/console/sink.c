/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink: the run if there is one, else the choosing of one. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/console/room.h"

#include "layers.h"
#include "sink.h"

enum { LEAST_ROWS_WITH_PANEL = 12 };

static int local_minutes(int64_t wall_ms)
{
    time_t second = (time_t)(wall_ms / 1000);
    struct tm local;

    if (localtime_r(&second, &local) == NULL)
        return 0;
    return local.tm_hour * 60 + local.tm_min;
}

/* What is seen of all tanks at the latest frame. */
struct sight {
    struct ws_view view[WS_TANKS];
    int focus; /* -1: no open run */
};

static void look(const struct ws_console *console, struct sight *sight)
{
    const struct ws_frame *frame = &console->frame;

    memset(sight, 0, sizeof *sight);
    sight->focus = -1;
    if (!console->have_frame)
        return;
    for (int i = 0; i < frame->tanks; i++)
        if (frame->tank[i].plan != NULL)
            ws_session_view(&frame->tank[i].session, frame->tank[i].plan, frame->tank[i].at_ms,
                            &sight->view[i]);
    sight->focus = ws_face_focus(frame, sight->view);
}

static const char *keys_of(const struct ws_view *view)
{
    if (view->stage == WS_STAGE_OVER)
        return "enter: to the Log   u: undo   ?: all keys";
    return view->can_undo ? "space: done   u: undo   ?: all keys" : "space: done   ?: all keys";
}

/* The run in the upper part of the screen, a panel below it: the word and the clock stay whole. */
static void draw(struct ws_console *console, struct sink *sink, const struct sight *sight)
{
    const struct ws_frame *frame = &console->frame;
    const struct ws_frame_tank *tank = &frame->tank[sight->focus];
    struct ws_face_options options = { .local_minutes = local_minutes, .scale = console->scale };
    int panel = sink_panel_rows(sink), rows = getmaxy(stdscr), columns = getmaxx(stdscr);
    char line[WS_TANKS][200];
    const char *others[WS_TANKS];
    struct ws_strip strip;
    struct ws_face face;
    WINDOW *window = stdscr;
    int n = 0;
    bool has;

    erase();
    if (panel > 0 && rows - panel < LEAST_ROWS_WITH_PANEL)
        panel = rows > LEAST_ROWS_WITH_PANEL ? rows - LEAST_ROWS_WITH_PANEL : 0;
    if (panel > 0)
        window = derwin(stdscr, rows - panel, columns, 0, 0);
    for (int i = 0; i < frame->tanks; i++) {
        if (i == sight->focus || frame->tank[i].plan == NULL || frame->tank[i].session.closed)
            continue;
        ws_face_line(&frame->tank[i], &sight->view[i], line[n], sizeof line[n]);
        others[n] = line[n];
        n++;
    }
    ws_face_make(tank, &sight->view[sight->focus], &options, &face);
    has = ws_strip_make(tank, columns - (columns >= 60 ? 4 : 2), &strip);
    if (window != NULL)
        sink_draw(window, &face, has ? &strip : NULL, others, n,
                  panel > 0 ? "" : keys_of(&sight->view[sight->focus]));
    if (window != stdscr && window != NULL)
        delwin(window);
    if (panel > 0)
        sink_panel_draw(stdscr, rows - panel, panel, sink);
    sink_question(sink, tank, line[0], sizeof line[0]);
    if (line[0][0] != '\0')
        ws_console_say(console, "%s", line[0]);
    else if (sink->shown)
        console->said[0] = '\0';
    sink->shown = line[0][0] != '\0';
    console->asks = sink_asks(sink);
}

static void carry_out(struct ws_console *console, const struct sink_does *does,
                      const struct sight *sight)
{
    for (int i = 0; i < does->strokes; i++)
        if (console->drive != NULL && !ws_drive_post(console->drive, &does->stroke[i]) &&
            does->stroke[i].kind != WS_STROKE_OTHER)
            ws_console_say(console, "Too many keys at once: that one was not taken.");
    if (does->room != 0)
        ws_console_go(console, (enum ws_room_number)does->room);
    if (does->quit)
        console->quit = true;
    if (does->closed && sight->focus >= 0) {
        const struct ws_plan *plan = console->frame.tank[sight->focus].plan;

        if (plan->places > 0 && !console->frame.tank[sight->focus].rehearsal) {
            ws_text_copy(console->show_roll, sizeof console->show_roll, plan->place[0].number);
            ws_console_go(console, WS_ROOM_LOG);
        }
    }
}

/* A tank whose run is closed leaves the frames. */
static void forget_closed(struct ws_console *console)
{
    for (int i = 0; i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && console->frame.tank[i].session.closed)
            ws_drive_forget(console->drive, i);
}

/* The run's own loop: until no run is open, or the room is left. */
static void run_visit(struct ws_console *console, struct sink *sink)
{
    console->wants_frames = true;
    leaveok(stdscr, TRUE); /* the cursor is hidden: it may stay where the last change was */
    while (!ws_console_leaving(console)) {
        struct sink_does does = { .strokes = 0 };
        const struct ws_frame_tank *tank;
        struct sight sight;
        int64_t now_ns;
        ws_key key;

        look(console, &sight);
        if (sight.focus < 0)
            break;
        tank = &console->frame.tank[sight.focus];
        sink->black = console->black;
        sink->silent = !console->frame.sound && !tank->rehearsal;
        draw(console, sink, &sight);
        console->wake_ns = sink_settle_ns(sink);
        key = ws_console_next(console);
        now_ns = ws_clock_boot_ns(console->clock);
        if (key == WS_KEY_QUIT)
            break;
        if (key == WS_KEY_FRAME || key == WS_KEY_REDRAW)
            sink_settle(sink, tank, sight.focus, now_ns, console->scale, &does);
        else
            sink_key(sink, tank, sight.focus, key, console->key_boot_ns, console->scale, &does);
        carry_out(console, &does, &sight);
    }
    leaveok(stdscr, FALSE);
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
    console->said[0] = '\0';
    console->asks = false;
}

static void sink_visit(struct ws_console *console)
{
    struct sink sink;

    sink_begin(&sink);
    while (!ws_console_leaving(console)) {
        /* What was begun or closed just now is in a frame already. */
        console_look(console);
        if (console->drive != NULL)
            forget_closed(console);
        if (ws_console_run_open(console))
            run_visit(console, &sink);
        else
            ws_sink_choose(console);
    }
}

const struct ws_room ws_room_sink = {
    WS_ROOM_SINK, "Sink",
    "choosing a run, and the run itself: every bath timed, every cue said and shown", sink_visit
};
