/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Black: when it holds, what is kept for the light, and a run that is taken up in the dark. */
#include <stdlib.h>
#include <string.h>

#include "wetside/port/phrases.h"

#include "layers.h"
#include "sink.h"

#define NS_PER_MINUTE 6e10

/* ---- which film lies open ---- */

/* A rehearsal is with water and shows what it does, unless lights out was asked for. */
static bool lies_open(const struct ws_frame_tank *tank)
{
    struct ws_view view;

    if (tank->plan == NULL || (tank->rehearsal && !tank->session.open_film))
        return false;
    ws_session_view(&tank->session, tank->plan, tank->at_ms, &view);
    return view.film_open;
}

unsigned dark_tanks(const struct ws_frame *frame)
{
    unsigned dark = 0;

    for (int i = 0; i < frame->tanks; i++)
        dark |= lies_open(&frame->tank[i]) ? 1u << i : 0;
    return dark;
}

/* ---- what comes meanwhile ---- */

static bool is_at_stake(const struct ws_frame *frame)
{
    for (int i = 0; i < frame->tanks; i++)
        if (!frame->tank[i].rehearsal && lies_open(&frame->tank[i]))
            return true;
    return false;
}

/* The latest notice, and above all that the sound went and why: neither was seen. */
static void keep_for_light(struct ws_console *console)
{
    const struct ws_frame *frame = &console->frame;

    if (frame->sound)
        console->heard = true;
    else if (console->deaf[0] == '\0' && frame->ear.state != WS_EAR_STARTING &&
             (console->heard || is_at_stake(frame)))
        ws_text_copy(console->deaf, sizeof console->deaf,
                     frame->ear.why.text[0] != '\0' ? frame->ear.why.text
                                                    : "there was no sound in the dark");
    if (frame->notice[0] != '\0')
        ws_text_copy(console->unseen, sizeof console->unseen, frame->notice);
}

/* Whether a run whose film lay open until now is driven by another process: that one was told, but
 * the film lies where it lay, before this screen. */
static bool has_left(const struct ws_console *console, unsigned dark)
{
    const struct ws_frame *frame = &console->frame;

    for (int i = 0; i < WS_TANKS; i++)
        if ((console->dark & ~dark & 1u << i) != 0 &&
            (i >= frame->tanks || frame->tank[i].plan == NULL))
            return true;
    return false;
}

/* What the screen can't show. */
static void say(struct ws_console *console, enum ws_phrase phrase)
{
    struct ws_stroke stroke = { .kind = WS_STROKE_SAY,
                                .tank = -1,
                                .boot_ns = ws_clock_boot_ns(console->clock),
                                .value_ms = phrase };

    ws_drive_post(console->drive, &stroke);
}

static void look_who_left(struct ws_console *console)
{
    unsigned dark = dark_tanks(&console->frame);

    if (has_left(console, dark)) {
        console->left_dark = true;
        /* Who works in that dark hears that no cue comes from here any more. */
        say(console, WS_PHRASE_NOTHING);
    }
    console->dark = dark;
}

static void look(struct ws_console *console)
{
    bool dark = console->dark != 0 || console->left_dark || console->watched_dark;

    if (dark && !console->black) {
        console->heard = false;
        console->deaf[0] = console->unseen[0] = '\0';
    }
    if (dark)
        keep_for_light(console);
    if (dark == console->black)
        return;
    console->black = dark;
    layers_darken(dark);
    if (dark)
        return;
    if (console->deaf[0] != '\0')
        ws_console_say(console, "%s", console->deaf);
    else if (console->unseen[0] != '\0')
        ws_console_say(console, "%s", console->unseen);
}

void dark_look(struct ws_console *console)
{
    look_who_left(console);
    look(console);
}

void dark_lit(struct ws_console *console)
{
    console->left_dark = false;
    look(console);
}

void dark_watch(struct ws_console *console, bool dark)
{
    console->watched_dark = dark;
    look(console);
}

/* ---- the dark that a run left behind ---- */

static void post(struct ws_console *console, const struct sink_does *does)
{
    for (int i = 0; i < does->strokes; i++)
        ws_drive_post(console->drive, &does->stroke[i]);
    if (does->lights_on)
        dark_lit(console);
}

