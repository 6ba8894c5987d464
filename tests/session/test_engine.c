/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the hands can do: pouring in, confirming, pouring out, undoing; and what is said of it. */
#include "aid.h"
#include "aid_random.h"
#include "aid_tank.h"

static struct aid_tank tank;

/* First liquid 5 s after the first press, full 15 s later. */
enum { CLOCK_MS = 20000 };

/* Developer 3:00 (30 s, then 10 s each minute), stop 0:30, fixer 5:00, nothing begun. */
static void three_baths(void)
{
    aid_tank_empty(&tank);
    aid_tank_cycles(aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(3, 0)), 30 * S, MIN, 10 * S);
    aid_tank_bath(&tank, WS_BATH_STOP, 30 * S);
    aid_tank_cycles(aid_tank_bath(&tank, WS_BATH_FIXER, AT(5, 0)), 10 * S, MIN, 10 * S);
    aid_tank_begin(&tank);
}

/* In the developer, its clock at zero at CLOCK_MS, nothing confirmed. */
static void in_developer(void)
{
    three_baths();
    assert_int_equal(aid_tank_press(&tank, 0), WS_OK);
    aid_tank_wait(&tank, CLOCK_MS);
    assert_int_equal(tank.session.stage, WS_STAGE_IN_BATH);
}

/* Drained of developer at `at_ms`, every cycle confirmed, the stop waiting. */
static void drained_at(int64_t at_ms)
{
    in_developer();
    for (int k = 0; k < 3; k++)
        assert_int_equal(aid_tank_press(&tank, CLOCK_MS + k * MIN + S), WS_OK);
    assert_int_equal(aid_tank_press(&tank, at_ms), WS_OK);
    assert_int_equal(tank.session.step, 1);
}

/* ---- into the bath */

/* Method: a plan that is refused leaves the session as it was, with a line that says why. */
static void a_bad_plan_does_not_begin(void **state)
{
    static struct ws_session before;
    struct ws_message why = { "" };

    (void)state;
    three_baths();
    tank.plan.bath[1].time_ms = -1;
    before = tank.session;
    assert_int_equal(ws_session_begin(&tank.session, &tank.plan, &why), WS_BAD_PLAN);
    assert_true(strstr(why.text, "baths[1].time") == why.text);
    assert_memory_equal(&before, &tank.session, sizeof before);
}

/* Method: the first press starts the count of 5 s; its zero is first liquid, 15 s later the tank is
 * taken for full; the record says that this was assumed. */
static void a_press_counts_in(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];

    (void)state;
    three_baths();
    assert_int_equal(aid_tank_count(&tank, WS_CUE_GET_READY, 0), 1);
    assert_int_equal(tank.session.stage, WS_STAGE_WAITING);
    assert_int_equal(aid_tank_press(&tank, 7 * S), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_COUNT_IN);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_IN, 0), 0);
    aid_tank_wait(&tank, 12 * S);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_POUR_IN, 0, 0)->due_ms, 12 * S);
    assert_int_equal(tank.session.stage, WS_STAGE_FILLING);
    aid_tank_wait(&tank, 27 * S);
    assert_int_equal(record->first_liquid_ms, 12 * S);
    assert_int_equal(record->full_ms, 27 * S);
    assert_true(record->full_assumed);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 0)->due_ms, 27 * S);
}

/* Method: a second press, in the filling, says FULL: the clock and the first agitation start
 * there. */
static void a_second_press_says_full(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];

    (void)state;
    three_baths();
    aid_tank_press(&tank, 0);
    assert_int_equal(aid_tank_press(&tank, 13 * S), WS_OK);
    assert_int_equal(record->full_ms, 13 * S);
    assert_false(record->full_assumed);
    assert_int_equal(tank.session.span.clock_ms, 13 * S);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 0)->due_ms, 13 * S);
    assert_int_equal(record->pour_out_ms, 13 * S + AT(2, 50));
}

/* Method: a bath without count-in: POUR IN is said while it waits, the press is first liquid. */
static void other_baths_are_poured_at_the_press(void **state)
{
    (void)state;
    drained_at(CLOCK_MS + AT(3, 0));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_POUR_IN, 1, 0)->due_ms, CLOCK_MS + AT(3, 0));
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(3, 2)), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_FILLING);
    assert_int_equal(tank.session.record[1].first_liquid_ms, CLOCK_MS + AT(3, 2));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_IN, 1), 1);
}

