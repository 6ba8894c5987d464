/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is said with each cue, and between cues. */
#include "speak.h"

#include <string.h>

#include "wetside/calc/schedule.h"

enum { COUNT_MOST = 9, COUNT_LEAD_MS = 700, MINUTE_MS = 60000, MINUTE_LEAD_MS = 5000 };

/* What hands in time would be told after a press: so far ahead, so many. */
enum { READY_MS = 30000, READY_CUES = 12 };

/* A film's first word is enough to tell rolls apart; one of three letters or less is none. */
enum { FILM_WORD_LEAST = 4 };

struct ws_saying ws_speak_phrase(enum ws_phrase phrase)
{
    return (struct ws_saying){ .phrase = phrase,
                               .bath = WS_BATH_KINDS,
                               .count = -1,
                               .of = -1,
                               .to_ns = INT64_MAX,
                               .seconds = -1,
                               .least = WS_SPEAK_ASKED };
}

/* ---- with a cue ---- */

/* WS_PHRASES: nothing is said. What is asked of the hands is said with tank and film. */
static const struct {
    enum ws_phrase phrase;
    bool named;
} words[WS_CUE_KINDS] = {
    [WS_CUE_GET_READY] = { WS_PHRASE_GET_READY, true },
    [WS_CUE_POUR_IN] = { WS_PHRASE_POUR_IN, false },
    [WS_CUE_AGITATE] = { WS_PHRASE_AGITATE, false },
    [WS_CUE_INVERT] = { WS_PHRASE_INVERT, false },
    [WS_CUE_REST] = { WS_PHRASE_REST, false },
    [WS_CUE_COME_BACK] = { WS_PHRASE_COME_BACK, true },
    [WS_CUE_READING_DUE] = { WS_PHRASE_READING_DUE, false },
    [WS_CUE_READY_TO_POUR] = { WS_PHRASE_READY_TO_POUR, true },
    [WS_CUE_POUR_OUT] = { WS_PHRASE_POUR_OUT, true },
    [WS_CUE_OVERTIME] = { WS_PHRASE_OVERTIME, true },
    [WS_CUE_DONE] = { WS_PHRASE_DONE, true },
    [WS_CUE_OUT_OF_RANGE] = { WS_PHRASE_OUT_OF_RANGE, false },
    [WS_CUE_OFFER] = { WS_PHRASE_OFFER, false },
    [WS_CUE_PIECE_IN] = { WS_PHRASE_PIECE_IN, false },
    [WS_CUE_PIECE_OUT] = { WS_PHRASE_PIECE_OUT, false },
    [WS_CUE_SHUFFLE] = { WS_PHRASES, false },
    [WS_CUE_PASS] = { WS_PHRASES, false },
};

/* In black nothing else tells the hands: there the voice speaks whatever was chosen. */
static enum ws_speech_level least(const struct ws_seat *seat, const struct ws_bath *bath,
                                  enum ws_speech_level level)
{
    bool dark = seat->session.open_film || (bath != NULL && bath->open_film);

    return dark ? WS_SPEAK_ASKED : level;
}

/* Sheets that wait for a press before they go on into the next tray: what comes next. Null: they go
 * on by themselves, or are taken out one by one. */
static const struct ws_bath *next_tray(const struct ws_seat *seat, const struct ws_bath *bath,
                                       const struct ws_cue *cue)
{
    const struct ws_session *session = &seat->session;

    if (bath == NULL || bath->pieces == 0 || !cue->wants_hand)
        return NULL;
    for (int step = 0; step + 1 < session->steps; step++) {
        const struct ws_bath *next;

        if (ws_session_bath_at(session, step) != cue->bath)
            continue;
        next = ws_session_bath(session, &seat->plan, ws_session_bath_at(session, step + 1));
        return next != NULL && next->pieces > 0 ? next : NULL;
    }
    return NULL;
}

/* Sheet by sheet, each with its own words; where a press is waited for first, that. */
static void speak_sheets_out(const struct ws_seat *seat, const struct ws_bath *bath,
                             const struct ws_cue *cue, struct ws_saying *out)
{
    const struct ws_bath *next = next_tray(seat, bath, cue);

    out->phrase = next != NULL ? WS_PHRASE_WAITS : WS_PHRASES;
    if (next != NULL)
        out->bath = next->kind;
}

