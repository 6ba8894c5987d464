/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The hand key, and what takes it back. A press says "I did what you asked": what it sets depends
 * on what was asked. */
#include "engine.h"

#include <string.h>

/* Remembers what was there before the press, so that undo restores only that. */
static struct ws_press *remember(struct ws_session *session, const struct ws_event *event,
                                 enum ws_press_what what, int64_t due_ms)
{
    struct ws_press *press = &session->press;

    memset(press, 0, sizeof *press);
    press->sequence = event->sequence;
    press->what = what;
    press->at_ms = event->at_ms;
    press->due_ms = due_ms;
    press->step = session->step;
    press->stage = session->stage;
    press->come_back_waits = session->come_back_waits;
    press->span = session->span;
    press->said = session->said;
    press->reading_ms = session->reading_ms;
    press->reading_c = session->reading_c;
    press->fraction = session->fraction;
    press->record_fraction = engine_record(session)->fraction;
    press->offer = session->offer;
    press->offer_time_ms = session->offer_time_ms;
    return press;
}

static enum ws_status press_begin(struct ws_session *session, const struct ws_plan *plan,
                                  const struct ws_event *event)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);

    remember(session, event, WS_PRESS_BEGAN,
             engine_stop_now(session, plan) ? engine_drained_ms(session) : WS_NEVER);
    engine_pour(session, plan, event->at_ms + bath->count_in_ms);
    return WS_OK;
}

static enum ws_status press_full(struct ws_session *session, const struct ws_plan *plan,
                                 const struct ws_event *event)
{
    remember(session, event, WS_PRESS_FULL, session->span.full_ms);
    engine_full(session, plan, event->at_ms, false);
    return WS_OK;
}

static enum ws_status press_cycle(struct ws_session *session, const struct ws_event *event)
{
    struct ws_bath_record *record = engine_record(session);
    int cycle = record->last_cycle;

    remember(session, event, WS_PRESS_CYCLE, session->said.cycle_due_ms)->cycle = cycle;
    record->was_confirmed[cycle / 64] |= UINT64_C(1) << (cycle % 64);
    record->confirmed++;
    return WS_OK;
}

static enum ws_status press_empty(struct ws_session *session, const struct ws_plan *plan,
                                  const struct ws_event *event)
{
    remember(session, event, WS_PRESS_EMPTY, session->span.empty_ms);
    engine_record(session)->empty_due_ms = WS_NEVER;
    engine_empty(session, plan, event->at_ms);
    return WS_OK;
}

static enum ws_status press_in_bath(struct ws_session *session, const struct ws_plan *plan,
                                    const struct ws_event *event)
{
    if (session->come_back_waits) {
        remember(session, event, WS_PRESS_CAME_BACK, WS_NEVER);
        session->come_back_waits = false;
        return WS_OK;
    }
    if (engine_unconfirmed(session, plan))
        return press_cycle(session, event);
    /* From get-ready on it can mean "it is out already"; before, a press never ends a bath. */
    if (event->at_ms >= session->span.ready_out_ms &&
        session->said.ready_for_ms == session->span.pour_out_ms &&
        !engine_hands_over(session, plan))
        return press_empty(session, plan, event);
    return WS_IGNORED;
}

static enum ws_status press_draining(struct ws_session *session, const struct ws_plan *plan,
                                     const struct ws_event *event)
{
    if (engine_unconfirmed(session, plan) &&
        event->at_ms <= session->span.pour_out_ms + plan->confirm_grace_ms)
        return press_cycle(session, event);
    return press_empty(session, plan, event);
}

enum ws_status engine_hand(struct ws_session *session, const struct ws_plan *plan,
                           const struct ws_event *event)
{
    switch (session->stage) {
    case WS_STAGE_WAITING:
        return press_begin(session, plan, event);
    case WS_STAGE_FILLING:
        return press_full(session, plan, event);
    case WS_STAGE_IN_BATH:
        return press_in_bath(session, plan, event);
    case WS_STAGE_DRAINING:
        return press_draining(session, plan, event);
    case WS_STAGE_COUNT_IN:
    case WS_STAGE_OVER:
        break;
    }
    return WS_IGNORED;
}

/* ---- undo ---- */

