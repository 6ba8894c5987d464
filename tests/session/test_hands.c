/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One key, many tanks: which strokes are presses, and which tank they are for. */
#include "aid.h"
#include "aid_random.h"

#include "wetside/session/hands.h"

#define S INT64_C(1000)

/* A tank of which nothing is asked. */
static struct ws_view nothing_asked(void)
{
    struct ws_view view;

    memset(&view, 0, sizeof view);
    view.stage = WS_STAGE_IN_BATH;
    view.word = WS_WORD_REST;
    view.asked_ms = WS_NEVER;
    view.at_ms = 600 * S;
    return view;
}

static struct ws_view asking(enum ws_stage stage, enum ws_word word, int64_t for_ms)
{
    struct ws_view view = nothing_asked();

    view.stage = stage;
    view.word = word;
    view.wants_hand = true;
    view.asked_ms = view.at_ms - for_ms;
    return view;
}

static struct ws_view agitating(int64_t for_ms)
{
    struct ws_view view = asking(WS_STAGE_IN_BATH, WS_WORD_AGITATE, for_ms);

    view.unconfirmed = true;
    return view;
}

/* The tank a first stroke goes to. */
static int routed(const struct ws_view *view, int views)
{
    struct ws_hands hands;

    ws_hands_begin(&hands);
    return ws_hands_route(&hands, view, views, 1234567);
}

/* ---- which strokes count */

/* Method: a foot held down: one stroke, then, after the key's repeat delay, one each 30 ms for 5 s.
 * One press; the next is counted once the foot has been off for the quiet time. */
static void a_held_foot_is_one_press(void **state)
{
    const struct ws_view view = agitating(S);
    struct ws_hands hands;
    int64_t at_ms = 10 * S;
    int presses = 0;

    (void)state;
    ws_hands_begin(&hands);
    presses += ws_hands_route(&hands, &view, 1, at_ms) == 0;
    for (at_ms += 400; at_ms <= 15 * S; at_ms += 30)
        presses += ws_hands_route(&hands, &view, 1, at_ms) == 0;
    assert_int_equal(presses, 1);
    at_ms += WS_QUIET_MS;
    assert_int_equal(ws_hands_route(&hands, &view, 1, at_ms), 0);
}

/* Method: strokes just inside and at the end of the quiet time. One inside is no press and begins
 * the quiet time anew. */
static void quiet_is_since_the_last_stroke_seen(void **state)
{
    const struct ws_view view = agitating(S);
    struct ws_hands hands;

    (void)state;
    ws_hands_begin(&hands);
    assert_int_equal(ws_hands_route(&hands, &view, 1, 0), 0);
    assert_int_equal(ws_hands_route(&hands, &view, 1, 799), -1);
    assert_int_equal(ws_hands_route(&hands, &view, 1, 801), -1); /* 2 ms after the last one seen */
    assert_int_equal(ws_hands_route(&hands, &view, 1, 1600), -1);
    assert_int_equal(ws_hands_route(&hands, &view, 1, 2401), 0);
}

/* Method: a stroke that no tank asked for is seen all the same: one right after it is no press. */
static void a_stroke_for_nobody_is_seen(void **state)
{
    const struct ws_view idle = nothing_asked(), asks = agitating(0);
    struct ws_hands hands;

    (void)state;
    ws_hands_begin(&hands);
    assert_int_equal(ws_hands_route(&hands, &idle, 1, 5 * S), -1);
    assert_int_equal(ws_hands_route(&hands, &asks, 1, 5 * S + 500), -1);
    assert_int_equal(ws_hands_route(&hands, &asks, 1, 6 * S + 301), 0);
    assert_int_equal(ws_hands_route(&hands, NULL, 0, 60 * S), -1);
    assert_int_equal(ws_hands_route(&hands, &asks, 1, 60 * S + 10), -1);
}

