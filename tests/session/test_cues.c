/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Law 4, that no cue is said twice and none is skipped, and what else holds at every moment of a
 * run: over random plans and events from fixed seeds.
 *
 * Time goes on in the smallest steps there are: from one moment at which something is due to the
 * next. At each step the schedule is asked, not the engine, what has to be said. */
#include <stdlib.h>

#include "aid.h"
#include "aid_run.h"
#include "aid_same.h"

#define S   INT64_C(1000)
#define MIN (60 * S)

enum { PLANS = 10000, STEPS = 20, SET = 32768 };

static struct aid_run run;
static struct ws_session before;

/* What has been said in this run: (bath, attempt, kind, index). An entry of an older run is as good
 * as none. */
static struct {
    uint64_t key;
    uint32_t of_run;
} said[SET];
static uint32_t this_run;

/* The end that get-ready was last said for, by bath; and whether an undone press, or one inside
 * get-ready that said "it is out already", makes the schedule alone too little to tell what is
 * due. */
static int64_t ready_for_ms[WS_STEPS];
static bool troubled[WS_STEPS];

static bool in_set(int bath, int attempt, enum ws_cue_kind kind, int index, bool put)
{
    const uint64_t key = (uint64_t)(uint32_t)index << 32 | (uint64_t)(attempt & 0xffff) << 16 |
                         (uint64_t)kind << 8 | (uint64_t)bath;
    size_t at = (size_t)((key * UINT64_C(0x9e3779b97f4a7c15)) >> 49) % SET;

    while (said[at].of_run == this_run) {
        if (said[at].key == key)
            return true;
        at = (at + 1) % SET;
    }
    if (put) {
        said[at].key = key;
        said[at].of_run = this_run;
    }
    return false;
}

static bool was_said(int bath, int attempt, enum ws_cue_kind kind, int index)
{
    return in_set(bath, attempt, kind, index, false);
}

/* Said within the last take. */
static const struct ws_cue *just_said(enum ws_cue_kind kind, int bath, int index)
{
    const struct aid_taken *taken = &run.taken[run.takes - 1];

    for (int i = taken->first_cue; i < taken->first_cue + taken->cues; i++)
        if (run.cue[i].kind == kind && run.cue[i].bath == bath &&
            (index < 0 || run.cue[i].index == index))
            return &run.cue[i];
    return NULL;
}

/* The bath that was in hand before the step, its span and how often it was begun. */
struct hand {
    int bath, attempt;
    const struct ws_bath *of;
    const struct ws_span *span;
};

static struct hand in_hand(const struct ws_session *session)
{
    struct hand hand = { .bath = ws_session_bath_at(session, session->step) };

    if (hand.bath < 0)
        return hand;
    hand.attempt = session->record[hand.bath].attempt;
    hand.of = ws_session_bath(session, &run.plan, hand.bath);
    hand.span = &session->span;
    return hand;
}

static bool poured(enum ws_stage stage)
{
    return stage == WS_STAGE_FILLING || stage == WS_STAGE_IN_BATH || stage == WS_STAGE_DRAINING;
}

/* ---- nothing twice */

static void note_cues(void)
{
    const struct aid_taken *taken = &run.taken[run.takes - 1];

    for (int i = taken->first_cue; i < taken->first_cue + taken->cues; i++) {
        const struct ws_cue *cue = &run.cue[i];

        if (in_set(cue->bath, cue->attempt, cue->kind, cue->index, true))
            aid_run_fail(&run, "%s of bath %d, attempt %d, index %d said twice",
                         ws_cue_token(cue->kind), cue->bath, cue->attempt, cue->index);
        if (cue->kind == WS_CUE_READY_TO_POUR)
            ready_for_ms[cue->bath] = cue->value_ms;
    }
}

/* ---- nothing skipped */

static bool cue_stands(const struct hand *hand, const struct ws_span *span,
                       const struct ws_cue *cue, struct ws_cycle *cycle)
{
    return ws_schedule_cycle_after(hand->of, span, cue->index - 1, cycle) &&
           cycle->index == cue->index && cycle->due_ms == cue->due_ms &&
           cycle->until_ms == cue->until_ms;
}

