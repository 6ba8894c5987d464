/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is to be said next. Each stream of cues (waiting, pouring, agitation, sheets, the end) knows
 * from the state alone which of its cues comes next and when; the earliest of all streams is the
 * next cue. Nothing is stored ahead, so a moved end needs no repair: the streams just answer
 * otherwise. */
#include "engine.h"

/* Among cues of the same moment this order holds: what ends comes before what begins. */
static const int rank[WS_CUE_KINDS] = {
    [WS_CUE_PIECE_OUT] = 0,      [WS_CUE_REST] = 1,        [WS_CUE_OVERTIME] = 2,
    [WS_CUE_GET_READY] = 3,      [WS_CUE_POUR_IN] = 4,     [WS_CUE_PIECE_IN] = 5,
    [WS_CUE_COME_BACK] = 6,      [WS_CUE_READING_DUE] = 7, [WS_CUE_AGITATE] = 8,
    [WS_CUE_INVERT] = 9,         [WS_CUE_SHUFFLE] = 10,    [WS_CUE_PASS] = 10,
    [WS_CUE_READY_TO_POUR] = 11, [WS_CUE_POUR_OUT] = 12,   [WS_CUE_OUT_OF_RANGE] = 13,
    [WS_CUE_OFFER] = 14,         [WS_CUE_DONE] = 15,
};

