/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a run stands: the bath in hand, and the few ways from one stage to the next. */
#include "engine.h"

#include <math.h>
#include <string.h>

int ws_session_bath_at(const struct ws_session *session, int step)
{
    return step >= 0 && step < session->steps ? session->order[step] : -1;
}

const struct ws_bath *ws_session_bath(const struct ws_session *session, const struct ws_plan *plan,
                                      int bath)
{
    if (bath >= 0 && bath < plan->baths)
        return &plan->bath[bath];
    if (bath >= WS_BATHS && bath < WS_BATHS + session->extras)
        return &session->extra[bath - WS_BATHS];
    return NULL;
}

int engine_bath(const struct ws_session *session)
{
    return ws_session_bath_at(session, session->step);
}

static const struct ws_bath *bath_at(const struct ws_session *session, const struct ws_plan *plan,
                                     int step)
{
    return ws_session_bath(session, plan, ws_session_bath_at(session, step));
}

const struct ws_bath *engine_bath_in_hand(const struct ws_session *session,
                                          const struct ws_plan *plan)
{
    return bath_at(session, plan, session->step);
}

const struct ws_bath *engine_bath_before(const struct ws_session *session,
                                         const struct ws_plan *plan)
{
    return bath_at(session, plan, session->step - 1);
}

const struct ws_bath *engine_bath_after(const struct ws_session *session,
                                        const struct ws_plan *plan)
{
    return bath_at(session, plan, session->step + 1);
}

struct ws_bath_record *engine_record(struct ws_session *session)
{
    int bath = engine_bath(session);

    /* Only asked while a bath is in hand; the compilers can't know that. */
    return &session->record[bath >= 0 ? bath : 0];
}

bool engine_stop_now(const struct ws_session *session, const struct ws_plan *plan)
{
    const struct ws_bath *before = engine_bath_before(session, plan);

    return session->stage == WS_STAGE_WAITING && before && before->kind == WS_BATH_DEVELOPER;
}

int64_t engine_drained_ms(const struct ws_session *session)
{
    int before = ws_session_bath_at(session, session->step - 1);

    return before >= 0 ? session->record[before].empty_ms : session->now_ms;
}

bool engine_waits_for_ready(const struct ws_session *session, const struct ws_plan *plan)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);

    return session->step == 0 || bath->count_in_ms > 0 || bath->pieces > 0;
}

bool engine_pieces_go_on(const struct ws_session *session, const struct ws_plan *plan)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    const struct ws_bath *after = engine_bath_after(session, plan);

    return bath->pieces > 0 && after && after->pieces > 0;
}

bool engine_hands_over(const struct ws_session *session, const struct ws_plan *plan)
{
    return engine_pieces_go_on(session, plan) &&
           !ws_bath_may_run_long(engine_bath_in_hand(session, plan));
}

bool engine_film_open(const struct ws_session *session, const struct ws_plan *plan)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    const struct ws_bath *before = engine_bath_before(session, plan);

    if (session->closed || session->open_film)
        return !session->closed;
    if (session->lit)
        return false;
    /* While a bath waits for its pour, film lies open only if it did so in the bath before. */
    return bath && bath->open_film &&
           (session->stage != WS_STAGE_WAITING || (before && before->open_film));
}

static bool has_bit(const uint64_t *set, int n)
{
    return n >= 0 && n < WS_CYCLE_MOST && (set[n / 64] >> (n % 64) & 1) != 0;
}

bool engine_unconfirmed(const struct ws_session *session, const struct ws_plan *plan)
{
    const struct ws_bath_record *record;
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);

    if (!bath || bath->agitation.rhythm == WS_CONTINUOUS)
        return false;
    record = &session->record[engine_bath(session)];
    return has_bit(record->was_asked, record->last_cycle) &&
           !has_bit(record->was_confirmed, record->last_cycle);
}

static void said_nothing(struct ws_said *said)
{
    memset(said, 0, sizeof *said);
    said->cycle = -1;
    said->start_for_ms = INT64_MIN;
    said->come_back_for_ms = INT64_MIN;
    said->ready_for_ms = INT64_MIN;
    said->pour_for_ms = INT64_MIN;
    said->overtime_for_ms = INT64_MIN;
    said->floor_ms = INT64_MIN;
}

