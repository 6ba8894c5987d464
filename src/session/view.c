/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a screen or a voice needs to know of a run at one moment. */
#include <math.h>
#include <string.h>

#include "engine.h"

/* Brings the copy to at_ms; what falls due on the way is dropped. */
static void tick_to(struct ws_session *copy, const struct ws_plan *plan, int64_t at_ms)
{
    struct ws_event tick = { .kind = WS_EVENT_TICK, .at_ms = at_ms, .bath = -1 };
    struct ws_cue cue[64];
    enum ws_status status;
    int n;

    if (copy->unsaid != 0 || at_ms < copy->now_ms)
        return;
    do
        status = ws_session_take(copy, plan, &tick, cue, 64, &n);
    while (status == WS_MORE);
}

static bool of_the_hands(enum ws_cue_kind kind)
{
    return kind != WS_CUE_INVERT && kind != WS_CUE_SHUFFLE && kind != WS_CUE_PASS &&
           kind != WS_CUE_READING_DUE && kind != WS_CUE_OVERTIME;
}

/* The next cue the hands should know of; passes over what is only counted. */
static void next_of_the_hands(struct ws_session *copy, const struct ws_plan *plan,
                              struct ws_view *view)
{
    enum { PASSED_MOST = 256 };
    struct ws_cue cue;
    int k;

    view->next.due_ms = WS_NEVER;
    for (k = 0; k < PASSED_MOST; k++) {
        int64_t next_ms = ws_session_next_ms(copy, plan);
        bool found;

        if (next_ms == WS_NEVER)
            return;
        found = engine_next_cue(copy, plan, &cue);
        if (found && cue.due_ms == next_ms && engine_turn_ms(copy, plan) > next_ms) {
            if (of_the_hands(cue.kind)) {
                view->next = cue;
                return;
            }
            engine_say(copy, plan, &cue);
        } else {
            if (next_ms > copy->now_ms)
                copy->now_ms = next_ms;
            engine_turn(copy, plan);
        }
    }
}

static void look_waiting(const struct ws_session *session, const struct ws_plan *plan,
                         struct ws_view *view)
{
    const struct ws_bath_record *record = &session->record[view->bath];

    view->word = engine_waits_for_ready(session, plan) ? WS_WORD_PRESS_WHEN_READY : WS_WORD_POUR_IN;
    view->wants_hand = session->begun;
    view->stop_now = engine_stop_now(session, plan);
    view->insists = session->said.overtime > 0;
    view->asked_ms = session->start_due_ms != WS_NEVER ? session->start_due_ms : record->wait_ms;
    if (view->stop_now && session->start_due_ms == WS_NEVER)
        view->asked_ms = engine_drained_ms(session);
    if (session->start_due_ms != WS_NEVER)
        view->left_ms = session->start_due_ms - session->now_ms;
    if (view->stop_now)
        view->over_ms = session->now_ms - engine_drained_ms(session);
}

/* The agitation that is being done: which inversion of how many. */
static void look_agitating(const struct ws_session *session, struct ws_view *view)
{
    const struct ws_said *said = &session->said;

    view->word = WS_WORD_AGITATE;
    view->of = said->inversions;
    view->count = said->inversion;
}

static int pieces_gone(const struct ws_bath *bath, int64_t since_ms)
{
    int64_t gone = since_ms / bath->piece_every_ms + 1;

    return (int)(gone < bath->pieces ? gone : bath->pieces);
}

