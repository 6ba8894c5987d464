/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One run at the sink, on the drive's thread: events go into its session and its journal, cues come
 * out of it. */
#include "inside.h"

#include <string.h>

#include "wetside/calc/units.h"

enum { CUES = 64 };

int64_t ws_seat_ms(const struct ws_seat *seat, const struct ws_stamp *stamp)
{
    bool estimated;

    return ws_timebase_run_ms(&seat->anchor, stamp, -1.0, &estimated);
}

int64_t ws_seat_ns(const struct ws_seat *seat, int64_t at_ms)
{
    return at_ms == WS_NEVER ? INT64_MAX : ws_timebase_boot_ns(&seat->anchor, at_ms);
}

/* ---- cues ---- */

/* What only keeps a rhythm that was called before. */
static bool is_beat(enum ws_cue_kind kind)
{
    return kind == WS_CUE_INVERT || kind == WS_CUE_SHUFFLE || kind == WS_CUE_PASS;
}

static void hand_over(struct ws_drive *drive, struct ws_seat *seat, const struct ws_cue *cue)
{
    if (drive->on_cue != NULL)
        drive->on_cue(drive->on_cue_self, seat->tank, cue, ws_seat_ns(seat, cue->due_ms),
                      ws_clock_boot_ns(drive->clock));
    if (atomic_load(&drive->listening)) {
        struct ws_told told = { seat->tank, *cue };

        ws_queue_put(&drive->told, &told);
    }
    if (seat->saids == WS_SAID_ROOM) {
        memmove(&seat->said[0], &seat->said[1], (WS_SAID_ROOM - 1) * sizeof seat->said[0]);
        seat->saids--;
    }
    seat->said[seat->saids++] = *cue;
    if (!cue->late && !is_beat(cue->kind))
        seat->calls++;
    if (!cue->late && ws_ringer_is_out(drive->ringer)) {
        ws_screen_bell(drive);
        drive->bell_next_ns = drive->now.boot_ns + WS_STAND_IN_MS * WS_NS_IN_MS;
    }
    seat->changed = true;
}

/* Cues that waited for the hand are answered by the press: they need not be heard any more. */
static void answered(struct ws_seat *seat, int before)
{
    int left = 0;

    for (int i = 0; i < seat->saids; i++)
        if (i >= before || !seat->said[i].wants_hand)
            seat->said[left++] = seat->said[i];
    seat->saids = left;
    seat->hush = true;
}

static enum ws_status take(struct ws_drive *drive, struct ws_seat *seat,
                           const struct ws_event *event)
{
    struct ws_cue cue[CUES];
    enum ws_status status;
    int n;

    do {
        n = 0;
        status = ws_session_take(&seat->session, &seat->plan, event, cue, CUES, &n);
        for (int i = 0; i < n; i++)
            hand_over(drive, seat, &cue[i]);
    } while (status == WS_MORE);
    return status;
}

void ws_seat_tick(struct ws_drive *drive, struct ws_seat *seat, int64_t at_ms)
{
    struct ws_event tick = { .kind = WS_EVENT_TICK, .at_ms = at_ms, .bath = -1 };

    if (seat->held || seat->session.closed ||
        ws_session_next_ms(&seat->session, &seat->plan) > at_ms)
        return;
    take(drive, seat, &tick);
    /* A stage that changed by itself has no cue of its own. */
    seat->changed = true;
}

/* ---- events ---- */

/* The stamp that belongs exactly to at_ms, so that a run taken up from it goes on to the
 * nanosecond as this one does. */
static void stamp_of(const struct ws_drive *drive, const struct ws_seat *seat, int64_t at_ms,
                     struct ws_stamp *out)
{
    out->boot = drive->now.boot;
    out->boot_ns = ws_seat_ns(seat, at_ms);
    out->wall_ns = drive->now.wall_ns - (drive->now.boot_ns - out->boot_ns);
}

static void journal(struct ws_drive *drive, struct ws_seat *seat, const struct ws_event *event)
{
    struct ws_stamp stamp;

    seat->journaled = event->sequence;
    if (seat->rehearsal)
        return;
    stamp_of(drive, seat, event->at_ms, &stamp);
    if (!ws_keeper_put(&drive->keeper, seat->tank, event, &stamp))
        seat->lost = true;
}

