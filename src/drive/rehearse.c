/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run on a fast clock: a loop over the engine from one moment at which something happens to the
 * next. No threads, no terminal, no book. */
#include "wetside/drive/rehearse.h"

#include <stdlib.h>
#include <string.h>

#include "wetside/calc/units.h"
#include "wetside/session/hands.h"

enum { CUES = 64 };

struct play {
    const struct ws_plan *plan;
    const struct ws_rehearse_event *event;
    int events, next_event;
    struct ws_session session;
    struct ws_hands hands;
    struct ws_rehearsal *out;
    int room;
    int64_t zero_ms; /* of the first bath's clock: as it should be, then as it was */
    bool zero_known;
    int64_t start_ms; /* hands that are in time answer nothing before */
    bool has_press;   /* the events press, from the first bath's clock on */
    bool has_early;   /* and before it */
    bool away;
    int64_t vain_ms; /* the last press that changed nothing: none again at that moment */
};

/* ---- cues become lines ---- */

static enum ws_status add_line(struct play *play, const struct ws_cue *cue)
{
    struct ws_rehearsal *out = play->out;

    if (out->lines == play->room) {
        int room = play->room == 0 ? 256 : play->room * 2;
        struct ws_rehearse_line *grown = realloc(out->line, (size_t)room * sizeof *grown);

        if (grown == NULL)
            return WS_NO_MEMORY;
        out->line = grown;
        play->room = room;
    }
    memset(&out->line[out->lines], 0, sizeof out->line[0]);
    out->line[out->lines].cue = *cue;
    out->lines++;
    return WS_OK;
}

static void look_for_zero(struct play *play)
{
    const struct ws_session *session = &play->session;

    if (play->zero_known || session->step != 0 ||
        (session->stage != WS_STAGE_IN_BATH && session->stage != WS_STAGE_DRAINING))
        return;
    play->zero_ms = session->span.clock_ms;
    play->zero_known = true;
}

/* An event that changes nothing is no fault: a press nobody asked for. */
static enum ws_status take(struct play *play, const struct ws_event *event)
{
    struct ws_cue cue[CUES];
    enum ws_status status;
    int n;

    do {
        n = 0;
        status = ws_session_take(&play->session, play->plan, event, cue, CUES, &n);
        for (int i = 0; i < n; i++)
            if (add_line(play, &cue[i]) != WS_OK)
                return WS_NO_MEMORY;
        look_for_zero(play);
    } while (status == WS_MORE);
    return status == WS_IGNORED ? WS_OK : status;
}

static enum ws_status tick(struct play *play, int64_t at_ms)
{
    struct ws_event event = { .kind = WS_EVENT_TICK, .at_ms = at_ms, .bath = -1 };

    return take(play, &event);
}

static enum ws_status press(struct play *play, int64_t at_ms)
{
    struct ws_event event = { .kind = WS_EVENT_HAND, .at_ms = at_ms, .bath = -1 };
    enum ws_status status;

    event.sequence = play->session.sequence + 1;
    status = take(play, &event);
    if (play->session.sequence != event.sequence)
        play->vain_ms = at_ms;
    return status;
}

/* ---- hands ---- */

/* When hands that are in time press next; WS_NEVER: these hands don't. */
static int64_t answer_ms(const struct play *play)
{
    bool by_events = play->zero_known ? play->has_press : play->has_early;
    int64_t at_ms;

    if (play->away || by_events)
        return WS_NEVER;
    at_ms = ws_session_answer_ms(&play->session, play->plan);
    if (at_ms == WS_NEVER || at_ms <= play->vain_ms)
        return WS_NEVER;
    return at_ms < play->start_ms ? play->start_ms : at_ms;
}

/* A stroke of the hand key in the events: a press by the same rules as at the sink. */
static enum ws_status stroke(struct play *play, int64_t at_ms)
{
    struct ws_view view;

    ws_session_view(&play->session, play->plan, at_ms, &view);
    if (ws_hands_route(&play->hands, &view, 1, at_ms) < 0)
        return tick(play, at_ms);
    return press(play, at_ms);
}

/* ---- events ---- */

static int64_t event_ms(const struct play *play)
{
    if (play->next_event == play->events)
        return WS_NEVER;
    return play->zero_ms + play->event[play->next_event].at_ms;
}

static enum ws_status play_event(struct play *play, struct ws_message *why)
{
    struct ws_event event = play->event[play->next_event].event;
    int64_t t_ms = play->event[play->next_event].at_ms;
    enum ws_status status;
    char at[32];

