/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run on a fast clock, and the events file that changes it. */
#include "aid.h"

#include <stdlib.h>

#include "plans.h"
#include "wetside/calc/units.h"
#include "wetside/drive/rehearse.h"

static void play(const struct ws_plan *plan, const char *csv, struct ws_rehearsal *out)
{
    struct ws_rehearse_event *event = NULL;
    struct ws_message why = { "" };
    int events = 0;

    if (csv != NULL)
        assert_int_equal(ws_rehearse_read(csv, strlen(csv), &event, &events, &why), WS_OK);
    if (ws_rehearse(plan, event, events, out, &why) != WS_OK)
        fail_msg("%s", why.text);
    free(event);
}

/* The nth cue (0 up) of a kind in a bath; null: none. */
static const struct ws_rehearse_line *find(const struct ws_rehearsal *out, enum ws_cue_kind kind,
                                           int bath, int nth)
{
    for (int i = 0; i < out->lines; i++)
        if (out->line[i].cue.kind == kind && out->line[i].cue.bath == bath && nth-- == 0)
            return &out->line[i];
    return NULL;
}

static int64_t t_of(const struct ws_rehearsal *out, enum ws_cue_kind kind, int bath, int nth)
{
    const struct ws_rehearse_line *line = find(out, kind, bath, nth);

    assert_non_null(line);
    return line->t_ms;
}

static int count(const struct ws_rehearsal *out, enum ws_cue_kind kind, int bath)
{
    int n = 0;

    while (find(out, kind, bath, n) != NULL)
        n++;
    return n;
}

/* Method: one roll by its schedule alone. Count-in 5 s and pour-in 15 s before the clock; cycles at
 * each full minute; POUR OUT ten seconds before the end; hands empty the tank at the end and pour
 * at once. */
static void test_in_time(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, NULL, &out);
    assert_true(out.zero_ms == 20 * SEC);
    assert_true(t_of(&out, WS_CUE_GET_READY, 0, 0) == -20 * SEC);
    assert_true(t_of(&out, WS_CUE_POUR_IN, 0, 0) == -15 * SEC);
    assert_true(t_of(&out, WS_CUE_AGITATE, 0, 0) == 0);
    for (int i = 1; i <= 9; i++)
        assert_true(t_of(&out, WS_CUE_AGITATE, 0, i) == i * MIN);
    assert_int_equal(count(&out, WS_CUE_AGITATE, 0), 10);
    assert_true(t_of(&out, WS_CUE_READY_TO_POUR, 0, 0) == 9 * MIN + 5 * SEC);
    assert_true(t_of(&out, WS_CUE_POUR_OUT, 0, 0) == 9 * MIN + 20 * SEC);
    assert_int_equal(count(&out, WS_CUE_OVERTIME, 0), 0);
    assert_true(t_of(&out, WS_CUE_POUR_IN, 1, 0) == 9 * MIN + 30 * SEC);
    /* Poured in 15 s, 30 s in the stop; 15 s again, 5 min in the fixer. */
    assert_true(t_of(&out, WS_CUE_DONE, 2, 0) == (9 * 60 + 30 + 45 + 15 + 300) * SEC);
    for (int i = 0; i < out.lines; i++) {
        assert_int_equal(out.line[i].confirmed, out.line[i].cue.kind == WS_CUE_AGITATE);
        assert_false(out.line[i].cue.late);
        if (i > 0)
            assert_true(out.line[i].t_ms >= out.line[i - 1].t_ms);
    }
    assert_int_equal(out.session.stage, WS_STAGE_OVER);
    ws_rehearsal_free(&out);
}

/* Method: hands off from 4:10 to 6:20. The cycles at 5:00 and 6:00 stay unconfirmed, all others are
 * confirmed, nothing is made up for and the end is not moved. */