struct search {
    const struct ws_session *session;
    const struct ws_plan *plan;
    const struct ws_bath *bath;
    int number; /* of the bath in hand */
    struct ws_cue best;
    bool found;
};

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* Everything due so far has been said, so a cue that should have come before now was made due by
 * the event that is being taken (a press undone, sheets that were to go on and can't): it is due
 * now. */
static void offer_cue(struct search *search, const struct ws_cue *cue)
{
    int64_t due_ms = later(cue->due_ms, search->session->now_ms);

    if (search->found &&
        (due_ms > search->best.due_ms ||
         (due_ms == search->best.due_ms && rank[cue->kind] >= rank[search->best.kind])))
        return;
    search->best = *cue;
    search->best.due_ms = due_ms;
    search->best.until_ms = later(cue->until_ms, due_ms);
    search->found = true;
}

static struct ws_cue cue_of(const struct search *search, enum ws_cue_kind kind, int64_t due_ms,
                            int64_t until_ms, int index)
{
    struct ws_cue cue = { .due_ms = due_ms,
                          .until_ms = until_ms,
                          .kind = kind,
                          .bath = search->number,
                          .attempt = search->session->record[search->number].attempt,
                          .index = index };

    return cue;
}

/* ---- waiting for the pour ---- */

static void waiting(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_said *said = &session->said;
    const struct ws_bath_record *record = &session->record[search->number];
    bool by_ready = engine_waits_for_ready(session, search->plan);
    int count = by_ready ? said->get_ready : said->pour_in;
    bool set = session->start_due_ms != WS_NEVER;
    struct ws_cue cue;
    int64_t due_ms = record->wait_ms;

    if (count == 0 || (set && said->start_for_ms != session->start_due_ms)) {
        if (set)
            due_ms = later(due_ms, session->start_due_ms - search->bath->count_in_ms -
                                       (by_ready ? search->plan->ready_lead_ms : 0));
        cue = cue_of(search, by_ready ? WS_CUE_GET_READY : WS_CUE_POUR_IN, due_ms, WS_NEVER, count);
        cue.wants_hand = true;
        offer_cue(search, &cue);
    }
    if (engine_stop_now(session, search->plan) && said->overtime == 0) {
        due_ms = later(engine_drained_ms(session) + search->plan->insist_ms, session->now_ms);
        cue = cue_of(search, WS_CUE_OVERTIME, due_ms, WS_NEVER, 0);
        cue.wants_hand = true;
        cue.value_ms = due_ms - engine_drained_ms(session);
        offer_cue(search, &cue);
    }
}

/* ---- into the bath ---- */

static void pouring_in(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_span *span = &session->span;
    struct ws_cue cue;
    int k = session->said.pieces_in;

    if (search->bath->pieces == 0 && session->said.pour_in == 0) {
        cue = cue_of(search, WS_CUE_POUR_IN, span->first_liquid_ms, span->full_ms, 0);
        cue.wants_hand = true;
        offer_cue(search, &cue);
    }
    if (k < search->bath->pieces) {
        int64_t due_ms = span->clock_ms + k * search->bath->piece_every_ms;

        cue = cue_of(search, WS_CUE_PIECE_IN, due_ms, due_ms + search->bath->piece_every_ms, k);
        cue.of = search->bath->pieces;
        offer_cue(search, &cue);
    }
}

/* The sheets of the bath before leave it as they come into this one. */
static void pieces_from_before(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_bath *before = engine_bath_before(session, search->plan);
    int number = ws_session_bath_at(session, session->step - 1);
    int k = session->said.pieces_out_before;
    struct ws_cue cue;
    int64_t due_ms;

    if (!before || search->bath->pieces == 0 || k >= before->pieces)
        return;
    due_ms = session->span.clock_ms + k * before->piece_every_ms;
    cue = cue_of(search, WS_CUE_PIECE_OUT, due_ms, due_ms + before->piece_every_ms, k);
    cue.bath = number;
    cue.attempt = session->record[number].attempt;
    cue.of = before->pieces;
    offer_cue(search, &cue);
}

/* ---- agitation ---- */

/* A cycle that should begin before `floor` was passed over by a moved end: the number to go on
 * from. */
static int passed_over(const struct search *search)
{
    const struct ws_said *said = &search->session->said;
    const struct ws_agitation *agitation = &search->bath->agitation;
    int64_t k;

    if (agitation->rhythm != WS_CYCLES || agitation->every_ms <= 0 ||
        said->floor_ms <= search->session->span.clock_ms)
        return said->cycle;
    k = (said->floor_ms - search->session->span.clock_ms - 1) / agitation->every_ms;
    return (int)(k > said->cycle && k < WS_CYCLE_MOST ? k : said->cycle);
}

static bool next_cycle(const struct search *search, struct ws_cycle *cycle)
{
    int after = passed_over(search);

    while (ws_schedule_cycle_after(search->bath, &search->session->span, after, cycle)) {
        if (cycle->index >= WS_CYCLE_MOST)
            return false;
        if (cycle->due_ms >= search->session->said.floor_ms)
            return true;
        after = cycle->index;
    }
    return false;
}

/* The agitation that has begun: its inversions, then its rest. */
static void within_cycle(struct search *search)
{
    const struct ws_said *said = &search->session->said;
    int64_t pour_out_ms = search->session->span.pour_out_ms;
    int nth = said->inversion;
    struct ws_cue cue;

    if (said->cycle < 0 || said->rested || search->bath->agitation.rhythm == WS_CONTINUOUS)
        return;
    /* Those that fell into a time taken back are passed over like cycles. */
    while (nth < said->inversions && said->cycle_due_ms + nth * said->pace_ms < said->floor_ms)
        nth++;
    if (nth < said->inversions) {
        int64_t due_ms = said->cycle_due_ms + nth * said->pace_ms;

        cue = cue_of(search, WS_CUE_INVERT, due_ms, due_ms + said->pace_ms,
                     said->cycle * 64 + nth + 1);
        cue.of = said->inversions;
    } else {
        cue = cue_of(search, WS_CUE_REST, said->cycle_until_ms, said->cycle_until_ms, said->cycle);
    }
    if (cue.due_ms < pour_out_ms && cue.due_ms >= said->floor_ms)
        offer_cue(search, &cue);
}

static void agitation(struct search *search)
{
    struct ws_cycle cycle;
    struct ws_cue cue;

    within_cycle(search);
    if (!next_cycle(search, &cycle))
        return;
    cue = cue_of(search, WS_CUE_AGITATE, cycle.due_ms, cycle.until_ms, cycle.index);
    cue.of = cycle.inversions;
    cue.wants_hand = search->bath->agitation.rhythm != WS_CONTINUOUS;
    cue.value_ms = cycle.pace_ms;
    offer_cue(search, &cue);
}

/* ---- during the bath ---- */

/* A long rest ends soon, at the next agitation or at get-ready. */
static void coming_back(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_said *said = &session->said;
    int64_t rest_ms = said->cycle >= 0 ? said->cycle_until_ms : session->span.full_ms;
    int64_t next_ms = session->span.ready_out_ms;
    struct ws_cycle cycle;
    struct ws_cue cue;

    if (search->bath->agitation.rhythm == WS_CONTINUOUS ||
        search->bath->agitation.rhythm == WS_SHUFFLE)
        return;
    if (next_cycle(search, &cycle) && cycle.due_ms < next_ms)
        next_ms = cycle.due_ms;
    if (next_ms - rest_ms <= search->plan->long_rest_ms || next_ms <= said->come_back_for_ms)
        return;
    /* No sooner than the rest itself begins. */
    cue =
        cue_of(search, WS_CUE_COME_BACK, later(next_ms - search->plan->come_back_lead_ms, rest_ms),
               next_ms, said->come_back);
    cue.wants_hand = true;
    cue.value_ms = next_ms;
    if (cue.due_ms < next_ms && session->now_ms < next_ms)
        offer_cue(search, &cue);
}

static void reading_due(struct search *search)
{
    const struct ws_session *session = search->session;
    int64_t due_ms = session->said.reading_from_ms + search->plan->reading_every_ms;
    struct ws_cue cue;

    if (search->plan->reading_every_ms <= 0 || search->bath->points == 0)
        return;
    cue = cue_of(search, WS_CUE_READING_DUE, due_ms, due_ms + search->plan->reading_every_ms,
                 session->said.reading);
    if (due_ms < session->span.ready_out_ms)
        offer_cue(search, &cue);
}

static void shuffling(struct search *search)
{
    const struct ws_said *said = &search->session->said;
    struct ws_cue cue;
    int64_t due_ms;
    bool pass;
    int n = said->shuffle + 1;

    /* Ticks before a moved end's floor are passed over; they are few, one each second at most. */
    while (ws_schedule_shuffle(search->bath, &search->session->span, n, &due_ms, &pass)) {
        if (due_ms >= said->floor_ms) {
            cue = cue_of(search, pass ? WS_CUE_PASS : WS_CUE_SHUFFLE, due_ms,
                         due_ms + search->bath->agitation.every_ms, n);
            cue.of = search->bath->pieces;
            offer_cue(search, &cue);
            return;
        }
        n++;
    }
}

/* ---- the end of the bath ---- */

static void ready_to_pour(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_said *said = &session->said;
    struct ws_cue cue;

    if (said->ready_for_ms == session->span.pour_out_ms)
        return;
    cue = cue_of(search, WS_CUE_READY_TO_POUR, session->span.ready_out_ms,
                 session->span.pour_out_ms, said->ready_out);
    cue.value_ms = session->span.pour_out_ms;
    offer_cue(search, &cue);
}

static void pour_out(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_span *span = &session->span;
    const struct ws_said *said = &session->said;
    struct ws_cue cue;

    if (session->stage != WS_STAGE_DRAINING)
        return;
    if (said->pour_for_ms != span->pour_out_ms) {
        cue = cue_of(search, WS_CUE_POUR_OUT, span->pour_out_ms, WS_NEVER, said->pour_out);
        cue.wants_hand = !engine_hands_over(session, search->plan);
        offer_cue(search, &cue);
    }
    if (search->bath->pieces > said->pieces_out && !engine_pieces_go_on(session, search->plan)) {
        int64_t due_ms = span->pour_out_ms + said->pieces_out * search->bath->piece_every_ms;

        cue = cue_of(search, WS_CUE_PIECE_OUT, due_ms, due_ms + search->bath->piece_every_ms,
                     said->pieces_out);
        cue.of = search->bath->pieces;
        offer_cue(search, &cue);
    }
}

static void overtime(struct search *search)
{
    const struct ws_session *session = search->session;
    const struct ws_span *span = &session->span;
    struct ws_cue cue;
    int64_t due_ms;

    if (session->stage != WS_STAGE_DRAINING || session->said.overtime_for_ms == span->pour_out_ms ||
        engine_hands_over(session, search->plan))
        return;
    /* Hands that tip in time are still draining when ten seconds have gone: nobody is to be
     * hurried who has not yet had the time to empty the tank and to press. */
    due_ms = later(span->pour_out_ms + search->plan->insist_ms,
                   span->empty_ms + search->plan->confirm_grace_ms);
    if (ws_bath_may_run_long(search->bath)) {
        if (search->bath->longest_ms == 0)
            return;
        due_ms = later(due_ms, span->clock_ms + search->bath->longest_ms);
    }
    due_ms = later(due_ms, session->now_ms);
    cue = cue_of(search, WS_CUE_OVERTIME, due_ms, WS_NEVER, session->said.overtime);
    cue.wants_hand = true;
    cue.value_ms = due_ms - span->pour_out_ms;
    offer_cue(search, &cue);
}

/* ---- the next of all ---- */

static void pending(struct search *search)
{
    const struct ws_session *session = search->session;
    struct ws_cue cue;

    if (session->pending & PENDING_DONE) {
        search->number = ws_session_bath_at(session, session->steps - 1);
        cue = cue_of(search, WS_CUE_DONE, session->now_ms, WS_NEVER, session->done);
    } else if (session->pending & PENDING_RANGE) {
        cue = cue_of(search, WS_CUE_OUT_OF_RANGE, session->now_ms, session->now_ms,
                     (int)session->unsaid);
    } else {
        cue = cue_of(search, WS_CUE_OFFER, session->now_ms, WS_NEVER, (int)session->offer);
        cue.value_ms = session->offer_time_ms;
    }
    offer_cue(search, &cue);
}

static void in_bath(struct search *search)
{
    pouring_in(search);
    pieces_from_before(search);
    if (search->session->stage == WS_STAGE_FILLING)
        return;
    if (search->session->stage == WS_STAGE_IN_BATH) {
        agitation(search);
        coming_back(search);
        reading_due(search);
        shuffling(search);
        ready_to_pour(search);
    }
    pour_out(search);
    overtime(search);
}

bool engine_next_cue(const struct ws_session *session, const struct ws_plan *plan,
                     struct ws_cue *cue)
{
    struct search search = { .session = session,
                             .plan = plan,
                             .bath = engine_bath_in_hand(session, plan),
                             .number = engine_bath(session) };

    if (session->pending)
        pending(&search);
    if (search.bath && session->begun && !session->closed) {
        if (session->stage == WS_STAGE_WAITING)
            waiting(&search);
        else if (session->stage != WS_STAGE_OVER && session->stage != WS_STAGE_COUNT_IN)
            in_bath(&search);
    }
    *cue = search.best;
    return search.found;
}

static void say_agitate(struct ws_session *session, const struct ws_cue *cue)
{
    struct ws_bath_record *record = &session->record[cue->bath];
    struct ws_said *said = &session->said;

    said->cycle = cue->index;
    said->cycle_due_ms = cue->due_ms;
    said->cycle_until_ms = cue->until_ms;
    said->inversion = 0;
    said->inversions = cue->of;
    said->pace_ms = cue->value_ms;
    said->rested = false;
    session->come_back_waits = false;
    if (!cue->wants_hand)
        return;
    record->asked++;
    record->last_cycle = cue->index;
    record->was_asked[cue->index / 64] |= UINT64_C(1) << (cue->index % 64);
}

void engine_say(struct ws_session *session, const struct ws_plan *plan, const struct ws_cue *cue)
{
    struct ws_said *said = &session->said;

    switch (cue->kind) {
    case WS_CUE_GET_READY:
        said->get_ready++;
        said->start_for_ms = session->start_due_ms;
        break;
    case WS_CUE_POUR_IN:
        said->pour_in++;
        said->start_for_ms = session->start_due_ms;
        break;
    case WS_CUE_AGITATE:
        say_agitate(session, cue);
        break;
    case WS_CUE_INVERT:
        said->inversion = cue->index % 64;
        break;
    case WS_CUE_REST:
        said->rested = true;
        break;
    case WS_CUE_COME_BACK:
        said->come_back++;
        said->come_back_for_ms = cue->value_ms;
        session->come_back_waits = true;
        break;
    case WS_CUE_READING_DUE:
        said->reading++;
        said->reading_from_ms = cue->due_ms;
        break;
    case WS_CUE_READY_TO_POUR:
        said->ready_out++;
        said->ready_for_ms = cue->value_ms;
        session->come_back_waits = false;
        break;
    case WS_CUE_POUR_OUT:
        said->pour_out++;
        said->pour_for_ms = session->span.pour_out_ms;
        session->come_back_waits = false;
        break;
    case WS_CUE_OVERTIME:
        said->overtime++;
        if (session->stage == WS_STAGE_DRAINING)
            said->overtime_for_ms = session->span.pour_out_ms;
        break;
    case WS_CUE_PIECE_IN:
        said->pieces_in++;
        break;
    case WS_CUE_PIECE_OUT:
        if (cue->bath != engine_bath(session)) {
            said->pieces_out_before++;
            session->record[cue->bath].empty_ms = cue->due_ms;
        } else {
            said->pieces_out++;
        }
        break;
    case WS_CUE_SHUFFLE:
    case WS_CUE_PASS:
        said->shuffle = cue->index;
        break;
    case WS_CUE_DONE:
        session->done++;
        session->pending &= ~(unsigned)PENDING_DONE;
        break;
    case WS_CUE_OUT_OF_RANGE:
        session->pending &= ~(unsigned)PENDING_RANGE;
        break;
    case WS_CUE_OFFER:
        session->pending &= ~(unsigned)PENDING_OFFER;
        break;
    case WS_CUE_KINDS:
        break;
    }
    (void)plan;
}

/* ---- stages that change by themselves ---- */

int64_t engine_turn_ms(const struct ws_session *session, const struct ws_plan *plan)
{
    if (session->closed)
        return WS_NEVER;
    switch (session->stage) {
    case WS_STAGE_COUNT_IN:
        return session->span.first_liquid_ms;
    case WS_STAGE_FILLING:
        return session->span.full_ms;
    case WS_STAGE_IN_BATH:
        return session->span.pour_out_ms;
    case WS_STAGE_DRAINING:
        /* After the cue that says so, sheets go on into the next bath by themselves. */
        if (engine_hands_over(session, plan) &&
            session->said.pour_for_ms == session->span.pour_out_ms)
            return session->span.pour_out_ms;
        return WS_NEVER;
    case WS_STAGE_WAITING:
    case WS_STAGE_OVER:
        break;
    }
    return WS_NEVER;
}

void engine_turn(struct ws_session *session, const struct ws_plan *plan)
{
    switch (session->stage) {
    case WS_STAGE_COUNT_IN:
        session->stage = WS_STAGE_FILLING;
        break;
    case WS_STAGE_FILLING:
        engine_full(session, plan, session->span.full_ms, true);
        break;
    case WS_STAGE_IN_BATH:
        session->stage = WS_STAGE_DRAINING;
        session->offer = 0; /* overtaken: there is no end left to move */
        break;
    case WS_STAGE_DRAINING:
        engine_hand_over(session, plan);
        break;
    case WS_STAGE_WAITING:
    case WS_STAGE_OVER:
        break;
    }
}
