/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strokes become events: which tank is meant, whether it is a press, what can't be done and why. On
 * the drive's thread. */
#include "inside.h"
#include "speak.h"

#include <string.h>

#include "wetside/calc/units.h"

enum { MINUTE_MS = 60000 };

static void say(struct ws_drive *drive, const struct ws_message *line)
{
    ws_drive_notice(drive, line);
}

#define SAY(drive, ...)                                                                            \
    do {                                                                                           \
        struct ws_message line_;                                                                   \
                                                                                                   \
        ws_fail(&line_, WS_OK, __VA_ARGS__);                                                       \
        say(drive, &line_);                                                                        \
    } while (0)

/* A yes is said only where nothing weightier would stand there: that the book fails. */
static bool may_confirm(struct ws_drive *drive, const struct ws_seat *seat)
{
    struct ws_keeper_view book;

    if (seat->rehearsal)
        return true;
    ws_keeper_look(&drive->keeper, seat->tank, &book);
    return !seat->lost && book.status == WS_OK;
}

#define CONFIRM(drive, seat, ...)                                                                  \
    do {                                                                                           \
        if (may_confirm(drive, seat))                                                              \
            SAY(drive, __VA_ARGS__);                                                               \
    } while (0)

/* ---- which tank ---- */

/* Gives the open runs' views at the stroke's moment, and which tank each is of. */
static int look(struct ws_drive *drive, const struct ws_stroke *stroke,
                struct ws_view view[WS_TANKS], int tank[WS_TANKS])
{
    int n = 0;

    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_seat *seat = drive->seat[i];
        struct ws_stamp stamp = drive->now;
        int64_t at_ms;

        if (seat == NULL || seat->session.closed || (stroke->tank >= 0 && stroke->tank != i))
            continue;
        stamp.boot_ns = stroke->boot_ns < stamp.boot_ns ? stroke->boot_ns : stamp.boot_ns;
        at_ms = ws_seat_ms(seat, &stamp);
        ws_seat_tick(drive, seat, at_ms);
        if (at_ms < seat->session.now_ms)
            at_ms = seat->session.now_ms;
        ws_session_view(&seat->session, &seat->plan, at_ms, &view[n]);
        tank[n++] = i;
    }
    return n;
}

/* A key that names no tank means the one that asks, or the only one, or the one pressed last. */
static struct ws_seat *meant(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    struct ws_view view[WS_TANKS];
    int tank[WS_TANKS];
    int n = look(drive, stroke, view, tank);
    struct ws_hands hands;
    int which;

    if (n == 0)
        return NULL;
    if (n == 1)
        return drive->seat[tank[0]];
    ws_hands_begin(&hands);
    which = ws_hands_route(&hands, view, n, 0);
    if (which >= 0)
        return drive->seat[tank[which]];
    for (int i = 0; i < n; i++)
        if (tank[i] == drive->hands.run)
            return drive->seat[tank[i]];
    return NULL;
}

/* Undo and "it was on time" go to the tank that got the last press. */
static struct ws_seat *pressed_last(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    int run = drive->hands.run;

    if (stroke->tank < 0 && run >= 0 && drive->seat[run] != NULL &&
        !drive->seat[run]->session.closed)
        return drive->seat[run];
    return meant(drive, stroke);
}

static int64_t moment(const struct ws_drive *drive, const struct ws_seat *seat,
                      const struct ws_stroke *stroke)
{
    struct ws_stamp stamp = drive->now;

    stamp.boot_ns = stroke->boot_ns;
    return ws_seat_ms(seat, &stamp);
}

/* Who asked for the run is waited for, some seconds at most; until then it takes nothing here. */
static bool is_being_handed(struct ws_drive *drive, const struct ws_seat *seat)
{
    if (seat->held)
        SAY(drive, "not taken: another wetside is just taking the run over");
    return seat->held;
}

/* ---- the hand ---- */

enum { JUST_FULL_MS = 3000 };

static bool was_just_full(const struct ws_seat *seat, int64_t at_ms)
{
    const struct ws_session *session = &seat->session;
    int bath = ws_session_bath_at(session, session->step);

    return session->stage == WS_STAGE_IN_BATH && bath >= 0 && session->record[bath].full_assumed &&
           at_ms - session->record[bath].full_ms < JUST_FULL_MS;
}

/* A press meant as FULL that comes when full was assumed already confirms the first agitation: the
 * hands should know what was made of it. */