static void test_the_doorbell(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "t,event,value\n250,away,\n380,back,\n", &out);
    for (int i = 0; i <= 9; i++) {
        const struct ws_rehearse_line *line = find(&out, WS_CUE_AGITATE, 0, i);

        assert_non_null(line);
        assert_true(line->t_ms == i * MIN);
        assert_int_equal(line->confirmed, i != 5 && i != 6);
    }
    assert_int_equal(count(&out, WS_CUE_AGITATE, 0), 10);
    assert_true(t_of(&out, WS_CUE_POUR_OUT, 0, 0) == 9 * MIN + 20 * SEC);
    assert_int_equal(out.session.record[0].confirmed, 8);
    ws_rehearsal_free(&out);
}

/* Method: back in the middle of a cycle, hands do it, late as it is; back after it, they don't. */
static void test_back_within_a_cycle(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "290,away\n304,back\n350,away\n371,back\n", &out);
    assert_true(find(&out, WS_CUE_AGITATE, 0, 5)->confirmed);
    assert_false(find(&out, WS_CUE_AGITATE, 0, 6)->confirmed);
    assert_true(find(&out, WS_CUE_AGITATE, 0, 7)->confirmed);
    ws_rehearsal_free(&out);
}

/* Method: away for good. POUR OUT, then OVERTIME, and the rehearsal ends there: nobody would press
 * any more. */
static void test_away_for_good(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "9:00,away", &out);
    assert_true(out.line[out.lines - 1].cue.kind == WS_CUE_OVERTIME);
    assert_int_equal(count(&out, WS_CUE_POUR_OUT, 0), 1);
    assert_int_equal(count(&out, WS_CUE_POUR_IN, 1), 0);
    assert_int_equal(out.session.stage, WS_STAGE_DRAINING);
    ws_rehearsal_free(&out);
}

/* Method: once there is a press in the events only those press, from the first clock on; what is
 * before is done in time, so the clock starts where it should. The empty press comes 12 s late, so
 * OVERTIME was said. */
static void test_pressed_by_events(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "60,hand\n582,hand\n585,hand\n", &out);
    assert_true(out.zero_ms == 20 * SEC);
    for (int i = 0; i <= 9; i++)
        assert_int_equal(find(&out, WS_CUE_AGITATE, 0, i)->confirmed, i == 1);
    assert_true(out.session.record[0].empty_ms == out.zero_ms + 582 * SEC);
    assert_true(out.session.record[1].first_liquid_ms == out.zero_ms + 585 * SEC);
    assert_true(out.session.record[1].gap_ms == 3 * SEC);
    assert_int_equal(count(&out, WS_CUE_OVERTIME, 0), 1);
    assert_int_equal(out.session.stage, WS_STAGE_DRAINING);
    ws_rehearsal_free(&out);
}

/* Method: presses before the first clock are given too: one 18 s before it would start in time, and
 * one that says full 12 s after first liquid. Then zero is where the presses put it. */
static void test_pressed_before_the_clock(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "-18,hand\n-1,hand\n", &out);
    assert_true(out.zero_ms == 19 * SEC);
    assert_true(t_of(&out, WS_CUE_GET_READY, 0, 0) == -19 * SEC);
    assert_true(t_of(&out, WS_CUE_POUR_IN, 0, 0) == -12 * SEC);
    assert_false(out.session.record[0].full_assumed);
    assert_true(t_of(&out, WS_CUE_AGITATE, 0, 0) == 0);
    ws_rehearsal_free(&out);
}

/* Method: a pour that is undone and made again. The agitation asked for in the first attempt was
 * not done, though the second attempt's of the same number was. */
static void test_second_attempt(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;
    const struct ws_rehearse_line *line;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "-18,hand\n5,undo\n10,hand\n40,hand\n", &out);
    line = find(&out, WS_CUE_AGITATE, 0, 0);
    assert_true(line != NULL && line->cue.attempt == 0 && line->cue.index == 0);
    assert_false(line->confirmed);
    line = find(&out, WS_CUE_AGITATE, 0, 1);
    assert_true(line != NULL && line->cue.attempt == 1 && line->cue.index == 0);
    assert_true(line->confirmed);
    ws_rehearsal_free(&out);
}