/* ---- agitation */

/* Method: a press confirms the cycle that was asked for last, until the next is asked for; a second
 * one for the same cycle changes nothing. */
static void a_press_confirms_until_the_next_cycle(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 5 * S), WS_OK);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 9 * S), WS_IGNORED);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(1, 59)), WS_OK); /* the cycle of 1:00 */
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 0)), WS_OK);  /* asked for just now */
    for (int k = 0; k < 3; k++)
        assert_true(aid_tank_confirmed(&tank, 0, k));
    assert_int_equal(tank.session.record[0].asked, 3);
}

/* Method: no press: asked for, not confirmed, and nothing asked for in its place. */
static void a_missed_cycle_is_not_made_up_for(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 5 * S), WS_OK);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 5)), WS_OK);
    assert_true(aid_tank_asked(&tank, 0, 1));
    assert_false(aid_tank_confirmed(&tank, 0, 1));
    assert_true(aid_tank_confirmed(&tank, 0, 2));
    assert_int_equal(tank.session.record[0].asked, 3);
    assert_int_equal(tank.session.record[0].confirmed, 2);
}

/* Method: counted inversions: four in 10 s are called one by one, numbered within their cycle. */
static void inversions_are_counted(void **state)
{
    int64_t last_ms = CLOCK_MS + AT(1, 0);

    (void)state;
    three_baths();
    tank.plan.bath[0].agitation.inversions = 4;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(1, 30));
    for (int nth = 1; nth <= 4; nth++) {
        const struct ws_cue *cue = NULL;

        for (int i = 0; i < tank.cues; i++)
            if (tank.cue[i].kind == WS_CUE_INVERT && tank.cue[i].index == 64 + nth)
                cue = &tank.cue[i];
        assert_non_null(cue);
        assert_int_equal(cue->of, 4);
        assert_true(nth == 1 ? cue->due_ms == last_ms : cue->due_ms > last_ms);
        assert_true(cue->due_ms < CLOCK_MS + AT(1, 10));
        assert_true(cue->until_ms > cue->due_ms);
        last_ms = cue->due_ms;
    }
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_REST, 0, 1)->due_ms, CLOCK_MS + AT(1, 10));
}

/* Method: continuous agitation is called once and asks for nothing. */
static void continuous_agitation_asks_nothing(void **state)
{
    (void)state;
    three_baths();
    tank.plan.bath[0].agitation.rhythm = WS_CONTINUOUS;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(2, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_AGITATE, 0), 1);
    assert_false(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 0)->wants_hand);
    assert_int_equal(tank.session.record[0].asked, 0);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 1)), WS_IGNORED);
    assert_int_equal(aid_tank_view(&tank, CLOCK_MS + AT(2, 2)).word, WS_WORD_AGITATE);
}

/* ---- out of the bath */

/* Method: 1 ms before get-ready, with nothing left to confirm, a press is none; a developer can't
 * be ended by it. */
static void no_press_ends_a_bath_before_get_ready(void **state)
{
    (void)state;
    in_developer();
    for (int k = 0; k < 3; k++)
        assert_int_equal(aid_tank_press(&tank, CLOCK_MS + k * MIN + S), WS_OK);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 35) - 1), WS_IGNORED);
    assert_int_equal(tank.session.step, 0);
    assert_int_equal(tank.session.stage, WS_STAGE_IN_BATH);
    assert_int_equal(tank.session.record[0].pour_out_ms, CLOCK_MS + AT(2, 50));
}

/* Method: the last cycle unconfirmed at POUR OUT: a press within 3 s confirms it and the bath is
 * still to be emptied; one later says empty and the cycle stays unconfirmed. */
static void just_after_pour_out_a_press_confirms(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 52)), WS_OK);
    assert_true(aid_tank_confirmed(&tank, 0, 2));
    assert_int_equal(tank.session.step, 0);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 59)), WS_OK);
    assert_int_equal(tank.session.step, 1);

    in_developer();
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 50) + 3 * S + 1), WS_OK);
    assert_int_equal(tank.session.step, 1);
    assert_false(aid_tank_confirmed(&tank, 0, 2));
    assert_int_equal(tank.session.record[0].empty_ms, CLOCK_MS + AT(2, 53) + 1);
}

/* Method: the film hangs drained of developer: STOP NOW counts from the press, a cue insists after
 * 10 s, and the gap is kept with the stop. */