enum ws_status ws_seat_act(struct ws_drive *drive, struct ws_seat *seat, struct ws_event *event,
                           int64_t at_ms)
{
    int64_t now_ms = ws_seat_ms(seat, &drive->now);
    int before = seat->saids;
    enum ws_status status;

    if (seat->held)
        return WS_IGNORED;
    /* A key was read a little before it is taken here: never before what was already said, and
     * never ahead of the clock. */
    event->at_ms = at_ms < now_ms ? at_ms : now_ms;
    if (event->at_ms < seat->session.now_ms)
        event->at_ms = seat->session.now_ms;
    event->sequence = seat->journaled + 1;
    event->estimated = seat->estimated;
    ws_seat_tick(drive, seat, event->at_ms);
    before = seat->saids;
    status = take(drive, seat, event);
    if (status != WS_OK)
        return status;
    if (event->kind == WS_EVENT_HAND || event->kind == WS_EVENT_UNDO ||
        event->kind == WS_EVENT_LEAVE || event->kind == WS_EVENT_CLOSE)
        answered(seat, before);
    journal(drive, seat, event);
    seat->changed = true;
    seat->moved = true;
    return WS_OK;
}

void ws_seat_close(struct ws_drive *drive, struct ws_seat *seat, const char *reason, int64_t at_ms)
{
    struct ws_event close = { .kind = WS_EVENT_CLOSE, .bath = -1 };
    struct ws_stamp stamp;

    if (ws_seat_act(drive, seat, &close, at_ms) != WS_OK)
        return;
    if (!seat->rehearsal) {
        stamp_of(drive, seat, close.at_ms, &stamp);
        ws_keeper_close(&drive->keeper, seat->tank, reason, &stamp);
    }
    atomic_store(&seat->closed, true);
}

int64_t ws_seat_close_ms(const struct ws_seat *seat)
{
    const struct ws_session *session = &seat->session;

    if (session->stage != WS_STAGE_OVER || session->closed)
        return WS_NEVER;
    if (session->press.sequence == 0)
        return session->now_ms;
    return session->press.at_ms + seat->plan.undo_ms + 1;
}

/* ---- a run taken up again ---- */

static const char *what_is_due(enum ws_word word)
{
    switch (word) {
    case WS_WORD_PRESS_WHEN_READY:
        return "press when ready to pour";
    case WS_WORD_COUNT_IN:
    case WS_WORD_POUR_IN:
        return "POUR IN";
    case WS_WORD_AGITATE:
        return "AGITATE";
    case WS_WORD_REST:
        return "REST";
    case WS_WORD_GET_READY:
        return "GET READY to pour out";
    case WS_WORD_POUR_OUT:
        return "POUR OUT NOW";
    case WS_WORD_SHUFFLE:
        return "SHUFFLE";
    case WS_WORD_PIECES_IN:
        return "sheets in";
    case WS_WORD_PIECES_OUT:
        return "sheets out";
    case WS_WORD_DONE:
        break;
    }
    return "DONE";
}

static void greet(struct ws_drive *drive, struct ws_seat *seat)
{
    char away[32], over[32];
    struct ws_message line;
    struct ws_view view;

    ws_session_view(&seat->session, &seat->plan, ws_seat_ms(seat, &drive->now), &view);
    ws_time_print(view.at_ms - seat->last_ms, away, sizeof away);
    ws_time_print(view.over_ms, over, sizeof over);
    /* The last thing known of the run is its last journaled event: the time since is the most it
     * can have been without a hand. */
    ws_fail(&line, WS_OK, "%s%syou were away %s at most%s; %s%s%s", seat->plan.tank,
            seat->plan.tank[0] != '\0' ? ": " : "", away, seat->estimated ? " (estimated)" : "",
            view.stop_now ? "STOP NOW" : what_is_due(view.word), view.over_ms > 0 ? ", over +" : "",
            view.over_ms > 0 ? over : "");
    ws_drive_notice(drive, &line);
}

void ws_seat_adopt(struct ws_drive *drive, struct ws_seat *seat)
{
    struct ws_event begin = { .kind = WS_EVENT_BEGIN, .sequence = 1, .bath = -1 };
    struct ws_event lost = { .kind = WS_EVENT_TIME_LOST, .cause = WS_BY_RECOVERY, .bath = -1 };
    struct ws_event owner = { .kind = WS_EVENT_OWNER, .cause = WS_BY_RECOVERY, .bath = -1 };
    int64_t now_ms = ws_seat_ms(seat, &drive->now);

    seat->changed = true;
    seat->moved = true;
    if (!seat->resumed) {
        /* The book has this event already: it was kept with the run. */
        seat->journaled = begin.sequence;
        take(drive, seat, &begin);
        ws_seat_tick(drive, seat, now_ms);
        return;
    }
    if (seat->time_lost)
        ws_seat_act(drive, seat, &lost, now_ms);
    ws_seat_act(drive, seat, &owner, now_ms);
    if (!atomic_load(&drive->greets_not))
        greet(drive, seat);
}
