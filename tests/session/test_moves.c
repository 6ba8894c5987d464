/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What moves a run: ends, starts, baths put in, a bath left; long rests, readings and offers. */
#include "aid.h"
#include "aid_random.h"
#include "aid_same.h"
#include "aid_tank.h"

static struct aid_tank tank;

enum { CLOCK_MS = 20000 };

/* Developer 9:30 (30 s, then 10 s each minute), stop 0:30, fixer 5:00; in the developer, its clock
 * at zero at CLOCK_MS. */
static void in_developer(void)
{
    aid_tank_empty(&tank);
    aid_tank_cycles(aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(9, 30)), 30 * S, MIN, 10 * S);
    aid_tank_bath(&tank, WS_BATH_STOP, 30 * S);
    aid_tank_cycles(aid_tank_bath(&tank, WS_BATH_FIXER, AT(5, 0)), 10 * S, MIN, 10 * S);
    aid_tank_begin(&tank);
    assert_int_equal(aid_tank_press(&tank, 0), WS_OK);
    aid_tank_wait(&tank, CLOCK_MS);
}

/* In the fixer; returns the zero of its clock. */
static int64_t in_fixer(void)
{
    in_developer();
    aid_tank_hands(&tank, CLOCK_MS + AT(11, 0));
    assert_int_equal(tank.session.step, 2);
    assert_int_equal(tank.session.stage, WS_STAGE_IN_BATH);
    return tank.session.span.clock_ms;
}

/* ---- ends */

/* Method: n, then space: pour out now, said at once, marked in the record; nothing more of the bath
 * is said, and it can't be left twice. */
static void a_bath_is_left_on_purpose(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];
    const int64_t at_ms = CLOCK_MS + AT(4, 33);

    (void)state;
    in_developer();
    aid_tank_wait(&tank, at_ms);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LEAVE, at_ms), WS_OK);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_POUR_OUT));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_POUR_OUT)->due_ms, at_ms);
    assert_true(record->left_early);
    assert_int_equal(record->pour_out_ms, at_ms);
    assert_int_equal(tank.session.stage, WS_STAGE_DRAINING);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LEAVE, at_ms + S), WS_IGNORED);
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 30));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_AGITATE, 0), 5); /* first, 1:00 ... 4:00 */
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_OUT, 0), 1);
}

/* Method: a press, then the bath is left on purpose: the press from before can't be taken back past
 * that, or the bath would be begun again with next to no time. */
static void undo_does_not_reach_behind_leaving(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LEAVE, CLOCK_MS + 3 * S), WS_OK);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + 6 * S), WS_IGNORED);
    assert_int_equal(tank.session.stage, WS_STAGE_DRAINING);
    assert_false(aid_tank_view(&tank, CLOCK_MS + 6 * S).can_undo);
}

/* Method: a minute more for the fixer, asked for inside its get-ready: get-ready is said again,
 * under the next number, for the later end; the cycle that stands now is called. */
static void a_minute_more(void **state)
{
    const int64_t zero_ms = in_fixer();
    const struct ws_cue *cue;

    (void)state;
    aid_tank_wait(&tank, zero_ms + AT(4, 40));
    assert_non_null(aid_tank_cue(&tank, WS_CUE_READY_TO_POUR, 2, 0));
    assert_int_equal(aid_tank_end(&tank, zero_ms + AT(4, 42), -1, AT(6, 0), WS_BY_HAND), WS_OK);
    assert_true(tank.session.record[2].moved);
    assert_int_equal(tank.session.record[2].time_ms, AT(6, 0));
    aid_tank_wait(&tank, zero_ms + AT(5, 49));
    cue = aid_tank_cue(&tank, WS_CUE_READY_TO_POUR, 2, 1);
    assert_non_null(cue);
    assert_int_equal(cue->index, 1);
    assert_int_equal(cue->due_ms, zero_ms + AT(5, 35));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_OUT, 2), 0);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_AGITATE, 2, 5)->due_ms, zero_ms + AT(5, 0));
    aid_tank_wait(&tank, zero_ms + AT(5, 50));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_POUR_OUT)->due_ms, zero_ms + AT(5, 50));
}

