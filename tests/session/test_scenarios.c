/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole evenings replayed: the doorbell, too little stock, the cold cellar, six sheets in the dark,
 * the power cut. Their times and volumes are inputs of the tests, not advice.
 *
 * In all of them, if not said otherwise: the clock starts when the tank is full, 15 s to pour in,
 * 10 s to drain inside the time, 30 s of first agitation, then 10 s each full minute. */
#include "aid.h"
#include "aid_tank.h"

#include "wetside/calc/setup.h"
#include "wetside/session/timebase.h"

static struct aid_tank tank, tank_b;

/* First liquid comes 5 s after the press that begins, the tank is full 15 s later. */
enum { CLOCK_MS = 20000 };

static void usual_agitation(struct ws_bath *bath)
{
    aid_tank_cycles(bath, 30 * S, MIN, 10 * S);
}

/* ---- the doorbell */

static void one_roll(void)
{
    aid_tank_empty(&tank);
    usual_agitation(aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(9, 30)));
    aid_tank_bath(&tank, WS_BATH_STOP, 30 * S);
    aid_tank_begin(&tank);
    assert_int_equal(aid_tank_press(&tank, 0), WS_OK);
}

/* The hands confirm each cycle 2 s after it was called, but for the two they were away for. */
static void confirm_but_five_and_six(void)
{
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + 2 * S), WS_OK);
    for (int minute = 1; minute <= 9; minute++) {
        if (minute == 5)
            assert_int_equal(aid_tank_send(&tank, WS_EVENT_AWAY, CLOCK_MS + AT(4, 10)), WS_OK);
        if (minute == 7)
            assert_int_equal(aid_tank_send(&tank, WS_EVENT_BACK, CLOCK_MS + AT(6, 20)), WS_OK);
        if (minute != 5 && minute != 6)
            assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(minute, 2)), WS_OK);
    }
}

/* Method: 9:30 with hands off from 4:10 to 6:20: nine cycles at their minutes, those at 5:00 and
 * 6:00 asked for and not confirmed, none made up for. */
static void the_doorbell_costs_two_cycles(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];

    (void)state;
    one_roll();
    confirm_but_five_and_six();
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 25));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_AGITATE, 0), 10);
    for (int k = 0; k <= 9; k++) {
        const struct ws_cue *cue = aid_tank_cue(&tank, WS_CUE_AGITATE, 0, k);

        assert_int_equal(cue->index, k);
        assert_int_equal(cue->due_ms, CLOCK_MS + AT(k, 0));
        assert_int_equal(cue->until_ms, CLOCK_MS + AT(k, k == 0 ? 30 : 10));
        assert_true(aid_tank_asked(&tank, 0, k));
        assert_int_equal(aid_tank_confirmed(&tank, 0, k), k != 5 && k != 6);
    }
    assert_int_equal(record->asked, 10);
    assert_int_equal(record->confirmed, 8);
}

/* Method: the end of the same run: get-ready at 9:05 inside the cycle of 9:00, pour at 9:20, empty
 * by 9:30; the doorbell moved nothing. */
