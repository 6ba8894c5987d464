/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The five laws of the engine, and what else holds in every run, over random plans and events.
 *
 * Each law is tried on PLANS plans of its own, from fixed seeds; a failure names the seed, and
 * shows what happened just before. Event times meet due moments on purpose. */
#include "aid.h"
#include "aid_run.h"
#include "aid_same.h"

#define S   INT64_C(1000)
#define MIN (60 * S)

enum { PLANS = 10000, STEPS = 24, ROOM = 8192 };

/* Too large for a stack; each test begins them anew. */
static struct aid_run run, other;
static struct ws_cue cue_a[ROOM], cue_b[ROOM];

static int64_t some_way_on(struct aid_random *random, int64_t from_ms)
{
    static const int64_t FAR[] = { 500, 5 * S, 60 * S, 5 * MIN, 30 * MIN };

    return from_ms + aid_between(random, 0, FAR[aid_between(random, 0, 4)]);
}

static int tick(struct ws_session *session, int64_t to_ms, struct ws_cue *cue)
{
    const struct ws_event event = aid_tick(to_ms);
    int n;

    if (aid_take_all(session, &run.plan, &event, ROOM, cue, ROOM, &n) != WS_OK)
        aid_run_fail(&run, "a tick was refused");
    return n;
}

static void same_state(const struct ws_session *got, const struct ws_session *want,
                       const char *what)
{
    const char *field = aid_session_differs(got, want);

    if (field != NULL)
        aid_run_fail(&run, "%s: %s differs", what, field);
}

static void same_cues(int as, int bs, bool with_late, const char *what)
{
    const char *field = aid_cues_differ(cue_a, as, cue_b, bs, with_late);

    if (field == NULL)
        return;
    for (int i = 0; i < as || i < bs; i++)
        print_error("%4d  %9lld %-14s %d | %9lld %-14s %d\n", i,
                    i < as ? (long long)cue_a[i].due_ms : -1,
                    i < as ? ws_cue_token(cue_a[i].kind) : "", i < as ? cue_a[i].index : 0,
                    i < bs ? (long long)cue_b[i].due_ms : -1,
                    i < bs ? ws_cue_token(cue_b[i].kind) : "", i < bs ? cue_b[i].index : 0);
    aid_run_fail(&run, "%s: cues differ by %s (%d and %d)", what, field, as, bs);
}

/* Method: every byte of a state is flipped in turn; the comparison must see all but padding, and
 * padding is never as long as a field that is left out would be. */
static void comparison_knows_every_field(void **state)
{
    static struct ws_session zero, flipped;
    unsigned char *byte = (unsigned char *)&flipped;
    size_t blind = 0;

    (void)state;
    memset(&zero, 0, sizeof zero);
    memset(&flipped, 0, sizeof flipped);
    for (size_t i = 0; i < sizeof flipped; i++) {
        byte[i] ^= 1;
        blind = aid_session_differs(&zero, &flipped) == NULL ? blind + 1 : 0;
        byte[i] ^= 1;
        assert_true(blind < sizeof(int64_t));
    }
}

/* Method: law 1. From random states, one tick to b against ticks to up to three moments on the way;
 * states field by field, cues but for `late`. */
static void ticks_may_be_split(void **state)
{
    static struct ws_session split, whole;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            int64_t to_ms, way_ms;
            int as = 0, bs;

            aid_run_step(&run, &event);
            if (!aid_chance(&run.random, 40))
                continue;
            split = whole = run.live;
            to_ms = some_way_on(&run.random, run.live.now_ms);
            way_ms = run.live.now_ms;
            for (int64_t k = aid_between(&run.random, 1, 3); k > 0; k--) {
                way_ms = aid_between(&run.random, way_ms, to_ms);
                as += tick(&split, way_ms, cue_a + as);
            }
            as += tick(&split, to_ms, cue_a + as);
            bs = tick(&whole, to_ms, cue_b);
            same_state(&split, &whole, "split tick");
            same_cues(as, bs, false, "split tick");
        }
    }
}

/* Method: law 1 for events: time that went on before an event, in ticks, makes no difference to
 * what the event does; nor does it help an event that is refused. */
static void ticks_before_an_event_do_not_matter(void **state)
{
    static struct ws_session before, ticked;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 1000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            enum ws_status status, again;
            int as, bs;

            before = run.live;
            status = aid_run_step(&run, &event);
            if (!aid_chance(&run.random, 40) || event.at_ms < before.now_ms)
                continue;
            ticked = before;
            as = tick(&ticked, aid_between(&run.random, before.now_ms, event.at_ms), cue_a);
            again = aid_take_all(&ticked, &run.plan, &event, ROOM, cue_a + as, ROOM - as, &bs);
            if (again != status)
                aid_run_fail(&run, "status %d after ticks, %d without", (int)again, (int)status);
            if (status == WS_BAD_EVENT)
                continue;
            as += bs;
            bs = run.taken[run.takes - 1].cues;
            memcpy(cue_b, run.cue + run.taken[run.takes - 1].first_cue, (size_t)bs * sizeof *cue_b);
            same_state(&ticked, &run.live, "ticks before an event");
            same_cues(as, bs, false, "ticks before an event");
        }
    }
}