/* Method: a minute more after POUR OUT was said, before the tank is empty: back into the bath, and
 * both are said again for the new end. */
static void a_minute_more_after_pour_out(void **state)
{
    const int64_t zero_ms = in_fixer();

    (void)state;
    aid_tank_wait(&tank, zero_ms + AT(4, 52));
    assert_int_equal(tank.session.stage, WS_STAGE_DRAINING);
    assert_int_equal(aid_tank_end(&tank, zero_ms + AT(4, 53), -1, AT(6, 0), WS_BY_HAND), WS_OK);
    assert_int_equal(tank.session.stage, WS_STAGE_IN_BATH);
    aid_tank_wait(&tank, zero_ms + AT(5, 50));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_READY_TO_POUR, 2, 1)->index, 1);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_POUR_OUT, 2, 1)->index, 1);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_POUR_OUT, 2, 1)->due_ms, zero_ms + AT(5, 50));
}

/* Method: an end moved earlier and back again passes over what fell in between: at 4:30 to 4:45 (so
 * that 5:00 does not stand), then at 4:50, already draining, to 9:30. Nothing is made up for. */
static void passed_over_is_passed_over(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(4, 30), -1, AT(4, 55), WS_BY_HAND), WS_OK);
    aid_tank_wait(&tank, CLOCK_MS + AT(5, 4));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_AGITATE, 0), 5);
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(5, 5), -1, AT(9, 30), WS_BY_HAND), WS_OK);
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 30));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_AGITATE, 0), 9); /* without that of 5:00 */
    assert_false(aid_tank_asked(&tank, 0, 5));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 5)->due_ms, CLOCK_MS + AT(6, 0));
}

/* Method: an end set to a time that is over is pour-out now, not in the past. */
static void an_end_in_the_past_is_now(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(5, 0) + 400, -1, AT(3, 0), WS_BY_HAND),
                     WS_OK);
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_POUR_OUT)->due_ms, CLOCK_MS + AT(5, 0) + 400);
    assert_int_equal(tank.session.record[0].pour_out_ms, CLOCK_MS + AT(5, 0) + 400);
}

/* Method: the time of a bath that has not come yet is set; one that is over can't be. */
static void ends_of_other_baths(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, 2, AT(7, 0), WS_BY_HAND), WS_OK);
    assert_int_equal(tank.session.record[2].time_ms, AT(7, 0));
    assert_true(tank.session.record[2].moved);
    assert_int_equal(tank.session.record[0].time_ms, AT(9, 30));
    assert_false(tank.session.record[0].moved);
    aid_tank_hands(&tank, CLOCK_MS + AT(11, 0));
    assert_int_equal(tank.session.step, 2);
    assert_int_equal(tank.session.span.end_ms - tank.session.span.clock_ms, AT(7, 0));
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(11, 1), 0, AT(9, 0), WS_BY_HAND),
                     WS_IGNORED);
}

/* Method: a plan of the hands may stretch a stop; development times are never altered by it. */
static void a_hand_plan_never_alters_a_developer(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, 0, AT(9, 40), WS_BY_HAND_PLAN),
                     WS_IGNORED);
    assert_int_equal(tank.session.record[0].time_ms, AT(9, 30));
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, 1, 35 * S, WS_BY_HAND_PLAN), WS_OK);
    assert_int_equal(tank.session.record[1].time_ms, 35 * S);
}

/* Method: moves that follow the temperature: under 5 s they are not worth it, from 5 s on they are;
 * inside get-ready a later end is ignored and an earlier one is pour-out now. */