/* Method: a moment of first liquid counts from the first bath's clock, as all moments do. */
static void test_start_set(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "-20,start_set,30\n", &out);
    assert_true(out.session.record[0].first_liquid_ms == 50 * SEC);
    ws_rehearsal_free(&out);
}

static uint64_t draw(uint64_t *seed, uint64_t below)
{
    *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (*seed >> 33) % below;
}

/* Method: random plans of every kind of bath and agitation, some with sheets (fixed seed). Hands in
 * time bring each to its end, in order, with every agitation confirmed that they could confirm. */
static void test_any_plan_ends(void **state)
{
    uint64_t seed = 20260307;
    int played = 0;

    (void)state;
    for (int round = 0; round < 2000; round++) {
        struct ws_rehearsal out;
        struct ws_plan plan;
        int baths = 1 + (int)draw(&seed, 6), pieces = draw(&seed, 3) == 0 ? 4 : 0;

        ws_plan_default(&plan);
        for (int i = 0; i < baths; i++) {
            struct ws_bath *bath = &plan.bath[i];

            plan_bath(&plan, (enum ws_bath_kind)draw(&seed, WS_BATH_KINDS),
                      (int64_t)(40 + draw(&seed, 2400)) * SEC);
            bath->count_in_ms = (int64_t)draw(&seed, 2) * 5 * SEC;
            bath->clock_from = (enum ws_clock_from)draw(&seed, 2);
            bath->drain = (enum ws_drain)draw(&seed, 2);
            bath->agitation.rhythm = (enum ws_rhythm)draw(&seed, WS_SHUFFLE);
            bath->agitation.inversions = (int)draw(&seed, 5);
            bath->agitation.moments = 2;
            bath->agitation.moment_ms[0] = 20 * SEC;
            bath->agitation.moment_ms[1] = 35 * SEC;
            bath->pieces = pieces;
            bath->piece_every_ms = 5 * SEC;
            if (pieces > 0)
                bath->agitation =
                    (struct ws_agitation){ .rhythm = WS_SHUFFLE, .every_ms = 5 * SEC };
        }
        if (ws_rehearse(&plan, NULL, 0, &out, NULL) != WS_OK)
            continue; /* refused by its check: another test's business */
        played++;
        assert_int_equal(out.session.stage, WS_STAGE_OVER);
        assert_int_equal(out.line[out.lines - 1].cue.kind, WS_CUE_DONE);
        for (int i = 0; i < baths; i++)
            assert_int_equal(out.session.record[i].asked, out.session.record[i].confirmed);
        for (int i = 1; i < out.lines; i++)
            assert_true(out.line[i].t_ms >= out.line[i - 1].t_ms);
        ws_rehearsal_free(&out);
    }
    assert_true(played > 1000);
}

/* Method: a stroke within 0.8 s of the one before is no press, as at the sink: the second stroke
 * does not pour the stop. */
static void test_a_held_foot(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "570,hand\n570.5,hand\n571.2,hand\n", &out);
    assert_int_equal(out.session.stage, WS_STAGE_WAITING);
    assert_int_equal(out.session.step, 1);
    ws_rehearsal_free(&out);
}

/* Method: a minute more for the fixer, a second stop put in, a bath ended early, all from a file
 * out of order. */
static void test_what_changes_a_run(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "900,leave\n 700 , end_set , 6:00 \n30,insert,stop 0:20\n\n", &out);
    assert_int_equal(out.session.steps, 4);
    assert_int_equal(ws_session_bath_at(&out.session, 1), WS_BATHS);
    assert_int_equal(out.session.record[2].left_early, true);
    assert_true(out.session.record[2].time_ms <= 6 * MIN);
    assert_int_equal(out.session.stage, WS_STAGE_OVER);
    ws_rehearsal_free(&out);
}