/* Method: the first stroke of all counts, whatever the boot clock says. */
static void the_first_stroke_counts(void **state)
{
    static const int64_t BOOT[] = { 0, 1, 799, INT64_C(9000000000000), INT64_MAX };
    const struct ws_view view = agitating(S);
    struct ws_hands hands;

    (void)state;
    for (size_t i = 0; i < sizeof BOOT / sizeof *BOOT; i++) {
        ws_hands_begin(&hands);
        assert_int_equal(hands.run, -1);
        assert_int_equal(ws_hands_route(&hands, &view, 1, BOOT[i]), 0);
    }
}

/* Method: random strokes over an hour, most of them close together, against the rule in its own
 * words: a press exactly when no stroke came in the quiet time before. */
static void debounce_in_its_own_words(void **state)
{
    const struct ws_view view = agitating(S);
    struct aid_random random = { 77 };
    struct ws_hands hands;
    int64_t at_ms = 0, last_ms = -10 * S;

    (void)state;
    ws_hands_begin(&hands);
    for (int i = 0; i < 20000; i++) {
        at_ms += aid_between(&random, 1, aid_chance(&random, 70) ? 60 : 2000);
        assert_int_equal(ws_hands_route(&hands, &view, 1, at_ms),
                         at_ms - last_ms >= WS_QUIET_MS ? 0 : -1);
        last_ms = at_ms;
    }
}

/* ---- which tank */

/* Method: nobody asks, one asks, with the one in any place. */
static void a_press_goes_to_the_tank_that_asked(void **state)
{
    struct ws_view view[4];

    (void)state;
    for (int asks = -1; asks < 4; asks++) {
        for (int i = 0; i < 4; i++)
            view[i] = i == asks ? agitating(S) : nothing_asked();
        assert_int_equal(routed(view, 4), asks);
    }
}

/* Method: every pair of questions in both orders; the more urgent one wins although it was asked
 * later. */
static void film_that_goes_on_developing_comes_first(void **state)
{
    struct ws_view by_urgency[5], pair[2];

    (void)state;
    by_urgency[0] = asking(WS_STAGE_IN_BATH, WS_WORD_GET_READY, 14 * S);
    by_urgency[1] = asking(WS_STAGE_WAITING, WS_WORD_PRESS_WHEN_READY, 9 * S);
    by_urgency[2] = agitating(5 * S);
    by_urgency[3] = asking(WS_STAGE_DRAINING, WS_WORD_POUR_OUT, 2 * S);
    by_urgency[4] = asking(WS_STAGE_WAITING, WS_WORD_POUR_IN, S);
    by_urgency[4].stop_now = true;
    for (int low = 0; low < 3; low++) {
        for (int high = low + 1; high < 5; high++) {
            pair[0] = by_urgency[low];
            pair[1] = by_urgency[high];
            assert_int_equal(routed(pair, 2), 1);
            pair[0] = by_urgency[high];
            pair[1] = by_urgency[low];
            assert_int_equal(routed(pair, 2), 0);
        }
    }
}

/* Method: two tanks that ask the same: the one that has asked longer, in both orders, also when
 * their runs began an hour apart and their own times say the opposite. */
static void among_equals_the_longest_asked(void **state)
{
    struct ws_view view[2] = { agitating(2 * S), agitating(7 * S) };

    (void)state;
    assert_int_equal(routed(view, 2), 1);
    view[0] = agitating(7 * S);
    view[1] = agitating(2 * S);
    assert_int_equal(routed(view, 2), 0);
    view[0] = agitating(2 * S);
    view[0].at_ms -= 500 * S;
    view[0].asked_ms -= 500 * S;
    view[1] = agitating(7 * S);
    view[1].at_ms += 3600 * S;
    view[1].asked_ms += 3600 * S;
    assert_int_equal(routed(view, 2), 1);
}

/* Method: a call back from a long rest is answered like an agitation; a tank in its get-ready gets
 * a press only when no other asks anything. */