static void close_reading(struct ws_session *session)
{
    session->reading_ms = WS_NEVER;
    session->reading_c = NAN;
    session->fraction = NAN;
    session->offer = 0;
}

void engine_wait(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms)
{
    struct ws_bath_record *record = engine_record(session);

    (void)plan;
    if (record->wait_ms != WS_NEVER) {
        /* Begun again: what was asked of the attempt that was taken back no longer counts. */
        record->attempt++;
        record->asked = 0;
        record->confirmed = 0;
        record->last_cycle = -1;
        record->left_early = false;
        memset(record->was_asked, 0, sizeof record->was_asked);
        memset(record->was_confirmed, 0, sizeof record->was_confirmed);
    }
    record->wait_ms = at_ms;
    record->first_liquid_ms = WS_NEVER;
    record->full_ms = WS_NEVER;
    record->first_liquid_due_ms = WS_NEVER;
    record->full_due_ms = WS_NEVER;
    record->cycles_on_time = 0;
    record->gap_ms = 0;
    record->full_assumed = false;
    session->stage = WS_STAGE_WAITING;
    session->start_due_ms = WS_NEVER;
    session->come_back_waits = false;
    said_nothing(&session->said);
    close_reading(session);
}

void engine_respan(struct ws_session *session, const struct ws_plan *plan)
{
    struct ws_bath_record *record = engine_record(session);

    ws_schedule_span(engine_bath_in_hand(session, plan), session->span.first_liquid_ms,
                     session->span.full_ms, record->time_ms, plan->ready_lead_ms, &session->span);
    record->pour_out_ms = session->span.pour_out_ms;
}

void engine_pour(struct ws_session *session, const struct ws_plan *plan, int64_t first_liquid_ms)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    struct ws_bath_record *record = engine_record(session);
    bool stop_now = engine_stop_now(session, plan);

    record->first_liquid_ms = first_liquid_ms;
    record->pours++;
    if (stop_now)
        record->gap_ms = first_liquid_ms - engine_drained_ms(session);
    session->span.first_liquid_ms = first_liquid_ms;
    /* A tray stands filled: the first sheet is in when the count ends. */
    session->span.full_ms = first_liquid_ms + (bath->pieces > 0 ? 0 : bath->pour_in_ms);
    session->stage = first_liquid_ms > session->now_ms ? WS_STAGE_COUNT_IN : WS_STAGE_FILLING;
    engine_respan(session, plan);
}

void engine_full(struct ws_session *session, const struct ws_plan *plan, int64_t full_ms,
                 bool assumed)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    struct ws_bath_record *record = engine_record(session);

    record->full_ms = full_ms;
    record->full_assumed = assumed && bath->pieces == 0;
    session->span.full_ms = full_ms;
    session->stage = WS_STAGE_IN_BATH;
    engine_respan(session, plan);
    session->said.reading_from_ms = session->span.clock_ms;
    if (bath->points > 0 && (session->reading_ms == WS_NEVER || record->readings == 0)) {
        session->reading_ms = session->span.clock_ms;
        session->fraction = 0;
        if (isnan(session->reading_c))
            session->reading_c = bath->start_c;
    }
}

static void next_step(struct ws_session *session)
{
    session->step++;
    close_reading(session);
    session->come_back_waits = false;
}

void engine_empty(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms)
{
    struct ws_bath_record *record = engine_record(session);

    record->empty_ms = at_ms;
    record->fraction = engine_fraction_at(session, plan, at_ms);
    next_step(session);
    if (session->step < session->steps) {
        engine_wait(session, plan, at_ms);
        return;
    }
    session->stage = WS_STAGE_OVER;
    session->pending |= PENDING_DONE;
}

void engine_hand_over(struct ws_session *session, const struct ws_plan *plan)
{
    struct ws_bath_record *record = engine_record(session);
    int64_t out_ms = session->span.pour_out_ms;

    record->empty_ms = session->span.empty_ms;
    record->fraction = engine_fraction_at(session, plan, session->span.empty_ms);
    next_step(session);
    engine_wait(session, plan, out_ms);
    session->said.get_ready = session->said.pour_in = 1;
    engine_pour(session, plan, out_ms);
    engine_record(session)->gap_ms = 0;
    engine_full(session, plan, out_ms, false);
}