static void the_doorbell_moves_no_end(void **state)
{
    const struct ws_bath_record *record = &tank.session.record[0];
    const struct ws_cue *cue;
    struct ws_view view;

    (void)state;
    one_roll();
    confirm_but_five_and_six();
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 5));
    cue = aid_tank_just_said(&tank, WS_CUE_READY_TO_POUR);
    assert_non_null(cue);
    assert_int_equal(cue->due_ms, CLOCK_MS + AT(9, 5));
    assert_int_equal(cue->until_ms, CLOCK_MS + AT(9, 20));
    assert_null(aid_tank_just_said(&tank, WS_CUE_AGITATE));
    /* Both are true at once; the view still names the agitation, and POUR OUT next. */
    view = aid_tank_view(&tank, CLOCK_MS + AT(9, 6));
    assert_int_equal(view.word, WS_WORD_AGITATE);
    assert_int_equal(view.left_ms, 14 * S);
    aid_tank_wait(&tank, CLOCK_MS + AT(9, 20));
    cue = aid_tank_just_said(&tank, WS_CUE_POUR_OUT);
    assert_non_null(cue);
    assert_int_equal(cue->due_ms, CLOCK_MS + AT(9, 20));
    assert_true(cue->wants_hand);
    assert_int_equal(aid_tank_press(&tank, CLOCK_MS + AT(9, 29)), WS_OK);
    assert_int_equal(record->empty_ms, CLOCK_MS + AT(9, 29));
    assert_int_equal(record->pour_out_ms, CLOCK_MS + AT(9, 20));
    assert_int_equal(record->time_ms, AT(9, 30));
    assert_false(record->moved);
    assert_false(record->left_early);
    assert_true(record->full_assumed);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OVERTIME, 0), 0);
    assert_int_equal(tank.session.step, 1);
}

/* ---- too little stock for two rolls */

static const struct ws_preflight *line_with(const struct ws_preflight *line, int lines,
                                            const char *text)
{
    for (int i = 0; i < lines; i++)
        if (strstr(line[i].text, text) != NULL)
            return &line[i];
    return NULL;
}

/* Method: two rolls in 580 ml at 1+3 with a minimum of 100 ml a roll: the pre-flight shows 145 ml
 * of stock, says 72.5 a roll with a way out, and wants a reason before it goes on. */
static void too_little_stock_wants_a_reason(void **state)
{
    static struct ws_process process;
    static struct ws_setup setup;
    static struct ws_plan plan;
    struct ws_preflight line[WS_PREFLIGHT_LINES];
    const struct ws_preflight *found;
    struct ws_message why = { "" };
    int lines;

    (void)state;
    memset(&process, 0, sizeof process);
    snprintf(process.name, sizeof process.name, "Tarn 125");
    process.baths = 1;
    ws_bath_default(WS_BATH_DEVELOPER, &process.bath[0]);
    process.bath[0].points = 1;
    process.bath[0].point[0] = (struct ws_point){ 20, AT(9, 30), 30 * S };
    process.bath[0].dilution = (struct ws_dilution){ { 1, 3 }, 2 };
    usual_agitation(&process.bath[0]);
    ws_setup_default(&setup, &process);
    setup.fill_ml = 580;
    setup.places = 2;
    setup.place[0].rolls = setup.place[1].rolls = 1;
    snprintf(setup.bottle[0][0].name, WS_NAME, "MQB-014");
    setup.bottle[0][0].left_ml = 740;
    setup.bottle[0][0].least_ml = 100;
    setup.bottle[0][0].age_days = 11;
    setup.bath_c[0] = 20;
    if (ws_setup_plan(&setup, &plan, NULL, &why) != WS_OK)
        fail_msg("%s", why.text);
    ws_assert_near(plan.bath[0].part[0].ml, 145, 1e-9);
    ws_assert_near(plan.bath[0].part[1].ml, 435, 1e-9);
    lines = ws_setup_preflight(&setup, &plan, NULL, line);
    found = line_with(line, lines, "72.5");
    assert_non_null(found);
    assert_int_equal(found->level, WS_PREFLIGHT_WARN);
    assert_true(found->wants_reason);
    assert_non_null(line_with(line, lines, "1+1"));
    /* With enough for each roll nothing of the kind is said. */
    setup.fill_ml = 800;
    assert_int_equal(ws_setup_plan(&setup, &plan, NULL, &why), WS_OK);
    lines = ws_setup_preflight(&setup, &plan, NULL, line);
    for (int i = 0; i < lines; i++)
        assert_false(line[i].wants_reason);
}

/* ---- the cold cellar */