/* Method: what an event that is not journaled leaves behind: IGNORED is a tick, and an event that
 * can't be leaves every byte as it was. */
static void refused_events_change_nothing(void **state)
{
    static struct ws_session before;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 2000000);
        for (int i = 0; i < STEPS; i++) {
            const struct aid_taken *taken = &run.taken[run.takes];
            enum ws_status status;
            int as;

            before = run.live;
            status = aid_run_step(&run, &event);
            if (status == WS_BAD_EVENT) {
                assert_memory_equal(&before, &run.live, sizeof before);
                assert_int_equal(taken->cues, 0);
            } else if (status == WS_IGNORED) {
                as = tick(&before, event.at_ms, cue_a);
                memcpy(cue_b, run.cue + taken->first_cue, (size_t)taken->cues * sizeof *cue_b);
                same_state(&run.live, &before, "an ignored event");
                same_cues(as, taken->cues, true, "an ignored event");
            }
            if (run.live.now_ms > 0) {
                struct ws_event back = event;
                int n;

                before = run.live;
                back.at_ms = run.live.now_ms - 1;
                back.kind = WS_EVENT_HAND;
                assert_int_equal(ws_session_take(&run.live, &run.plan, &back, cue_a, ROOM, &n),
                                 WS_TIME_BACK);
                assert_int_equal(n, 0);
                assert_memory_equal(&before, &run.live, sizeof before);
            }
        }
    }
}

/* Method: law 2. At a random moment and at the end, the journal alone, folded, then one tick to
 * now, against the live state that also saw ticks and refused events. */
static void the_journal_gives_back_the_state(void **state)
{
    static struct ws_session folded;
    struct ws_message why = { "" };
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        int half;

        aid_run_begin(&run, seed + 3000000);
        half = (int)aid_between(&run.random, 1, STEPS);
        for (int i = 1; i <= STEPS; i++) {
            aid_run_step(&run, &event);
            if (i != half && i != STEPS)
                continue;
            memset(&folded, 0xA5, sizeof folded);
            if (ws_session_fold(&folded, &run.plan, run.journal, run.journaled, &why) != WS_OK)
                aid_run_fail(&run, "the journal does not fold: %s", why.text);
            tick(&folded, run.live.now_ms, cue_a);
            same_state(&folded, &run.live, "folded");
        }
    }
}

/* Method: law 2, with room for one to three cues at a time: the same events give the same state,
 * and the same cues in the same order. */
static void small_room_gives_the_same_cues(void **state)
{
    static struct ws_session small;
    struct ws_message why;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 4000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++)
            aid_run_step(&run, &event);
        assert_int_equal(ws_session_begin(&small, &run.plan, &why), WS_OK);
        for (int i = 0; i < run.takes; i++) {
            const struct aid_taken *taken = &run.taken[i];
            int n;

            const enum ws_status status =
                aid_take_all(&small, &run.plan, &taken->event, (int)aid_between(&run.random, 1, 3),
                             cue_a, ROOM, &n);
            memcpy(cue_b, run.cue + taken->first_cue, (size_t)taken->cues * sizeof *cue_b);
            if (status != taken->status)
                aid_run_fail(&run, "take %d: status %d with small room, %d with large", i,
                             (int)status, (int)taken->status);
            same_cues(n, taken->cues, true, "small room");
        }
        same_state(&small, &run.live, "small room");
    }
}

/* Method: law 3. From random states, what is foretold for (now, b] against what a tick to b says;
 * the session foretold from stays as it was, and a short room gets the first ones. */
static void the_foretold_is_what_is_said(void **state)
{
    static struct ws_session said, untouched;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 5000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            int64_t to_ms;
            int as, bs, few;

            aid_run_step(&run, &event);
            if (!aid_chance(&run.random, 40))
                continue;
            said = untouched = run.live;
            to_ms = some_way_on(&run.random, run.live.now_ms);
            as = ws_session_ahead(&run.live, &run.plan, to_ms, false, cue_a, ROOM);
            assert_memory_equal(&run.live, &untouched, sizeof untouched);
            bs = tick(&said, to_ms, cue_b);
            same_cues(as, bs, false, "foretold");
            few = (int)aid_between(&run.random, 0, as);
            assert_int_equal(ws_session_ahead(&run.live, &run.plan, to_ms, false, cue_a, few), few);
            same_cues(few, few, false, "foretold in part");
        }
    }
}

/* Method: with hands in time, what is foretold is what is said when a press comes at each moment
 * that ws_session_answer_ms names; such a press is never ignored, and such hands always get to the
 * end of the run with every agitation confirmed. */