static void say_if_late_for_full(struct ws_drive *drive, const struct ws_seat *seat)
{
    const struct ws_press *press = &seat->session.press;

    if (press->what == WS_PRESS_CYCLE && press->cycle == 0 && was_just_full(seat, press->at_ms))
        CONFIRM(drive, seat, "full was assumed just before: this press confirms the agitation");
}

/* The same where there is no agitation to confirm, a stand or a continuous one: nothing is made of
 * it. */
static void say_if_full_in_vain(struct ws_drive *drive, const struct ws_stroke *stroke,
                                const int tank[WS_TANKS], int tanks)
{
    for (int i = 0; i < tanks; i++) {
        const struct ws_seat *seat = drive->seat[tank[i]];

        if (was_just_full(seat, moment(drive, seat, stroke)))
            CONFIRM(drive, seat, "full was assumed just before, and nothing is asked now");
    }
}

static void hand(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    struct ws_event press = { .kind = WS_EVENT_HAND, .bath = -1 };
    struct ws_view view[WS_TANKS];
    int tank[WS_TANKS];
    int n = look(drive, stroke, view, tank);
    int64_t boot_ms = stroke->boot_ns / WS_NS_IN_MS;
    bool counts = ws_hands_counts(&drive->hands, boot_ms);
    int which = ws_hands_route(&drive->hands, view, n, boot_ms);
    struct ws_seat *seat;

    /* One that is held asks for nothing. */
    for (int i = 0; i < n && which < 0 && counts; i++)
        if (is_being_handed(drive, drive->seat[tank[i]]))
            return;
    if (which < 0 && counts)
        say_if_full_in_vain(drive, stroke, tank, n);
    if (which < 0)
        return;
    seat = drive->seat[tank[which]];
    if (is_being_handed(drive, seat))
        return;
    if (ws_seat_act(drive, seat, &press, moment(drive, seat, stroke)) != WS_OK)
        return;
    ws_hands_pressed(&drive->hands, seat->tank, press.sequence);
    say_if_late_for_full(drive, seat);
}

/* Of several tanks the last press may have been for one that is not in the middle of the screen. */
static void of_tank(const struct ws_drive *drive, const struct ws_seat *seat, char *text,
                    size_t size)
{
    int open = 0;

    for (int i = 0; i < WS_TANKS; i++)
        open += drive->seat[i] != NULL && !drive->seat[i]->session.closed;
    text[0] = '\0';
    if (open > 1)
        ws_text_copy(text + ws_text_copy(text, size - 2, seat->plan.tank), 3, ": ");
}

/* What a press that is taken back had said. */
static void say_undone(struct ws_drive *drive, const struct ws_seat *seat,
                       const struct ws_press *press)
{
    int64_t due_ms = press->due_ms - press->span.clock_ms;
    char at[24], tank[WS_NAME + 2];

    of_tank(drive, seat, tank, sizeof tank);
    switch (press->what) {
    case WS_PRESS_BEGAN:
        CONFIRM(drive, seat, "%staken back: the pour; it is waited for again", tank);
        break;
    case WS_PRESS_FULL:
        CONFIRM(drive, seat, "%staken back: full", tank);
        break;
    case WS_PRESS_CYCLE:
        /* The first may have been called for before a FULL that was taken back. */
        ws_time_print(due_ms > 0 ? due_ms : 0, at, sizeof at);
        CONFIRM(drive, seat, "%staken back: the agitation at %s; it is not confirmed now", tank,
                at);
        break;
    case WS_PRESS_CAME_BACK:
        CONFIRM(drive, seat, "%staken back: that you are back", tank);
        break;
    case WS_PRESS_EMPTY:
        CONFIRM(drive, seat, "%staken back: empty", tank);
        break;
    case WS_PRESS_NONE:
        break;
    }
}

static void about_last_press(struct ws_drive *drive, const struct ws_stroke *stroke,
                             enum ws_event_kind kind)
{
    struct ws_seat *seat = pressed_last(drive, stroke);
    struct ws_event event = { .kind = kind, .bath = -1 };
    struct ws_press press;

    if (seat == NULL || is_being_handed(drive, seat))
        return;
    press = seat->session.press;
    event.of =
        drive->hands.run == seat->tank ? drive->hands.sequence : seat->session.press.sequence;
    if (ws_seat_act(drive, seat, &event, moment(drive, seat, stroke)) == WS_OK) {
        if (kind == WS_EVENT_UNDO)
            say_undone(drive, seat, &press);
        else
            CONFIRM(drive, seat, "on time: noted");
    } else if (kind == WS_EVENT_UNDO) {
        SAY(drive, "no press to undo: only the last one can be, within a minute");
    } else {
        SAY(drive, "no press that was due at a moment: there is nothing to set on time");
    }
}