/* 11:00 at 20.0 C, each degree colder e^0.08 times as long, as a table of whole degrees. */
static void cold_cellar(bool follow)
{
    struct ws_bath *bath;

    aid_tank_empty(&tank);
    bath = aid_tank_bath(&tank, WS_BATH_DEVELOPER, AT(11, 0));
    usual_agitation(bath);
    bath->start_c = 20;
    for (int c = 14; c <= 24; c++)
        bath->point[bath->points++] =
            (struct ws_point){ c, (int64_t)(660000 * exp(0.08 * (20 - c)) + 0.5), 1000 };
    tank.plan.room_c = NAN; /* the last reading is held */
    tank.plan.follow = follow;
    aid_tank_begin(&tank);
    assert_int_equal(aid_tank_press(&tank, 0), WS_OK);
    assert_int_equal(aid_tank_read(&tank, CLOCK_MS, 20.0), WS_OK);
    assert_int_equal(aid_tank_read(&tank, CLOCK_MS + AT(6, 0), 18.6), WS_OK);
    assert_int_equal(aid_tank_read(&tank, CLOCK_MS + AT(10, 0), 18.2), WS_OK);
}

/* Method: the readings are taken and the offer is left lying: 12:05 is offered, the end stays at
 * 11:00, when 10:04 of 11:00 are developed. The integral was done by hand. */
static void the_cold_cellar_offers_and_does_nothing(void **state)
{
    const struct ws_cue *offer;
    struct ws_view view;

    (void)state;
    cold_cellar(false);
    offer = aid_tank_just_said(&tank, WS_CUE_OFFER);
    assert_non_null(offer);
    ws_assert_near((double)offer->value_ms, (double)AT(12, 5), 5000);
    assert_int_equal(offer->index, tank.session.sequence);
    view = aid_tank_view(&tank, CLOCK_MS + AT(11, 0));
    ws_assert_near(view.fraction, 604.0 / 660, 0.001);
    aid_tank_wait(&tank, CLOCK_MS + AT(10, 50));
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_POUR_OUT));
    assert_false(tank.session.record[0].moved);
    assert_int_equal(tank.session.record[0].readings, 3);
    ws_assert_near(tank.session.record[0].low_c, 18.2, 1e-9);
    ws_assert_near(tank.session.record[0].high_c, 20.0, 1e-9);
}

/* Method: the same, the offer taken: the end is where it was offered and development is complete
 * there. Refused: the end stays, and the offer can't be taken any more. */
static void the_cold_cellar_takes_or_refuses(void **state)
{
    struct ws_event event = aid_tank_event(WS_EVENT_TAKE, CLOCK_MS + AT(10, 5));
    struct ws_view view;

    (void)state;
    cold_cellar(false);
    event.of = tank.session.offer;
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    assert_true(tank.session.record[0].moved);
    ws_assert_near((double)tank.session.span.pour_out_ms, (double)(CLOCK_MS + AT(11, 55)), 5000);
    view = aid_tank_view(&tank, tank.session.span.end_ms);
    ws_assert_near(view.fraction, 1, 0.001);

    cold_cellar(false);
    event.kind = WS_EVENT_REFUSE;
    event.of = tank.session.offer;
    assert_int_equal(aid_tank_take(&tank, event), WS_OK);
    event.kind = WS_EVENT_TAKE;
    event.at_ms += S;
    assert_int_equal(aid_tank_take(&tank, event), WS_IGNORED);
    assert_int_equal(tank.session.span.pour_out_ms, CLOCK_MS + AT(10, 50));
}

/* Method: a run that is set to follow moves the end by itself. */
static void the_cold_cellar_follows_when_set_to(void **state)
{
    (void)state;
    cold_cellar(true);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OFFER, 0), 0);
    ws_assert_near((double)tank.session.record[0].time_ms, (double)AT(12, 5), 5000);
}

/* ---- six sheets in the dark */

static struct ws_bath *tray(enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = aid_tank_bath(&tank, kind, time_ms);

    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->pour_in_ms = bath->drain_ms = bath->count_in_ms = 0;
    bath->open_film = true;
    bath->pieces = 6;
    bath->piece_every_ms = 10 * S;
    bath->agitation.rhythm = WS_SHUFFLE;
    bath->agitation.every_ms = 5 * S;
    return bath;
}