/* Every agitation of the span in force that fell due in the step was said, and nothing else. */
static void agitations_of_the_step(const struct hand *hand)
{
    const struct aid_taken *taken = &run.taken[run.takes - 1];
    struct ws_cycle cycle;

    for (int after = -1; ws_schedule_cycle_after(hand->of, hand->span, after, &cycle);
         after = cycle.index) {
        if (cycle.due_ms > run.live.now_ms)
            break;
        if (cycle.due_ms > before.now_ms &&
            !was_said(hand->bath, hand->attempt, WS_CUE_AGITATE, cycle.index))
            aid_run_fail(&run, "agitation %d of bath %d, due %lld, was skipped", cycle.index,
                         hand->bath, (long long)cycle.due_ms);
    }
    for (int i = taken->first_cue; i < taken->first_cue + taken->cues; i++) {
        const struct ws_cue *cue = &run.cue[i];

        if (cue->kind != WS_CUE_AGITATE || cue->bath != hand->bath)
            continue;
        /* On the span that was in force, or on that of a tank which became full in this step. */
        if (!cue_stands(hand, hand->span, cue, &cycle) &&
            !cue_stands(hand, &run.live.span, cue, &cycle))
            aid_run_fail(&run, "agitation %d of bath %d does not stand", cue->index, hand->bath);
        if (cue->of != cycle.inversions)
            aid_run_fail(&run, "agitation %d: %d inversions", cue->index, cue->of);
    }
}

static void shuffles_of_the_step(const struct hand *hand)
{
    int64_t due_ms;
    bool pass;

    for (int n = 1; ws_schedule_shuffle(hand->of, hand->span, n, &due_ms, &pass); n++) {
        if (due_ms > run.live.now_ms)
            break;
        if (due_ms > before.now_ms &&
            !was_said(hand->bath, hand->attempt, pass ? WS_CUE_PASS : WS_CUE_SHUFFLE, n))
            aid_run_fail(&run, "shuffle %d of bath %d, due %lld, was skipped", n, hand->bath,
                         (long long)due_ms);
    }
}

static void pieces_of_the_step(const struct hand *hand)
{
    for (int k = 0; k < hand->of->pieces; k++) {
        const int64_t due_ms = hand->span->clock_ms + k * hand->of->piece_every_ms;

        if (due_ms > before.now_ms && due_ms <= run.live.now_ms &&
            !was_said(hand->bath, hand->attempt, WS_CUE_PIECE_IN, k))
            aid_run_fail(&run, "sheet %d into bath %d, due %lld, was skipped", k, hand->bath,
                         (long long)due_ms);
    }
}

static bool falls_into_the_step(int64_t moment_ms)
{
    return moment_ms > before.now_ms && moment_ms <= run.live.now_ms;
}

/* What the schedule wants said between the state before and the one now. */
static void nothing_skipped(void)
{
    const struct hand hand = in_hand(&before);
    const enum ws_stage stage = before.stage;

    if (hand.bath < 0 || stage == WS_STAGE_WAITING || stage == WS_STAGE_OVER || before.closed)
        return;
    if (stage != WS_STAGE_DRAINING && !troubled[hand.bath]) {
        agitations_of_the_step(&hand);
        shuffles_of_the_step(&hand);
    }
    pieces_of_the_step(&hand);
    if (stage == WS_STAGE_DRAINING)
        return;
    /* In a bath so short that it is to be poured out as soon as it is full, pour-out alone is said.
     */
    if (falls_into_the_step(hand.span->ready_out_ms) &&
        hand.span->ready_out_ms < hand.span->pour_out_ms &&
        ready_for_ms[hand.bath] != hand.span->pour_out_ms)
        aid_run_fail(&run, "get-ready for %lld was skipped", (long long)hand.span->pour_out_ms);
    if (falls_into_the_step(hand.span->pour_out_ms)) {
        const struct ws_cue *cue = just_said(WS_CUE_POUR_OUT, hand.bath, -1);

        if (cue == NULL || cue->due_ms != hand.span->pour_out_ms)
            aid_run_fail(&run, "pour-out at %lld was skipped", (long long)hand.span->pour_out_ms);
    }
}