    event.at_ms = event_ms(play);
    if (event.at_ms < play->session.now_ms)
        event.at_ms = play->session.now_ms;
    event.sequence = play->session.sequence + 1;
    if (event.kind == WS_EVENT_START_SET)
        event.value_ms += play->zero_ms;
    play->next_event++;
    if (event.kind == WS_EVENT_AWAY)
        play->away = true;
    if (event.kind == WS_EVENT_BACK)
        play->away = false;
    status = event.kind == WS_EVENT_HAND ? stroke(play, event.at_ms) : take(play, &event);
    if (status != WS_BAD_EVENT)
        return status;
    ws_time_print(t_ms, at, sizeof at);
    return ws_fail(why, WS_BAD_INPUT, "event %s at %s: the run can't take it there",
                   ws_event_token(event.kind), at);
}

/* ---- playing ---- */

static enum ws_status begin(struct play *play, struct ws_message *why)
{
    struct ws_event event = { .kind = WS_EVENT_BEGIN, .sequence = 1, .bath = -1 };
    enum ws_status status = ws_session_begin(&play->session, play->plan, why);

    return status == WS_OK ? take(play, &event) : status;
}

/* Goes to the next moment; *over when there is none. */
static enum ws_status step(struct play *play, bool *over, struct ws_message *why)
{
    int64_t next_ms = ws_session_next_ms(&play->session, play->plan);
    int64_t hand_ms = answer_ms(play);
    int64_t given_ms = event_ms(play);

    *over = next_ms == WS_NEVER && hand_ms == WS_NEVER && given_ms == WS_NEVER;
    if (*over)
        return WS_OK;
    if (given_ms <= next_ms && given_ms <= hand_ms)
        return play_event(play, why);
    if (hand_ms < next_ms)
        return press(play, hand_ms);
    return tick(play, next_ms < play->session.now_ms ? play->session.now_ms : next_ms);
}

/* Where the first bath's clock starts when hands are in time: what the events' moments count from
 * as long as it has not started. */
static enum ws_status foretell_zero(const struct ws_plan *plan, int64_t *zero_ms,
                                    struct ws_message *why)
{
    struct ws_rehearsal out = { .line = NULL };
    struct play play = { .plan = plan, .out = &out, .vain_ms = INT64_MIN };
    enum ws_status status = begin(&play, why);
    bool over = false;

    while (status == WS_OK && !over && !play.zero_known)
        status = step(&play, &over, why);
    *zero_ms = play.zero_ms;
    free(out.line);
    return status;
}

static void look_through(struct play *play)
{
    int64_t earliest_ms = -play->zero_ms;

    for (int i = 0; i < play->events; i++) {
        const struct ws_rehearse_event *event = &play->event[i];

        if (event->at_ms < earliest_ms)
            earliest_ms = event->at_ms;
        if (event->event.kind == WS_EVENT_HAND) {
            play->has_press = true;
            play->has_early = play->has_early || event->at_ms < 0;
        }
    }
    /* An event before hands in time would begin: they wait for so long. */
    play->start_ms = -earliest_ms - play->zero_ms;
    play->zero_ms = -earliest_ms;
}

static bool was_confirmed(const struct ws_session *session, const struct ws_cue *cue)
{
    const struct ws_bath_record *record;

    if (cue->kind != WS_CUE_AGITATE || cue->bath < 0 || cue->bath >= WS_STEPS || cue->index < 0 ||
        cue->index >= WS_CYCLE_MOST)
        return false;
    record = &session->record[cue->bath];
    return record->attempt == cue->attempt &&
           (record->was_confirmed[cue->index / 64] >> (cue->index % 64) & 1) != 0;
}

enum ws_status ws_rehearse(const struct ws_plan *plan, const struct ws_rehearse_event *event,
                           int events, struct ws_rehearsal *out, struct ws_message *why)
{
    struct play play = {
        .plan = plan, .event = event, .events = events, .out = out, .vain_ms = INT64_MIN
    };
    enum ws_status status;
    bool over = false;

    memset(out, 0, sizeof *out);
    ws_hands_begin(&play.hands);
    status = foretell_zero(plan, &play.zero_ms, why);
    if (status == WS_OK) {
        look_through(&play);
        status = begin(&play, why);
    }
    while (status == WS_OK && !over)
        status = step(&play, &over, why);
    if (status == WS_NO_MEMORY)
        ws_fail(why, status, "not enough memory for a rehearsal");
    if (status != WS_OK) {
        ws_rehearsal_free(out);
        return status;
    }
    out->zero_ms = play.zero_ms;
    out->session = play.session;
    for (int i = 0; i < out->lines; i++) {
        out->line[i].t_ms = out->line[i].cue.due_ms - play.zero_ms;
        out->line[i].confirmed = was_confirmed(&play.session, &out->line[i].cue);
    }
    return WS_OK;
}

void ws_rehearsal_free(struct ws_rehearsal *rehearsal)
{
    free(rehearsal->line);
    rehearsal->line = NULL;
    rehearsal->lines = 0;
}
