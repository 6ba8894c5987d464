/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Film that lies open: sheets through a row of trays, a deep tank, loading in the dark. Method:
 * runs driven by hand with moments by the convention of the process; looked at are the cues and
 * whether film lies open. */
#include "aid.h"
#include "aid_tank.h"

enum { SHEETS = 6, EVERY_MS = 10000 };
enum { PRESOAK, DEVELOPER, STOP, FIXER, WASH };

static struct aid_tank tank;

/* ---- sheets in trays */

static struct ws_bath *tray(enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = aid_tank_bath(&tank, kind, time_ms);

    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->open_film = true;
    bath->pieces = SHEETS;
    bath->piece_every_ms = EVERY_MS;
    bath->agitation.rhythm = WS_SHUFFLE;
    bath->agitation.every_ms = 5 * S;
    return bath;
}

/* Pre-soak 2:00, developer 7:00, stop 1:00, fixer 5:00 with light after 2:00; a wash by itself. */
static void begin_trays(void)
{
    aid_tank_empty(&tank);
    tray(WS_BATH_PRESOAK, AT(2, 0));
    tray(WS_BATH_DEVELOPER, AT(7, 0));
    tray(WS_BATH_STOP, AT(1, 0));
    tray(WS_BATH_FIXER, AT(5, 0))->light_ms = AT(2, 0);
    aid_tank_bath(&tank, WS_BATH_WASH, AT(10, 0));
    aid_tank_begin(&tank);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_OUT, 0), WS_OK);
}

static int64_t moment(enum ws_cue_kind kind, int bath, int nth)
{
    const struct ws_cue *cue = aid_tank_cue(&tank, kind, bath, nth);

    if (cue == NULL)
        fail_msg("%s number %d of bath %d was not said", ws_cue_token(kind), nth, bath);
    return cue != NULL ? cue->due_ms : 0;
}

/* Method: with hands in time each sheet has the full time of every bath, however late it went in;
 * the next tray takes each in the moment the one before lets it go, except where a count is given
 * before the developer; and in every tray they come out in the order they went in. */
static void each_sheet_has_its_time_in_every_bath(void **state)
{
    static const int64_t TIME_MS[] = { AT(2, 0), AT(7, 0), AT(1, 0), AT(5, 0) };
    const int64_t count_in_ms = 5 * S;

    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(30, 0));
    for (int bath = PRESOAK; bath <= FIXER; bath++) {
        const int64_t late_ms = bath == PRESOAK ? count_in_ms : 0;

        assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, bath), SHEETS);
        assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, bath), SHEETS);
        for (int k = 0; k < SHEETS; k++) {
            const int64_t in_ms = moment(WS_CUE_PIECE_IN, bath, k);
            const int64_t out_ms = moment(WS_CUE_PIECE_OUT, bath, k);

            assert_int_equal(aid_tank_cue(&tank, WS_CUE_PIECE_IN, bath, k)->index, k);
            assert_int_equal(aid_tank_cue(&tank, WS_CUE_PIECE_OUT, bath, k)->index, k);
            assert_int_equal(in_ms, moment(WS_CUE_PIECE_IN, bath, 0) + k * EVERY_MS);
            assert_int_equal(out_ms - in_ms, TIME_MS[bath] + late_ms);
            if (bath < FIXER)
                assert_int_equal(moment(WS_CUE_PIECE_IN, bath + 1, k), out_ms);
        }
    }
}

/* Method: in every tray the ticks lie strictly between the last in and the first due out, 5 s
 * apart, every sixth another one; none is said while sheets go over. */