static void following_the_temperature_has_rules(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, -1, AT(9, 30) + 4999, WS_BY_TEMPERATURE),
                     WS_IGNORED);
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, -1, AT(9, 30) - 4999, WS_BY_TEMPERATURE),
                     WS_IGNORED);
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + MIN, -1, AT(9, 35), WS_BY_TEMPERATURE), WS_OK);
    assert_int_equal(tank.session.span.pour_out_ms, CLOCK_MS + AT(9, 25));
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 12)); /* get-ready since 9:10 */
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(9, 12), -1, AT(9, 50), WS_BY_TEMPERATURE),
                     WS_IGNORED);
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(9, 12), -1, AT(9, 28), WS_BY_TEMPERATURE),
                     WS_IGNORED);
    assert_int_equal(tank.session.span.pour_out_ms, CLOCK_MS + AT(9, 25));
    assert_int_equal(aid_tank_end(&tank, CLOCK_MS + AT(9, 14), -1, AT(9, 0), WS_BY_TEMPERATURE),
                     WS_OK);
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_POUR_OUT)->due_ms, CLOCK_MS + AT(9, 14));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_READY_TO_POUR, 0), 1);
}

/* ---- starts, and baths put in */

static enum ws_status set_start(int64_t at_ms, int64_t start_ms)
{
    struct ws_event event = aid_tank_event(WS_EVENT_START_SET, at_ms);

    event.value_ms = start_ms;
    return aid_tank_take(&tank, event);
}

/* Method: a start at 10:00: the developer is asked for in time to count in before it; hands in time
 * press so that first liquid comes at 10:00. */
static void a_start_that_is_set(void **state)
{
    const struct ws_cue *cue;

    (void)state;
    in_developer();
    aid_tank_begin(&tank);
    assert_int_equal(set_start(MIN, AT(10, 0)), WS_OK);
    assert_null(aid_tank_just_said(&tank, WS_CUE_GET_READY));
    assert_int_equal(aid_tank_view(&tank, AT(9, 0)).left_ms, MIN);
    aid_tank_wait(&tank, AT(9, 59));
    cue = aid_tank_just_said(&tank, WS_CUE_GET_READY);
    assert_non_null(cue);
    assert_int_equal(cue->index, 1);
    assert_int_equal(cue->due_ms, AT(10, 0) - 5 * S - 15 * S);
    assert_int_equal(ws_session_answer_ms(&tank.session, &tank.plan), AT(9, 59));
    aid_tank_begin(&tank);
    assert_int_equal(set_start(MIN, AT(10, 0)), WS_OK);
    aid_tank_hands(&tank, AT(10, 1));
    assert_int_equal(tank.session.record[0].first_liquid_ms, AT(10, 0));
    assert_int_equal(set_start(AT(10, 2), AT(12, 0)), WS_IGNORED); /* nothing waits */
    /* The start was the developer's; the stop is poured when the hands are ready. */
    aid_tank_wait(&tank, AT(19, 45));
    assert_int_equal(aid_tank_press(&tank, AT(19, 50)), WS_OK);
    assert_int_equal(tank.session.step, 1);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_POUR_IN));
    assert_int_equal(tank.session.start_due_ms, WS_NEVER);
}

/* Method: an undone pour keeps the start that was set. */
static void undo_keeps_a_start_that_is_set(void **state)
{
    (void)state;
    in_developer();
    aid_tank_begin(&tank);
    set_start(MIN, AT(10, 0));
    assert_int_equal(aid_tank_press(&tank, AT(2, 0)), WS_OK);
    assert_int_equal(aid_tank_undo(&tank, AT(2, 10)), WS_OK);
    assert_int_equal(tank.session.start_due_ms, AT(10, 0));
    assert_int_equal(aid_tank_view(&tank, AT(3, 0)).left_ms, AT(7, 0));
}

static enum ws_status insert(int64_t at_ms, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_event event = aid_tank_event(WS_EVENT_INSERT, at_ms);

    event.of = (uint32_t)kind;
    event.value_ms = time_ms;
    return aid_tank_take(&tank, event);
}

/* Method: a wash put in while the developer is in the tank comes next, under a number past the
 * plan's; the plan's own baths keep theirs; it is gone through like any other. */