static void look_in_bath(const struct ws_session *session, const struct ws_plan *plan,
                         struct ws_view *view)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);
    const struct ws_said *said = &session->said;
    int64_t now_ms = session->now_ms;

    view->left_ms = session->span.pour_out_ms - now_ms;
    view->unconfirmed = engine_unconfirmed(session, plan);
    if (said->cycle >= 0 && !said->rested && now_ms < said->cycle_until_ms) {
        look_agitating(session, view);
    } else if (bath->agitation.rhythm == WS_CONTINUOUS) {
        view->word = WS_WORD_AGITATE;
    } else if (bath->pieces > 1 &&
               now_ms < session->span.clock_ms + (bath->pieces - 1) * bath->piece_every_ms) {
        view->word = WS_WORD_PIECES_IN;
        view->of = bath->pieces;
        view->count = pieces_gone(bath, now_ms - session->span.clock_ms);
    } else if (now_ms >= session->span.ready_out_ms) {
        view->word = WS_WORD_GET_READY;
    } else {
        view->word = bath->agitation.rhythm == WS_SHUFFLE ? WS_WORD_SHUFFLE : WS_WORD_REST;
    }
    view->wants_hand = view->unconfirmed || session->come_back_waits ||
                       (now_ms >= session->span.ready_out_ms && !engine_hands_over(session, plan));
    if (session->come_back_waits)
        view->asked_ms = said->come_back_for_ms - plan->come_back_lead_ms;
    else if (view->unconfirmed)
        view->asked_ms = said->cycle_due_ms;
    else if (view->wants_hand)
        view->asked_ms = session->span.ready_out_ms;
}

static void look_draining(const struct ws_session *session, const struct ws_plan *plan,
                          struct ws_view *view)
{
    const struct ws_bath *bath = engine_bath_in_hand(session, plan);

    view->word = WS_WORD_POUR_OUT;
    view->over_ms = session->now_ms - session->span.pour_out_ms;
    view->left_ms = -view->over_ms;
    view->unconfirmed = engine_unconfirmed(session, plan);
    view->wants_hand = true;
    view->asked_ms = session->span.pour_out_ms;
    view->draining = session->now_ms < session->span.empty_ms;
    view->insists = session->said.overtime_for_ms == session->span.pour_out_ms;
    if (bath->pieces > 1 && !engine_pieces_go_on(session, plan) &&
        session->now_ms < session->span.empty_ms) {
        view->word = WS_WORD_PIECES_OUT;
        view->of = bath->pieces;
        view->count = pieces_gone(bath, view->over_ms);
    }
}

static void look(const struct ws_session *session, const struct ws_plan *plan, struct ws_view *view)
{
    if (view->bath >= 0)
        view->time_ms = session->record[view->bath].time_ms;
    switch (session->stage) {
    case WS_STAGE_WAITING:
        look_waiting(session, plan, view);
        return;
    case WS_STAGE_COUNT_IN:
        view->word = WS_WORD_COUNT_IN;
        view->left_ms = session->span.first_liquid_ms - session->now_ms;
        break;
    case WS_STAGE_FILLING:
        view->word = WS_WORD_POUR_IN;
        view->left_ms = session->span.full_ms - session->now_ms;
        view->wants_hand = true;
        view->asked_ms = session->span.first_liquid_ms;
        break;
    case WS_STAGE_IN_BATH:
        look_in_bath(session, plan, view);
        break;
    case WS_STAGE_DRAINING:
        look_draining(session, plan, view);
        break;
    case WS_STAGE_OVER:
        view->word = WS_WORD_DONE;
        return;
    }
    view->in_bath_ms = session->now_ms - session->span.clock_ms;
    view->pour_out_ms = session->span.pour_out_ms;
}

void ws_session_view(const struct ws_session *session, const struct ws_plan *plan, int64_t at_ms,
                     struct ws_view *view)
{
    struct ws_session copy = *session;

    tick_to(&copy, plan, at_ms);
    memset(view, 0, sizeof *view);
    view->at_ms = copy.now_ms;
    view->stage = copy.stage;
    view->step = copy.step;
    view->steps = copy.steps;
    view->bath = engine_bath(&copy);
    view->asked_ms = WS_NEVER;
    view->pour_out_ms = WS_NEVER;
    view->film_open = engine_film_open(&copy, plan);
    view->fraction = engine_fraction_at(&copy, plan, copy.now_ms);
    view->can_undo =
        copy.press.sequence != 0 && copy.now_ms - copy.press.at_ms <= plan->undo_ms && !copy.closed;
    look(&copy, plan, view);
    next_of_the_hands(&copy, plan, view);
}