/* Pre-soak 2:00, developer 7:00, stop; lights out before. Returns the developer's zero. */
static int64_t six_sheets(void)
{
    aid_tank_empty(&tank);
    tray(WS_BATH_PRESOAK, AT(2, 0));
    tray(WS_BATH_DEVELOPER, AT(7, 0));
    tray(WS_BATH_STOP, AT(2, 0));
    aid_tank_begin(&tank);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_OUT, 0), WS_OK);
    aid_tank_hands(&tank, AT(3, 0));
    assert_int_equal(tank.session.step, 1);
    return tank.session.span.clock_ms;
}

/* Method: sheet 1 in at 0:00 and out at 7:00, sheet 6 in at 0:50 and out at 7:50, those between
 * every 10 s; get-ready for the first 15 s before it. */
static void sheets_go_in_and_out_in_order(void **state)
{
    const int64_t zero_ms = six_sheets();

    (void)state;
    aid_tank_wait(&tank, zero_ms + AT(8, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_IN, 1), 6);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PIECE_OUT, 1), 6);
    for (int k = 0; k < 6; k++) {
        const struct ws_cue *in = aid_tank_cue(&tank, WS_CUE_PIECE_IN, 1, k);
        const struct ws_cue *out = aid_tank_cue(&tank, WS_CUE_PIECE_OUT, 1, k);

        assert_int_equal(in->index, k);
        assert_int_equal(in->of, 6);
        assert_int_equal(in->due_ms, zero_ms + k * 10 * S);
        assert_int_equal(out->index, k);
        assert_int_equal(out->of, 6);
        assert_int_equal(out->due_ms, zero_ms + AT(7, 0) + k * 10 * S);
    }
    assert_int_equal(aid_tank_cue(&tank, WS_CUE_READY_TO_POUR, 1, 0)->due_ms, zero_ms + AT(6, 45));
}

/* Method: a tick each 5 s from 0:55 to 6:55, another one each full pass of six. */
static void shuffles_tick_between(void **state)
{
    const int64_t zero_ms = six_sheets();
    int ticks = 0;

    (void)state;
    aid_tank_wait(&tank, zero_ms + AT(8, 0));
    for (int i = 0; i < tank.cues; i++) {
        const struct ws_cue *cue = &tank.cue[i];

        if (cue->bath != 1 || (cue->kind != WS_CUE_SHUFFLE && cue->kind != WS_CUE_PASS))
            continue;
        ticks++;
        assert_int_equal(cue->due_ms, zero_ms + AT(0, 50) + ticks * 5 * S);
        assert_int_equal(cue->kind == WS_CUE_PASS, ticks % 6 == 0);
    }
    assert_int_equal(ticks, 73);
    assert_int_equal(aid_tank_count(&tank, WS_CUE_PASS, 1), 12);
}

/* Method: a reading far off at 3:20, strokes of the key and an absence while the film lies open:
 * the film stays open, nothing is offered, no end moves, and the remaining time is there to be
 * said. */
static void nothing_lights_up_over_open_film(void **state)
{
    const int64_t zero_ms = six_sheets();
    struct ws_view view;

    (void)state;
    assert_true(tank.session.open_film);
    aid_tank_read(&tank, zero_ms + AT(3, 20), 27);
    aid_tank_press(&tank, zero_ms + AT(3, 21));
    aid_tank_press(&tank, zero_ms + AT(3, 25));
    aid_tank_send(&tank, WS_EVENT_AWAY, zero_ms + AT(3, 30));
    aid_tank_send(&tank, WS_EVENT_BACK, zero_ms + AT(4, 30));
    view = aid_tank_view(&tank, zero_ms + AT(4, 40));
    assert_int_equal(view.left_ms, AT(2, 20));
    aid_tank_wait(&tank, zero_ms + AT(7, 0));
    assert_int_equal(aid_tank_count(&tank, WS_CUE_OFFER, 1), 0);
    assert_non_null(aid_tank_just_said(&tank, WS_CUE_POUR_OUT));
    assert_true(tank.session.open_film);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_LIGHTS_ON, zero_ms + AT(9, 0)), WS_OK);
    assert_false(tank.session.open_film);
}