/* ---- the bath's time ---- */

static void a_minute_more(struct ws_drive *drive, struct ws_seat *seat,
                          const struct ws_stroke *stroke)
{
    const struct ws_session *session = &seat->session;
    int number = ws_session_bath_at(session, session->step);
    const struct ws_bath *bath = ws_session_bath(session, &seat->plan, number);
    struct ws_event event = { .kind = WS_EVENT_END_SET, .cause = WS_BY_HAND, .bath = number };
    char most[32], now[32];

    if (bath == NULL || session->stage == WS_STAGE_OVER) {
        SAY(drive, "no bath is in hand that a minute could be added to");
        return;
    }
    if (!ws_bath_may_run_long(bath)) {
        SAY(drive, "the %s can't be stretched by hand: it ends when its time says",
            ws_bath_kind_name(bath->kind));
        return;
    }
    event.value_ms = session->record[number].time_ms + MINUTE_MS;
    if (bath->longest_ms > 0 && event.value_ms > bath->longest_ms) {
        ws_time_print(bath->longest_ms, most, sizeof most);
        SAY(drive, "%s: %s is the longest it may run", bath->name, most);
        return;
    }
    if (ws_seat_act(drive, seat, &event, moment(drive, seat, stroke)) != WS_OK) {
        SAY(drive, "%s: too late for a minute more", bath->name);
        return;
    }
    ws_time_print(event.value_ms, now, sizeof now);
    CONFIRM(drive, seat, "%s: a minute more, %s", bath->name, now);
}

/* ---- all others ---- */

/* What was taken and can't be seen on the screen at once. */
static void confirm(struct ws_drive *drive, const struct ws_seat *seat,
                    const struct ws_event *event, enum ws_scale scale)
{
    char text[32];

    switch (event->kind) {
    case WS_EVENT_READING:
        ws_temperature_print(event->value_c, scale, text, sizeof text);
        CONFIRM(drive, seat, "%s noted", text);
        break;
    case WS_EVENT_TAKE:
        CONFIRM(drive, seat, "taken: the end is moved");
        break;
    case WS_EVENT_REFUSE:
        CONFIRM(drive, seat, "refused: the end stays");
        break;
    case WS_EVENT_INSERT:
        /* Between trays it may be longer than was asked for. */
        ws_time_print(seat->session.record[WS_BATHS + seat->session.extras - 1].time_ms, text,
                      sizeof text);
        CONFIRM(drive, seat, "comes next: %s %s", ws_bath_kind_name((enum ws_bath_kind)event->of),
                text);
        break;
    default:
        break;
    }
}

static void refuse(struct ws_drive *drive, enum ws_event_kind kind)
{
    switch (kind) {
    case WS_EVENT_TAKE:
        SAY(drive, "o did nothing: it takes a new time for the bath, and none is offered now");
        break;
    case WS_EVENT_REFUSE:
        SAY(drive, "x did nothing: it refuses a new time for the bath, and none is offered now");
        break;
    case WS_EVENT_LEAVE:
        SAY(drive, "no bath is in hand that could be ended early");
        break;
    case WS_EVENT_INSERT:
        SAY(drive, "no more baths can be put in: %d is the most, and only before the end",
            (int)WS_EXTRA);
        break;
    case WS_EVENT_READING:
        SAY(drive, "the reading was not taken: no bath is in hand, or it is no temperature");
        break;
    default:
        break;
    }
}

/* The event a stroke stands for; WS_EVENT_KINDS: none of the plain ones. */
static enum ws_event_kind plain_event(enum ws_stroke_kind kind)
{
    switch (kind) {
    case WS_STROKE_LEAVE:
        return WS_EVENT_LEAVE;
    case WS_STROKE_INSERT:
        return WS_EVENT_INSERT;
    case WS_STROKE_READING:
        return WS_EVENT_READING;
    case WS_STROKE_TAKE:
        return WS_EVENT_TAKE;
    case WS_STROKE_REFUSE:
        return WS_EVENT_REFUSE;
    case WS_STROKE_AWAY:
        return WS_EVENT_AWAY;
    case WS_STROKE_BACK:
        return WS_EVENT_BACK;
    case WS_STROKE_LIGHTS_OUT:
        return WS_EVENT_LIGHTS_OUT;
    case WS_STROKE_LIGHTS_ON:
        return WS_EVENT_LIGHTS_ON;
    default:
        return WS_EVENT_KINDS;
    }
}