/* What must have been said for the state to be where it is. */
static void said_so_far(void)
{
    const struct hand hand = in_hand(&run.live);
    const struct ws_session *live = &run.live;

    if (live->stage == WS_STAGE_OVER && !live->closed && before.stage != WS_STAGE_OVER &&
        just_said(WS_CUE_DONE, ws_session_bath_at(live, live->steps - 1), -1) == NULL)
        aid_run_fail(&run, "the end was not said");
    if (hand.bath < 0 || live->closed)
        return;
    if (poured(live->stage) && !was_said(hand.bath, hand.attempt, WS_CUE_POUR_IN, 0) &&
        !was_said(hand.bath, hand.attempt, WS_CUE_PIECE_IN, 0))
        aid_run_fail(&run, "bath %d was poured in without a word", hand.bath);
    if (live->stage == WS_STAGE_WAITING && live->start_due_ms == WS_NEVER &&
        !was_said(hand.bath, hand.attempt, WS_CUE_GET_READY, 0) &&
        !was_said(hand.bath, hand.attempt, WS_CUE_POUR_IN, 0))
        aid_run_fail(&run, "bath %d waits and nobody was asked", hand.bath);
    if (live->stage == WS_STAGE_DRAINING && hand.of->kind == WS_BATH_DEVELOPER &&
        ws_session_answer_ms(live, &run.plan) != WS_NEVER &&
        live->now_ms >= live->span.empty_ms + run.plan.insist_ms + run.plan.confirm_grace_ms &&
        !was_said(hand.bath, hand.attempt, WS_CUE_OVERTIME, 0))
        aid_run_fail(&run, "nobody insisted on pouring out");
}

/* A bath that went through without a moved end, a slip or a press before its end: every inversion
 * and every rest of it was said. */
static void baths_that_are_over(void)
{
    for (int step = 0; step < run.live.step; step++) {
        const int bath = ws_session_bath_at(&run.live, step);
        const struct ws_bath_record *record = &run.live.record[bath];
        const struct ws_bath *of = ws_session_bath(&run.live, &run.plan, bath);
        struct ws_cycle cycle, next;
        struct ws_span span;

        if (record->moved || record->left_early || troubled[bath] ||
            record->empty_ms < record->pour_out_ms)
            continue;
        ws_schedule_span(of, record->first_liquid_ms, record->full_ms, record->time_ms,
                         run.plan.ready_lead_ms, &span);
        if (span.pour_out_ms != record->pour_out_ms)
            aid_run_fail(&run, "bath %d: pour-out was due at %lld", bath,
                         (long long)record->pour_out_ms);
        if ((span.ready_out_ms < span.pour_out_ms &&
             !was_said(bath, record->attempt, WS_CUE_READY_TO_POUR, 0)) ||
            !was_said(bath, record->attempt, WS_CUE_POUR_OUT, 0))
            aid_run_fail(&run, "bath %d went through without get-ready or pour-out", bath);
        for (int after = -1; ws_schedule_cycle_after(of, &span, after, &cycle);
             after = cycle.index) {
            if (!was_said(bath, record->attempt, WS_CUE_AGITATE, cycle.index))
                aid_run_fail(&run, "agitation %d of bath %d was never said", cycle.index, bath);
            if (of->agitation.rhythm == WS_CONTINUOUS || cycle.until_ms >= span.pour_out_ms ||
                (ws_schedule_cycle_after(of, &span, cycle.index, &next) &&
                 next.due_ms < cycle.until_ms))
                continue;
            for (int nth = 1; nth <= cycle.inversions; nth++)
                if (!was_said(bath, record->attempt, WS_CUE_INVERT, cycle.index * 64 + nth))
                    aid_run_fail(&run, "inversion %d of agitation %d was skipped", nth,
                                 cycle.index);
            if (!was_said(bath, record->attempt, WS_CUE_REST, cycle.index))
                aid_run_fail(&run, "the rest after agitation %d was skipped", cycle.index);
        }
    }
}

/* ---- what holds at every moment */

static int bits(const uint64_t *set)
{
    int n = 0;

    for (int i = 0; i < WS_CYCLE_MOST / 64; i++)
        n += __builtin_popcountll(set[i]);
    return n;
}

