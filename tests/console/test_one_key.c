/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the pre-flight to the Log with one key alone: the hand key, a learned one, or Enter.
 *
 * Method: a script presses nothing but that key, on a clock that stands still between its steps.
 * What the run came to is asked of the book. */
#include <stdlib.h>

#include "aid.h"
#include "aid_darkroom.h"
#include "aid_scripts.h"
#include "wetside/drive/settings.h"

enum { EVENTS = 100 };

struct journal {
    int kind[WS_EVENT_KINDS];
    struct ws_session session;
};

static void fold(struct ws_book *book, void *arg)
{
    static struct ws_journal_row row[EVENTS];
    static struct ws_event event[EVENTS];
    static struct ws_plan plan;
    struct journal *journal = arg;
    struct ws_run_line run;
    struct ws_message why = { "" };
    int n;

    assert_int_equal(ws_run_list(book, true, 0, &run, 1, &n), WS_OK);
    assert_int_equal(n, 1);
    assert_int_equal(ws_run_plan(book, run.row, &plan, &why), WS_OK);
    assert_int_equal(ws_run_events(book, run.row, 0, row, EVENTS, &n), WS_OK);
    for (int i = 0; i < n; i++) {
        event[i] = row[i].event;
        journal->kind[event[i].kind]++;
    }
    assert_int_equal(ws_session_fold(&journal->session, &plan, event, n, &why), WS_OK);
}

static void learn(struct ws_book *book, void *arg)
{
    struct ws_message why = { "" };

    assert_int_equal(ws_setting_set(book, "hand_keys", arg, &why), WS_OK);
}

/* ---- the way ---- */

#define SIX(piece) piece piece piece piece piece piece
/* More presses than there are lines, and then some: none of them leads on by mistake. */
#define TICK_BY(key)                                                                               \
    "<until pre-flight, 0 of>" SIX(SIX("<+600ms>" key))                                            \
        SIX("<+1s>" key) "<until All is seen to><until once more, to the pour>"
/* Poured, left to its time, emptied; `passes` from full to when it drains. */
#define BATH_BY(key, which, passes)                                                                \
    "<until bath " which " of 4><until space: as you pour><+1s>" key                               \
    "<until space: full><+15s>" passes "<until space: empty>" key
#define RUN_BY(key)                                                                                \
    TICK_BY(key)                                                                                   \
    "<+2s>" key "<until bath 1 of 4><until space: counts 5><+1s>" key "<until at 0>"               \
    "<+5s><until space: full><+16s><until space: done><+3s>" key                                   \
    "<until REST in><+9:20><until space: empty>" key                                               \
    BATH_BY(key, "2", "<+30s>") BATH_BY(key, "3", "<+5:00>")                                       \
        BATH_BY(key, "4", "<+10:00>") "<until space: to the Log>" key                              \
                                      "<+1s><until space: to the Log><+3s>" key "<+400ms>"         \
                                      "<until roll 2026-0150>"

static void assert_finished(struct aid_darkroom *room)
{
    struct journal *journal = calloc(1, sizeof *journal);

    assert_non_null(journal);
    aid_darkroom_book(room, fold, journal);
    assert_int_equal(journal->session.step, 4);
    assert_true(journal->session.closed);
    assert_int_equal(journal->kind[WS_EVENT_CLOSE], 1);
    assert_int_equal(journal->kind[WS_EVENT_LEAVE] + journal->kind[WS_EVENT_UNDO], 0);
    /* Begun and emptied in each of four, one cycle confirmed. */
    assert_int_equal(journal->kind[WS_EVENT_HAND], 9);
    assert_int_equal(journal->session.record[0].confirmed, 1);
    for (int i = 0; i < 4; i++) {
        assert_true(journal->session.record[i].empty_ms != WS_NEVER);
        assert_false(journal->session.record[i].left_early);
    }
    free(journal);
}

#define TO_PREFLIGHT TO_SHEET("", "", "", "") "<enter>"

/* ---- tests ---- */

static void by_the_hand_key(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE, TO_PREFLIGHT RUN_BY("<space>"));
    assert_finished(room);
}

static void by_enter(void **state)
{
    struct aid_darkroom *room = *state;

    aid_darkroom_enter(room, AID_STOCKED, WS_ROOM_NONE, TO_PREFLIGHT RUN_BY("<enter>"));
    assert_finished(room);
}

static void by_a_foot_switch(void **state)
{
    struct aid_darkroom *room = *state;
    char keys[] = "F13";

    aid_darkroom_open(room, AID_STOCKED);
    aid_darkroom_book(room, learn, keys);
    aid_darkroom_play(room, WS_ROOM_NONE, 80, 24, TO_PREFLIGHT RUN_BY("<f13>"));
    assert_finished(room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        aid_darkroom_test(by_the_hand_key),
        aid_darkroom_test(by_enter),
        aid_darkroom_test(by_a_foot_switch),
    };

    return cmocka_run_group_tests_name("a run with one key", tests, NULL, NULL);
}