static void no_tick_while_sheets_go_in_or_out(void **state)
{
    int ticks[WASH] = { 0 };

    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(30, 0));
    for (int i = 0; i < tank.cues; i++) {
        const struct ws_cue *cue = &tank.cue[i];

        if (cue->kind != WS_CUE_SHUFFLE && cue->kind != WS_CUE_PASS)
            continue;
        assert_in_range(cue->bath, PRESOAK, FIXER);
        ticks[cue->bath]++;
        assert_true(cue->due_ms > moment(WS_CUE_PIECE_IN, cue->bath, SHEETS - 1));
        assert_true(cue->due_ms < moment(WS_CUE_POUR_OUT, cue->bath, 0));
        assert_int_equal(cue->due_ms,
                         moment(WS_CUE_PIECE_IN, cue->bath, SHEETS - 1) + ticks[cue->bath] * 5 * S);
        assert_int_equal(cue->kind == WS_CUE_PASS, ticks[cue->bath] % SHEETS == 0);
        assert_int_equal(cue->of, SHEETS);
    }
    /* 0:55 to 1:55, 6:55, 0:55 and 4:55. */
    assert_int_equal(ticks[PRESOAK], 13);
    assert_int_equal(ticks[DEVELOPER], 73);
    assert_int_equal(ticks[STOP], 1);
    assert_int_equal(ticks[FIXER], 49);
}

/* Method: before the first sheet is due out of each tray there is a get-ready, 15 s before it and
 * with that moment; in the stop, where the last sheet is in only at 0:50, at 0:45 all the same. */
static void ready_comes_before_the_first_out(void **state)
{
    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(30, 0));
    for (int bath = PRESOAK; bath <= FIXER; bath++) {
        const struct ws_cue *ready = aid_tank_cue(&tank, WS_CUE_READY_TO_POUR, bath, 0);

        assert_non_null(ready);
        assert_int_equal(aid_tank_count(&tank, WS_CUE_READY_TO_POUR, bath), 1);
        assert_int_equal(ready->value_ms, moment(WS_CUE_POUR_OUT, bath, 0));
        assert_int_equal(ready->due_ms, ready->value_ms - 15 * S);
        assert_true(ready->due_ms <= moment(WS_CUE_PIECE_OUT, bath, 0) - 15 * S);
    }
}

/* ---- from lights out to lights on */

static bool is_open(int64_t at_ms)
{
    return aid_tank_view(&tank, at_ms).film_open;
}

/* Method: the light is allowed when the last sheet, in at 0:50, has been in the fixer for 2:00; it
 * stays dark until it is switched on, and then it is light: in the rest of the fixer, in the wash
 * and for a state made anew from the journal. */
static void light_ends_the_dark_in_the_fixer(void **state)
{
    static struct ws_session folded;
    const struct ws_bath *fixer = &tank.plan.bath[FIXER];
    struct ws_message why = { "" };
    struct ws_view view;
    int64_t light_ms;

    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(12, 0));
    assert_int_equal(tank.session.step, FIXER);
    assert_true(ws_schedule_light(fixer, &tank.session.span, &light_ms));
    assert_int_equal(light_ms, moment(WS_CUE_PIECE_IN, FIXER, SHEETS - 1) + AT(2, 0));
    assert_true(is_open(light_ms + MIN));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, light_ms + MIN), WS_OK);
    assert_false(is_open(light_ms + MIN));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, light_ms + MIN), WS_IGNORED);
    assert_int_equal(ws_session_fold(&folded, &tank.plan, tank.journal, tank.journaled, &why),
                     WS_OK);
    ws_session_view(&folded, &tank.plan, light_ms + MIN, &view);
    assert_false(view.film_open);
    aid_tank_hands(&tank, AT(18, 0));
    assert_int_equal(tank.session.step, WASH);
    assert_false(is_open(AT(18, 0)));
}

/* Method: lights that go out again over the same fixer make it dark, whatever was said before. */
static void dark_again_is_dark(void **state)
{
    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(12, 0));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, AT(12, 1)), WS_OK);
    assert_false(is_open(AT(12, 1)));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_OUT, AT(12, 2)), WS_OK);
    assert_true(is_open(AT(12, 2)));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, AT(12, 3)), WS_OK);
    assert_false(is_open(AT(12, 3)));
}

