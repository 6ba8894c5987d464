/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Taking events: time first advances to the event, saying what fell due on the way, then the event
 * does what it does. */
#include "wetside/session/session.h"

#include <math.h>
#include <string.h>

#include "engine.h"

static void record_begin(struct ws_bath_record *record, int64_t time_ms)
{
    record->wait_ms = WS_NEVER;
    record->first_liquid_ms = WS_NEVER;
    record->full_ms = WS_NEVER;
    record->time_ms = time_ms;
    record->pour_out_ms = WS_NEVER;
    record->empty_ms = WS_NEVER;
    record->first_liquid_due_ms = WS_NEVER;
    record->full_due_ms = WS_NEVER;
    record->empty_due_ms = WS_NEVER;
    record->low_c = NAN;
    record->high_c = NAN;
    record->fraction = NAN;
    record->last_cycle = -1;
}

enum ws_status ws_session_begin(struct ws_session *session, const struct ws_plan *plan,
                                struct ws_message *why)
{
    enum ws_status status = ws_plan_check(plan, why);
    int i;

    if (status != WS_OK)
        return status;
    memset(session, 0, sizeof *session);
    session->stage = WS_STAGE_WAITING;
    session->steps = plan->baths;
    session->start_due_ms = WS_NEVER;
    session->reading_ms = WS_NEVER;
    session->reading_c = NAN;
    session->fraction = NAN;
    for (i = 0; i < WS_STEPS; i++) {
        session->order[i] = i < plan->baths ? i : -1;
        record_begin(&session->record[i], i < plan->baths ? plan->bath[i].time_ms : 0);
    }
    return WS_OK;
}

/* ---- advancing ---- */

static void step_now(struct ws_session *session, int64_t at_ms)
{
    if (at_ms > session->now_ms)
        session->now_ms = at_ms;
}

struct room {
    struct ws_cue *cue;
    int room, n;
};

/* Says and turns everything due up to `to_ms`, in order; false when the room is full. */
static bool advance(struct ws_session *session, const struct ws_plan *plan, int64_t to_ms,
                    struct room *out)
{
    for (;;) {
        int64_t turn_ms = engine_turn_ms(session, plan);
        struct ws_cue cue;
        bool found = engine_next_cue(session, plan, &cue);

        if (turn_ms <= to_ms && (!found || turn_ms <= cue.due_ms)) {
            step_now(session, turn_ms);
            engine_turn(session, plan);
            continue;
        }
        if (!found || cue.due_ms > to_ms)
            return true;
        if (out->n >= out->room)
            return false;
        cue.late = to_ms - cue.due_ms > plan->late_ms && cue.until_ms <= to_ms;
        step_now(session, cue.due_ms);
        engine_say(session, plan, &cue);
        out->cue[out->n++] = cue;
    }
}

/* ---- events ---- */

static enum ws_status set_start(struct ws_session *session, const struct ws_event *event)
{
    if (session->stage != WS_STAGE_WAITING || event->value_ms == session->start_due_ms)
        return WS_IGNORED;
    session->start_due_ms = event->value_ms;
    session->said.floor_ms = event->at_ms;
    return WS_OK;
}

static enum ws_status set_flag(bool *flag, bool value)
{
    if (*flag == value)
        return WS_IGNORED;
    *flag = value;
    return WS_OK;
}

static enum ws_status lights_out(struct ws_session *session)
{
    session->lit = false;
    return set_flag(&session->open_film, true);
}

/* Over a bath with open film it is lit until the lights go out again. Elsewhere only lights out is
 * taken back: a bath to come with open film is as dark as its process says. */
static enum ws_status lights_on(struct ws_session *session, const struct ws_plan *plan)
{
    if (!engine_film_open(session, plan))
        return WS_IGNORED;
    session->open_film = false;
    session->lit = engine_film_open(session, plan);
    return WS_OK;
}

static enum ws_status begin_run(struct ws_session *session, const struct ws_plan *plan,
                                const struct ws_event *event)
{
    session->begun = true;
    engine_wait(session, plan, event->at_ms);
    return WS_OK;
}

