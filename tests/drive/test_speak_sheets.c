/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said over a row of trays with the cue that the first sheet is due out.
 *
 * Method: a session is driven by the engine to each POUR OUT, without a drive; what its words are
 * is asked for. */
#include "aid.h"

#include <stdlib.h>

#include "../../src/drive/inside.h"
#include "../../src/drive/speak.h"
#include "rig.h"

enum { SECOND_MS = 1000, MINUTE_MS = 60000, SHEETS = 3, CUES = 256 };

static void add_tray(struct ws_plan *plan, enum ws_bath_kind kind)
{
    struct ws_bath *bath = &plan->bath[plan->baths++];

    ws_bath_default(kind, bath);
    bath->time_ms = MINUTE_MS;
    bath->clock_from = WS_FROM_FIRST_LIQUID;
    bath->open_film = true;
    bath->pieces = SHEETS;
    bath->piece_every_ms = 10 * SECOND_MS;
}

static void take(struct ws_seat *seat, enum ws_event_kind kind, int64_t at_ms)
{
    struct ws_event event = { .kind = kind,
                              .at_ms = at_ms,
                              .bath = -1,
                              .sequence = kind == WS_EVENT_TICK ? 0 : seat->session.sequence + 1 };
    struct ws_cue cue[CUES];
    int n;

    assert_int_equal(ws_session_take(&seat->session, &seat->plan, &event, cue, CUES, &n), WS_OK);
}

/* Pre-soak, developer, stop and fixer in trays, and a wash that is poured. */
static void make_plan(struct ws_plan *plan)
{
    ws_plan_default(plan);
    add_tray(plan, WS_BATH_PRESOAK);
    add_tray(plan, WS_BATH_DEVELOPER);
    add_tray(plan, WS_BATH_STOP);
    add_tray(plan, WS_BATH_FIXER);
    ws_bath_default(WS_BATH_WASH, &plan->bath[plan->baths++]);
    plan->bath[4].time_ms = MINUTE_MS;
}

static struct ws_seat *begin(void)
{
    struct ws_seat *seat = calloc(1, sizeof *seat);
    struct ws_message why = { "" };

    assert_non_null(seat);
    make_plan(&seat->plan);
    if (ws_session_begin(&seat->session, &seat->plan, &why) != WS_OK)
        fail_msg("%s", why.text);
    take(seat, WS_EVENT_BEGIN, 0);
    return seat;
}

/* Words are made ahead of their moment: at the beginning as at the cue itself. The pre-soak and the
 * stop may run long and wait for a press before the sheets go on: that the next tray waits is said.
 * The developer hands over by itself, and out of the last tray the sheets are said one by one. */
static void what_waits_is_said_where_a_press_is_waited_for(void **state)
{
    static const enum ws_bath_kind next[] = { WS_BATH_DEVELOPER, WS_BATH_KINDS, WS_BATH_FIXER,
                                              WS_BATH_KINDS };
    struct ws_seat *seat = begin();
    struct ws_cue ahead[CUES];
    int n = ws_session_ahead(&seat->session, &seat->plan, 20 * MINUTE_MS, true, ahead, CUES);
    int found = 0;

    (void)state;
    for (int i = 0; i < n; i++) {
        struct ws_saying saying;

        if (ahead[i].kind != WS_CUE_POUR_OUT || ahead[i].bath >= 4)
            continue;
        ws_speak_cue(seat, &ahead[i], &saying);
        found++;
        if (next[ahead[i].bath] == WS_BATH_KINDS) {
            assert_int_equal(saying.phrase, WS_PHRASES);
            continue;
        }
        assert_int_equal(saying.phrase, WS_PHRASE_WAITS);
        assert_int_equal(saying.bath, next[ahead[i].bath]);
        assert_true(saying.named);
    }
    assert_int_equal(found, 4);
    free(seat);
}

/* Three sheets, one every 10 s, need 21 s: a rinse of 0:10 that is put in before the developer
 * lasts so long, and that is what stands there. */
static void what_is_put_in_is_shown_as_long_as_it_lasts(void **state)
{
    struct ws_stroke stroke = {
        .kind = WS_STROKE_INSERT, .tank = 0, .bath_kind = WS_BATH_WASH, .value_ms = 10 * SECOND_MS
    };
    struct rig rig;
    struct ws_plan plan;

    (void)state;
    rig_make(&rig);
    rig_start(&rig, NULL);
    make_plan(&plan);
    rig_begin(&rig, &plan, true);
    rig_hand(&rig);
    rig_pass(&rig, 30 * SECOND_MS);
    stroke.boot_ns = ws_clock_boot_ns(&rig.clock);
    assert_true(ws_drive_post(rig.drive, &stroke));
    rig_look(&rig);
    if (strstr(rig.frame.notice, "comes next: wash 0:21") == NULL)
        fail_msg("%s", rig.frame.notice);
    rig_stop(&rig);
    rig_clear(&rig);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_waits_is_said_where_a_press_is_waited_for),
        cmocka_unit_test(what_is_put_in_is_shown_as_long_as_it_lasts),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
