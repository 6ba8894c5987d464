/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Playing a past run of the demo. */
#include "demo_run.h"

#include <stdlib.h>

enum { CUES = 64, CLOSE_AFTER_MS = 8000 };

struct playing {
    struct ws_book *book;
    const struct ws_plan *plan;
    const struct ws_demo_hands *hands;
    int64_t run, wall_ms;
    struct ws_session session;
    struct ws_message *why;
};

/* A machine that has been on since the run began. */
static struct ws_stamp stamp_at(const struct playing *play, int64_t at_ms)
{
    struct ws_stamp stamp = { .boot = play->plan->id,
                              .boot_ns = at_ms * 1000000,
                              .wall_ns = (play->wall_ms + at_ms) * 1000000 };

    return stamp;
}

/* Gives the session an event, and journals it if it changed something. */
static enum ws_status take(struct playing *play, const struct ws_event *event)
{
    struct ws_journal_row row = {
        .run = play->run, .event = *event, .epoch = 1, .stamp = stamp_at(play, event->at_ms)
    };
    struct ws_cue cue[CUES];
    enum ws_status status;
    int n;

    do
        status = ws_session_take(&play->session, play->plan, event, cue, CUES, &n);
    while (status == WS_MORE);
    if (status == WS_IGNORED || (status == WS_OK && event->kind == WS_EVENT_TICK))
        return WS_OK;
    if (status != WS_OK)
        return ws_fail(play->why, status, "the demo's run can't be played");
    if (event->kind == WS_EVENT_BEGIN)
        return WS_OK; /* it was kept with the run */
    return ws_run_journal(play->book, &row, 1, play->why);
}

static bool hands_are_off(const struct playing *play, int64_t at_ms)
{
    const struct ws_session *session = &play->session;
    int64_t on_clock_ms = at_ms - session->span.clock_ms;
    const struct ws_bath *bath =
        ws_session_bath(session, play->plan, ws_session_bath_at(session, session->step));

    return session->stage == WS_STAGE_IN_BATH && bath != NULL && bath->kind == WS_BATH_DEVELOPER &&
           on_clock_ms >= play->hands->from_ms && on_clock_ms < play->hands->to_ms;
}

/* The next thing that happens: a press in time, or time going on. False: nothing more. */
static bool next_event(const struct playing *play, struct ws_event *out)
{
    int64_t press_ms = ws_session_answer_ms(&play->session, play->plan);
    int64_t next_ms = ws_session_next_ms(&play->session, play->plan);
    bool press = press_ms < next_ms && !hands_are_off(play, press_ms);

    *out = (struct ws_event){ .kind = press ? WS_EVENT_HAND : WS_EVENT_TICK, .bath = -1 };
    out->at_ms = press ? press_ms : next_ms;
    out->sequence = press ? play->session.sequence + 1 : 0;
    return out->at_ms != WS_NEVER;
}

static enum ws_status play_through(struct playing *play)
{
    struct ws_event event = { .kind = WS_EVENT_BEGIN, .sequence = 1, .bath = -1 };
    enum ws_status status;

    status = ws_session_begin(&play->session, play->plan, play->why);
    if (status == WS_OK)
        status = take(play, &event);
    while (status == WS_OK && play->session.stage != WS_STAGE_OVER && next_event(play, &event))
        status = take(play, &event);
    if (status != WS_OK)
        return status;
    event = (struct ws_event){ .kind = WS_EVENT_CLOSE,
                               .bath = -1,
                               .at_ms = play->session.now_ms + CLOSE_AFTER_MS,
                               .sequence = play->session.sequence + 1 };
    return take(play, &event);
}

enum ws_status ws_demo_play(struct ws_book *book, const struct ws_plan *plan, int64_t wall_ms,
                            const struct ws_demo_hands *hands, struct ws_message *why)
{
    struct playing *play = calloc(1, sizeof *play);
    struct ws_stamp stamp;
    enum ws_status status;

    if (play == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the demo");
    play->book = book;
    play->plan = plan;
    play->hands = hands;
    play->wall_ms = wall_ms;
    play->why = why;
    stamp = stamp_at(play, 0);
    status = ws_run_keep(book, plan, &stamp, &play->run, why);
    if (status == WS_OK)
        status = play_through(play);
    stamp = stamp_at(play, play->session.now_ms);
    if (status == WS_OK)
        status = ws_run_close(book, play->run, NULL, &stamp, why);
    free(play);
    return status;
}