static void records_hold(void)
{
    for (int step = 0; step < run.live.steps; step++) {
        const int bath = ws_session_bath_at(&run.live, step);
        const struct ws_bath_record *record = &run.live.record[bath];

        if (ws_session_bath(&run.live, &run.plan, bath) == NULL)
            aid_run_fail(&run, "step %d has no bath", step);
        if (record->confirmed > record->asked || bits(record->was_asked) != record->asked ||
            bits(record->was_confirmed) != record->confirmed)
            aid_run_fail(&run, "bath %d: asked %d (%d), confirmed %d (%d)", bath, record->asked,
                         bits(record->was_asked), record->confirmed, bits(record->was_confirmed));
        for (int i = 0; i < WS_CYCLE_MOST / 64; i++)
            if (record->was_confirmed[i] & ~record->was_asked[i])
                aid_run_fail(&run, "bath %d: confirmed what was not asked", bath);
        if (record->full_ms != WS_NEVER && record->full_ms < record->first_liquid_ms)
            aid_run_fail(&run, "bath %d was full before its first liquid", bath);
        if (record->empty_ms != WS_NEVER && record->empty_ms < record->full_ms)
            aid_run_fail(&run, "bath %d was empty before it was full", bath);
        if (record->time_ms < 0)
            aid_run_fail(&run, "bath %d has a time of %lld", bath, (long long)record->time_ms);
    }
    if (run.live.steps != run.plan.baths + run.live.extras)
        aid_run_fail(&run, "%d steps of %d baths", run.live.steps, run.plan.baths);
}

static void the_stage_fits_the_time(void)
{
    const struct ws_session *live = &run.live;
    const struct ws_span *span = &live->span;
    const int64_t next_ms = ws_session_next_ms(live, &run.plan);

    if (next_ms <= live->now_ms)
        aid_run_fail(&run, "the next moment %lld is not ahead", (long long)next_ms);
    if ((live->stage == WS_STAGE_COUNT_IN && live->now_ms >= span->first_liquid_ms) ||
        (live->stage == WS_STAGE_FILLING && live->now_ms >= span->full_ms) ||
        (live->stage == WS_STAGE_IN_BATH && live->now_ms >= span->pour_out_ms) ||
        (live->stage == WS_STAGE_DRAINING && live->now_ms < span->pour_out_ms))
        aid_run_fail(&run, "the stage does not fit the time");
}

/* Only an end that is set, an offer that is taken, a bath left on purpose, a reading of a run that
 * follows, and an undone pour move the POUR OUT of a developer that is in the tank. */
static void nothing_pauses_a_developer(const struct ws_event *event)
{
    const struct hand hand = in_hand(&before);

    if (before.stage != WS_STAGE_IN_BATH || hand.of->kind != WS_BATH_DEVELOPER ||
        run.live.step != before.step || event->kind == WS_EVENT_END_SET ||
        event->kind == WS_EVENT_TAKE || event->kind == WS_EVENT_LEAVE ||
        event->kind == WS_EVENT_UNDO || (event->kind == WS_EVENT_READING && run.plan.follow))
        return;
    if (run.live.span.pour_out_ms != before.span.pour_out_ms)
        aid_run_fail(&run, "a developer's end moved");
    if (run.live.stage != WS_STAGE_IN_BATH && !run.live.closed)
        aid_run_fail(&run, "a developer left the tank");
}

/* A press alone never ends a bath before its get-ready cue. */
static void presses_end_nothing_early(const struct ws_event *event)
{
    const struct hand hand = in_hand(&before);

    if (event->kind != WS_EVENT_HAND || hand.bath < 0 ||
        (before.stage != WS_STAGE_IN_BATH && before.stage != WS_STAGE_FILLING &&
         before.stage != WS_STAGE_COUNT_IN))
        return;
    if (ready_for_ms[hand.bath] != INT64_MIN && before.now_ms >= before.span.ready_out_ms)
        return;
    /* A bath shorter than its filling is over as soon as it is full. */
    if (run.live.step != before.step || run.live.stage == WS_STAGE_WAITING ||
        (run.live.stage == WS_STAGE_DRAINING && run.live.span.pour_out_ms > run.live.span.full_ms))
        aid_run_fail(&run, "a press ended a bath before its get-ready");
}

/* A move that follows the temperature is worth its while; inside get-ready it can only become pour
 * now. */
