/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Readings, the developed fraction, offers, and everything that moves an end or adds a bath. */
#include "engine.h"

#include <math.h>
#include <string.h>

enum { LONGEST_MS = 48 * 60 * 60 * 1000, SECOND_MS = 1000 };

static bool curve_of(const struct ws_bath *bath, struct ws_curve *curve)
{
    return bath->points > 0 &&
           ws_curve_make(bath->point, bath->points, bath->ratio_per_10c, curve, NULL) == WS_OK;
}

double engine_fraction_at(const struct ws_session *session, const struct ws_plan *plan,
                          int64_t at_ms)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    struct ws_curve curve;

    if (!bath || session->reading_ms == WS_NEVER || isnan(session->reading_c) ||
        !curve_of(bath, &curve))
        return NAN;
    if (at_ms <= session->reading_ms)
        return session->fraction;
    return session->fraction + ws_fraction_newton(&curve, session->reading_c, plan->room_c,
                                                  (double)plan->halving_ms,
                                                  (double)(at_ms - session->reading_ms));
}

/* Whether the bath can be given `time_ms`: no sheet is due out before the last is in, and there are
 * no more cycles than the record has room for. */
static bool fits(const struct ws_bath *bath, int64_t time_ms)
{
    if (bath->pieces > 1 && time_ms <= (bath->pieces - 1) * bath->piece_every_ms)
        return false;
    return bath->agitation.rhythm != WS_CYCLES ||
           time_ms / bath->agitation.every_ms < WS_CYCLE_MOST;
}

/* Puts the end in force at `time_ms` of the bath's clock. What is due before now is passed over;
 * get-ready is said again only for a later end. */
static void move_end(struct ws_session *session, const struct ws_plan *plan, int64_t time_ms,
                     int64_t at_ms)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    struct ws_bath_record *record = engine_record(session);
    int64_t was_ms = session->span.pour_out_ms;
    struct ws_said *said = &session->said;

    record->time_ms = time_ms;
    record->moved = true;
    session->offer = 0;
    session->pending &= ~(unsigned)PENDING_OFFER;
    if (session->stage == WS_STAGE_WAITING)
        return;
    engine_respan(session, plan);
    if (session->stage == WS_STAGE_COUNT_IN || session->stage == WS_STAGE_FILLING)
        return;
    if (session->span.pour_out_ms < at_ms) {
        record->time_ms = ws_schedule_time_for(bath, &session->span, at_ms);
        engine_respan(session, plan);
    }
    said->floor_ms = at_ms;
    if (session->span.pour_out_ms > at_ms)
        session->stage = WS_STAGE_IN_BATH;
    if ((said->ready_for_ms == was_ms && session->span.pour_out_ms < was_ms) ||
        session->span.pour_out_ms <= at_ms)
        said->ready_for_ms = session->span.pour_out_ms;
}

/* Whether POUR OUT would really change, by the rules for a move that follows the temperature. */
static bool worth_following(const struct ws_session *session, const struct ws_plan *plan,
                            int64_t time_ms, int64_t at_ms)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    const struct ws_bath_record *record = &session->record[engine_bath(session)];
    int64_t move_ms = time_ms - record->time_ms;
    struct ws_span span;

    if ((move_ms < 0 ? -move_ms : move_ms) < plan->least_move_ms)
        return false;
    if (session->stage == WS_STAGE_DRAINING)
        return false;
    if (session->stage != WS_STAGE_IN_BATH || at_ms < session->span.ready_out_ms)
        return true;
    ws_schedule_span(bath, session->span.first_liquid_ms, session->span.full_ms, time_ms,
                     plan->ready_lead_ms, &span);
    return span.pour_out_ms <= at_ms;
}

/* The bath's time that would complete the development, forecast from the anchor. */
static int64_t forecast_time_ms(const struct ws_session *session, const struct ws_plan *plan,
                                const struct ws_curve *curve)
{
    double left_ms = ws_fraction_until(curve, 1 - session->fraction, session->reading_c,
                                       plan->room_c, (double)plan->halving_ms);
    double time_ms = (double)(session->reading_ms - session->span.clock_ms) + left_ms;

    /* Whole seconds: nobody pours out to the millisecond. */
    return (int64_t)(round(time_ms / 1000) * 1000);
}