static void a_bath_is_put_in(void **state)
{
    (void)state;
    in_developer();
    assert_int_equal(insert(CLOCK_MS + MIN, WS_BATH_WASH, AT(1, 0)), WS_OK);
    assert_int_equal(tank.session.steps, 4);
    assert_int_equal(ws_session_bath_at(&tank.session, 0), 0);
    assert_int_equal(ws_session_bath_at(&tank.session, 1), WS_BATHS);
    assert_int_equal(ws_session_bath_at(&tank.session, 2), 1);
    assert_int_equal(ws_session_bath_at(&tank.session, 3), 2);
    assert_int_equal(ws_session_bath_at(&tank.session, 4), -1);
    assert_int_equal(ws_session_bath(&tank.session, &tank.plan, WS_BATHS)->kind, WS_BATH_WASH);
    assert_null(ws_session_bath(&tank.session, &tank.plan, WS_BATHS + 1));
    aid_tank_hands(&tank, AT(30, 0));
    assert_int_equal(tank.session.stage, WS_STAGE_OVER);
    assert_int_equal(tank.session.record[WS_BATHS].time_ms, AT(1, 0));
    assert_true(tank.session.record[WS_BATHS].first_liquid_ms >= tank.session.record[0].empty_ms);
    assert_true(tank.session.record[1].first_liquid_ms >= tank.session.record[WS_BATHS].empty_ms);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_OUT, WS_BATHS), 1);
}

/* Method: a bath put in after EMPTY was pressed: that press can't be taken back any more, since the
 * bath that would wait again is another. */
static void undo_does_not_reach_behind_a_bath_put_in(void **state)
{
    (void)state;
    in_developer();
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 26));
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(9, 28)), WS_OK);
    assert_int_equal(insert(CLOCK_MS + AT(9, 30), WS_BATH_WASH, MIN), WS_OK);
    assert_int_equal(aid_tank_undo(&tank, CLOCK_MS + AT(9, 32)), WS_IGNORED);
    assert_int_equal(tank.session.step, 1);
    assert_int_equal(ws_session_bath_at(&tank.session, 1), WS_BATHS);
    assert_int_equal(tank.session.stage, WS_STAGE_WAITING);
}

/* Method: as many as there is room for, and then no more. */
static void only_so_many_baths_are_put_in(void **state)
{
    (void)state;
    in_developer();
    for (int i = 0; i < WS_EXTRA; i++)
        assert_int_equal(insert(CLOCK_MS + MIN + i, WS_BATH_WASH, AT(1, i)), WS_OK);
    assert_int_equal(insert(CLOCK_MS + MIN + 10, WS_BATH_WASH, MIN), WS_IGNORED);
    assert_int_equal(tank.session.steps, 3 + WS_EXTRA);
}

/* Method: a stop is put in while the film hangs drained of developer: the gap goes on, from the
 * moment the tank was empty, on the screen and in the record. */
static void putting_in_a_stop_does_not_stop_the_gap(void **state)
{
    const int64_t empty_ms = CLOCK_MS + AT(9, 29);

    (void)state;
    in_developer();
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 26));
    assert_int_equal(aid_tank_press(&tank, empty_ms), WS_OK);
    assert_int_equal(tank.session.step, 1);
    assert_int_equal(insert(empty_ms + 6 * S, WS_BATH_STOP, 30 * S), WS_OK);
    assert_true(aid_tank_view(&tank, empty_ms + 8 * S).stop_now);
    assert_int_equal(aid_tank_view(&tank, empty_ms + 8 * S).over_ms, 8 * S);
    aid_tank_wait(&tank, empty_ms + 11 * S);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_OVERTIME));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_OVERTIME)->due_ms, empty_ms + 10 * S);
    assert_int_equal(aid_tank_press(&tank, empty_ms + 12 * S), WS_OK);
    assert_int_equal(tank.session.record[WS_BATHS].gap_ms, 12 * S);
}

/* ---- long rests */

