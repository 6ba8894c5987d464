/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said over a row of trays with the cue that the first sheet is due out.
 *
 * Method: a session is driven by the engine to each POUR OUT, without a drive; what its words are
 * is asked for. */
#include "aid.h"

#include <stdlib.h>

#include "../../src/drive/inside.h"
#include "../../src/drive/speak.h"

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

/* Pre-soak, developer, stop and fixer in trays, and a wash that is poured; hands in time. */
static struct ws_seat *begin(void)
{
    struct ws_seat *seat = calloc(1, sizeof *seat);
    struct ws_message why = { "" };

    assert_non_null(seat);
    ws_plan_default(&seat->plan);
    add_tray(&seat->plan, WS_BATH_PRESOAK);
    add_tray(&seat->plan, WS_BATH_DEVELOPER);
    add_tray(&seat->plan, WS_BATH_STOP);
    add_tray(&seat->plan, WS_BATH_FIXER);
    ws_bath_default(WS_BATH_WASH, &seat->plan.bath[seat->plan.baths++]);
    seat->plan.bath[4].time_ms = MINUTE_MS;
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_waits_is_said_where_a_press_is_waited_for),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