static enum ws_status close_run(struct ws_session *session)
{
    session->closed = true;
    session->stage = WS_STAGE_OVER;
    session->offer = 0;
    session->come_back_waits = false;
    session->press.sequence = 0;
    return WS_OK;
}

static enum ws_status apply(struct ws_session *session, const struct ws_plan *plan,
                            const struct ws_event *event)
{
    switch (event->kind) {
    case WS_EVENT_BEGIN:
        return begin_run(session, plan, event);
    case WS_EVENT_HAND:
        return engine_hand(session, plan, event);
    case WS_EVENT_UNDO:
        return engine_undo(session, plan, event);
    case WS_EVENT_ON_TIME:
        return engine_on_time(session, event);
    case WS_EVENT_READING:
        return engine_reading(session, plan, event);
    case WS_EVENT_TAKE:
    case WS_EVENT_REFUSE:
        return engine_take_offer(session, plan, event);
    case WS_EVENT_END_SET:
        return engine_end_set(session, plan, event);
    case WS_EVENT_START_SET:
        return set_start(session, event);
    case WS_EVENT_LEAVE:
        return engine_leave(session, plan, event->at_ms);
    case WS_EVENT_INSERT:
        return engine_insert(session, plan, event);
    case WS_EVENT_LIGHTS_OUT:
        return lights_out(session);
    case WS_EVENT_LIGHTS_ON:
        return lights_on(session, plan);
    case WS_EVENT_AWAY:
        return set_flag(&session->away, true);
    case WS_EVENT_BACK:
        return set_flag(&session->away, false);
    case WS_EVENT_TIME_LOST:
        session->estimated = true;
        return WS_OK;
    case WS_EVENT_OWNER:
        return WS_OK;
    case WS_EVENT_CLOSE:
        return close_run(session);
    case WS_EVENT_TICK:
    case WS_EVENT_KINDS:
        break;
    }
    return WS_IGNORED;
}

/* What can be told without looking at the state's history. */
static enum ws_status check_event(const struct ws_session *session, const struct ws_plan *plan,
                                  const struct ws_event *event)
{
    const int64_t longest_ms = INT64_C(48) * 60 * 60 * 1000;
    const int64_t latest_ms = INT64_C(1) << 50; /* far past any run, and sums of it still fit */

    if ((unsigned)event->kind >= WS_EVENT_KINDS || event->at_ms > latest_ms)
        return WS_BAD_EVENT;
    if (event->at_ms < session->now_ms)
        return WS_TIME_BACK;
    if (event->kind == WS_EVENT_TICK)
        return WS_OK;
    if (event->sequence <= session->sequence)
        return WS_BAD_EVENT;
    if ((event->kind == WS_EVENT_BEGIN) == session->begun)
        return WS_BAD_EVENT;
    if (event->kind == WS_EVENT_READING && !(event->value_c >= -20 && event->value_c <= 120))
        return WS_BAD_EVENT;
    if ((event->kind == WS_EVENT_END_SET || event->kind == WS_EVENT_INSERT) &&
        (event->value_ms < 1000 || event->value_ms > longest_ms))
        return WS_BAD_EVENT;
    if (event->kind == WS_EVENT_INSERT && event->of >= WS_BATH_KINDS)
        return WS_BAD_EVENT;
    if (event->kind == WS_EVENT_START_SET && (event->value_ms < 0 || event->value_ms > latest_ms))
        return WS_BAD_EVENT;
    if ((event->kind == WS_EVENT_READING || event->kind == WS_EVENT_END_SET) && event->bath >= 0 &&
        ws_session_bath(session, plan, event->bath) == NULL)
        return WS_BAD_EVENT;
    return WS_OK;
}

enum ws_status ws_session_take(struct ws_session *session, const struct ws_plan *plan,
                               const struct ws_event *event, struct ws_cue *cue, int room, int *n)
{
    struct room out = { cue, room, 0 };
    bool applied = session->unsaid != 0 && session->unsaid == event->sequence;
    enum ws_status status = applied ? WS_OK : check_event(session, plan, event);
    bool flushed;

    *n = 0;
    if (status != WS_OK)
        return status;
    flushed = advance(session, plan, event->at_ms, &out);
    if (flushed && !applied) {
        session->now_ms = event->at_ms;
        if (event->kind == WS_EVENT_TICK)
            status = WS_OK;
        else if (session->closed)
            status = WS_IGNORED;
        else
            status = apply(session, plan, event);
        if (status == WS_OK && event->kind != WS_EVENT_TICK) {
            session->sequence = event->sequence;
            session->unsaid = event->sequence;
            session->estimated = session->estimated || event->estimated;
            flushed = advance(session, plan, event->at_ms, &out);
        }
    }
    *n = out.n;
    if (!flushed)
        return WS_MORE;
    session->unsaid = 0;
    return status;
}