static void following_keeps_its_rules(const struct ws_event *event)
{
    const struct hand hand = in_hand(&before);
    const bool follows = (event->kind == WS_EVENT_END_SET && event->cause == WS_BY_TEMPERATURE) ||
                         (event->kind == WS_EVENT_READING && run.plan.follow);
    int64_t moved_ms;

    if (!follows || hand.bath < 0 || before.stage != WS_STAGE_IN_BATH)
        return;
    moved_ms = run.live.record[hand.bath].time_ms - before.record[hand.bath].time_ms;
    if (moved_ms == 0)
        return;
    if (before.now_ms >= before.span.ready_out_ms) {
        if (run.live.span.pour_out_ms != event->at_ms)
            aid_run_fail(&run, "inside get-ready the end moved to %lld",
                         (long long)run.live.span.pour_out_ms);
    } else if (run.live.span.pour_out_ms != event->at_ms &&
               llabs(moved_ms) < run.plan.least_move_ms) {
        aid_run_fail(&run, "the end followed by %lld ms", (long long)moved_ms);
    }
}

static void remember_trouble(const struct ws_event *event, const struct ws_press *press)
{
    const struct hand hand = in_hand(&run.live);

    if (event->kind == WS_EVENT_UNDO && hand.bath >= 0 &&
        (press->what == WS_PRESS_FULL || press->what == WS_PRESS_EMPTY))
        troubled[hand.bath] = true;
    if (event->kind == WS_EVENT_HAND && before.stage == WS_STAGE_IN_BATH &&
        run.live.step > before.step)
        troubled[ws_session_bath_at(&before, before.step)] = true;
    if (hand.bath >= 0 && run.live.stage == WS_STAGE_WAITING)
        ready_for_ms[hand.bath] = INT64_MIN;
}

/* One step: a tick to the next moment, or an event at the time the session has reached. */
static void step_to(const struct ws_event *event)
{
    static struct ws_press press;

    press = run.live.press;
    aid_run_take(&run, event);
    note_cues();
    nothing_skipped();
    if (event->kind != WS_EVENT_TICK && run.taken[run.takes - 1].status == WS_OK) {
        nothing_pauses_a_developer(event);
        presses_end_nothing_early(event);
        following_keeps_its_rules(event);
        remember_trouble(event, &press);
    }
    said_so_far();
    records_hold();
    the_stage_fits_the_time();
}

/* Brings the run to `at_ms` in the smallest steps; between them nothing may be said or change. */
static void go_on_to(int64_t at_ms)
{
    static struct ws_session still;
    struct ws_event event;

    for (int64_t next_ms; (next_ms = ws_session_next_ms(&run.live, &run.plan)) < at_ms;) {
        before = run.live;
        event = aid_tick(next_ms);
        step_to(&event);
        if (run.taken[run.takes - 1].cues > 0 &&
            run.cue[run.taken[run.takes - 1].first_cue].due_ms != next_ms)
            aid_run_fail(&run, "something was due before the next moment %lld", (long long)next_ms);
    }
    if (ws_session_next_ms(&run.live, &run.plan) == at_ms || run.live.now_ms == at_ms)
        return;
    still = before = run.live;
    event = aid_tick(at_ms);
    step_to(&event);
    still.now_ms = at_ms;
    if (run.taken[run.takes - 1].cues != 0 || aid_session_differs(&run.live, &still) != NULL)
        aid_run_fail(&run, "something changed before the next moment");
}

static void begin_watching(uint64_t seed)
{
    const struct ws_event first = aid_tick(0);

    this_run++;
    for (int i = 0; i < WS_STEPS; i++) {
        ready_for_ms[i] = INT64_MIN;
        troubled[i] = false;
    }
    aid_run_begin(&run, seed);
    before = run.live;
    note_cues();
    step_to(&first);
}

/* Method: random runs in the smallest steps; after each step everything above is asked. */
static void no_cue_twice_and_none_skipped(void **state)
{
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        begin_watching(seed + 10000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            do
                aid_event(&run.random, &run.live, &run.plan, &event);
            while (event.kind == WS_EVENT_CLOSE && i < STEPS / 2);
            if (event.at_ms < run.live.now_ms || event.at_ms > run.live.now_ms + 20 * MIN)
                continue;
            go_on_to(event.at_ms);
            if (run.live.now_ms < event.at_ms) {
                const struct ws_event tick = aid_tick(event.at_ms);

                before = run.live;
                step_to(&tick);
            }
            before = run.live;
            step_to(&event);
        }
        baths_that_are_over();
    }
}