static void drained_film_goes_on_developing(void **state)
{
    const int64_t empty_ms = CLOCK_MS + AT(3, 0);
    struct ws_view view;

    (void)state;
    drained_at(empty_ms);
    view = aid_tank_view(&tank, empty_ms + 7 * S);
    assert_true(view.stop_now);
    assert_int_equal(view.over_ms, 7 * S);
    assert_true(view.wants_hand);
    aid_tank_wait(&tank, empty_ms + 10 * S - 1);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 1), 0);
    aid_tank_wait(&tank, empty_ms + 10 * S);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_OVERTIME));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_OVERTIME)->value_ms, 10 * S);
    assert_int_equal(aid_tank_press(&tank, empty_ms + 12 * S), WS_OK);
    assert_int_equal(tank.session.record[1].gap_ms, 12 * S);
    assert_false(aid_tank_view(&tank, empty_ms + 13 * S).stop_now);
}

/* Method: after a stop nothing hurries: no STOP NOW, no insistence, no gap. */
static void after_the_stop_one_may_wait(void **state)
{
    struct ws_view view;

    (void)state;
    drained_at(CLOCK_MS + AT(3, 0));
    aid_tank_hands(&tank, CLOCK_MS + AT(4, 0));
    assert_int_equal(tank.session.step, 2);
    three_baths();
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(3, 0));
    aid_tank_press(&tank, CLOCK_MS + AT(3, 0)); /* empty */
    aid_tank_press(&tank, CLOCK_MS + AT(3, 1)); /* stop in, full at 3:16, out at 3:36 */
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 1), 0); /* a stop may run long */
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(9, 0)), WS_OK);
    view = aid_tank_view(&tank, CLOCK_MS + AT(11, 0));
    assert_false(view.stop_now);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 2), 0);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(11, 0)), WS_OK);
    assert_int_equal(tank.session.record[2].gap_ms, 0);
}

/* Method: nobody empties a developer: a cue insists, not before 10 s after POUR OUT and while hands
 * in time would still be draining, and says how long it has been due. */
static void a_developer_left_in_is_insisted_on(void **state)
{
    const int64_t out_ms = CLOCK_MS + AT(2, 50);
    const struct ws_cue *cue;

    (void)state;
    in_developer();
    aid_tank_wait(&tank, out_ms + 10 * S - 1);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 0), 0);
    aid_tank_wait(&tank, out_ms + 20 * S);
    cue = aid_tank_cue(&tank, WS_CUE_OVERTIME, 0, 0);
    assert_non_null(cue);
    assert_true(cue->due_ms <= out_ms + 15 * S);
    assert_int_equal(cue->value_ms, cue->due_ms - out_ms);
    assert_int_equal(aid_tank_view(&tank, out_ms + 20 * S).over_ms, 20 * S);
}

/* Method: a bath with a longest time is insisted on when that is over, not before. */
static void a_longest_time_is_insisted_on(void **state)
{
    const int64_t full_ms = CLOCK_MS + AT(3, 16);

    (void)state;
    three_baths();
    tank.plan.bath[1].longest_ms = AT(4, 0);
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(3, 0));
    aid_tank_press(&tank, CLOCK_MS + AT(3, 0));
    aid_tank_press(&tank, CLOCK_MS + AT(3, 1));
    aid_tank_wait(&tank, full_ms + AT(4, 0) - 1);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 1), 0);
    aid_tank_wait(&tank, full_ms + AT(4, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 1), 1);
}

/* Method: the last bath emptied: DONE, the run is over, and presses are none. */
static void the_end_is_said(void **state)
{
    (void)state;
    three_baths();
    aid_tank_hands(&tank, AT(20, 0));
    assert_int_equal(tank.session.stage, WS_STAGE_OVER);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_DONE, 2), 1);
    assert_int_equal(aid_tank_view(&tank, AT(20, 0)).word, WS_WORD_DONE);
    assert_int_equal(aid_tank_press(&tank, AT(20, 1)), WS_IGNORED);
    assert_int_equal(ws_session_next_ms(&tank.session, &tank.plan), WS_NEVER);
    assert_int_equal(ws_session_answer_ms(&tank.session, &tank.plan), WS_NEVER);
}

/* ---- undo, and "it was on time" */

/* Method: a confirmed cycle taken back is unconfirmed again; once taken back there is nothing more
 * to take back; the cycle can be confirmed anew. */