static void get_ready_is_no_question(void **state)
{
    struct ws_view view[3] = { asking(WS_STAGE_IN_BATH, WS_WORD_GET_READY, 10 * S),
                               asking(WS_STAGE_IN_BATH, WS_WORD_REST, 5 * S),
                               asking(WS_STAGE_WAITING, WS_WORD_PRESS_WHEN_READY, 20 * S) };

    (void)state;
    assert_int_equal(routed(view, 3), 1);
    view[1] = nothing_asked();
    assert_int_equal(routed(view, 3), 2);
    view[2] = nothing_asked();
    assert_int_equal(routed(view, 3), 0);
    /* Get-ready begins inside an agitation that has been confirmed. */
    view[0].word = WS_WORD_AGITATE;
    view[2] = agitating(S);
    assert_int_equal(routed(view, 3), 2);
}

/* Method: what undo takes back is the press that was noted last. */
static void the_last_press_is_remembered(void **state)
{
    struct ws_hands hands;

    (void)state;
    ws_hands_begin(&hands);
    ws_hands_pressed(&hands, 2, 41);
    ws_hands_pressed(&hands, 0, 17);
    assert_int_equal(hands.run, 0);
    assert_int_equal(hands.sequence, 17);
}

/* ---- with sessions behind the views */

/* A developer of 2:00, clock when full, poured in at 0:05 by `began_ms` after the run began. */
static void begin_tank(struct ws_plan *plan, struct ws_session *session, int64_t began_ms)
{
    struct ws_event event = aid_tick(0);
    struct ws_message why;
    struct ws_cue cue[64];
    int n;

    ws_plan_default(plan);
    ws_bath_default(WS_BATH_DEVELOPER, &plan->bath[0]);
    plan->bath[0].time_ms = 120 * S;
    plan->bath[0].agitation.rhythm = WS_CYCLES;
    plan->bath[0].agitation.every_ms = 30 * S;
    plan->bath[0].agitation.length_ms = 10 * S;
    plan->baths = 1;
    assert_int_equal(ws_session_begin(session, plan, &why), WS_OK);
    event.kind = WS_EVENT_BEGIN;
    event.sequence = 1;
    assert_int_equal(ws_session_take(session, plan, &event, cue, 64, &n), WS_OK);
    event = aid_tick(began_ms);
    event.kind = WS_EVENT_HAND;
    event.sequence = 2;
    assert_int_equal(ws_session_take(session, plan, &event, cue, 64, &n), WS_OK);
}

/* Method: two tanks half a minute apart, the second run begun a quarter of an hour after the first.
 * Tank A is in its get-ready when B asks for an agitation: the press is B's, and A stays in its
 * bath. */
static void a_press_for_the_other_tank_ends_nothing(void **state)
{
    static struct ws_plan plan[2];
    static struct ws_session session[2];
    struct ws_view view[2];

    (void)state;
    begin_tank(&plan[0], &session[0], 900 * S);
    begin_tank(&plan[1], &session[1], 0);
    /* A: full at 920 s, get-ready at 1015 s, poured out at 1030 s. B's own time: full at 20 s,
     * cycles at 50 s, 80 s. At 1022 s of A it is, say, 56 s of B. */
    ws_session_view(&session[0], &plan[0], 1022 * S, &view[0]);
    ws_session_view(&session[1], &plan[1], 56 * S, &view[1]);
    assert_int_equal(view[0].word, WS_WORD_GET_READY);
    assert_int_equal(view[1].word, WS_WORD_AGITATE);
    view[0].unconfirmed = false; /* its own last cycle was confirmed in time */
    assert_int_equal(routed(view, 2), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_held_foot_is_one_press),
        cmocka_unit_test(quiet_is_since_the_last_stroke_seen),
        cmocka_unit_test(a_stroke_for_nobody_is_seen),
        cmocka_unit_test(the_first_stroke_counts),
        cmocka_unit_test(debounce_in_its_own_words),
        cmocka_unit_test(a_press_goes_to_the_tank_that_asked),
        cmocka_unit_test(film_that_goes_on_developing_comes_first),
        cmocka_unit_test(among_equals_the_longest_asked),
        cmocka_unit_test(get_ready_is_no_question),
        cmocka_unit_test(the_last_press_is_remembered),
        cmocka_unit_test(a_press_for_the_other_tank_ends_nothing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
