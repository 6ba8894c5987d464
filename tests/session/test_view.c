/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a screen or a voice is told at each moment of a run. */
#include "aid.h"
#include "aid_tank.h"

static struct aid_tank tank;

enum { CLOCK_MS = 20000 };

/* Developer 5:00 (30 s, then four inversions in 10 s each minute), stop 0:30; waiting. */
static void two_baths(void)
{
    struct ws_bath *bath;

    aid_tank_empty(&tank);
    bath = aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(5, 0));
    aid_tank_cycles(bath, 30 * S, MIN, 10 * S);
    bath->agitation.inversions = 4;
    aid_tank_bath(&tank, WS_BATH_STOP, 30 * S);
    aid_tank_begin(&tank);
}

static struct ws_view at(int64_t at_ms)
{
    return aid_tank_view(&tank, at_ms);
}

/* Method: before the first pour, in the count, and while it is poured in. */
static void until_the_tank_is_full(void **state)
{
    struct ws_view view;

    (void)state;
    two_baths();
    view = at(3 * S);
    assert_int_equal(view.at_ms, 3 * S);
    assert_int_equal(view.stage, WS_STAGE_WAITING);
    assert_int_equal(view.word, WS_WORD_PRESS_WHEN_READY);
    assert_int_equal(view.step, 0);
    assert_int_equal(view.steps, 2);
    assert_int_equal(view.bath, 0);
    assert_int_equal(view.time_ms, AT(5, 0));
    assert_true(view.wants_hand);
    assert_int_equal(view.asked_ms, 0);
    assert_int_equal(view.pour_out_ms, WS_NEVER);
    assert_false(view.stop_now);
    assert_false(view.can_undo);
    aid_tank_press(&tank, 10 * S);
    view = at(12 * S);
    assert_int_equal(view.word, WS_WORD_COUNT_IN);
    assert_int_equal(view.left_ms, 3 * S);
    assert_int_equal(view.next.kind, WS_CUE_POUR_IN);
    assert_int_equal(view.next.due_ms, 15 * S);
    assert_true(view.in_bath_ms < 0);
    assert_true(view.can_undo);
    view = at(17 * S);
    assert_int_equal(view.stage, WS_STAGE_FILLING);
    assert_int_equal(view.word, WS_WORD_POUR_IN);
    assert_int_equal(view.left_ms, 13 * S);
    assert_int_equal(view.in_bath_ms, -13 * S);
    assert_true(view.wants_hand); /* FULL */
    assert_int_equal(view.asked_ms, 15 * S);
    assert_int_equal(view.next.kind, WS_CUE_AGITATE);
}

/* Method: in an agitation, its inversions counted as they are called; then confirmed; then the
 * rest, with what comes next and when. */
static void agitation_and_rest(void **state)
{
    struct ws_view view;

    (void)state;
    two_baths();
    aid_tank_press(&tank, 0);
    aid_tank_press(&tank, CLOCK_MS + 5 * S);
    for (int nth = 1; nth <= 4; nth++) {
        view = at(CLOCK_MS + AT(1, 0) + (nth - 1) * 2500 + 100);
        assert_int_equal(view.word, WS_WORD_AGITATE);
        assert_int_equal(view.count, nth);
        assert_int_equal(view.of, 4);
    }
    assert_true(view.unconfirmed);
    assert_true(view.wants_hand);
    assert_int_equal(view.asked_ms, CLOCK_MS + AT(1, 0));
    assert_int_equal(view.in_bath_ms, AT(1, 7) + 600);
    assert_int_equal(view.left_ms, AT(4, 50) - view.in_bath_ms);
    assert_int_equal(view.pour_out_ms, CLOCK_MS + AT(4, 50));
    assert_int_equal(view.next.kind, WS_CUE_REST);
    aid_tank_press(&tank, CLOCK_MS + AT(1, 8));
    view = at(CLOCK_MS + AT(1, 20));
    assert_int_equal(view.word, WS_WORD_REST);
    assert_false(view.unconfirmed);
    assert_false(view.wants_hand);
    assert_int_equal(view.asked_ms, WS_NEVER);
    assert_int_equal(view.over_ms, 0);
    assert_int_equal(view.next.kind, WS_CUE_AGITATE);
    assert_int_equal(view.next.due_ms, CLOCK_MS + AT(2, 0));
    assert_true(isnan(view.fraction)); /* no points: not followed */
}

/* Method: get-ready, POUR OUT from its very millisecond, the drain of 10 s, and the time over, on
 * which the cues insist three seconds later. */
static void getting_ready_and_over(void **state)
{
    struct ws_view view;

    (void)state;
    two_baths();
    aid_tank_press(&tank, 0);
    for (int minute = 0; minute < 5; minute++)
        aid_tank_press(&tank, CLOCK_MS + AT(minute, 2));
    view = at(CLOCK_MS + AT(4, 35) - 1);
    assert_int_equal(view.word, WS_WORD_REST);
    assert_false(view.wants_hand);
    assert_int_equal(view.next.kind, WS_CUE_READY_TO_POUR);
    view = at(CLOCK_MS + AT(4, 35));
    assert_int_equal(view.word, WS_WORD_GET_READY);
    assert_true(view.wants_hand);
    assert_int_equal(view.left_ms, 15 * S);
    assert_int_equal(view.asked_ms, CLOCK_MS + AT(4, 35));
    assert_int_equal(view.next.kind, WS_CUE_POUR_OUT);
    view = at(CLOCK_MS + AT(4, 50));
    assert_int_equal(view.stage, WS_STAGE_DRAINING);
    assert_int_equal(view.word, WS_WORD_POUR_OUT);
    assert_int_equal(view.left_ms, 0);
    assert_int_equal(view.over_ms, 0);
    assert_true(view.draining);
    view = at(CLOCK_MS + AT(4, 57));
    assert_true(view.wants_hand);
    assert_int_equal(view.over_ms, 7 * S);
    assert_int_equal(view.asked_ms, CLOCK_MS + AT(4, 50));
    assert_int_equal(view.pour_out_ms, CLOCK_MS + AT(4, 50));
    view = at(CLOCK_MS + AT(5, 0) - 1);
    assert_true(view.draining);
    view = at(CLOCK_MS + AT(5, 0));
    assert_false(view.draining);
    view = at(CLOCK_MS + AT(5, 3) - 1);
    assert_false(view.insists);
    view = at(CLOCK_MS + AT(5, 3));
    assert_true(view.insists);
}