static void undo_takes_back_a_confirmation(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 5 * S), WS_OK);
    assert_true(aid_tank_view(&tank, CLOCK_MS + 5 * S).can_undo);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + 8 * S), WS_OK);
    assert_false(aid_tank_confirmed(&tank, 0, 0));
    assert_int_equal(tank.session.record[0].confirmed, 0);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + 9 * S), WS_IGNORED);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 10 * S), WS_OK);
    assert_true(aid_tank_confirmed(&tank, 0, 0));
}

/* Method: EMPTY pressed by mistake inside get-ready: the bath goes on as if nothing had been, and
 * pour-out comes when it was due. */
static void undo_goes_back_into_the_bath(void **state)
{
    (void)state;
    drained_at(CLOCK_MS + AT(2, 40));
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + AT(2, 43)), WS_OK);
    assert_int_equal(tank.session.step, 0);
    assert_int_equal(tank.session.stage, WS_STAGE_IN_BATH);
    assert_int_equal(tank.session.record[0].empty_ms, WS_NEVER);
    assert_int_equal(tank.session.record[0].confirmed, 3);
    aid_tank_wait(&tank, CLOCK_MS + AT(2, 50));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_POUR_OUT)->due_ms, CLOCK_MS + AT(2, 50));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_READY_TO_POUR, 0), 1);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_OUT, 0), 1);
}

/* Method: the press that began by mistake: the bath waits again, is asked for again as the next
 * attempt, and has no first liquid. FULL by mistake: the pour-in goes on. */
static void undo_takes_back_a_pour(void **state)
{
    (void)state;
    three_baths();
    aid_tank_press(&tank, 10 * S);
    aid_tank_wait(&tank, 16 * S);
    assert_int_equal(aid_tank_undo(&tank, 17 * S), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_WAITING);
    assert_int_equal(tank.session.record[0].first_liquid_ms, WS_NEVER);
    assert_int_equal(tank.session.record[0].attempt, 1);
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_GET_READY)->attempt, 1);
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_GET_READY)->due_ms, 17 * S);

    assert_int_equal(aid_tank_press(&tank, 20 * S), WS_OK); /* first liquid 0:25, full 0:40 */
    assert_int_equal(aid_tank_press(&tank, 28 * S), WS_OK); /* FULL, by mistake */
    assert_int_equal(aid_tank_undo(&tank, 30 * S), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_FILLING);
    aid_tank_wait(&tank, 41 * S);
    assert_int_equal(tank.session.record[0].full_ms, 40 * S);
    assert_true(tank.session.record[0].full_assumed);
}

/* Method: only the last press, and only for a minute. */
static void undo_is_for_the_last_press_and_a_minute(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_UNDO, CLOCK_MS + AT(1, 6));
    uint32_t first;

    (void)state;
    in_developer();
    aid_tank_press(&tank, CLOCK_MS + 5 * S);
    first = tank.session.sequence;
    aid_tank_press(&tank, CLOCK_MS + AT(1, 5));
    event.of = first;
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED);
    assert_true(aid_tank_confirmed(&tank, 0, 0));
    event.at_ms = CLOCK_MS + AT(2, 5) + 1;
    event.of = tank.session.press.sequence;
    assert_false(aid_tank_view(&tank, event.at_ms).can_undo);
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED);
    assert_true(aid_tank_confirmed(&tank, 0, 1));
}

/* Method: emptied in time but pressed 20 s late: "it was on time" keeps the due moment beside the
 * press and changes neither the press nor anything that follows from it. */
static void on_time_keeps_the_due_moment(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];

    (void)state;
    drained_at(CLOCK_MS + AT(3, 20));
    assert_int_equal(record->empty_due_ms, WS_NEVER);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_ON_TIME, CLOCK_MS + AT(3, 25)), WS_OK);
    assert_int_equal(record->empty_ms, CLOCK_MS + AT(3, 20));
    assert_int_equal(record->empty_due_ms, CLOCK_MS + AT(3, 0));
    assert_int_equal(tank.session.step, 1);
}