void ws_speak_cue(const struct ws_seat *seat, const struct ws_cue *cue, struct ws_saying *out)
{
    const struct ws_bath *bath = ws_session_bath(&seat->session, &seat->plan, cue->bath);
    bool pieces = bath != NULL && bath->pieces > 0;

    *out = ws_speak_phrase(words[cue->kind].phrase);
    out->named = words[cue->kind].named;
    out->bath = bath != NULL ? bath->kind : WS_BATH_KINDS;
    out->least = least(seat, bath, WS_SPEAK_CUES);
    switch (cue->kind) {
    case WS_CUE_READY_TO_POUR:
        out->to_ns = ws_seat_ns(seat, cue->value_ms);
        if (pieces)
            out->phrase = WS_PHRASE_FIRST_OUT_IN;
        break;
    case WS_CUE_COME_BACK:
        out->to_ns = ws_seat_ns(seat, cue->value_ms);
        break;
    case WS_CUE_POUR_OUT:
        if (pieces)
            speak_sheets_out(seat, bath, cue, out);
        break;
    case WS_CUE_OVERTIME:
        if (seat->session.stage == WS_STAGE_WAITING)
            out->phrase = WS_PHRASE_STOP_NOW;
        break;
    case WS_CUE_REST:
        if (bath != NULL && bath->agitation.tap)
            out->phrase = WS_PHRASE_TAP_REST;
        break;
    case WS_CUE_INVERT:
        out->count = cue->index % 64;
        out->of = cue->of;
        if (out->count == 1)
            out->phrase = WS_PHRASES; /* AGITATE has just been said */
        break;
    case WS_CUE_PIECE_IN:
    case WS_CUE_PIECE_OUT:
        out->count = cue->index + 1;
        out->of = cue->of;
        break;
    default:
        break;
    }
}

/* ---- between cues ---- */

static void add(struct ws_ring_list *list, const struct ws_session *session,
                const struct ws_view *view, int index, int64_t due_ns,
                const struct ws_saying *saying)
{
    if (list->items == WS_RING_ITEMS)
        return;
    list->item[list->items++] =
        (struct ws_ring_item){ .cue = { .kind = WS_CUE_KINDS,
                                        .bath = view->bath,
                                        .attempt = session->record[view->bath].attempt,
                                        .index = index },
                               .due_ns = due_ns,
                               .until_ns = INT64_MAX,
                               .saying = *saying };
}

/* "developer in five", then the numbers that are left, each true at its end. */
static void count_in(const struct ws_seat *seat, const struct ws_view *view,
                     const struct ws_bath *bath, struct ws_ring_list *list)
{
    int64_t zero_ns = ws_seat_ns(seat, view->at_ms + view->left_ms);
    int64_t now_ns = ws_seat_ns(seat, view->at_ms);
    struct ws_saying saying = ws_speak_phrase(WS_PHRASE_COUNT_IN);

    saying.bath = bath->kind;
    saying.least = least(seat, bath, WS_SPEAK_CUES);
    saying.to_ns = zero_ns;
    add(list, &seat->session, view, 0, now_ns, &saying);
    saying.phrase = WS_PHRASE_INVERT;
    saying.bath = WS_BATH_KINDS;
    for (int k = COUNT_MOST; k >= 1; k--) {
        int64_t due_ns = zero_ns - (k * INT64_C(1000) + COUNT_LEAD_MS) * WS_NS_IN_MS;

        saying.count = k;
        saying.seconds = k;
        if (due_ns > now_ns)
            add(list, &seat->session, view, k, due_ns, &saying);
    }
}

static void minutes(const struct ws_seat *seat, const struct ws_view *view,
                    const struct ws_bath *bath, int64_t to_ms, struct ws_ring_list *list)
{
    struct ws_saying saying = ws_speak_phrase(WS_PHRASE_LEFT);

    saying.bath = bath->kind;
    saying.least = WS_SPEAK_MINUTES;
    saying.to_ns = ws_seat_ns(seat, view->pour_out_ms);
    for (int64_t k = 1; k * MINUTE_MS < view->pour_out_ms; k++) {
        int64_t mark_ms = view->pour_out_ms - k * MINUTE_MS, due_ms = mark_ms - MINUTE_LEAD_MS;

        if (due_ms <= view->at_ms - seat->plan.late_ms)
            return;
        saying.seconds = k * MINUTE_MS / 1000;
        if (due_ms <= to_ms)
            add(list, &seat->session, view, (int)k, ws_seat_ns(seat, due_ms), &saying);
    }
}

void ws_speak_between(const struct ws_seat *seat, int64_t from_ms, int64_t to_ms,
                      struct ws_ring_list *list)
{
    struct ws_saying light = ws_speak_phrase(WS_PHRASE_LIGHTS_MAY);
    const struct ws_bath *bath;
    struct ws_view view;
    int64_t light_ms;