void dark_wait(struct ws_console *console, struct sink *sink)
{
    console->wants_frames = true;
    while (!ws_console_leaving(console) && console->black && !ws_console_run_open(console)) {
        struct sink_does does = { .strokes = 0 };
        ws_key key;

        sink_blacken(sink, true);
        sink->dark = 0;
        sink->wanted = false;
        console->wake_ns = sink_settle_ns(sink);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (key == WS_KEY_FRAME || key == WS_KEY_REDRAW)
            sink_settle(sink, NULL, 0, ws_clock_boot_ns(console->clock), console->scale, &does);
        else
            sink_key(sink, NULL, 0, key, console->key_boot_ns, console->scale, &does);
        post(console, &does);
    }
    sink_blacken(sink, console->black);
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
}

/* ---- a run that was left in the dark ---- */

struct left_job {
    int64_t run[WS_TANKS];
    int runs;
    bool any; /* open runs, dark or not */
};

/* Whether film lay open when the last event of that run was kept. Nothing else dims or lights a
 * run: what time alone changes leads from one open bath to the next. */
static bool was_dark(struct ws_book *book, int64_t run)
{
    struct ws_plan *plan = calloc(1, sizeof *plan);
    struct ws_session *session = calloc(1, sizeof *session);
    struct ws_journal_row *row = NULL;
    struct ws_event *event = NULL;
    struct ws_view view;
    bool dark = false;
    int rows = 0;

    if (plan == NULL || session == NULL || ws_run_plan(book, run, plan, NULL) != WS_OK ||
        ws_run_events_all(book, run, &row, &rows, NULL) != WS_OK || rows == 0)
        goto out;
    event = calloc((size_t)rows, sizeof *event);
    if (event == NULL)
        goto out;
    for (int i = 0; i < rows; i++)
        event[i] = row[i].event;
    if (ws_session_fold(session, plan, event, rows, NULL) != WS_OK)
        goto out;
    ws_session_view(session, plan, session->now_ms, &view);
    dark = view.film_open;
out:
    free(event);
    free(row);
    free(session);
    free(plan);
    return dark;
}

static void left_job(struct ws_book *book, void *arg)
{
    struct ws_run_line line[WS_TANKS];
    struct left_job *job = arg;
    int n = 0;

    if (book == NULL || ws_run_list(book, false, 0, line, WS_TANKS, &n) != WS_OK)
        return;
    job->any = n > 0;
    for (int i = 0; i < n; i++)
        if (was_dark(book, line[i].row))
            job->run[job->runs++] = line[i].row;
}

struct was_dark_job {
    int64_t run;
    bool dark;
};

static void was_dark_job(struct ws_book *book, void *arg)
{
    struct was_dark_job *job = arg;

    job->dark = book != NULL && was_dark(book, job->run);
}

bool dark_run(struct ws_console *console, int64_t run)
{
    struct was_dark_job job = { .run = run };

    ws_drive_book(console->drive, was_dark_job, &job);
    return job.dark;
}

/* Nobody can be asked how long the machine was off: at least since it started again. */
static double minutes_on(const struct ws_console *console)
{
    return (double)ws_clock_boot_ns(console->clock) / NS_PER_MINUTE;
}

static void take_up(struct ws_console *console, int64_t run)
{
    struct ws_message why = { "" };
    bool ask = false;
    int tank;
    enum ws_status status;

    if (!console_fetch_unasked(console, run))
        return;
    status = ws_drive_resume(console->drive, run, -1, &ask, &tank, &why);
    if (status == WS_OK && ask)
        status = ws_drive_resume(console->drive, run, minutes_on(console), &ask, &tank, &why);
    if (status != WS_OK)
        ws_console_say(console, "%s", why.text);
    else
        console->go = WS_ROOM_SINK;
}

bool dark_take_up(struct ws_console *console)
{
    struct left_job job = { .runs = 0 };

    if (console->drive == NULL || console->quit)
        return false;
    ws_drive_book(console->drive, left_job, &job);
    for (int i = 0; i < job.runs; i++)
        take_up(console, job.run[i]);
    if (job.runs == 0)
        return job.any;
    console_look(console);
    /* Else a run that waits for the hand would begin as if the program hung. */
    if (console->black)
        say(console, WS_PHRASE_LIGHTS_OUT);
    return job.any;
}