static bool follows(const struct ws_bath *bath)
{
    /* A stand time is not compensated without points of its own. */
    if (bath->agitation.rhythm == WS_STAND || bath->agitation.rhythm == WS_AT_MOMENTS)
        return bath->points > 1;
    return bath->points > 0;
}

static void consider_offer(struct ws_session *session, const struct ws_plan *plan,
                           const struct ws_event *event)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    struct ws_curve curve;
    int64_t time_ms;

    session->offer = 0;
    if (session->stage != WS_STAGE_IN_BATH || !follows(bath) || !curve_of(bath, &curve))
        return;
    time_ms = forecast_time_ms(session, plan, &curve);
    if (time_ms < 1000 || time_ms > LONGEST_MS || !fits(bath, time_ms) ||
        !worth_following(session, plan, time_ms, event->at_ms))
        return;
    if (plan->follow) {
        move_end(session, plan, time_ms, event->at_ms);
    } else if (!engine_film_open(session, plan)) {
        session->offer = event->sequence;
        session->offer_time_ms = time_ms;
        session->pending |= PENDING_OFFER;
    }
}

static void note_range(struct ws_bath_record *record, double c)
{
    record->readings++;
    if (isnan(record->low_c) || c < record->low_c)
        record->low_c = c;
    if (isnan(record->high_c) || c > record->high_c)
        record->high_c = c;
}

enum ws_status engine_reading(struct ws_session *session, const struct ws_plan *plan,
                              const struct ws_event *event)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    bool on_clock = session->stage == WS_STAGE_IN_BATH || session->stage == WS_STAGE_DRAINING;
    struct ws_curve curve;

    if (!bath || (event->bath >= 0 && event->bath != engine_bath(session)))
        return WS_IGNORED;
    note_range(engine_record(session), event->value_c);
    if (on_clock && session->reading_ms != WS_NEVER && curve_of(bath, &curve)) {
        double from_c = isnan(session->reading_c) ? event->value_c : session->reading_c;

        if (event->at_ms > session->reading_ms)
            session->fraction += ws_fraction_line(&curve, from_c, event->value_c,
                                                  (double)(event->at_ms - session->reading_ms));
        session->reading_ms =
            event->at_ms > session->reading_ms ? event->at_ms : session->reading_ms;
        engine_record(session)->fraction = session->fraction;
    }
    session->reading_c = event->value_c;
    if (on_clock)
        session->said.reading_from_ms = event->at_ms;
    if (!isnan(bath->want_c) && !isnan(bath->tolerance_c) &&
        fabs(event->value_c - bath->want_c) > bath->tolerance_c + 1e-9)
        session->pending |= PENDING_RANGE;
    if (session->reading_ms != WS_NEVER)
        consider_offer(session, plan, event);
    return WS_OK;
}

enum ws_status engine_take_offer(struct ws_session *session, const struct ws_plan *plan,
                                 const struct ws_event *event)
{
    if (session->offer == 0 || (event->of != 0 && event->of != session->offer))
        return WS_IGNORED;
    if (event->kind == WS_EVENT_REFUSE) {
        session->offer = 0;
        return WS_OK;
    }
    if (session->stage != WS_STAGE_IN_BATH)
        return WS_IGNORED;
    move_end(session, plan, session->offer_time_ms, event->at_ms);
    return WS_OK;
}

static int step_of(const struct ws_session *session, int bath)
{
    int step;

    for (step = 0; step < session->steps; step++) {
        if (session->order[step] == bath)
            return step;
    }
    return -1;
}

enum ws_status engine_end_set(struct ws_session *session, const struct ws_plan *plan,
                              const struct ws_event *event)
{
    int number = event->bath < 0 ? engine_bath(session) : event->bath;
    const struct ws_bath *bath = ws_session_bath(session, plan, number);
    int step = step_of(session, number);

    if (!bath || step < session->step || session->record[number].time_ms == event->value_ms ||
        !fits(bath, event->value_ms))
        return WS_IGNORED;
    /* A plan of the hands may stretch a stop or a fixer; development times are never altered. */
    if (event->cause == WS_BY_HAND_PLAN && bath->kind == WS_BATH_DEVELOPER)
        return WS_IGNORED;
    if (step > session->step) {
        session->record[number].time_ms = event->value_ms;
        session->record[number].moved = true;
        return WS_OK;
    }
    if (event->cause == WS_BY_TEMPERATURE &&
        !worth_following(session, plan, event->value_ms, event->at_ms))
        return WS_IGNORED;
    if (session->stage == WS_STAGE_DRAINING) {
        struct ws_span span;

        ws_schedule_span(bath, session->span.first_liquid_ms, session->span.full_ms,
                         event->value_ms, plan->ready_lead_ms, &span);
        if (span.pour_out_ms <= event->at_ms)
            return WS_IGNORED;
    }
    move_end(session, plan, event->value_ms, event->at_ms);
    return WS_OK;
}

