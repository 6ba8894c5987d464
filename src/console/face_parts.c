/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The lines of a face around its word: head, what comes next, details, foot. */
#include "face_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"

/* Appends to a line; a text too long is cut. */
static void append(char *out, size_t size, const char *gap, const char *text)
{
    size_t used = strlen(out);

    if (used < size)
        snprintf(out + used, size - used, "%s%s", used > 0 ? gap : "", text);
}

#define APPEND(field, gap, text) append((field), sizeof(field), (gap), (text))

void face_head(const struct face_of *of, struct ws_face *face)
{
    const struct ws_plan *plan = of->tank->plan;
    const struct ws_view *view = of->view;
    char text[96];

    if (of->tank->rehearsal)
        APPEND(face->head_left, "", "REHEARSAL");
    APPEND(face->head_left, "   ", plan->tank);
    ws_text_copy(face->head_short, sizeof face->head_short, face->head_left);
    if (plan->places > 0) {
        APPEND(face->head_left, "   ", plan->place[0].film);
        APPEND(face->head_left, "   ", plan->place[0].number);
    }
    if (plan->places > 1) {
        snprintf(text, sizeof text, "and %d more", plan->places - 1);
        APPEND(face->head_left, " ", text);
    }
    if (of->bath != NULL)
        snprintf(face->head_right, sizeof face->head_right, "%s   bath %d of %d", of->bath->name,
                 view->step + 1, view->steps);
    else
        snprintf(face->head_right, sizeof face->head_right, "%d baths", view->steps);
}

const char *face_after(const struct face_of *of)
{
    static char text[WS_NAME + 16];
    const struct ws_session *session = &of->tank->session;
    const struct ws_bath *after =
        ws_session_bath(session, of->tank->plan, ws_session_bath_at(session, of->view->step + 1));

    if (after == NULL)
        return "DONE";
    snprintf(text, sizeof text, "POUR IN %s", after->name);
    return text;
}

void face_next(const struct face_of *of, struct ws_face *face)
{
    const struct ws_cue *cue = &of->view->next;
    char in[24], sheet[24];
    const char *word = ws_face_cue_word(cue->kind);

    if (cue->due_ms == WS_NEVER)
        return;
    ws_face_countdown(cue->due_ms - of->tank->at_ms, in, sizeof in);
    if (cue->kind == WS_CUE_PIECE_IN || cue->kind == WS_CUE_PIECE_OUT) {
        snprintf(sheet, sizeof sheet, "SHEET %d %s", cue->index + 1,
                 cue->kind == WS_CUE_PIECE_IN ? "IN" : "OUT");
        word = sheet;
    } else if (cue->kind == WS_CUE_READY_TO_POUR) {
        /* What the hands wait for is the pour; get ready says itself when it is there. */
        word = "POUR OUT";
        ws_face_countdown(of->view->pour_out_ms - of->tank->at_ms, in, sizeof in);
    } else if (cue->kind == WS_CUE_REST && of->bath != NULL && of->bath->agitation.tap) {
        word = "tap, REST";
    }
    snprintf(face->next, sizeof face->next, "then %s in %s", word, in);
}

/* The wall's time of a run moment: 21:47, 00:54; two digits of hours and the word clock before it
 * tell it from a time that is left. False when it is not to be shown. */
static bool wall(const struct face_of *of, int64_t at_ms, char *text, size_t size)
{
    int minutes;

    if (of->options->local_minutes == NULL || at_ms == WS_NEVER)
        return false;
    minutes = of->options->local_minutes(of->tank->began_wall_ms + at_ms);
    snprintf(text, size, "%02d:%02d", minutes / 60, minutes % 60);
    return true;
}

void face_long_rest(const struct face_of *of, struct ws_face *face)
{
    const struct ws_plan *plan = of->tank->plan;
    const struct ws_cue *next = &of->view->next;
    int64_t back_ms = next->kind == WS_CUE_COME_BACK ? next->value_ms : next->due_ms;
    char out[16], back[16];

    if (!wall(of, of->view->pour_out_ms, out, sizeof out))
        return;
    snprintf(face->next, sizeof face->next, "POUR OUT AT %s", out);
    /* Hands are wanted two minutes before the rest ends. */
    if (wall(of, back_ms - plan->come_back_lead_ms, back, sizeof back))
        snprintf(face->hint, sizeof face->hint, "be back at %s", back);
}

/* What is measured out for the pour: 150 ml MQB-014 + 150 ml water. */
static void parts(const struct ws_bath *bath, char *out, size_t size)
{
    for (int i = 0; i < bath->parts && i < WS_PARTS; i++) {
        char ml[24];

        ws_volume_print(bath->part[i].ml, ml, sizeof ml);
        append(out, size, " + ", ml);
        append(out, size, " ", bath->part[i].water ? "water" : bath->part[i].name);
    }
}

