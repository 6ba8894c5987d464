/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One tank driven by hand. */
#include "aid_tank.h"

#include "aid.h"
#include "aid_random.h"

void aid_tank_empty(struct aid_tank *tank)
{
    memset(tank, 0, sizeof *tank);
    ws_plan_default(&tank->plan);
    snprintf(tank->plan.tank, sizeof tank->plan.tank, "A");
}

struct ws_bath *aid_tank_bath(struct aid_tank *tank, enum ws_bath_kind kind, int64_t time_ms)
{
    struct ws_bath *bath = &tank->plan.bath[tank->plan.baths++];

    ws_bath_default(kind, bath);
    bath->time_ms = time_ms;
    return bath;
}

void aid_tank_cycles(struct ws_bath *bath, int64_t first_ms, int64_t every_ms, int64_t length_ms)
{
    bath->agitation.rhythm = WS_CYCLES;
    bath->agitation.first_ms = first_ms;
    bath->agitation.every_ms = every_ms;
    bath->agitation.length_ms = length_ms;
    bath->agitation.tap = true;
}

struct ws_event aid_tank_event(enum ws_event_kind kind, int64_t at_ms)
{
    struct ws_event event = aid_tick(at_ms);

    event.kind = kind;
    return event;
}

void aid_tank_begin(struct aid_tank *tank)
{
    struct ws_message why = { "" };

    if (ws_session_begin(&tank->session, &tank->plan, &why) != WS_OK)
        fail_msg("the plan does not begin: %s", why.text);
    assert_int_equal(aid_tank_send(tank, WS_EVENT_BEGIN, 0), WS_OK);
}

enum ws_status aid_tank_take(struct aid_tank *tank, struct ws_event event)
{
    enum ws_status status;
    int n = 0;

    event.sequence = event.kind == WS_EVENT_TICK ? 0 : tank->session.sequence + 1;
    tank->taken_from = tank->cues;
    status = ws_session_take(&tank->session, &tank->plan, &event, tank->cue + tank->cues,
                             AID_TANK_CUES - tank->cues, &n);
    assert_int_not_equal(status, WS_MORE);
    tank->cues += n;
    if (status == WS_OK && event.kind != WS_EVENT_TICK) {
        assert_true(tank->journaled < AID_TANK_EVENTS);
        tank->journal[tank->journaled++] = event;
    }
    return status;
}

enum ws_status aid_tank_send(struct aid_tank *tank, enum ws_event_kind kind, int64_t at_ms)
{
    return aid_tank_take(tank, aid_tank_event(kind, at_ms));
}

enum ws_status aid_tank_press(struct aid_tank *tank, int64_t at_ms)
{
    return aid_tank_send(tank, WS_EVENT_HAND, at_ms);
}

enum ws_status aid_tank_undo(struct aid_tank *tank, int64_t at_ms)
{
    struct ws_event event = aid_tank_event(WS_EVENT_UNDO, at_ms);

    event.of = tank->session.press.sequence;
    return aid_tank_take(tank, event);
}

enum ws_status aid_tank_end(struct aid_tank *tank, int64_t at_ms, int bath, int64_t time_ms,
                            enum ws_cause cause)
{
    struct ws_event event = aid_tank_event(WS_EVENT_END_SET, at_ms);

    event.bath = bath;
    event.value_ms = time_ms;
    event.cause = cause;
    return aid_tank_take(tank, event);
}

enum ws_status aid_tank_read(struct aid_tank *tank, int64_t at_ms, double c)
{
    struct ws_event event = aid_tank_event(WS_EVENT_READING, at_ms);

    event.value_c = c;
    return aid_tank_take(tank, event);
}

void aid_tank_wait(struct aid_tank *tank, int64_t until_ms)
{
    assert_int_equal(aid_tank_send(tank, WS_EVENT_TICK, until_ms), WS_OK);
}

void aid_tank_hands(struct aid_tank *tank, int64_t until_ms)
{
    for (;;) {
        const int64_t answer_ms = ws_session_answer_ms(&tank->session, &tank->plan);
        const int64_t next_ms = ws_session_next_ms(&tank->session, &tank->plan);

        if ((answer_ms < next_ms ? answer_ms : next_ms) > until_ms)
            break;
        if (answer_ms < next_ms)
            assert_int_equal(aid_tank_press(tank, answer_ms), WS_OK);
        else if (next_ms == WS_NEVER)
            break;
        else
            aid_tank_wait(tank, next_ms);
    }
    aid_tank_wait(tank, until_ms);
}

const struct ws_cue *aid_tank_cue(const struct aid_tank *tank, enum ws_cue_kind kind, int bath,
                                  int nth)
{
    for (int i = 0; i < tank->cues; i++)
        if (tank->cue[i].kind == kind && tank->cue[i].bath == bath && nth-- == 0)
            return &tank->cue[i];
    return NULL;
}

int aid_tank_count(const struct aid_tank *tank, enum ws_cue_kind kind, int bath)
{
    int n = 0;

    for (int i = 0; i < tank->cues; i++)
        n += tank->cue[i].kind == kind && tank->cue[i].bath == bath;
    return n;
}

const struct ws_cue *aid_tank_just_said(const struct aid_tank *tank, enum ws_cue_kind kind)
{
    for (int i = tank->taken_from; i < tank->cues; i++)
        if (tank->cue[i].kind == kind)
            return &tank->cue[i];
    return NULL;
}

bool aid_tank_asked(const struct aid_tank *tank, int bath, int cycle)
{
    return (tank->session.record[bath].was_asked[cycle / 64] >> (cycle % 64) & 1) != 0;
}

bool aid_tank_confirmed(const struct aid_tank *tank, int bath, int cycle)
{
    return (tank->session.record[bath].was_confirmed[cycle / 64] >> (cycle % 64) & 1) != 0;
}

struct ws_view aid_tank_view(const struct aid_tank *tank, int64_t at_ms)
{
    struct ws_view view;

    ws_session_view(&tank->session, &tank->plan, at_ms, &view);
    return view;
}