/* In black only a sound can cue; a rehearsal ruins nothing. */
static bool may_be_dark(const struct ws_drive *drive, const struct ws_seat *seat)
{
    return seat->rehearsal || (drive->ear.state == WS_EAR_PLAYS && drive->ear.volume_percent > 0);
}

static void plain(struct ws_drive *drive, struct ws_seat *seat, const struct ws_stroke *stroke)
{
    struct ws_event event = { .kind = plain_event(stroke->kind),
                              .cause = WS_BY_HAND,
                              .bath = -1,
                              .value_ms = stroke->value_ms,
                              .value_c = stroke->value_c };

    if (event.kind == WS_EVENT_KINDS)
        return;
    if (event.kind == WS_EVENT_LIGHTS_OUT && !may_be_dark(drive, seat)) {
        SAY(drive, "lights out refused: there is no working sound, nothing would cue you in black");
        return;
    }
    if (event.kind == WS_EVENT_INSERT)
        event.of = (uint32_t)stroke->bath_kind;
    if (event.kind == WS_EVENT_TAKE || event.kind == WS_EVENT_REFUSE)
        event.of = seat->session.offer;
    if (ws_seat_act(drive, seat, &event, moment(drive, seat, stroke)) == WS_OK)
        confirm(drive, seat, &event, stroke->scale);
    else
        refuse(drive, event.kind);
}

/* A run whose last bath is out is finished, whatever is said; any other is given up. */
static void close_run(struct ws_drive *drive, struct ws_seat *seat, const struct ws_stroke *stroke)
{
    const char *reason = stroke->reason[0] != '\0' ? stroke->reason : "given up";

    if (seat->session.stage == WS_STAGE_OVER)
        reason = "";
    ws_seat_close(drive, seat, reason, moment(drive, seat, stroke));
}

/* What is only said. */
static void speak(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    int tank = stroke->tank >= 0 && stroke->tank < WS_TANKS ? stroke->tank : 0;
    struct ws_ring_item reply = { .cue = { .kind = WS_CUE_KINDS } };

    reply.saying = ws_speak_phrase(WS_PHRASE_TEST);
    if (stroke->kind == WS_STROKE_TEST) {
        reply.cue.kind = WS_CUE_POUR_OUT;
        if (stroke->value_ms == 0)
            reply.saying.phrase = WS_PHRASES;
    } else if (stroke->kind == WS_STROKE_SAY) {
        reply.saying.phrase = stroke->value_ms >= 0 && stroke->value_ms < WS_PHRASES
                                  ? (enum ws_phrase)stroke->value_ms
                                  : WS_PHRASES;
    } else {
        const struct ws_seat *seat = meant(drive, stroke);

        tank = seat != NULL ? seat->tank : tank;
        ws_speak_now(drive, seat, &reply.saying);
    }
    if (ws_ringer_reply(drive->ringer, tank, &reply))
        ws_screen_bell(drive);
}

void ws_drive_stroke(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    int64_t boot_ms = stroke->boot_ns / WS_NS_IN_MS;
    struct ws_seat *seat;

    if (stroke->kind == WS_STROKE_HAND) {
        hand(drive, stroke);
        return;
    }
    /* Every key that was seen makes the next moments quiet. */
    if (boot_ms > drive->hands.last_boot_ms)
        drive->hands.last_boot_ms = boot_ms;
    if (stroke->kind == WS_STROKE_OTHER)
        return;
    if (stroke->kind == WS_STROKE_TELL || stroke->kind == WS_STROKE_SAY ||
        stroke->kind == WS_STROKE_TEST) {
        speak(drive, stroke);
        return;
    }
    if (stroke->kind == WS_STROKE_UNDO || stroke->kind == WS_STROKE_ON_TIME) {
        about_last_press(drive, stroke,
                         stroke->kind == WS_STROKE_UNDO ? WS_EVENT_UNDO : WS_EVENT_ON_TIME);
        return;
    }
    seat = meant(drive, stroke);
    if (seat == NULL) {
        if (stroke->tank < 0)
            SAY(drive, "no run, or none that is meant: say which tank");
        return;
    }
    if (is_being_handed(drive, seat))
        return;
    if (stroke->kind == WS_STROKE_CLOSE)
        close_run(drive, seat, stroke);
    else if (stroke->kind == WS_STROKE_MINUTE)
        a_minute_more(drive, seat, stroke);
    else
        plain(drive, seat, stroke);
}