static void hands_in_time_are_foretold(void **state)
{
    static struct ws_session hands;
    struct ws_event event;
    int finished = 0;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        int64_t to_ms;
        int as, bs = 0, n;

        aid_run_begin(&run, seed + 6000000);
        for (int64_t k = aid_between(&run.random, 0, STEPS / 2); k > 0 && !run.live.closed; k--)
            aid_run_step(&run, &event);
        hands = run.live;
        to_ms = run.live.now_ms + (aid_chance(&run.random, 50) ? 3 * MIN : 30 * MIN);
        as = ws_session_ahead(&run.live, &run.plan, to_ms, true, cue_a, ROOM);
        for (int turn = 0;; turn++) {
            const int64_t answer_ms = ws_session_answer_ms(&hands, &run.plan);
            const int64_t next_ms = ws_session_next_ms(&hands, &run.plan);
            enum ws_status status;

            if (turn > 3 * ROOM)
                aid_run_fail(&run, "hands in time never get anywhere");
            if (answer_ms < hands.now_ms || next_ms < hands.now_ms)
                aid_run_fail(&run, "an answer or a next moment in the past");
            event = aid_tick(next_ms);
            if (answer_ms < next_ms) {
                event = aid_tick(answer_ms);
                event.kind = WS_EVENT_HAND;
                event.sequence = hands.sequence + 1;
            }
            if (event.at_ms > to_ms || event.at_ms == WS_NEVER)
                break;
            status = aid_take_all(&hands, &run.plan, &event, ROOM - bs, cue_b + bs, ROOM - bs, &n);
            if (status != WS_OK)
                aid_run_fail(&run, "the press at %lld that was asked for: status %d",
                             (long long)event.at_ms, (int)status);
            bs += n;
        }
        same_cues(as, bs, false, "hands in time");
        finished += hands.stage == WS_STAGE_OVER;
    }
    assert_true(finished > PLANS / 4);
}

/* Method: what is seen at a later moment, without going there, is what is seen after going there
 * when no event comes. */
static void a_view_ahead_is_the_view_then(void **state)
{
    static struct ws_session then, untouched;
    struct ws_view ahead, view;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 7000000);
        for (int i = 0; i < STEPS && !run.live.closed; i++) {
            const char *field;
            int64_t at_ms;

            aid_run_step(&run, &event);
            if (!aid_chance(&run.random, 40))
                continue;
            then = untouched = run.live;
            at_ms = some_way_on(&run.random, run.live.now_ms);
            ws_session_view(&run.live, &run.plan, at_ms, &ahead);
            assert_memory_equal(&run.live, &untouched, sizeof untouched);
            tick(&then, at_ms, cue_a);
            ws_session_view(&then, &run.plan, at_ms, &view);
            field = aid_view_differs(&ahead, &view);
            if (field != NULL)
                aid_run_fail(&run, "the view at %lld: %s differs", (long long)at_ms, field);
        }
    }
}

/* Method: law 5. Two runs taken alternately, then each alone; and half way the struct is copied to
 * another place and the old one overwritten. */
static void sessions_stand_side_by_side(void **state)
{
    static struct ws_session alone, moved[2];
    struct ws_message why;
    struct ws_event event;

    (void)state;
    for (uint64_t seed = 1; seed <= PLANS; seed++) {
        aid_run_begin(&run, seed + 8000000);
        aid_run_begin(&other, seed + 9000000);
        for (int i = 0; i < STEPS / 2; i++) {
            aid_run_step(&run, &event);
            aid_run_step(&other, &event);
        }
        for (int r = 0; r < 2; r++) {
            const struct aid_run *one = r == 0 ? &run : &other;
            struct ws_session *session = &alone;
            int cues = 0, n;

            assert_int_equal(ws_session_begin(session, &one->plan, &why), WS_OK);
            for (int i = 0; i < one->takes; i++) {
                if (i == one->takes / 2) {
                    moved[r] = *session;
                    memset(session, 0xA5, sizeof *session);
                    session = &moved[r];
                }
                aid_take_all(session, &one->plan, &one->taken[i].event, ROOM, cue_a, ROOM, &n);
                if (aid_cues_differ(cue_a, n, one->cue + cues, one->taken[i].cues, true) != NULL)
                    aid_run_fail(one, "alone, take %d says something else", i);
                cues += n;
            }
            if (aid_session_differs(session, &one->live) != NULL)
                aid_run_fail(one, "alone: %s differs", aid_session_differs(session, &one->live));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(comparison_knows_every_field),
        cmocka_unit_test(ticks_may_be_split),
        cmocka_unit_test(ticks_before_an_event_do_not_matter),
        cmocka_unit_test(refused_events_change_nothing),
        cmocka_unit_test(the_journal_gives_back_the_state),
        cmocka_unit_test(small_room_gives_the_same_cues),
        cmocka_unit_test(the_foretold_is_what_is_said),
        cmocka_unit_test(hands_in_time_are_foretold),
        cmocka_unit_test(a_view_ahead_is_the_view_then),
        cmocka_unit_test(sessions_stand_side_by_side),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