/* Method: lights out and on again before the first sheet goes in, to look for something: the trays
 * to come are as dark as the process says. */
static void light_before_the_first_sheet_promises_nothing(void **state)
{
    (void)state;
    begin_trays();
    assert_true(is_open(5 * S));
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, 10 * S), WS_OK);
    assert_false(is_open(20 * S));
    assert_int_equal(aid_tank_press(&tank, 30 * S), WS_OK);
    assert_true(is_open(31 * S));
    aid_tank_hands(&tank, AT(4, 0));
    assert_int_equal(tank.session.step, DEVELOPER);
    assert_true(is_open(AT(4, 0)));
}

/* ---- a deep tank */

/* Film on a hanger or in a basket, in one piece: developer, stop and fixer stand open, the wash is
 * in the light. Light after 2:00. */
static void begin_deep_tank(void)
{
    aid_tank_empty(&tank);
    aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(8, 0))->open_film = true;
    aid_tank_bath(&tank, WS_BATH_STOP, AT(1, 0))->open_film = true;
    aid_tank_bath(&tank, WS_BATH_FIXER, AT(6, 0))->open_film = true;
    aid_tank_bath(&tank, WS_BATH_WASH, AT(10, 0));
    aid_tank_cycles(&tank.plan.bath[0], 30 * S, MIN, 10 * S);
    tank.plan.bath[2].light_ms = AT(2, 0);
    aid_tank_begin(&tank);
}

/* Hands go on until that step, looked at every second and a half: dark until then. Gives the
 * moment.
 */
static int64_t dark_until_step(int64_t at_ms, int step)
{
    for (; tank.session.step < step; at_ms += 1500) {
        assert_true(at_ms < AT(30, 0));
        aid_tank_hands(&tank, at_ms);
        assert_true(tank.session.step == step || is_open(at_ms));
    }
    return at_ms;
}

/* Method: nobody says lights out or on: film lies open from the first bath's count to the end of
 * the last open one, and also while it hangs between two, where the stop keeps it waiting; no sheet
 * is called and no tick is heard. */
static void a_deep_tank_is_dark_from_the_first_to_the_last_open_bath(void **state)
{
    int64_t at_ms = AT(1, 0);

    (void)state;
    begin_deep_tank();
    assert_false(is_open(at_ms));
    assert_int_equal(aid_tank_press(&tank, at_ms), WS_OK);
    for (; tank.session.stage != WS_STAGE_DRAINING; at_ms += S) {
        aid_tank_wait(&tank, at_ms);
        assert_true(is_open(at_ms));
    }
    at_ms += 10 * S;
    assert_int_equal(aid_tank_press(&tank, at_ms), WS_OK);
    for (int i = 0; i < 20; i++, at_ms += S) {
        aid_tank_wait(&tank, at_ms);
        assert_int_equal(tank.session.step, 1);
        assert_int_equal(tank.session.stage, WS_STAGE_WAITING);
        assert_true(is_open(at_ms));
    }
    at_ms = dark_until_step(at_ms, 3);
    assert_false(is_open(at_ms));
    aid_tank_hands(&tank, at_ms + AT(12, 0));
    assert_false(is_open(at_ms + AT(12, 0)));
    assert_int_equal(tank.session.stage, WS_STAGE_OVER);
    for (int bath = 0; bath < 4; bath++) {
        assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, bath), 0);
        assert_int_equal(aid_tank_count(&tank, WS_CUE_SHUFFLE, bath), 0);
        assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_OUT, bath), 1);
    }
}

/* Method: the light goes on in the fixer when it may, and no lights out was ever said: it is light
 * from then on, and it was an event that is kept. */