/* Method: an event before hands in time would begin makes them wait: zero is later by as much. */
static void test_an_early_event(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;

    (void)state;
    plan_one_roll(&plan);
    play(&plan, "-60,lights_out\n", &out);
    assert_true(out.zero_ms == 60 * SEC);
    assert_true(t_of(&out, WS_CUE_GET_READY, 0, 0) == -60 * SEC);
    assert_true(t_of(&out, WS_CUE_POUR_IN, 0, 0) == -15 * SEC);
    ws_rehearsal_free(&out);
}

static void reads_t(const char *text, int64_t want_ms)
{
    struct ws_rehearse_event *event = NULL;
    char csv[64];
    int events = 0;

    snprintf(csv, sizeof csv, "%s,hand,\r\n", text);
    assert_int_equal(ws_rehearse_read(csv, strlen(csv), &event, &events, NULL), WS_OK);
    assert_int_equal(events, 1);
    assert_true(event[0].at_ms == want_ms);
    free(event);
}

/* Method: every form of a moment. */
static void test_moments(void **state)
{
    (void)state;
    reads_t("245", 245 * SEC);
    reads_t("-20", -20 * SEC);
    reads_t("244.5", 244500);
    reads_t("0.125", 125);
    reads_t("+3", 3 * SEC);
    reads_t("4:05", 245 * SEC);
    reads_t("-0:20", -20 * SEC);
    reads_t("1:02:05", 3725 * SEC);
    reads_t("7m30s", 450 * SEC);
    reads_t("\"244,5\"", 244500);
    reads_t("\xEF\xBB\xBF"
            "12",
            12 * SEC);
}

/* Method: values by event, a header, blank lines, and rows out of order, which are sorted without
 * turning those of one moment round. */
static void test_rows(void **state)
{
    static const char csv[] = "t,event,value\r\n\r\n"
                              "600,reading,18.2C\r\n"
                              "360,reading,66 F\n"
                              "10,start_set,12:15\n"
                              "10,insert,wash_aid 1m\n"
                              "10,away\n";
    struct ws_rehearse_event *event = NULL;
    int events = 0;

    (void)state;
    assert_int_equal(ws_rehearse_read(csv, sizeof csv - 1, &event, &events, NULL), WS_OK);
    assert_int_equal(events, 5);
    assert_int_equal(event[0].event.kind, WS_EVENT_START_SET);
    assert_true(event[0].event.value_ms == 735 * SEC);
    assert_int_equal(event[1].event.kind, WS_EVENT_INSERT);
    assert_int_equal(event[1].event.of, WS_BATH_WASH_AID);
    assert_true(event[1].event.value_ms == MIN);
    assert_int_equal(event[2].event.kind, WS_EVENT_AWAY);
    assert_true(event[3].at_ms == 360 * SEC);
    ws_assert_near(event[3].event.value_c, (66.0 - 32.0) / 1.8, 1e-9);
    ws_assert_near(event[4].event.value_c, 18.2, 1e-12);
    free(event);
}

/* Method: nothing but a header, and nothing at all, are lists of no events. */
static void test_empty(void **state)
{
    struct ws_rehearse_event *event = NULL;
    int events = -1;

    (void)state;
    assert_int_equal(ws_rehearse_read("t,event,value\n", 14, &event, &events, NULL), WS_OK);
    assert_int_equal(events, 0);
    free(event);
    assert_int_equal(ws_rehearse_read("", 0, &event, &events, NULL), WS_OK);
    assert_int_equal(events, 0);
    free(event);
}