int64_t ws_session_next_ms(const struct ws_session *session, const struct ws_plan *plan)
{
    int64_t turn_ms = engine_turn_ms(session, plan);
    struct ws_cue cue;

    if (!engine_next_cue(session, plan, &cue))
        return turn_ms;
    return cue.due_ms < turn_ms ? cue.due_ms : turn_ms;
}

int64_t ws_session_answer_ms(const struct ws_session *session, const struct ws_plan *plan)
{
    int64_t now_ms = session->now_ms;

    if (session->closed || !session->begun)
        return WS_NEVER;
    switch (session->stage) {
    case WS_STAGE_WAITING:
        if (session->start_due_ms != WS_NEVER) {
            int64_t press_ms =
                session->start_due_ms - engine_bath_in_hand(session, plan)->count_in_ms;

            return press_ms > now_ms ? press_ms : now_ms;
        }
        return session->said.get_ready + session->said.pour_in > 0 ? now_ms : WS_NEVER;
    case WS_STAGE_IN_BATH:
        if (session->come_back_waits)
            return now_ms;
        return engine_unconfirmed(session, plan) && now_ms <= session->said.cycle_until_ms
                   ? now_ms
                   : WS_NEVER;
    case WS_STAGE_DRAINING:
        if (engine_hands_over(session, plan))
            return WS_NEVER;
        /* Sheets that go on into the next bath wait for it where they are. */
        if (engine_pieces_go_on(session, plan))
            return now_ms;
        return session->span.empty_ms > now_ms ? session->span.empty_ms : now_ms;
    case WS_STAGE_COUNT_IN:
    case WS_STAGE_FILLING:
    case WS_STAGE_OVER:
        break;
    }
    return WS_NEVER;
}

int ws_session_ahead(const struct ws_session *session, const struct ws_plan *plan, int64_t to_ms,
                     bool in_time, struct ws_cue *cue, int room)
{
    struct ws_session copy = *session;
    struct ws_event event = { .bath = -1 };
    int n = 0;

    if (copy.unsaid != 0 || to_ms < copy.now_ms)
        return 0;
    for (;;) {
        int64_t next_ms = ws_session_next_ms(&copy, plan);
        int64_t answer_ms = in_time ? ws_session_answer_ms(&copy, plan) : WS_NEVER;
        enum ws_status status;
        int said;

        event.kind = answer_ms < next_ms ? WS_EVENT_HAND : WS_EVENT_TICK;
        event.at_ms = answer_ms < next_ms ? answer_ms : next_ms;
        event.sequence = event.kind == WS_EVENT_HAND ? copy.sequence + 1 : 0;
        if (event.at_ms > to_ms || event.at_ms == WS_NEVER)
            return n;
        if (event.at_ms < copy.now_ms)
            event.at_ms = copy.now_ms;
        status = ws_session_take(&copy, plan, &event, cue + n, room - n, &said);
        n += said;
        if (status != WS_OK)
            return n;
    }
}

enum ws_status ws_session_fold(struct ws_session *session, const struct ws_plan *plan,
                               const struct ws_event *event, int events, struct ws_message *why)
{
    enum ws_status status = ws_session_begin(session, plan, why);
    struct ws_cue cue[64];
    int i, n;

    for (i = 0; i < events && status == WS_OK; i++) {
        do
            status = ws_session_take(session, plan, &event[i], cue, 64, &n);
        while (status == WS_MORE);
        if (status == WS_IGNORED)
            status = WS_OK;
        if (status != WS_OK)
            return ws_fail(why, status, "event %u: the journal can't be replayed",
                           event[i].sequence);
    }
    return status;
}