/* A stand developer of an hour, the first minute agitated; in the bath. */
static void standing(void)
{
    aid_tank_empty(&tank);
    aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(60, 0))->agitation.first_ms = MIN;
    aid_tank_bath(&tank, WS_BATH_STOP, 30 * S);
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_press(&tank, CLOCK_MS + S);
}

/* Method: the rest of an hour's stand ends at get-ready: COME BACK is said two minutes before and
 * asked until a press comes; that press is nothing else. */
static void a_long_rest_calls_back(void **state)
{
    const int64_t ready_ms = CLOCK_MS + AT(59, 35);
    const struct ws_cue *cue;

    (void)state;
    standing();
    aid_tank_wait(&tank, ready_ms - AT(2, 0) - 1);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_COME_BACK, 0), 0);
    aid_tank_wait(&tank, ready_ms - AT(2, 0));
    cue = aid_tank_just_said(&tank, WS_CUE_COME_BACK);
    assert_non_null(cue);
    assert_int_equal(cue->value_ms, ready_ms);
    assert_true(cue->wants_hand);
    assert_true(aid_tank_view(&tank, ready_ms - AT(1, 0)).wants_hand);
    assert_int_equal(aid_tank_view(&tank, ready_ms - AT(1, 0)).asked_ms, ready_ms - AT(2, 0));
    assert_int_equal(aid_tank_press(&tank, ready_ms - AT(1, 0)), WS_OK);
    assert_false(aid_tank_view(&tank, ready_ms - 50 * S).wants_hand);
    assert_int_equal(tank.session.step, 0);
    assert_int_equal(aid_tank_undo(&tank, ready_ms - 40 * S), WS_OK);
    assert_true(aid_tank_view(&tank, ready_ms - 30 * S).wants_hand);
    aid_tank_wait(&tank, CLOCK_MS + AT(60, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_COME_BACK, 0), 1);
}

/* Method: semi-stand: each rest of more than five minutes has its own call; one of exactly five has
 * none. */
static void each_long_rest_has_its_own_call(void **state)
{
    (void)state;
    standing();
    tank.plan.bath[0].agitation.rhythm = WS_AT_MOMENTS;
    tank.plan.bath[0].agitation.length_ms = MIN;
    tank.plan.bath[0].agitation.moments = 3;
    tank.plan.bath[0].agitation.moment_ms[0] = AT(6, 0); /* rest of exactly 5:00 before it */
    tank.plan.bath[0].agitation.moment_ms[1] = AT(20, 0);
    tank.plan.bath[0].agitation.moment_ms[2] = AT(40, 0);
    tank.cues = 0;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS + AT(60, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_COME_BACK, 0), 3);
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_COME_BACK, 0, 0)->due_ms, CLOCK_MS + AT(18, 0));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_COME_BACK, 0, 1)->due_ms, CLOCK_MS + AT(38, 0));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_COME_BACK, 0, 2)->due_ms, CLOCK_MS + AT(57, 35));
}

/* ---- readings */

/* The developer of in_developer, followed: 9:30 at 20 C, 7:00 at 24 C. */
static void in_followed_developer(void)
{
    struct ws_bath *bath;

    in_developer();
    bath = &tank.plan.bath[0];
    bath->point[0] = (struct ws_point){ 20, AT(9, 30), 30 * S };
    bath->point[1] = (struct ws_point){ 24, AT(7, 0), 30 * S };
    bath->points = 2;
    bath->start_c = 20;
    bath->want_c = 20;
    bath->tolerance_c = 0.5;
    tank.plan.reading_every_ms = 2 * MIN;
    tank.cues = 0;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    aid_tank_wait(&tank, CLOCK_MS);
}

/* Method: a reading is due each two minutes since the clock began or since the last one, and none
 * once get-ready has begun. */