/* ---- the power cut */

static struct ws_stamp stamp_of(unsigned char boot, int64_t since_evening_ms)
{
    struct ws_stamp stamp;

    memset(&stamp, 0, sizeof stamp);
    stamp.boot.byte[0] = boot;
    /* After another start of the machine the boot clock begins anew. */
    stamp.boot_ns = (boot == 1 ? 90000 + since_evening_ms : 20000) * 1000000;
    stamp.wall_ns = (INT64_C(1790000000000) + since_evening_ms) * 1000000;
    return stamp;
}

/* Brings `t` to the cut: a developer of `time_ms`, its cycles confirmed until the clock of the bath
 * says `cut_ms`. */
static void until_the_cut(struct aid_tank *t, int64_t time_ms, int64_t cut_ms)
{
    aid_tank_empty(t);
    usual_agitation(aid_tank_bath(t, WS_BATH_DEVELOPER, time_ms));
    aid_tank_bath(t, WS_BATH_STOP, 30 * S);
    aid_tank_bath(t, WS_BATH_FIXER, AT(5, 0));
    aid_tank_begin(t);
    assert_int_equal(aid_tank_press(t, 0), WS_OK);
    aid_tank_wait(t, CLOCK_MS);
    for (int64_t minute = 0; minute * MIN + 2 * S <= cut_ms; minute++)
        assert_int_equal(aid_tank_press(t, CLOCK_MS + minute * MIN + 2 * S), WS_OK);
    aid_tank_wait(t, CLOCK_MS + cut_ms);
}

/* A new process: what the journal gives back, and the run time at `stamp` by the last event. */
static int64_t back_again(struct aid_tank *t, int64_t evening_ms, const struct ws_stamp *stamp,
                          double minutes_away, bool *estimated)
{
    const struct ws_event *last = &t->journal[t->journaled - 1];
    struct ws_anchor anchor = { stamp_of(1, evening_ms + last->at_ms), last->at_ms };
    struct ws_message why = { "" };

    memset(&t->session, 0xA5, sizeof t->session);
    assert_int_equal(ws_session_fold(&t->session, &t->plan, t->journal, t->journaled, &why), WS_OK);
    t->cues = 0;
    return ws_timebase_run_ms(&anchor, stamp, minutes_away, estimated);
}

/* Method: A (8:00) and B (11:00, its clock 3:30 later) at A 5:12 when the mains fail; the machine
 * is back after 2:40 with a good clock. Both are rebuilt from their journals, then one tick to now.
 */
static void the_power_cut_goes_on_as_it_really_is(void **state)
{
    const int64_t b_begins_ms = AT(3, 30), back_ms = CLOCK_MS + AT(5, 12) + AT(2, 40);
    const struct ws_stamp now = stamp_of(2, back_ms);
    bool estimated;
    int64_t at_ms;

    (void)state;
    until_the_cut(&tank, AT(8, 0), AT(5, 12));
    until_the_cut(&tank_b, AT(11, 0), AT(1, 42));

    at_ms = back_again(&tank, 0, &now, -1, &estimated);
    assert_true(estimated);
    assert_int_equal(at_ms - CLOCK_MS, AT(7, 52));
    aid_tank_wait(&tank, at_ms);
    for (int k = 0; k <= 7; k++) {
        assert_true(aid_tank_asked(&tank, 0, k));
        assert_int_equal(aid_tank_confirmed(&tank, 0, k), k <= 5);
    }

    at_ms = back_again(&tank_b, b_begins_ms, &now, -1, &estimated);
    assert_int_equal(at_ms - CLOCK_MS, AT(4, 22));
    aid_tank_wait(&tank_b, at_ms);
    for (int k = 0; k <= 4; k++) {
        assert_true(aid_tank_asked(&tank_b, 0, k));
        assert_int_equal(aid_tank_confirmed(&tank_b, 0, k), k <= 1);
    }
    assert_int_equal(tank_b.session.stage, WS_STAGE_IN_BATH);
    assert_int_equal(tank_b.session.record[0].asked, 5);
}