/* Method: "it was on time" is kept beside a press of any kind that was due at a moment, once. */
static void on_time_is_kept_beside_any_press(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];

    (void)state;
    three_baths();
    aid_tank_press(&tank, 0);
    assert_int_equal(aid_tank_press(&tank, 12 * S), WS_OK); /* full, 3 s before it is assumed */
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_ON_TIME, 13 * S), WS_OK);
    assert_int_equal(record->full_ms, 12 * S);
    assert_int_equal(record->full_due_ms, CLOCK_MS);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_ON_TIME, 14 * S), WS_IGNORED);
    assert_int_equal(aid_tank_press(&tank, 40 * S), WS_OK); /* the first cycle, a little late */
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_ON_TIME, 41 * S), WS_OK);
    assert_int_equal(record->cycles_on_time, 1);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_ON_TIME, 42 * S), WS_IGNORED);
    assert_int_equal(aid_tank_undo(&tank, 43 * S), WS_OK);
    assert_int_equal(record->cycles_on_time, 0);
}

/* Method: a bath counts as begun as often as its pour was begun, not as often as it was waited for:
 * emptying taken back, or a bath put in before it, begin nothing. */
static void pours_are_counted_by_pouring(void **state)
{
    struct ws_event insert = aid_tank_event(WS_EVENT_INSERT, CLOCK_MS + AT(3, 30));

    (void)state;
    drained_at(CLOCK_MS + AT(3, 0));
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + AT(3, 2)), WS_OK);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(3, 4)), WS_OK);
    insert.of = WS_BATH_WASH;
    insert.value_ms = 30 * S;
    assert_int_equal(aid_tank_take(&tank, insert), WS_OK);
    assert_int_equal(tank.session.record[1].pours, 0);
    assert_int_equal(tank.session.record[0].pours, 1);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(3, 31)), WS_OK);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + AT(3, 33)), WS_OK);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(3, 34)), WS_OK);
    assert_int_equal(tank.session.record[WS_BATHS].pours, 2);
}

/* Method: a stand of an hour; the answer to COME BACK is taken back when get-ready was said: the
 * next press then says empty, and nothing else. */
static void a_come_back_taken_back_too_late_asks_nothing(void **state)
{
    (void)state;
    aid_tank_empty(&tank);
    aid_tank_bath(&tank, WS_BATH_DEVELOPER, 60 * MIN);
    tank.plan.undo_ms = 5 * MIN;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(58, 0)); /* pour out at 59:50, come back at 57:35 */
    assert_true(tank.session.come_back_waits);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(58, 1)), WS_OK);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + AT(59, 40)), WS_OK);
    assert_false(tank.session.come_back_waits);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(59, 58)), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_OVER);
}

/* Method: three sheets ten seconds apart are all in at 0:20: no end may be moved to before that. */
static void an_end_waits_for_the_last_sheet(void **state)
{
    struct ws_bath *bath;

    (void)state;
    aid_tank_empty(&tank);
    bath = aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(3, 0));
    bath->pieces = 3;
    bath->piece_every_ms = 10 * S;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, 10 * S);
    assert_int_equal(aid_tank_end(&tank, 11 * S, 0, 20 * S, WS_BY_HAND), WS_IGNORED);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LEAVE, 12 * S), WS_IGNORED);
    assert_int_equal(aid_tank_end(&tank, 13 * S, 0, 60 * S, WS_BY_HAND), WS_OK);
    aid_tank_wait(&tank, AT(2, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, 0), 3);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, 0), 3);
}

/* Method: ended early on purpose is not "moved"; a bath put in after it keeps its own time. */
static void leaving_is_not_moving(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LEAVE, CLOCK_MS + AT(1, 30)), WS_OK);
    assert_true(tank.session.record[0].left_early);
    assert_false(tank.session.record[0].moved);
    assert_int_equal(tank.session.record[0].pour_out_ms, CLOCK_MS + AT(1, 30));
}

/* ---- flags, the end, events that can't be */

/* Method: flags are set once and told once; the run goes on while nobody is there. */
static void flags_are_told_once(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_AWAY, CLOCK_MS + S), WS_OK);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_AWAY, CLOCK_MS + 2 * S), WS_IGNORED);
    assert_true(tank.session.away);
    aid_tank_wait(&tank, CLOCK_MS + AT(1, 0));
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_AGITATE));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_BACK, CLOCK_MS + AT(1, 1)), WS_OK);
    assert_false(tank.session.away);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_BACK, CLOCK_MS + AT(1, 1)), WS_IGNORED);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_OUT, CLOCK_MS + AT(1, 2)), WS_OK);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_OUT, CLOCK_MS + AT(1, 3)), WS_IGNORED);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, CLOCK_MS + AT(1, 4)), WS_OK);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_OWNER, CLOCK_MS + AT(1, 5)), WS_OK);
}