/* Method: hands that are in time, from the first pour to the end, on every plan: nothing is
 * troubled, so that every cue of every bath can be told from the schedule; every agitation asked
 * for is confirmed, and DONE is the last word. */
static void a_run_in_time_says_everything(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= PLANS / 4; seed++) {
        begin_watching(seed + 11000000);
        while (run.live.stage != WS_STAGE_OVER) {
            const int64_t answer_ms = ws_session_answer_ms(&run.live, &run.plan);
            const int64_t next_ms = ws_session_next_ms(&run.live, &run.plan);
            struct ws_event event = aid_tick(answer_ms < next_ms ? answer_ms : next_ms);

            if (event.at_ms == WS_NEVER)
                aid_run_fail(&run, "the run never ends");
            if (answer_ms < next_ms) {
                event.kind = WS_EVENT_HAND;
                event.sequence = run.live.sequence + 1;
                go_on_to(event.at_ms);
            }
            before = run.live;
            /* Only the hands' own presses have to fit the journal of a random run. */
            run.journaled = 0;
            step_to(&event);
            if (run.takes > AID_TAKEN - 8 || run.cues > AID_CUES - 600)
                break;
        }
        if (run.live.stage != WS_STAGE_OVER)
            continue;
        baths_that_are_over();
        for (int bath = 0; bath < run.plan.baths; bath++) {
            const struct ws_bath_record *record = &run.live.record[bath];

            if (record->asked != record->confirmed)
                aid_run_fail(&run, "bath %d: asked %d, confirmed %d", bath, record->asked,
                             record->confirmed);
        }
        assert_int_equal(run.cue[run.cues - 1].kind, WS_CUE_DONE);
    }
}

#define LEAVES(field)                                                                              \
    do {                                                                                           \
        if (undone->field != was->field)                                                           \
            aid_run_fail(&run, "an undone press left another %s", #field);                         \
    } while (0)

static bool same_number(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

/* What a press may set, and undoing it must give back. */
static void left_behind(const struct ws_session *undone, const struct ws_session *was, int bath)
{
    LEAVES(stage);
    LEAVES(step);
    LEAVES(come_back_waits);
    LEAVES(reading_ms);
    LEAVES(offer);
    if (was->stage == WS_STAGE_WAITING)
        LEAVES(start_due_ms);
    else if (memcmp(&undone->span, &was->span, sizeof was->span) != 0)
        aid_run_fail(&run, "an undone press left another span");
    LEAVES(record[bath].first_liquid_ms);
    LEAVES(record[bath].full_ms);
    LEAVES(record[bath].empty_ms);
    LEAVES(record[bath].time_ms);
    LEAVES(record[bath].confirmed);
    LEAVES(record[bath].gap_ms);
    LEAVES(record[bath].full_assumed);
    if (!same_number(undone->record[bath].fraction, was->record[bath].fraction) ||
        !same_number(undone->fraction, was->fraction))
        aid_run_fail(&run, "an undone press left another fraction");
    /* FULL may have taken the start for the first reading. */
    if (!isnan(was->reading_c) && !same_number(undone->reading_c, was->reading_c))
        aid_run_fail(&run, "an undone press left another temperature");
}

/* Method: in random states a press and its undoing at the same moment leave nothing behind: not in
 * the stage, the span, the start that was set, the readings or the record of the bath. */
static void an_undone_press_leaves_nothing(void **state)
{
    static struct ws_session undone;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 12000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            static struct ws_cue cue[64];
            int bath, n;

            aid_run_step(&run, &event);
            bath = ws_session_bath_at(&run.live, run.live.step);
            if (bath < 0 || run.live.closed)
                continue;
            before = undone = run.live;
            event = aid_tick(run.live.now_ms);
            event.kind = WS_EVENT_HAND;
            event.sequence = undone.sequence + 1;
            if (aid_take_all(&undone, &run.plan, &event, 64, cue, 64, &n) != WS_OK)
                continue;
            event.kind = WS_EVENT_UNDO;
            event.of = event.sequence++;
            if (aid_take_all(&undone, &run.plan, &event, 64, cue, 64, &n) != WS_OK)
                aid_run_fail(&run, "a press could not be taken back at once");
            left_behind(&undone, &before, bath);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_cue_twice_and_none_skipped),
        cmocka_unit_test(a_run_in_time_says_everything),
        cmocka_unit_test(an_undone_press_leaves_nothing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
