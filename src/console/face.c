/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From a run's state to the words on the screen. */
#include "wetside/console/face.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"

#include "face_parts.h"

const char *ws_face_cue_word(enum ws_cue_kind kind)
{
    static const char *const words[WS_CUE_KINDS] = {
        [WS_CUE_GET_READY] = "READY?",
        [WS_CUE_POUR_IN] = "POUR IN",
        [WS_CUE_AGITATE] = "AGITATE",
        [WS_CUE_INVERT] = "AGITATE",
        [WS_CUE_REST] = "REST",
        [WS_CUE_COME_BACK] = "COME BACK",
        [WS_CUE_READING_DUE] = "TEMPERATURE",
        [WS_CUE_READY_TO_POUR] = "GET READY",
        [WS_CUE_POUR_OUT] = "POUR OUT",
        [WS_CUE_OVERTIME] = "POUR OUT",
        [WS_CUE_DONE] = "DONE",
        [WS_CUE_OUT_OF_RANGE] = "TEMPERATURE",
        [WS_CUE_OFFER] = "OFFER",
        [WS_CUE_PIECE_IN] = "SHEET IN",
        [WS_CUE_PIECE_OUT] = "SHEET OUT",
        [WS_CUE_SHUFFLE] = "SHUFFLE",
        [WS_CUE_PASS] = "SHUFFLE",
    };

    return (unsigned)kind < WS_CUE_KINDS ? words[kind] : "";
}

void ws_face_countdown(int64_t left_ms, char *text, size_t size)
{
    /* Up: 0:00 must not stand there before the moment. */
    ws_time_print(left_ms <= 0 ? 0 : (left_ms + 999) / 1000 * 1000, text, size);
}

void ws_face_elapsed(int64_t past_ms, char *text, size_t size)
{
    if (past_ms >= 0) {
        ws_time_print(past_ms / 1000 * 1000, text, size);
    } else if (size > 0) {
        text[0] = '-';
        ws_face_countdown(-past_ms, text + 1, size - 1);
    }
}

static void set_down(struct ws_face *face, int64_t left_ms)
{
    ws_face_countdown(left_ms, face->clock, sizeof face->clock);
}

static void set_over(struct ws_face *face, int64_t over_ms)
{
    char text[12];

    ws_face_elapsed(over_ms, text, sizeof text);
    snprintf(face->clock, sizeof face->clock, "+%s", text);
}