/* Method: drained, into the stop without a count, and to the end. */
static void on_to_the_end(void **state)
{
    struct ws_view view;

    (void)state;
    two_baths();
    aid_tank_press(&tank, 0);
    for (int minute = 0; minute < 5; minute++)
        aid_tank_press(&tank, CLOCK_MS + AT(minute, 2));
    aid_tank_wait(&tank, CLOCK_MS + AT(4, 50));
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(4, 58)), WS_OK);
    view = at(CLOCK_MS + AT(5, 1));
    assert_int_equal(view.step, 1);
    assert_int_equal(view.bath, 1);
    assert_int_equal(view.word, WS_WORD_POUR_IN);
    assert_true(view.stop_now);
    assert_int_equal(view.over_ms, 3 * S);
    assert_int_equal(view.asked_ms, CLOCK_MS + AT(4, 58));
    aid_tank_hands(&tank, CLOCK_MS + AT(8, 0));
    view = at(CLOCK_MS + AT(8, 0));
    assert_int_equal(view.stage, WS_STAGE_OVER);
    assert_int_equal(view.word, WS_WORD_DONE);
    assert_false(view.wants_hand);
    assert_int_equal(view.next.due_ms, WS_NEVER);
    assert_int_equal(view.bath, -1);
}

/* Method: a tray of four: sheets in, shuffling, get-ready, sheets out, counted as they go. */
static void sheets_are_counted(void **state)
{
    struct ws_bath *bath;
    struct ws_view view;

    (void)state;
    aid_tank_empty(&tank);
    bath = aid_tank_bath(&tank, WS_BATH_FIXER, AT(3, 0));
    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->pour_in_ms = bath->drain_ms = 0;
    bath->pieces = 4;
    bath->piece_every_ms = 10 * S;
    bath->agitation.rhythm = WS_SHUFFLE;
    bath->agitation.every_ms = 5 * S;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, MIN);
    view = at(MIN + 25 * S);
    assert_int_equal(view.word, WS_WORD_PIECES_IN);
    assert_int_equal(view.count, 3);
    assert_int_equal(view.of, 4);
    assert_int_equal(view.next.kind, WS_CUE_PIECE_IN);
    assert_int_equal(view.next.index, 3);
    assert_int_equal(view.next.of, 4);
    view = at(MIN + AT(1, 0));
    assert_int_equal(view.word, WS_WORD_SHUFFLE);
    assert_int_equal(view.next.kind, WS_CUE_READY_TO_POUR); /* ticks are only counted */
    assert_int_equal(at(MIN + AT(2, 50)).word, WS_WORD_GET_READY);
    view = at(MIN + AT(3, 12));
    assert_int_equal(view.word, WS_WORD_PIECES_OUT);
    assert_int_equal(view.count, 2);
    assert_int_equal(view.of, 4);
    assert_int_equal(view.next.kind, WS_CUE_PIECE_OUT);
    assert_int_equal(view.next.index, 2);
    assert_int_equal(at(MIN + AT(3, 40)).word, WS_WORD_POUR_OUT);
}

/* Method: a bath with points and no reading yet develops at the temperature it had before the pour;
 * half of the time at the point's own temperature is half of the development. A start elsewhere is
 * followed at that one. */
static void the_fraction_starts_from_the_start(void **state)
{
    struct ws_bath *bath;

    (void)state;
    two_baths();
    bath = &tank.plan.bath[0];
    bath->point[0] = (struct ws_point){ 20, AT(5, 0), 30 * S };
    bath->point[1] = (struct ws_point){ 24, AT(4, 0), 30 * S };
    bath->points = 2;
    bath->start_c = 20;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    ws_assert_near(at(CLOCK_MS).fraction, 0, 1e-9);
    ws_assert_near(at(CLOCK_MS + AT(2, 30)).fraction, 0.5, 1e-6);
    bath->start_c = 24;
    aid_tank_begin(&tank);
    aid_tank_press(&tank, 0);
    ws_assert_near(at(CLOCK_MS + AT(2, 0)).fraction, 0.5, 1e-6);
    /* A reading while it waits is the start that counts. */
    bath->start_c = 18;
    aid_tank_begin(&tank);
    aid_tank_read(&tank, 0, 20);
    aid_tank_press(&tank, 0);
    ws_assert_near(at(CLOCK_MS + AT(2, 30)).fraction, 0.5, 1e-6);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(until_the_tank_is_full),
        cmocka_unit_test(agitation_and_rest),
        cmocka_unit_test(getting_ready_and_over),
        cmocka_unit_test(on_to_the_end),
        cmocka_unit_test(sheets_are_counted),
        cmocka_unit_test(the_fraction_starts_from_the_start),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