static void readings_are_asked_for(void **state)
{
    (void)state;
    in_followed_developer();
    aid_tank_wait(&tank, CLOCK_MS + AT(3, 0));
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_READING_DUE, 0, 0)->due_ms, CLOCK_MS + AT(2, 0));
    assert_int_equal(aid_tank_read(&tank, CLOCK_MS + AT(3, 0), 20.0), WS_OK);
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 30));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_READING_DUE, 0), 4);
    for (int k = 1; k < 4; k++)
        assert_int_equal(aid_tank_cue(&tank, WS_CUE_READING_DUE, 0, k)->due_ms,
                         CLOCK_MS + AT(3 + 2 * k, 0));
}

/* Method: readings inside, at the edge of and outside the tolerance; those of another bath are not
 * this one's. */
static void readings_out_of_range_are_said(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_READING, CLOCK_MS + 40 * S);

    (void)state;
    in_followed_developer();
    aid_tank_read(&tank, CLOCK_MS + 10 * S, 20.4);
    assert_null(aid_tank_just_said(&tank, WS_CUE_OUT_OF_RANGE));
    aid_tank_read(&tank, CLOCK_MS + 20 * S, 20.5);
    assert_null(aid_tank_just_said(&tank, WS_CUE_OUT_OF_RANGE));
    aid_tank_read(&tank, CLOCK_MS + 30 * S, 19.4);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_OUT_OF_RANGE));
    assert_int_equal(aid_tank_just_said(&tank, WS_CUE_OUT_OF_RANGE)->index, tank.session.sequence);
    assert_int_equal(tank.session.record[0].readings, 3);
    ws_assert_near(tank.session.record[0].low_c, 19.4, 0);
    ws_assert_near(tank.session.record[0].high_c, 20.5, 0);
    event.bath = 2;
    event.value_c = 30;
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED);
    assert_int_equal(tank.session.record[0].readings, 3);
}

/* Method: an offer for a change of less than 5 s is none; a real one, taken inside get-ready after
 * it has become pointless, is still the person's own choice; one of another reading is not taken.
 */
static void offers_are_answered_by_their_number(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_TAKE, CLOCK_MS + AT(5, 30));

    (void)state;
    in_followed_developer();
    aid_tank_read(&tank, CLOCK_MS, 20.05);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OFFER, 0), 0);
    aid_tank_read(&tank, CLOCK_MS + AT(4, 0), 19);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OFFER, 0), 1);
    event.of = tank.session.offer;
    aid_tank_read(&tank, CLOCK_MS + AT(5, 0), 18);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OFFER, 0), 2);
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED); /* the older one is gone */
    event.of = tank.session.offer;
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    assert_int_equal(tank.session.record[0].time_ms,
                     aid_tank_cue(&tank, WS_CUE_OFFER, 0, 1)->value_ms);
    event.at_ms += S;
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED);
}

/* ---- whatever may come */

/* Method: events of random bytes, shifted so that time goes on: the engine answers with a status
 * and never with a crash, and the journal of what it took still folds to the same state. */
static void random_bytes_do_no_harm(void **state)
{
    static struct ws_event journal[600];
    static struct ws_session folded;
    static struct ws_cue cue[2048];
    struct aid_random random = { 424242 };
    struct ws_message why;

    (void)state;
    for (int round = 0; round < 300; round++) {
        int journaled = 0, n;

        aid_plan(&random, &tank.plan);
        assert_int_equal(ws_session_begin(&tank.session, &tank.plan, &why), WS_OK);
        for (int i = 0; i < 400; i++) {
            struct ws_event event;
            unsigned char *byte = (unsigned char *)&event;
            enum ws_status status;

            for (size_t k = 0; k < sizeof event; k++)
                byte[k] = (unsigned char)aid_next(&random);
            /* A bool may only hold 0 or 1; the rest is as it fell, or nearly sensible. */
            memset(&event.estimated, 0, sizeof event.estimated);
            event.kind = i == 0 ? WS_EVENT_BEGIN
                                : (enum ws_event_kind)aid_between(&random, -1, WS_EVENT_KINDS + 1);
            if (aid_chance(&random, 90))
                event.at_ms = tank.session.now_ms + aid_between(&random, 0, 20 * S);
            if (aid_chance(&random, 90))
                event.sequence = tank.session.sequence + 1;
            if (aid_chance(&random, 50))
                event.value_ms = aid_between(&random, -S, 60 * MIN);
            if (aid_chance(&random, 50))
                event.value_c = (double)aid_between(&random, -30, 130);
            if (aid_chance(&random, 50))
                event.bath = (int)aid_between(&random, -2, WS_STEPS);
            if (aid_chance(&random, 50))
                event.of = (uint32_t)aid_between(&random, 0, WS_BATH_KINDS);
            do
                status = ws_session_take(&tank.session, &tank.plan, &event, cue, 2048, &n);
            while (status == WS_MORE);
            if (status == WS_OK && event.kind != WS_EVENT_TICK)
                journal[journaled++] = event;
        }
        assert_int_equal(ws_session_fold(&folded, &tank.plan, journal, journaled, &why), WS_OK);
        {
            const struct ws_event tick = aid_tick(tank.session.now_ms);

            while (ws_session_take(&folded, &tank.plan, &tick, cue, 2048, &n) == WS_MORE)
                continue;
        }
        assert_null(aid_session_differs(&folded, &tank.session));
    }
}

