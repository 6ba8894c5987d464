/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random plans and events. Times are multiples of half a second as a rule, so that moments meet. */
#include "aid_random.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define S   INT64_C(1000)
#define MIN (60 * S)

uint64_t aid_next(struct aid_random *random)
{
    uint64_t z = random->state += UINT64_C(0x9e3779b97f4a7c15);

    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

int64_t aid_between(struct aid_random *random, int64_t least, int64_t most)
{
    return least + (int64_t)(aid_next(random) % (uint64_t)(most - least + 1));
}

bool aid_chance(struct aid_random *random, int percent)
{
    return aid_between(random, 0, 99) < percent;
}

/* A time in steps of half a second, rarely one that fits nothing. */
static int64_t time_between(struct aid_random *random, int64_t least_ms, int64_t most_ms)
{
    if (aid_chance(random, 5))
        return aid_between(random, least_ms, most_ms);
    return aid_between(random, (least_ms + 499) / 500, most_ms / 500) * 500;
}

/* ---- plans */

static void random_agitation(struct aid_random *random, const struct ws_bath *bath,
                             struct ws_agitation *out)
{
    memset(out, 0, sizeof *out);
    out->rhythm = (enum ws_rhythm)aid_between(random, 0, WS_RHYTHMS - 1);
    if (aid_chance(random, 50))
        out->rhythm = WS_CYCLES;
    if (bath->pieces > 0 && aid_chance(random, 60))
        out->rhythm = WS_SHUFFLE;
    if (aid_chance(random, 70))
        out->first_ms = time_between(random, S, MIN);
    out->every_ms = time_between(random, 10 * S, 2 * MIN);
    if (out->rhythm == WS_SHUFFLE)
        out->every_ms = time_between(random, 2 * S, 10 * S);
    out->length_ms = time_between(random, S, aid_chance(random, 90) ? 10 * S : out->every_ms);
    if (out->length_ms > out->every_ms)
        out->length_ms = out->every_ms;
    out->moments = (int)aid_between(random, 1, WS_MOMENTS);
    for (int i = 0; i < out->moments; i++)
        out->moment_ms[i] = (i > 0 ? out->moment_ms[i - 1] : 0) + time_between(random, S, 2 * MIN);
    if (aid_chance(random, 30))
        out->inversions = (int)aid_between(random, 1, aid_chance(random, 95) ? 6 : 60);
    if (out->inversions > out->length_ms / 500)
        out->inversions = (int)(out->length_ms / 500);
    out->tap = aid_chance(random, 50);
}

static void random_points(struct aid_random *random, struct ws_bath *bath)
{
    double c = 16 + (double)aid_between(random, 0, 40) / 10;
    int64_t time_ms = bath->time_ms + time_between(random, 0, 2 * MIN);

    bath->points = (int)aid_between(random, 1, 4);
    for (int i = 0; i < bath->points; i++) {
        bath->point[i].c = c;
        bath->point[i].time_ms = time_ms;
        bath->point[i].step_ms = aid_chance(random, 50) ? 30 * S : 0;
        c += (double)aid_between(random, 5, 30) / 10;
        time_ms -= time_ms / aid_between(random, 4, 12);
    }
    bath->start_c = 18 + (double)aid_between(random, 0, 60) / 10;
}

static void random_bath(struct aid_random *random, int pieces, int64_t piece_every_ms, bool first,
                        struct ws_bath *out)
{
    enum ws_bath_kind kind = (enum ws_bath_kind)aid_between(random, 0, WS_BATH_KINDS - 1);

    if (first && aid_chance(random, 60))
        kind = WS_BATH_DEVELOPER;
    ws_bath_default(kind, out);
    out->time_ms = time_between(random, S, aid_chance(random, 80) ? 3 * MIN : 15 * MIN);
    out->pour_in_ms = aid_chance(random, 15) ? 0 : time_between(random, S, 20 * S);
    out->drain_ms = aid_chance(random, 15) ? 0 : time_between(random, S, 15 * S);
    out->count_in_ms = aid_chance(random, 50) ? 0 : time_between(random, S, 6 * S);
    if (aid_chance(random, 30))
        out->longest_ms =
            out->time_ms + (aid_chance(random, 50) ? 0 : time_between(random, S, MIN));
    out->clock_from = aid_chance(random, 60) ? WS_FROM_FULL : WS_FROM_FIRST_LIQUID;
    out->drain = aid_chance(random, 60) ? WS_DRAIN_INSIDE : WS_DRAIN_AFTER;
    out->open_film = pieces > 0 && aid_chance(random, 50);
    if (pieces > 0 && aid_chance(random, 90)) {
        out->pieces = pieces;
        out->piece_every_ms = piece_every_ms;
        if (out->time_ms <= (pieces - 1) * out->piece_every_ms)
            out->time_ms = (pieces - 1) * out->piece_every_ms + time_between(random, S, MIN);
        if (out->longest_ms != 0 && out->longest_ms < out->time_ms)
            out->longest_ms = out->time_ms;
    }
    if (out->open_film && kind != WS_BATH_DEVELOPER && kind != WS_BATH_PRESOAK)
        out->light_ms = time_between(random, 0, out->time_ms);
    random_agitation(random, out, &out->agitation);
    if (kind == WS_BATH_DEVELOPER && aid_chance(random, 60))
        random_points(random, out);
    if (aid_chance(random, 40)) {
        out->want_c = 20;
        out->tolerance_c = (double)aid_between(random, 0, 20) / 10;
    }
}

static void random_leads(struct aid_random *random, struct ws_plan *plan)
{
    plan->ready_lead_ms = aid_chance(random, 10) ? 0 : time_between(random, S, 30 * S);
    plan->insist_ms = aid_chance(random, 10) ? 0 : time_between(random, S, 20 * S);
    plan->late_ms = time_between(random, 0, 4 * S);
    plan->confirm_grace_ms = time_between(random, 0, 6 * S);
    plan->undo_ms = time_between(random, 0, 2 * MIN);
    plan->least_move_ms = time_between(random, 0, 10 * S);
    plan->long_rest_ms = time_between(random, 10 * S, 6 * MIN);
    plan->come_back_lead_ms = time_between(random, 0, 2 * MIN);
}

void aid_plan(struct aid_random *random, struct ws_plan *plan)
{
    struct ws_message why;

    do {
        const int pieces = aid_chance(random, 20) ? (int)aid_between(random, 1, 8) : 0;
        const int64_t piece_every_ms = time_between(random, S, 12 * S);

        ws_plan_default(plan);
        snprintf(plan->tank, sizeof plan->tank, "A");
        plan->fill_ml = 300;
        plan->baths = (int)aid_between(random, 1, aid_chance(random, 97) ? 4 : WS_BATHS);
        for (int i = 0; i < plan->baths; i++)
            random_bath(random, pieces, piece_every_ms, i == 0, &plan->bath[i]);
        if (aid_chance(random, 40))
            random_leads(random, plan);
        if (aid_chance(random, 30))
            plan->reading_every_ms = time_between(random, 10 * S, 3 * MIN);
        plan->follow = aid_chance(random, 30);
        if (aid_chance(random, 50)) {
            plan->room_c = (double)aid_between(random, 100, 300) / 10;
            plan->halving_ms = time_between(random, 0, 40 * MIN);
        }
    } while (ws_plan_check(plan, &why) != WS_OK);
}

/* ---- events */

struct ws_event aid_tick(int64_t at_ms)
{
    struct ws_event tick;

    memset(&tick, 0, sizeof tick);
    tick.kind = WS_EVENT_TICK;
    tick.at_ms = at_ms;
    tick.bath = -1;
    return tick;
}

/* When: at once, at the moment something is due or just beside it, as hands would, soon, or much
 * later. */
static int64_t random_moment(struct aid_random *random, const struct ws_session *session,
                             const struct ws_plan *plan)
{
    const int64_t now_ms = session->now_ms, roll = aid_between(random, 0, 99);
    int64_t at_ms = now_ms;

    if (roll < 15)
        return now_ms;
    if (roll < 40)
        at_ms = ws_session_next_ms(session, plan);
    else if (roll < 60)
        at_ms = ws_session_answer_ms(session, plan);
    else if (roll < 70)
        at_ms = session->stage == WS_STAGE_IN_BATH
                    ? session->span.pour_out_ms + time_between(random, 0, 15 * S)
                    : now_ms + time_between(random, 0, 5 * S);
    else if (roll < 85)
        at_ms = now_ms + time_between(random, 0, 5 * S);
    else if (roll < 98)
        at_ms = now_ms + time_between(random, 0, 90 * S);
    else
        at_ms = now_ms + time_between(random, 0, 40 * MIN);
    if (at_ms < WS_NEVER && aid_chance(random, 10))
        at_ms += aid_between(random, -1, 1);
    if (at_ms < now_ms || at_ms > now_ms + 60 * MIN)
        at_ms = now_ms + time_between(random, 0, 3 * S);
    return at_ms;
}

static enum ws_event_kind random_kind(struct aid_random *random)
{
    static const struct {
        int weight;
        enum ws_event_kind kind;
    } DRAW[] = {
        { 420, WS_EVENT_HAND },     { 150, WS_EVENT_TICK },   { 60, WS_EVENT_UNDO },
        { 30, WS_EVENT_ON_TIME },   { 90, WS_EVENT_READING }, { 25, WS_EVENT_TAKE },
        { 15, WS_EVENT_REFUSE },    { 70, WS_EVENT_END_SET }, { 30, WS_EVENT_START_SET },
        { 25, WS_EVENT_LEAVE },     { 20, WS_EVENT_INSERT },  { 10, WS_EVENT_LIGHTS_OUT },
        { 10, WS_EVENT_LIGHTS_ON }, { 10, WS_EVENT_AWAY },    { 10, WS_EVENT_BACK },
        { 5, WS_EVENT_TIME_LOST },  { 8, WS_EVENT_OWNER },    { 2, WS_EVENT_CLOSE },
        { 2, WS_EVENT_BEGIN },      { 8, WS_EVENT_KINDS },
    };
    int64_t roll = aid_between(random, 0, 999);

    for (size_t i = 0; i < sizeof DRAW / sizeof *DRAW; i++) {
        roll -= DRAW[i].weight;
        if (roll < 0)
            return DRAW[i].kind;
    }
    return WS_EVENT_HAND;
}

/* The bath in hand, any other, or one that is not there. */
static int random_bath_number(struct aid_random *random, const struct ws_session *session)
{
    if (aid_chance(random, 80))
        return aid_chance(random, 50) ? -1 : ws_session_bath_at(session, session->step);
    return (int)aid_between(random, -2, WS_STEPS);
}

static void random_end(struct aid_random *random, const struct ws_session *session,
                       struct ws_event *event)
{
    const int bath = ws_session_bath_at(session, session->step);
    int64_t time_ms = bath < 0 ? MIN : session->record[bath].time_ms;

    event->cause = (enum ws_cause)aid_between(random, 0, WS_BY_RECOVERY);
    event->bath = random_bath_number(random, session);
    if (aid_chance(random, 3))
        event->value_ms = aid_between(random, -MIN, 50 * 60 * MIN);
    else if (aid_chance(random, 20))
        event->value_ms = time_ms + time_between(random, 0, 10 * S) - 5 * S;
    else
        event->value_ms = time_ms + time_between(random, 0, 3 * MIN) - MIN;
}

void aid_event(struct aid_random *random, const struct ws_session *session,
               const struct ws_plan *plan, struct ws_event *event)
{
    *event = aid_tick(random_moment(random, session, plan));
    event->kind = random_kind(random);
    event->sequence = event->kind == WS_EVENT_TICK ? 0 : session->sequence + 1;
    event->estimated = event->kind != WS_EVENT_TICK && aid_chance(random, 2);
    switch (event->kind) {
    case WS_EVENT_UNDO:
    case WS_EVENT_ON_TIME:
        event->of = aid_chance(random, 85) ? session->press.sequence
                                           : (uint32_t)aid_between(random, 0, event->sequence);
        break;
    case WS_EVENT_TAKE:
    case WS_EVENT_REFUSE:
        event->of = aid_chance(random, 85) ? session->offer
                                           : (uint32_t)aid_between(random, 0, event->sequence);
        break;
    case WS_EVENT_READING:
        event->bath = random_bath_number(random, session);
        event->value_c = aid_chance(random, 95) ? (double)aid_between(random, 160, 260) / 10
                                                : (double)aid_between(random, -100, 1200) / 10;
        if (aid_chance(random, 2))
            event->value_c = NAN;
        break;
    case WS_EVENT_END_SET:
        random_end(random, session, event);
        break;
    case WS_EVENT_START_SET:
        event->value_ms = event->at_ms + time_between(random, 0, 2 * MIN) - 10 * S;
        break;
    case WS_EVENT_INSERT:
        event->of =
            (uint32_t)aid_between(random, 0, aid_chance(random, 90) ? WS_BATH_KINDS - 1 : 99);
        event->value_ms = time_between(random, aid_chance(random, 95) ? S : -S, 2 * MIN);
        break;
    default:
        break;
    }
}