/* Method: an event whose moment is estimated marks the run. */
static void an_estimated_moment_marks_the_run(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_HAND, CLOCK_MS + S);

    (void)state;
    in_developer();
    event.estimated = true;
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    assert_true(tank.session.estimated);
}

/* Method: after CLOSE nothing is said, asked or changed. */
static void a_closed_run_is_silent(void **state)
{
    int before;

    (void)state;
    in_developer();
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_CLOSE, CLOCK_MS + AT(1, 0) + S), WS_OK);
    assert_true(tank.session.closed);
    before = tank.cues;
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(2, 0)), WS_IGNORED);
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 0));
    assert_int_equal(tank.cues, before);
    assert_int_equal(ws_session_next_ms(&tank.session, &tank.plan), WS_NEVER);
}

static void refused(struct ws_event event, enum ws_status with)
{
    static struct ws_session before;
    struct ws_cue cue[8];
    int n = -1;

    before = tank.session;
    assert_int_equal(ws_session_take(&tank.session, &tank.plan, &event, cue, 8, &n), with);
    assert_int_equal(n, 0);
    assert_memory_equal(&before, &tank.session, sizeof before);
}

/* Method: one thing wrong at a time, and not one byte of the session changes. */
static void events_that_can_not_be_are_refused(void **state)
{
    struct ws_event good = aid_tank_event(WS_EVENT_HAND, CLOCK_MS + S), bad;
    static const double NO_C[] = { NAN, INFINITY, -INFINITY, 1e9, -300 };
    static const int64_t NO_MS[] = { 0, -1, INT64_MIN, INT64_MAX };

    (void)state;
    in_developer();
    good.sequence = tank.session.sequence + 1;
    bad = good;
    bad.kind = WS_EVENT_KINDS;
    refused(bad, WS_BAD_EVENT);
    bad.kind = (enum ws_event_kind) - 1;
    refused(bad, WS_BAD_EVENT);
    bad = good;
    bad.sequence = tank.session.sequence;
    refused(bad, WS_BAD_EVENT);
    bad = good;
    bad.kind = WS_EVENT_BEGIN; /* a second one */
    refused(bad, WS_BAD_EVENT);
    bad = good;
    bad.at_ms = CLOCK_MS - 1;
    refused(bad, WS_TIME_BACK);
    bad.kind = WS_EVENT_TICK;
    refused(bad, WS_TIME_BACK);
    for (size_t i = 0; i < sizeof NO_C / sizeof *NO_C; i++) {
        bad = good;
        bad.kind = WS_EVENT_READING;
        bad.value_c = NO_C[i];
        refused(bad, WS_BAD_EVENT);
    }
    for (size_t i = 0; i < sizeof NO_MS / sizeof *NO_MS; i++) {
        bad = good;
        bad.kind = WS_EVENT_END_SET;
        bad.value_ms = NO_MS[i];
        refused(bad, WS_BAD_EVENT);
        bad.kind = WS_EVENT_INSERT;
        bad.of = WS_BATH_WASH;
        refused(bad, WS_BAD_EVENT);
    }
    bad = good;
    bad.kind = WS_EVENT_INSERT;
    bad.value_ms = MIN;
    bad.of = WS_BATH_KINDS;
    refused(bad, WS_BAD_EVENT);
    for (int bath = 3; bath <= WS_STEPS; bath++) {
        bad = good;
        bad.kind = WS_EVENT_READING;
        bad.value_c = 20;
        bad.bath = bath;
        refused(bad, WS_BAD_EVENT);
        bad.kind = WS_EVENT_END_SET;
        bad.value_ms = MIN;
        refused(bad, WS_BAD_EVENT);
    }
}

/* Method: nothing happens before BEGIN but time. */
static void nothing_before_begin(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_HAND, 0);
    struct ws_message why;

    (void)state;
    three_baths();
    assert_int_equal(ws_session_begin(&tank.session, &tank.plan, &why), WS_OK);
    event.sequence = 1;
    refused(event, WS_BAD_EVENT);
    assert_int_equal(ws_session_next_ms(&tank.session, &tank.plan), WS_NEVER);
    assert_int_equal(ws_session_answer_ms(&tank.session, &tank.plan), WS_NEVER);
}