enum ws_status engine_leave(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    bool moved;

    if (bath && !fits(bath, at_ms - session->span.clock_ms) && bath->pieces > 1)
        return WS_IGNORED;
    if (session->stage == WS_STAGE_FILLING)
        engine_full(session, plan, at_ms, true);
    else if (session->stage != WS_STAGE_IN_BATH)
        return WS_IGNORED;
    moved = engine_record(session)->moved;
    engine_record(session)->left_early = true;
    /* Nothing before this can be taken back: the bath would be begun again with no time left. */
    session->press.sequence = 0;
    session->press.what = WS_PRESS_NONE;
    move_end(session, plan, ws_schedule_time_for(bath, &session->span, at_ms), at_ms);
    /* Ended early is one thing, given another time is another: the page tells them apart. */
    engine_record(session)->moved = moved;
    return WS_OK;
}

/* Between two trays a bath put in is one more: the same sheets go through it by themselves, in the
 * same rhythm, and it lasts at least until the last is in. */
static void take_sheets(struct ws_bath *bath, const struct ws_bath *before,
                        const struct ws_bath *after)
{
    int64_t least_ms;

    if (before == NULL || after == NULL || before->pieces == 0 || after->pieces == 0)
        return;
    bath->pieces = before->pieces;
    bath->piece_every_ms = before->piece_every_ms;
    bath->clock_from = WS_FROM_FIRST_LIQUID;
    memset(&bath->agitation, 0, sizeof bath->agitation);
    bath->agitation.rhythm = WS_STAND;
    if (before->agitation.rhythm == WS_SHUFFLE)
        bath->agitation = before->agitation;
    least_ms = (bath->pieces - 1) * bath->piece_every_ms + SECOND_MS;
    if (bath->time_ms < least_ms)
        bath->time_ms = least_ms;
}

enum ws_status engine_insert(struct ws_session *session, const struct ws_plan *plan,
                             const struct ws_event *event)
{
    int step = session->stage == WS_STAGE_WAITING ? session->step : session->step + 1;
    int number = WS_BATHS + session->extras;
    const struct ws_bath *before;
    struct ws_bath *bath;

    if (session->extras >= WS_EXTRA || session->steps >= WS_STEPS ||
        session->stage == WS_STAGE_OVER)
        return WS_IGNORED;
    bath = &session->extra[session->extras];
    ws_bath_default((enum ws_bath_kind)event->of, bath);
    bath->time_ms = event->value_ms;
    /* Film that lay open in the bath before lies open in this one. */
    before = ws_session_bath(session, plan, ws_session_bath_at(session, step - 1));
    bath->open_film = before != NULL && before->open_film;
    if (plan->engine >= WS_ENGINE_SHEETS_PUT_IN)
        take_sheets(bath, before,
                    ws_session_bath(session, plan, ws_session_bath_at(session, step)));
    session->extras++;
    memmove(&session->order[step + 1], &session->order[step],
            (size_t)(session->steps - step) * sizeof session->order[0]);
    session->order[step] = number;
    session->steps++;
    session->record[number].time_ms = bath->time_ms;
    if (session->stage == WS_STAGE_WAITING) {
        int pieces_out_before = session->said.pieces_out_before;

        engine_wait(session, plan, event->at_ms);
        /* What was called for of a pour that was taken back is out all the same. */
        session->said.pieces_out_before = pieces_out_before;
    }
    /* A press that counts its step from before the insertion can't be taken back any more. */
    session->press.sequence = 0;
    session->press.what = WS_PRESS_NONE;
    return WS_OK;
}