/* A number that some field may not be ready for. */
static int64_t odd_ms(struct aid_random *random)
{
    static const int64_t ODD[] = { 0,         1,         -1,        999,      S, 48 * 60 * MIN,
                                   INT64_MAX, INT64_MIN, INT32_MAX, INT32_MIN };

    return aid_chance(random, 60) ? aid_between(random, 0, 10 * MIN)
                                  : ODD[aid_between(random, 0, 9)];
}

/* Puts odd numbers into one to three fields of a plan that was good. */
static void spoil(struct aid_random *random, struct ws_plan *plan)
{
    struct ws_bath *bath = &plan->bath[aid_between(random, 0, plan->baths - 1)];
    int64_t *const ms[] = { &bath->time_ms,
                            &bath->pour_in_ms,
                            &bath->drain_ms,
                            &bath->count_in_ms,
                            &bath->longest_ms,
                            &bath->piece_every_ms,
                            &bath->agitation.first_ms,
                            &bath->agitation.every_ms,
                            &bath->agitation.length_ms,
                            &bath->agitation.moment_ms[0],
                            &bath->point[0].time_ms,
                            &bath->point[0].step_ms,
                            &plan->ready_lead_ms,
                            &plan->insist_ms,
                            &plan->late_ms,
                            &plan->confirm_grace_ms,
                            &plan->undo_ms,
                            &plan->least_move_ms,
                            &plan->reading_every_ms,
                            &plan->long_rest_ms,
                            &plan->come_back_lead_ms,
                            &plan->halving_ms };
    int *const count[] = { &bath->pieces,
                           &bath->points,
                           &bath->parts,
                           &bath->agitation.moments,
                           &bath->agitation.inversions,
                           &bath->dilution.parts };
    double *const real[] = { &bath->start_c, &bath->want_c,     &bath->tolerance_c,  &plan->room_c,
                             &plan->fill_ml, &bath->point[0].c, &bath->ratio_per_10c };
    static const double ODD[] = { 0, -1, NAN, INFINITY, -INFINITY, 1e300, 20, 49.9 };

    for (int64_t k = aid_between(random, 1, 3); k > 0; k--) {
        *ms[aid_between(random, 0, sizeof ms / sizeof *ms - 1)] = odd_ms(random);
        if (aid_chance(random, 30))
            *count[aid_between(random, 0, sizeof count / sizeof *count - 1)] = (int)odd_ms(random);
        if (aid_chance(random, 30))
            *real[aid_between(random, 0, sizeof real / sizeof *real - 1)] =
                ODD[aid_between(random, 0, 7)];
    }
    bath->agitation.rhythm = (enum ws_rhythm)aid_between(random, 0, WS_RHYTHMS - 1);
}

/* Method: good plans with odd numbers in them. One that is refused says so in a line; one that
 * passes can be run: hands in time and a few readings, with the sanitizers watching. */