    ws_session_view(&seat->session, &seat->plan, from_ms, &view);
    bath = ws_session_bath(&seat->session, &seat->plan, view.bath);
    if (bath == NULL)
        return;
    if (view.stage == WS_STAGE_COUNT_IN)
        count_in(seat, &view, bath, list);
    if (view.stage != WS_STAGE_IN_BATH || view.pour_out_ms == WS_NEVER)
        return;
    minutes(seat, &view, bath, to_ms, list);
    if (view.film_open && ws_schedule_light(bath, &seat->session.span, &light_ms) &&
        light_ms > from_ms - seat->plan.late_ms && light_ms <= to_ms)
        add(list, &seat->session, &view, 0, ws_seat_ns(seat, light_ms), &light);
}

/* ---- before a press ---- */

void ws_speak_ready(const struct ws_seat *seat, int64_t now_ms, struct ws_ring_list *list)
{
    const struct ws_bath *bath;
    struct ws_cue cue[READY_CUES];
    struct ws_saying count;
    struct ws_view view;
    int n;

    ws_session_view(&seat->session, &seat->plan, now_ms, &view);
    if (view.stage != WS_STAGE_WAITING)
        return;
    n = ws_session_ahead(&seat->session, &seat->plan, now_ms + READY_MS, true, cue, READY_CUES);
    for (int i = 0; i < n; i++) {
        struct ws_saying saying;

        ws_speak_cue(seat, &cue[i], &saying);
        if (saying.to_ns == INT64_MAX)
            add(list, &seat->session, &view, 0, INT64_MAX, &saying);
    }
    /* The moment the count leads to is not known yet: all of it is got ready. */
    bath = ws_session_bath(&seat->session, &seat->plan, view.bath);
    if (bath == NULL || bath->count_in_ms == 0)
        return;
    count = ws_speak_phrase(WS_PHRASE_COUNT_IN);
    count.least = least(seat, bath, WS_SPEAK_CUES);
    for (int k = 1; k <= COUNT_MOST; k++) {
        count.phrase = WS_PHRASE_COUNT_IN;
        count.bath = bath->kind;
        count.seconds = k;
        add(list, &seat->session, &view, k, INT64_MAX, &count);
        count.phrase = WS_PHRASE_INVERT;
        count.bath = WS_BATH_KINDS;
        count.count = k;
        add(list, &seat->session, &view, k, INT64_MAX, &count);
    }
}

/* ---- when asked ---- */

void ws_speak_now(const struct ws_drive *drive, const struct ws_seat *seat, struct ws_saying *out)
{
    const struct ws_bath *bath;
    struct ws_view view;
    int64_t now_ms;

    *out = ws_speak_phrase(WS_PHRASE_NOTHING);
    if (seat == NULL)
        return;
    now_ms = ws_seat_ms(seat, &drive->now);
    ws_session_view(&seat->session, &seat->plan, now_ms, &view);
    bath = ws_session_bath(&seat->session, &seat->plan, view.bath);
    out->bath = bath != NULL ? bath->kind : WS_BATH_KINDS;
    switch (view.stage) {
    case WS_STAGE_WAITING:
        out->phrase = view.stop_now ? WS_PHRASE_STOP_NOW : WS_PHRASE_WAITS;
        break;
    case WS_STAGE_COUNT_IN:
        out->phrase = WS_PHRASE_COUNT_IN;
        out->to_ns = ws_seat_ns(seat, now_ms + view.left_ms);
        break;
    case WS_STAGE_FILLING:
        out->phrase = WS_PHRASE_POUR_IN;
        break;
    case WS_STAGE_IN_BATH:
        out->phrase = WS_PHRASE_LEFT;
        out->to_ns = ws_seat_ns(seat, view.pour_out_ms);
        break;
    case WS_STAGE_DRAINING:
        out->phrase = view.over_ms > 0 ? WS_PHRASE_OVERTIME : WS_PHRASE_POUR_OUT;
        break;
    case WS_STAGE_OVER:
        out->phrase = WS_PHRASE_DONE;
        break;
    }
}

/* ---- names ---- */

bool ws_speak_several(const struct ws_drive *drive)
{
    int n = 0;

    for (int i = 0; i < WS_TANKS; i++)
        n += drive->seat[i] != NULL && !drive->seat[i]->session.closed;
    return n > 1;
}

void ws_speak_film(const struct ws_plan *plan, char film[WS_NAME])
{
    size_t length = 0;

    film[0] = '\0';
    for (int i = 1; i < plan->places; i++)
        if (strcmp(plan->place[i].film, plan->place[0].film) != 0)
            return;
    if (plan->places == 0)
        return;
    memcpy(film, plan->place[0].film, WS_NAME);
    film[WS_NAME - 1] = '\0';
    while (film[length] != '\0' && (film[length] != ' ' || length < FILM_WORD_LEAST))
        length++;
    film[length] = '\0';
}