static void a_deep_tank_takes_the_light(void **state)
{
    int64_t light_ms;
    int journaled;

    (void)state;
    begin_deep_tank();
    aid_tank_hands(&tank, AT(10, 30));
    assert_int_equal(tank.session.step, 2);
    assert_true(ws_schedule_light(&tank.plan.bath[2], &tank.session.span, &light_ms));
    assert_int_equal(light_ms, tank.session.span.full_ms + AT(2, 0));
    assert_true(is_open(light_ms));
    journaled = tank.journaled;
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, light_ms), WS_OK);
    assert_int_equal(tank.journaled, journaled + 1);
    assert_false(is_open(light_ms + S));
}

/* Method: a bath is put in after the developer: film lies open there too, and before and after it.
 * After the last open one it is light. */
static void a_bath_put_in_between_is_as_dark(void **state)
{
    struct ws_event event;

    (void)state;
    begin_deep_tank();
    aid_tank_hands(&tank, AT(2, 0));
    event = aid_tank_event(WS_EVENT_INSERT, AT(2, 0));
    event.of = WS_BATH_OTHER;
    event.value_ms = AT(1, 0);
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    assert_int_equal(ws_session_bath_at(&tank.session, 1), WS_BATHS);
    dark_until_step(AT(2, 0), 4);
    aid_tank_hands(&tank, AT(25, 0));
    assert_int_equal(tank.session.step, 4);
    event = aid_tank_event(WS_EVENT_INSERT, AT(25, 0));
    event.of = WS_BATH_WASH;
    event.value_ms = AT(1, 0);
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    assert_false(is_open(AT(25, 0)));
}

static void put_in(int64_t at_ms, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_event event = aid_tank_event(WS_EVENT_INSERT, at_ms);

    event.of = (uint32_t)kind;
    event.value_ms = time_ms;
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
}

/* Method: a rinse of 0:30 is put in between developer and stop. It is one more tray: every sheet
 * comes into it as it leaves the developer and goes on as it leaves it, 10 s apart; it lasts 0:51,
 * until the last is in, and its ticks lie there, if any. Nothing is said twice. */
static void a_bath_put_in_between_trays_has_the_sheets(void **state)
{
    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(4, 0));
    assert_int_equal(tank.session.step, DEVELOPER);
    put_in(AT(4, 0), WS_BATH_WASH, 30 * S);
    assert_int_equal(tank.session.record[WS_BATHS].time_ms, 51 * S);
    aid_tank_hands(&tank, AT(30, 0));
    assert_int_equal(tank.session.step, tank.session.steps);
    for (int k = 0; k < SHEETS; k++) {
        assert_int_equal(moment(WS_CUE_PIECE_IN, WS_BATHS, k), moment(WS_CUE_PIECE_OUT, 1, k));
        assert_int_equal(moment(WS_CUE_PIECE_OUT, 1, k) - moment(WS_CUE_PIECE_IN, 1, k), AT(7, 0));
        assert_int_equal(moment(WS_CUE_PIECE_IN, STOP, k), moment(WS_CUE_PIECE_OUT, WS_BATHS, k));
        assert_true(moment(WS_CUE_PIECE_OUT, WS_BATHS, k) - moment(WS_CUE_PIECE_IN, WS_BATHS, k) >=
                    51 * S);
    }
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, WS_BATHS), SHEETS);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, WS_BATHS), SHEETS);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_SHUFFLE, WS_BATHS), 0);
}

/* Method: the first tray is over and its sheets wait; the press that called the first two of them
 * out is taken back, and a rinse is put in. What is called for then is called for once. */