static void a_plan_that_passes_can_be_run(void **state)
{
    static struct ws_cue cue[512];
    struct aid_random random = { 31337 };
    int passed = 0, plans = 6000;

    (void)state;
    for (int i = 0; i < plans; i++) {
        struct ws_message why = { "" };

        aid_plan(&random, &tank.plan);
        spoil(&random, &tank.plan);
        if (ws_session_begin(&tank.session, &tank.plan, &why) != WS_OK) {
            assert_true(why.text[0] != '\0');
            continue;
        }
        passed++;
        tank.cues = tank.journaled = 0;
        assert_int_equal(aid_tank_send(&tank, WS_EVENT_BEGIN, 0), WS_OK);
        for (int turn = 0; turn < 60 && tank.session.stage != WS_STAGE_OVER; turn++) {
            const int64_t answer_ms = ws_session_answer_ms(&tank.session, &tank.plan);
            const int64_t next_ms = ws_session_next_ms(&tank.session, &tank.plan);

            tank.cues = tank.journaled = 0;
            if (turn % 8 == 7)
                aid_tank_read(&tank, tank.session.now_ms, (double)aid_between(&random, 15, 25));
            else if (answer_ms < next_ms)
                aid_tank_press(&tank, answer_ms);
            else if (next_ms != WS_NEVER)
                aid_tank_wait(&tank, next_ms);
            ws_session_ahead(&tank.session, &tank.plan, tank.session.now_ms + 5 * MIN, true, cue,
                             512);
            aid_tank_view(&tank, tank.session.now_ms + S);
        }
    }
    assert_true(passed > plans / 10 && passed < plans * 9 / 10);
}

/* Method: what is looked at without an end: ahead of a run to its very end, and to where there is
 * none, comes back. */
static void looking_ahead_without_end_comes_back(void **state)
{
    static struct ws_cue cue[2048];
    int all;

    (void)state;
    in_developer();
    all = ws_session_ahead(&tank.session, &tank.plan, WS_NEVER, true, cue, 2048);
    assert_int_equal(cue[all - 1].kind, WS_CUE_DONE);
    all = ws_session_ahead(&tank.session, &tank.plan, WS_NEVER, false, cue, 2048);
    assert_true(all > 10);
    assert_int_equal(cue[all - 1].kind, WS_CUE_OVERTIME);
    assert_int_equal(ws_session_ahead(&tank.session, &tank.plan, 0, false, cue, 2048), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bath_is_left_on_purpose),
        cmocka_unit_test(undo_does_not_reach_behind_leaving),
        cmocka_unit_test(a_minute_more),
        cmocka_unit_test(a_minute_more_after_pour_out),
        cmocka_unit_test(passed_over_is_passed_over),
        cmocka_unit_test(an_end_in_the_past_is_now),
        cmocka_unit_test(ends_of_other_baths),
        cmocka_unit_test(a_hand_plan_never_alters_a_developer),
        cmocka_unit_test(following_the_temperature_has_rules),
        cmocka_unit_test(a_start_that_is_set),
        cmocka_unit_test(undo_keeps_a_start_that_is_set),
        cmocka_unit_test(a_bath_is_put_in),
        cmocka_unit_test(undo_does_not_reach_behind_a_bath_put_in),
        cmocka_unit_test(only_so_many_baths_are_put_in),
        cmocka_unit_test(putting_in_a_stop_does_not_stop_the_gap),
        cmocka_unit_test(a_long_rest_calls_back),
        cmocka_unit_test(each_long_rest_has_its_own_call),
        cmocka_unit_test(readings_are_asked_for),
        cmocka_unit_test(readings_out_of_range_are_said),
        cmocka_unit_test(offers_are_answered_by_their_number),
        cmocka_unit_test(random_bytes_do_no_harm),
        cmocka_unit_test(a_plan_that_passes_can_be_run),
        cmocka_unit_test(looking_ahead_without_end_comes_back),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