static void set(char *out, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void set(char *out, size_t size, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(out, size, format, arguments);
    va_end(arguments);
}

#define SET(field, ...) set((field), sizeof(field), __VA_ARGS__)

/* ---- waiting for the pour ---- */

static const char *press_as(const struct ws_bath *bath)
{
    return bath->pieces > 0 ? "space: as the first sheet goes in" : "space: as you pour";
}

static void face_waiting(const struct face_of *of, struct ws_face *face)
{
    const struct ws_view *view = of->view;
    const struct ws_bath *bath = of->bath;
    char text[24];

    if (view->stop_now) {
        SET(face->word, "STOP NOW");
        face->tone = WS_TONE_NOW;
        set_over(face, view->over_ms);
        SET(face->beside, "%s", bath->name);
        SET(face->next, "POUR IN %s", bath->name);
        SET(face->hint, "%s", press_as(bath));
        return;
    }
    if (view->word == WS_WORD_PRESS_WHEN_READY) {
        SET(face->word, "READY?");
        face->tone = WS_TONE_DO;
        if (bath->count_in_ms > 0)
            SET(face->next, "space: counts %d, then %s", (int)(bath->count_in_ms / 1000),
                bath->pieces > 0 ? "SHEET 1 IN" : "POUR IN");
        else
            SET(face->next, "%s", press_as(bath));
    } else {
        SET(face->word, "POUR IN");
        face->tone = WS_TONE_ASK;
        SET(face->next, "%s", press_as(bath));
    }
    if (of->tank->session.start_due_ms != WS_NEVER) {
        ws_face_countdown(view->left_ms, text, sizeof text);
        SET(face->hint, "due in %s", text);
    }
}

static void face_count_in(const struct face_of *of, struct ws_face *face)
{
    SET(face->word, "GET READY");
    face->tone = WS_TONE_ASK;
    /* Whole seconds without minutes: a count, as a voice would count. */
    SET(face->clock, "%d", (int)((of->view->left_ms + 999) / 1000));
    SET(face->beside, "%s", of->bath->name);
    SET(face->next, "POUR IN %s at 0", of->bath->name);
}

static void face_filling(const struct face_of *of, struct ws_face *face)
{
    SET(face->word, "POUR IN");
    face->tone = WS_TONE_ASK;
    set_down(face, of->view->left_ms);
    SET(face->beside, "%s", of->bath->name);
    face_next(of, face);
    SET(face->hint, "space: full");
}

/* ---- in the bath ---- */

/* Get ready has begun while the hands are still busy: both must be told. */
static bool ready_within_cycle(const struct face_of *of)
{
    return of->view->word == WS_WORD_AGITATE &&
           of->tank->at_ms >= of->tank->session.span.ready_out_ms;
}

static void face_agitate(const struct face_of *of, struct ws_face *face)
{
    const struct ws_view *view = of->view;

    SET(face->word, "AGITATE");
    face->tone = view->unconfirmed ? WS_TONE_ASK : WS_TONE_DO;
    if (view->of > 0)
        SET(face->beside, "%d of %d", view->count, view->of);
    if (ready_within_cycle(of)) {
        char text[24];

        ws_face_countdown(view->left_ms, text, sizeof text);
        SET(face->next, "GET READY: POUR OUT in %s", text);
        face->alarm = true;
    }
    if (view->unconfirmed) {
        SET(face->hint, "space: done");
    }
}

static void face_resting(const struct face_of *of, struct ws_face *face)
{
    const struct ws_view *view = of->view;
    const struct ws_plan *plan = of->tank->plan;
    int64_t next_ms = view->next.due_ms;

    if (of->tank->session.come_back_waits) {
        SET(face->word, "COME BACK");
        face->tone = WS_TONE_ASK;
        SET(face->hint, "space: I am back");
        return;
    }
    SET(face->word, view->word == WS_WORD_SHUFFLE ? "SHUFFLE" : "REST");
    face->tone = view->word == WS_WORD_SHUFFLE ? WS_TONE_DO : WS_TONE_CALM;
    if (view->unconfirmed)
        SET(face->hint, "not confirmed; space: done");
    if (next_ms != WS_NEVER && view->pour_out_ms != WS_NEVER &&
        next_ms - of->tank->at_ms > plan->long_rest_ms)
        face_long_rest(of, face);
}

static void face_get_ready(const struct face_of *of, struct ws_face *face)
{
    SET(face->word, "GET READY");
    face->tone = WS_TONE_ASK;
    SET(face->next, "POUR OUT at 0:00, then %s", face_after(of));
    SET(face->hint, "space: it is out");
}

static void face_pieces(const struct face_of *of, struct ws_face *face, bool in)
{
    const struct ws_view *view = of->view;

    SET(face->word, "SHEET %d %s", view->count, in ? "IN" : "OUT");
    face->tone = WS_TONE_ASK;
    SET(face->beside, "of %d", view->of);
}

/* Counted from the moment the tank is to be tipped: nothing is over while hands that tipped in time
 * still drain it. It is as urgent as the cues are: from OVERTIME on the film suffers. */
static void face_pour_out(const struct face_of *of, struct ws_face *face)
{
    const struct ws_view *view = of->view;

    SET(face->word, "POUR OUT");
    face->tone = view->insists ? WS_TONE_NOW : WS_TONE_ASK;
    set_over(face, view->over_ms);
    SET(face->beside, view->draining ? "DRAIN" : "OVER");
    SET(face->next, "then %s", face_after(of));
    SET(face->hint, "space: empty");
}

static void face_done(const struct face_of *of, struct ws_face *face)
{
    (void)of;
    SET(face->word, "DONE");
    face->tone = WS_TONE_DO;
    SET(face->next, "Hang the film to dry.");
    SET(face->hint, "space: to the Log   u: undo");
}

static void face_word(const struct face_of *of, struct ws_face *face)
{
    if (of->view->stage == WS_STAGE_IN_BATH)
        set_down(face, of->view->left_ms);
    face_next(of, face);
    switch (of->view->word) {
    case WS_WORD_PRESS_WHEN_READY:
        face_waiting(of, face);
        break;
    case WS_WORD_COUNT_IN:
        face_count_in(of, face);
        break;
    case WS_WORD_POUR_IN:
        if (of->view->stage == WS_STAGE_FILLING)
            face_filling(of, face);
        else
            face_waiting(of, face);
        break;
    case WS_WORD_AGITATE:
        face_agitate(of, face);
        break;
    case WS_WORD_REST:
    case WS_WORD_SHUFFLE:
        face_resting(of, face);
        break;
    case WS_WORD_GET_READY:
        face_get_ready(of, face);
        break;
    case WS_WORD_POUR_OUT:
        face_pour_out(of, face);
        break;
    case WS_WORD_PIECES_IN:
        face_pieces(of, face, true);
        break;
    case WS_WORD_PIECES_OUT:
        set_over(face, of->view->over_ms);
        face_pieces(of, face, false);
        break;
    case WS_WORD_DONE:
        face_done(of, face);
        break;
    }
}

void ws_face_make(const struct ws_frame_tank *tank, const struct ws_view *view,
                  const struct ws_face_options *options, struct ws_face *face)
{
    struct face_of of = { .tank = tank,
                          .view = view,
                          .options = options,
                          .bath = ws_session_bath(&tank->session, tank->plan, view->bath) };

    memset(face, 0, sizeof *face);
    face_head(&of, face);
    face_kept(&of, face);
    if (of.bath == NULL && view->word != WS_WORD_DONE)
        return;
    if (of.bath != NULL)
        SET(face->vessel, "%s", of.bath->name);
    face_word(&of, face);
    face_detail(&of, face);
    face_foot(&of, face);
    /* By the second that is shown, so that a picture depends on the moment alone. */
    face->lit = face->tone != WS_TONE_NOW || view->over_ms / 1000 % 2 == 0;
}