/* Method: what A says on its return: the cycles that passed are only shown, POUR OUT was due at
 * 7:50 and is due now, however long the machine was away. */
static void after_the_power_cut_pour_now(void **state)
{
    struct ws_view view;

    (void)state;
    for (int64_t away_ms = AT(2, 40); away_ms <= AT(5, 40); away_ms += AT(1, 0)) {
        const int64_t back_ms = CLOCK_MS + AT(5, 12) + away_ms;
        const struct ws_stamp now = stamp_of(2, back_ms);
        const struct ws_cue *cue;
        bool estimated;

        until_the_cut(&tank, AT(8, 0), AT(5, 12));
        aid_tank_wait(&tank, back_again(&tank, 0, &now, -1, &estimated));
        cue = aid_tank_cue(&tank, WS_CUE_POUR_OUT, 0, 0);
        assert_non_null(cue);
        assert_int_equal(cue->due_ms, CLOCK_MS + AT(7, 50));
        assert_false(cue->late);
        assert_true(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 0)->late);
        assert_true(aid_tank_cue(&tank, WS_CUE_AGITATE, 0, 1)->late);
        view = aid_tank_view(&tank, back_ms);
        assert_int_equal(view.word, WS_WORD_POUR_OUT);
        assert_int_equal(view.over_ms, away_ms - AT(2, 38));
        assert_int_equal(view.in_bath_ms, AT(5, 12) + away_ms);
    }
}

/* Method: the clock can't be trusted after the cut: the answer in minutes is taken, and what comes
 * later is marked as estimated. */
static void after_the_power_cut_without_a_clock(void **state)
{
    const struct ws_event *last;
    struct ws_stamp now = stamp_of(2, -99 * MIN);
    struct ws_anchor anchor;
    bool estimated = false;
    int64_t at_ms;

    (void)state;
    until_the_cut(&tank, AT(8, 0), AT(5, 12));
    last = &tank.journal[tank.journaled - 1];
    anchor = (struct ws_anchor){ stamp_of(1, last->at_ms), last->at_ms };
    assert_false(ws_timebase_wall_plausible(&anchor, &now));
    at_ms = back_again(&tank, 0, &now, 3, &estimated);
    assert_true(estimated);
    assert_int_equal(at_ms, last->at_ms + 3 * MIN);
    assert_false(tank.session.estimated);
    assert_int_equal(aid_tank_send(&tank, WS_EVENT_TIME_LOST, at_ms), WS_OK);
    assert_true(tank.session.estimated);
    assert_int_equal(tank.session.stage, WS_STAGE_DRAINING); /* 5:02 and 3:00: past 7:50 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_doorbell_costs_two_cycles),
        cmocka_unit_test(the_doorbell_moves_no_end),
        cmocka_unit_test(too_little_stock_wants_a_reason),
        cmocka_unit_test(the_cold_cellar_offers_and_does_nothing),
        cmocka_unit_test(the_cold_cellar_takes_or_refuses),
        cmocka_unit_test(the_cold_cellar_follows_when_set_to),
        cmocka_unit_test(sheets_go_in_and_out_in_order),
        cmocka_unit_test(shuffles_tick_between),
        cmocka_unit_test(nothing_lights_up_over_open_film),
        cmocka_unit_test(the_power_cut_goes_on_as_it_really_is),
        cmocka_unit_test(after_the_power_cut_pour_now),
        cmocka_unit_test(after_the_power_cut_without_a_clock),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