/* Method: each bad text is refused with a line that names its line and field. */
static void test_refused(void **state)
{
    static const struct {
        const char *csv, *names;
    } row[] = {
        { "t,event,value\n5,hand,\nx,hand,\n", "line 3, t: \"x\"" },
        { ",hand\n", "line 1, t:" },
        { "7 3,hand\n", "line 1, t:" },
        { "\"1,000\",hand\n", "line 1, t:" },
        { "0.0005,hand\n", "line 1, t:" },
        { "200000,hand\n", "line 1, t:" },
        { "--3,hand\n", "line 1, t:" },
        { "5\n", "line 1, event: \"\"" },
        { "5,press\n", "line 1, event: \"press\"" },
        { "5,tick\n", "line 1, event:" },
        { "5,begin\n", "line 1, event:" },
        { "5,hand,now\n", "line 1, value: \"now\"" },
        { "5,reading\n", "line 1, value:" },
        { "5,reading,200C\n", "line 1, value:" },
        { "5,end_set,12\n", "line 1, value:" },
        { "5,end_set,\n", "line 1, value:" },
        { "5,insert,stop\n", "line 1, value:" },
        { "5,insert,soup 0:30\n", "line 1, value:" },
        { "5,insert,stop 30\n", "line 1, value:" },
        { "5,hand,,more\n", "line 1: 4 fields" },
        { "1,hand\n\n\n5,hand,\"no end\n", "line 4" },
        { "1,hand\n2,ha\"nd\n", "line 2" },
        { "1,hand,0123456789012345678901234567890123456789012345678901234567890123\n",
          "line 1: a field of more than 63 bytes" },
    };

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct ws_rehearse_event *event = NULL;
        struct ws_message why = { "" };
        int events = 0;

        assert_int_equal(ws_rehearse_read(row[i].csv, strlen(row[i].csv), &event, &events, &why),
                         WS_BAD_INPUT);
        if (strstr(why.text, row[i].names) == NULL)
            fail_msg("\"%s\" for \"%s\", wanted \"%s\"", why.text, row[i].csv, row[i].names);
        assert_null(event);
    }
}

/* Method: random bytes and broken rows (fixed seed) are read or refused, never more: the sanitizers
 * see the rest. */
static void test_any_bytes(void **state)
{
    static const char some[] = "0123456789:-.,,,\n\n\"\" handreadingawayinsertCF\xC3\xA9";
    uint64_t seed = 20260143;

    (void)state;
    for (int round = 0; round < 3000; round++) {
        struct ws_rehearse_event *event = NULL;
        struct ws_message why = { "" };
        char text[80];
        int events = 0;
        size_t length;

        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        length = (size_t)(seed >> 57) % sizeof text;
        for (size_t i = 0; i < length; i++) {
            seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
            text[i] = round % 4 == 0 ? (char)(seed >> 56) : some[(seed >> 40) % (sizeof some)];
        }
        if (ws_rehearse_read(text, length, &event, &events, &why) == WS_OK) {
            assert_true(events >= 0);
            free(event);
        } else {
            assert_true(why.text[0] != '\0');
        }
    }
}

/* Method: a plan the engine can't run is refused with its line. */
static void test_bad_plan(void **state)
{
    struct ws_plan plan;
    struct ws_rehearsal out;
    struct ws_message why = { "" };

    (void)state;
    plan_one_roll(&plan);
    plan.bath[1].time_ms = -5;
    assert_int_equal(ws_rehearse(&plan, NULL, 0, &out, &why), WS_BAD_PLAN);
    assert_true(why.text[0] != '\0');
    assert_null(out.line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_in_time),
        cmocka_unit_test(test_the_doorbell),
        cmocka_unit_test(test_back_within_a_cycle),
        cmocka_unit_test(test_away_for_good),
        cmocka_unit_test(test_pressed_by_events),
        cmocka_unit_test(test_pressed_before_the_clock),
        cmocka_unit_test(test_second_attempt),
        cmocka_unit_test(test_start_set),
        cmocka_unit_test(test_any_plan_ends),
        cmocka_unit_test(test_a_held_foot),
        cmocka_unit_test(test_what_changes_a_run),
        cmocka_unit_test(test_an_early_event),
        cmocka_unit_test(test_moments),
        cmocka_unit_test(test_rows),
        cmocka_unit_test(test_empty),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_any_bytes),
        cmocka_unit_test(test_bad_plan),
    };

    return cmocka_run_group_tests_name("rehearse", tests, NULL, NULL);
}