static void sheets_called_out_stay_out_when_a_bath_is_put_in(void **state)
{
    int64_t at_ms;

    (void)state;
    begin_trays();
    aid_tank_hands(&tank, AT(2, 6)); /* empty, and ready: the developer counts */
    at_ms = moment(WS_CUE_POUR_OUT, PRESOAK, 0) + 5 * S;
    assert_int_equal(tank.session.step, DEVELOPER);
    aid_tank_wait(&tank, at_ms + 15 * S);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, PRESOAK), 2);
    assert_int_equal(aid_tank_undo(&tank, at_ms + 15 * S), WS_OK);
    put_in(at_ms + 16 * S, WS_BATH_WASH, AT(1, 0));
    aid_tank_hands(&tank, AT(40, 0));
    assert_int_equal(tank.session.step, tank.session.steps);
    for (int k = 0; k < SHEETS; k++) {
        assert_int_equal(aid_tank_cue(&tank, WS_CUE_PIECE_OUT, PRESOAK, k)->index, k);
        assert_int_equal(aid_tank_cue(&tank, WS_CUE_PIECE_IN, WS_BATHS, k)->index, k);
        assert_int_equal(aid_tank_cue(&tank, WS_CUE_PIECE_OUT, WS_BATHS, k)->index, k);
    }
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, PRESOAK), SHEETS);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, WS_BATHS), SHEETS);
}

/* Method: the same run under the rules before: the bath put in is poured by hand as it was then,
 * and so is one that follows the last tray under any. */
static void older_runs_and_later_baths_are_poured(void **state)
{
    (void)state;
    begin_trays();
    tank.plan.engine = WS_ENGINE_SHEETS_PUT_IN - 1;
    aid_tank_hands(&tank, AT(4, 0));
    put_in(AT(4, 0), WS_BATH_WASH, 30 * S);
    aid_tank_hands(&tank, AT(30, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, WS_BATHS), 0);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_IN, WS_BATHS), 1);
    assert_int_equal(tank.session.record[WS_BATHS].time_ms, 30 * S);

    begin_trays();
    aid_tank_hands(&tank, AT(12, 0));
    assert_int_equal(tank.session.step, FIXER);
    put_in(AT(12, 0), WS_BATH_WASH_AID, AT(2, 0));
    aid_tank_hands(&tank, AT(30, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, WS_BATHS), 0);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, FIXER), SHEETS);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_POUR_IN, WS_BATHS), 1);
}

/* ---- loading */

/* Method: loading is a step with open film, then the lid is on: dark while film is wound on, light
 * from the press that says it is in. */
static void loading_is_dark_until_the_lid_is_on(void **state)
{
    int64_t at_ms = AT(1, 0);

    (void)state;
    aid_tank_empty(&tank);
    aid_tank_bath(&tank, WS_BATH_OTHER, AT(5, 0))->open_film = true;
    aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(8, 0));
    aid_tank_begin(&tank);
    assert_false(is_open(at_ms));
    assert_int_equal(aid_tank_press(&tank, at_ms), WS_OK);
    for (; at_ms < AT(9, 0); at_ms += 7 * S)
        assert_true(is_open(at_ms));
    aid_tank_wait(&tank, at_ms);
    assert_int_equal(aid_tank_press(&tank, at_ms), WS_OK);
    assert_int_equal(tank.session.step, 1);
    assert_false(is_open(at_ms));
    aid_tank_hands(&tank, AT(12, 0));
    assert_false(is_open(AT(12, 0)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_sheet_has_its_time_in_every_bath),
        cmocka_unit_test(no_tick_while_sheets_go_in_or_out),
        cmocka_unit_test(ready_comes_before_the_first_out),
        cmocka_unit_test(light_ends_the_dark_in_the_fixer),
        cmocka_unit_test(dark_again_is_dark),
        cmocka_unit_test(light_before_the_first_sheet_promises_nothing),
        cmocka_unit_test(a_deep_tank_is_dark_from_the_first_to_the_last_open_bath),
        cmocka_unit_test(a_deep_tank_takes_the_light),
        cmocka_unit_test(a_bath_put_in_between_is_as_dark),
        cmocka_unit_test(a_bath_put_in_between_trays_has_the_sheets),
        cmocka_unit_test(sheets_called_out_stay_out_when_a_bath_is_put_in),
        cmocka_unit_test(older_runs_and_later_baths_are_poured),
        cmocka_unit_test(loading_is_dark_until_the_lid_is_on),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