void face_detail(const struct face_of *of, struct ws_face *face)
{
    const struct ws_view *view = of->view;
    char past[24], whole[24], text[96], clock[16], measured[160] = "";

    if (of->bath == NULL)
        return;
    ws_time_print(view->time_ms, whole, sizeof whole);
    if (view->stage == WS_STAGE_WAITING || view->stage == WS_STAGE_COUNT_IN) {
        snprintf(text, sizeof text, "%s from %s", whole,
                 of->bath->clock_from == WS_FROM_FULL ? "full" : "first liquid");
        APPEND(face->detail, "", text);
        parts(of->bath, measured, sizeof measured);
        if (measured[0] != '\0')
            APPEND(face->detail, "   ", measured);
        return;
    }
    ws_face_elapsed(view->in_bath_ms, past, sizeof past);
    snprintf(text, sizeof text, "%s of %s", past, whole);
    APPEND(face->detail, "", text);
    ws_time_print(view->pour_out_ms - of->tank->session.span.clock_ms, past, sizeof past);
    snprintf(text, sizeof text, "pour out at %s", past);
    APPEND(face->detail, "   ", text);
    APPEND(face->detail_brief, "", face->detail);
    if (wall(of, view->pour_out_ms, clock, sizeof clock)) {
        snprintf(text, sizeof text, "clock %s", clock);
        APPEND(face->detail, ", ", text);
    }
}

void face_foot(const struct face_of *of, struct ws_face *face)
{
    const struct ws_session *session = &of->tank->session;
    const struct ws_bath_record *record;
    char text[96], now[24], offered[24], c[24];
    int missed;

    if (of->bath == NULL)
        return;
    record = &session->record[of->view->bath];
    if (session->offer != 0) {
        ws_time_print(of->view->time_ms, now, sizeof now);
        ws_time_print(session->offer_time_ms, offered, sizeof offered);
        snprintf(text, sizeof text, "OFFER: %s instead of %s   o: take   x: refuse", offered, now);
        APPEND(face->foot, "", text);
        return;
    }
    if (session->away)
        APPEND(face->foot, "", "AWAY");
    if (!isnan(session->reading_c) && session->reading_ms != WS_NEVER) {
        ws_temperature_print(session->reading_c, of->options->scale, c, sizeof c);
        ws_face_elapsed(session->reading_ms - session->span.clock_ms, now, sizeof now);
        snprintf(text, sizeof text, "%s at %s", c, now);
        APPEND(face->foot, "   ", text);
    } else if (record->readings > 0) {
        ws_temperature_print(record->low_c, of->options->scale, c, sizeof c);
        APPEND(face->foot, "   ", c);
        if (record->high_c > record->low_c) {
            ws_temperature_print(record->high_c, of->options->scale, c, sizeof c);
            APPEND(face->foot, " to ", c);
        }
    }
    missed = record->asked - record->confirmed - (of->view->unconfirmed ? 1 : 0);
    if (missed > 0) {
        snprintf(text, sizeof text, "%d %s not confirmed", missed,
                 missed == 1 ? "cycle" : "cycles");
        APPEND(face->foot, "   ", text);
    }
    if (session->estimated)
        APPEND(face->foot, "   ", "times estimated: the clock was lost");
}

void face_kept(const struct face_of *of, struct ws_face *face)
{
    switch (of->tank->kept) {
    case WS_KEPT_NONE:
        if (of->tank->rehearsal)
            snprintf(face->kept, sizeof face->kept, "nothing is written");
        break;
    case WS_KEPT_ALL:
        snprintf(face->kept, sizeof face->kept, "kept");
        break;
    case WS_KEPT_WAITING:
        snprintf(face->kept, sizeof face->kept, "...");
        break;
    case WS_KEPT_FAILING:
        snprintf(face->kept, sizeof face->kept, "NOT KEPT");
        face->kept_alarm = true;
        break;
    }
}

/* As in hands.h: film that goes on developing comes first. */
static int urgency(const struct ws_view *view)
{
    if (view->stage == WS_STAGE_DRAINING || view->stop_now)
        return 5;
    if (view->stage == WS_STAGE_FILLING || view->stage == WS_STAGE_COUNT_IN)
        return 4;
    if (view->stage == WS_STAGE_IN_BATH && view->wants_hand)
        return 3;
    if (view->stage == WS_STAGE_WAITING)
        return 2;
    return view->stage == WS_STAGE_IN_BATH ? 1 : 0;
}

int ws_face_focus(const struct ws_frame *frame, const struct ws_view *view)
{
    int best = -1;

    for (int i = 0; i < frame->tanks && i < WS_TANKS; i++) {
        int is = urgency(&view[i]);

        if (frame->tank[i].plan == NULL || frame->tank[i].session.closed)
            continue;
        if (best < 0 || is > urgency(&view[best]) ||
            (is == urgency(&view[best]) && view[i].next.due_ms - frame->tank[i].at_ms <
                                               view[best].next.due_ms - frame->tank[best].at_ms))
            best = i;
    }
    return best;
}

void ws_face_line(const struct ws_frame_tank *tank, const struct ws_view *view, char *text,
                  size_t size)
{
    static const struct ws_face_options plain = { .local_minutes = NULL };
    struct ws_face face;

    ws_face_make(tank, view, &plain, &face);
    snprintf(text, size, "%s  %s %s  %s", tank->plan->tank, face.word, face.clock, face.next);
}