static void undo_began(struct ws_session *session, const struct ws_plan *plan)
{
    int64_t wait_ms = engine_record(session)->wait_ms, start_due_ms = session->start_due_ms;
    double reading_c = session->reading_c;
    int pieces_out_before = session->said.pieces_out_before;

    engine_wait(session, plan, wait_ms);
    /* Sheets of the bath before that were called for are out, and are called for only once. */
    session->said.pieces_out_before = pieces_out_before;
    /* The press set neither the start nor what was read. */
    session->start_due_ms = start_due_ms;
    session->reading_c = reading_c;
}

static void undo_full(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms)
{
    struct ws_bath_record *record = engine_record(session);

    session->span = session->press.span;
    session->stage = WS_STAGE_FILLING;
    record->full_ms = WS_NEVER;
    record->full_due_ms = WS_NEVER;
    session->reading_ms = session->press.reading_ms;
    session->fraction = session->press.fraction;
    session->come_back_waits = false;
    session->said.floor_ms = at_ms;
    engine_respan(session, plan);
}

static void undo_cycle(struct ws_session *session)
{
    int cycle = session->press.cycle;
    struct ws_bath_record *record =
        &session->record[ws_session_bath_at(session, session->press.step)];

    record->was_confirmed[cycle / 64] &= ~(UINT64_C(1) << (cycle % 64));
    record->confirmed--;
    if (session->press.on_time)
        record->cycles_on_time--;
}

static void undo_empty(struct ws_session *session, int64_t at_ms)
{
    const struct ws_press *press = &session->press;
    struct ws_bath_record *record;

    session->step = press->step;
    session->stage = press->stage;
    session->span = press->span;
    session->said = press->said;
    session->said.floor_ms = at_ms;
    session->come_back_waits = press->come_back_waits;
    record = engine_record(session);
    record->empty_ms = WS_NEVER;
    record->empty_due_ms = WS_NEVER;
    record->fraction = press->record_fraction;
    session->pending &= ~(unsigned)PENDING_DONE;
    /* The developed fraction goes on from the last reading, which the record still has. */
    session->reading_ms = press->reading_ms;
    session->reading_c = press->reading_c;
    session->fraction = press->fraction;
    session->offer = press->offer;
    session->offer_time_ms = press->offer_time_ms;
}

/* Sheets may have gone on by themselves since the press: then it is too late for it. */
static bool still_there(const struct ws_session *session)
{
    const struct ws_press *press = &session->press;

    if (press->what == WS_PRESS_CYCLE)
        return true;
    return session->step == press->step + (press->what == WS_PRESS_EMPTY ? 1 : 0);
}

enum ws_status engine_undo(struct ws_session *session, const struct ws_plan *plan,
                           const struct ws_event *event)
{
    const struct ws_press *press = &session->press;

    if (press->sequence == 0 || (event->of != 0 && event->of != press->sequence) ||
        event->at_ms - press->at_ms > plan->undo_ms || !still_there(session))
        return WS_IGNORED;
    switch (press->what) {
    case WS_PRESS_BEGAN:
        undo_began(session, plan);
        break;
    case WS_PRESS_FULL:
        undo_full(session, plan, event->at_ms);
        break;
    case WS_PRESS_CYCLE:
        undo_cycle(session);
        break;
    case WS_PRESS_CAME_BACK:
        /* When the rest is over nobody waits for that answer any more. */
        session->come_back_waits =
            session->stage == WS_STAGE_IN_BATH && event->at_ms < session->said.come_back_for_ms;
        break;
    case WS_PRESS_EMPTY:
        undo_empty(session, event->at_ms);
        break;
    case WS_PRESS_NONE:
        return WS_IGNORED;
    }
    session->press.sequence = 0;
    session->press.what = WS_PRESS_NONE;
    return WS_OK;
}

enum ws_status engine_on_time(struct ws_session *session, const struct ws_event *event)
{
    struct ws_press *press = &session->press;
    struct ws_bath_record *record;

    if (press->sequence == 0 || (event->of != 0 && event->of != press->sequence) ||
        press->due_ms == WS_NEVER || press->on_time)
        return WS_IGNORED;
    record = &session->record[ws_session_bath_at(session, press->step)];
    if (press->what == WS_PRESS_BEGAN)
        record->first_liquid_due_ms = press->due_ms;
    else if (press->what == WS_PRESS_FULL)
        record->full_due_ms = press->due_ms;
    else if (press->what == WS_PRESS_CYCLE)
        record->cycles_on_time++;
    else
        record->empty_due_ms = press->due_ms;
    press->on_time = true;
    return WS_OK;
}