/* Method: a tick after a long sleep: what passed is late, what is still true is not. */
static void what_passed_is_late(void **state)
{
    (void)state;
    in_developer();
    aid_tank_wait(&tank, CLOCK_MS + AT(2, 4));
    assert_true(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 1)->late);
    assert_true(aid_tank_cue(&tank, WS_CUE_REST, 0, 0)->late);
    assert_false(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 2)->late); /* until 2:10 */
}

/* ---- names */

/* Method: each token as the contract lists them; events read back, anything else does not. */
static void names_are_the_contracts(void **state)
{
    static const char *const CUE[] = { "get_ready", "pour_in",   "agitate",     "invert",
                                       "rest",      "come_back", "reading_due", "ready_to_pour",
                                       "pour_out",  "overtime",  "done",        "out_of_range",
                                       "offer",     "piece_in",  "piece_out",   "shuffle",
                                       "pass" };
    static const char *const EVENT[] = { "begin",     "hand",  "undo",   "on_time",
                                         "reading",   "take",  "refuse", "end_set",
                                         "start_set", "leave", "insert", "lights_out",
                                         "lights_on", "away",  "back",   "time_lost",
                                         "owner",     "close", "tick" };
    enum ws_event_kind kind;

    (void)state;
    assert_int_equal(sizeof CUE / sizeof *CUE, WS_CUE_KINDS);
    for (int i = 0; i < WS_CUE_KINDS; i++)
        assert_string_equal(ws_cue_token((enum ws_cue_kind)i), CUE[i]);
    assert_null(ws_cue_token(WS_CUE_KINDS));
    assert_int_equal(sizeof EVENT / sizeof *EVENT, WS_EVENT_KINDS);
    for (int i = 0; i < WS_EVENT_KINDS; i++) {
        assert_string_equal(ws_event_token((enum ws_event_kind)i), EVENT[i]);
        assert_true(ws_event_read_token(EVENT[i], &kind));
        assert_int_equal(kind, i);
    }
    assert_null(ws_event_token(WS_EVENT_KINDS));
    assert_false(ws_event_read_token("", &kind));
    assert_false(ws_event_read_token("Hand", &kind));
    assert_false(ws_event_read_token("han", &kind));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bad_plan_does_not_begin),
        cmocka_unit_test(a_press_counts_in),
        cmocka_unit_test(a_second_press_says_full),
        cmocka_unit_test(other_baths_are_poured_at_the_press),
        cmocka_unit_test(a_press_confirms_until_the_next_cycle),
        cmocka_unit_test(a_missed_cycle_is_not_made_up_for),
        cmocka_unit_test(inversions_are_counted),
        cmocka_unit_test(continuous_agitation_asks_nothing),
        cmocka_unit_test(no_press_ends_a_bath_before_get_ready),
        cmocka_unit_test(just_after_pour_out_a_press_confirms),
        cmocka_unit_test(drained_film_goes_on_developing),
        cmocka_unit_test(after_the_stop_one_may_wait),
        cmocka_unit_test(a_developer_left_in_is_insisted_on),
        cmocka_unit_test(a_longest_time_is_insisted_on),
        cmocka_unit_test(the_end_is_said),
        cmocka_unit_test(undo_takes_back_a_confirmation),
        cmocka_unit_test(undo_goes_back_into_the_bath),
        cmocka_unit_test(undo_takes_back_a_pour),
        cmocka_unit_test(undo_is_for_the_last_press_and_a_minute),
        cmocka_unit_test(on_time_keeps_the_due_moment),
        cmocka_unit_test(on_time_is_kept_beside_any_press),
        cmocka_unit_test(pours_are_counted_by_pouring),
        cmocka_unit_test(a_come_back_taken_back_too_late_asks_nothing),
        cmocka_unit_test(an_end_waits_for_the_last_sheet),
        cmocka_unit_test(leaving_is_not_moving),
        cmocka_unit_test(flags_are_told_once),
        cmocka_unit_test(an_estimated_moment_marks_the_run),
        cmocka_unit_test(a_closed_run_is_silent),
        cmocka_unit_test(events_that_can_not_be_are_refused),
        cmocka_unit_test(nothing_before_begin),
        cmocka_unit_test(what_passed_is_late),
        cmocka_unit_test(names_are_the_contracts),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
