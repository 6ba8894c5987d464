/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The Sink: the run if there is one, else the choosing of one. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/console/room.h"
#include "wetside/session/hands.h"

#include "layers.h"
#include "settings.h"
#include "sink.h"

/* What a run keeps above a panel, and the least a panel is shown in: the run in one line, a title,
 * and two lines. */
enum { LEAST_ROWS_WITH_PANEL = 12, LEAST_PANEL_ROWS = 4, LEAST_PANEL_COLUMNS = 16 };

static int local_minutes(int64_t wall_ms)
{
    time_t second = (time_t)(wall_ms / 1000);
    struct tm local;

    if (localtime_r(&second, &local) == NULL)
        return 0;
    return local.tm_hour * 60 + local.tm_min;
}

/* What is seen of all tanks at the latest frame. */
struct sight {
    struct ws_view view[WS_TANKS];
    int focus; /* -1: no open run */
};

static void look(const struct ws_console *console, struct sight *sight)
{
    const struct ws_frame *frame = &console->frame;

    memset(sight, 0, sizeof *sight);
    sight->focus = -1;
    if (!console->have_frame)
        return;
    for (int i = 0; i < frame->tanks; i++)
        if (frame->tank[i].plan != NULL)
            ws_session_view(&frame->tank[i].session, frame->tank[i].plan, frame->tank[i].at_ms,
                            &sight->view[i]);
    sight->focus = ws_face_focus(frame, sight->view);
}

/* The whole window for a panel, but for one line of the run: its word must never go. */
static void draw_whole_panel(struct sink *sink, const struct ws_face *face)
{
    enum ws_role role = face->tone >= WS_TONE_ASK ? WS_ROLE_ALARM : WS_ROLE_LOUD;

    if (role == WS_ROLE_ALARM)
        ws_draw_bar(stdscr, 0, role);
    ws_draw_format(stdscr, 0, 1, getmaxx(stdscr) - 1, role, "%s %s  %s", face->word, face->clock,
                   face->next);
    sink_panel_draw(stdscr, 1, getmaxy(stdscr) - 1, sink);
}

/* The lines of the tanks that are not in the middle; returns how many. */
static int other_lines(const struct ws_console *console, const struct sight *sight,
                       char line[WS_TANKS][200], const char **others)
{
    const struct ws_frame *frame = &console->frame;
    int n = 0;

    for (int i = 0; i < frame->tanks; i++) {
        if (i == sight->focus || frame->tank[i].plan == NULL || frame->tank[i].session.closed)
            continue;
        ws_face_line(&frame->tank[i], &sight->view[i], line[n], sizeof line[n]);
        others[n] = line[n];
        n++;
    }
    return n;
}

/* What a press comes to before film lies open, in place of what it would begin. */
static void tell_dark(const struct sink *sink, struct ws_face *face)
{
    bool refused = sink->refusal[0] != '\0';

    ws_text_copy(face->next, sizeof face->next, "film will lie open: lights out first");
    ws_text_copy(face->hint, sizeof face->hint,
                 refused ? "space: why not yet" : "space: lights out first");
}

/* The run, and below it the open panel; in a small window the panel alone. */
static void draw_run(struct ws_console *console, struct sink *sink, const struct sight *sight)
{
    const struct ws_frame_tank *tank = &console->frame.tank[sight->focus];
    struct ws_face_options options = { .local_minutes = local_minutes, .scale = console->scale };
    int rows = getmaxy(stdscr), columns = getmaxx(stdscr), panel = sink_panel_rows(sink, columns);
    const char *others[WS_TANKS];
    char line[WS_TANKS][200], keys[SINK_KEYS_BYTES] = "";
    int n = other_lines(console, sight, line, others);
    struct ws_strip strip;
    struct ws_face face;
    WINDOW *window = stdscr;
    bool has;

    ws_face_make(tank, &sight->view[sight->focus], &options, &face);
    if (sink->to_dark && sink->dark_tank == sight->focus)
        tell_dark(sink, &face);
    if (panel > 0 && rows - panel < LEAST_ROWS_WITH_PANEL) {
        draw_whole_panel(sink, &face);
        return;
    }
    if (panel > 0)
        window = derwin(stdscr, rows - panel, columns, 0, 0);
    has = ws_strip_make(tank, columns - (columns >= 60 ? 4 : 2), &strip);
    if (panel == 0)
        sink_keys_line(sink, tank, &sight->view[sight->focus], rows, columns, keys, sizeof keys);
    if (window != NULL)
        sink_draw(window, &face, has ? &strip : NULL, others, n, keys);
    if (window != stdscr && window != NULL)
        delwin(window);
    if (panel > 0)
        sink_panel_draw(stdscr, rows - panel, panel, sink);
}

/* A list that can't be seen is not chosen from. */
static void refuse_panel(struct ws_console *console, struct sink *sink)
{
    if (sink->panel == SINK_PANEL_NONE ||
        (getmaxy(stdscr) >= LEAST_PANEL_ROWS && getmaxx(stdscr) >= LEAST_PANEL_COLUMNS))
        return;
    sink->panel = SINK_PANEL_NONE;
    ws_text_copy(sink->said, sizeof sink->said, "no room for it");
    sink->said_brief[0] = '\0';
    sink->said_ns = ws_clock_boot_ns(console->clock);
}

static void draw(struct ws_console *console, struct sink *sink, const struct sight *sight)
{
    char text[WS_MESSAGE_BYTES];

    erase();
    refuse_panel(console, sink);
    draw_run(console, sink, sight);
    sink_question(sink, &console->frame.tank[sight->focus], getmaxx(stdscr) - 2, text, sizeof text);
    if (text[0] != '\0')
        ws_console_say(console, "%s", text);
    else if (sink->shown)
        console->said[0] = '\0';
    sink->shown = text[0] != '\0';
    console->asks = sink_asks(sink);
}

static void change_setting(struct ws_console *console, enum sink_set what)
{
    struct ws_settings to = console->settings;

    switch (what) {
    case SINK_SET_SOFTER:
    case SINK_SET_LOUDER:
        to.volume_percent =
            settings_volume_step(to.volume_percent, what == SINK_SET_LOUDER ? 1 : -1);
        settings_set(console, &to, WS_SETTING_VOLUME);
        break;
    case SINK_SET_SPEECH:
        to.speech = to.speech == WS_SPEAKS_MINUTES ? WS_SPEAKS_NOT : to.speech + 1;
        settings_set(console, &to, WS_SETTING_SPEECH);
        break;
    case SINK_SET_ALL:
        ws_console_settings(console);
        break;
    case SINK_SET_NOTHING:
        break;
    }
}

static void carry_out(struct ws_console *console, const struct sink_does *does,
                      const struct sight *sight)
{
    for (int i = 0; i < does->strokes; i++)
        if (console->drive != NULL && !ws_drive_post(console->drive, &does->stroke[i]) &&
            does->stroke[i].kind != WS_STROKE_OTHER)
            ws_console_say(console, "Too many keys at once: that one was not taken.");
    if (does->room != 0)
        ws_console_go(console, (enum ws_room_number)does->room);
    if (does->set != SINK_SET_NOTHING)
        change_setting(console, does->set);
    if (does->quit)
        console->quit = true;
    if (does->lights_on)
        dark_lit(console);
    if (does->closed && sight->focus >= 0) {
        const struct ws_plan *plan = console->frame.tank[sight->focus].plan;

        if (plan != NULL && plan->places > 0 && !console->frame.tank[sight->focus].rehearsal) {
            ws_text_copy(console->show_roll, sizeof console->show_roll, plan->place[0].number);
            ws_console_go(console, WS_ROOM_LOG);
        }
    }
}

/* A tank whose run is closed leaves the frames. */
static void forget_closed(struct ws_console *console)
{
    for (int i = 0; i < console->frame.tanks; i++)
        if (console->frame.tank[i].plan != NULL && console->frame.tank[i].session.closed)
            ws_drive_forget(console->drive, i);
}

static void take_settings(const struct ws_console *console, struct sink *sink)
{
    sink->settings = console->settings;
    sink->learned_keys = console->hands;
    memcpy(sink->learned, console->hand, sizeof sink->learned);
    sink->all_settings = !settings_run_counts(console);
}

/* ---- the dark ---- */

/* In the light: film comes into the open with this pour. Once it was lit over open film on purpose
 * it stays; drained film that goes on developing waits for no lamp. */
static bool goes_dark(const struct ws_frame_tank *tank, const struct ws_view *view)
{
    const struct ws_bath *bath = ws_session_bath(&tank->session, tank->plan, view->bath);

    return bath != NULL && bath->open_film && view->stage == WS_STAGE_WAITING && !view->stop_now &&
           !tank->session.lit && !tank->rehearsal;
}

/* Why film must not lie open: in black nothing but sound cues. A rehearsal ruins nothing. */
static void refuse_dark(const struct ws_console *console, const struct ws_frame_tank *tank,
                        char *text, size_t size)
{
    const struct ws_frame *frame = &console->frame;
    const char *why = frame->ear.why.text;
    bool plays = frame->ear.state == WS_EAR_PLAYS;

    text[0] = '\0';
    if (tank->rehearsal || (frame->sound && console->settings.volume_percent > 0))
        return;
    if (frame->ear.state == WS_EAR_STARTING)
        snprintf(text, size, "NOT DARK yet: the sound is still being opened");
    else if (plays)
        snprintf(text, size, "NOT DARK with the volume at 0: 7, then 2 makes it louder");
    else
        snprintf(text, size, "NOT DARK without sound; mend it, or rehearse: %.120s",
                 why[0] != '\0' ? why : "there is only the bell");
}

/* Why a voice that is asked for can't answer. */
static void look_at_voice(const struct ws_console *console, char *text, size_t size)
{
    const struct ws_ear *ear = &console->frame.ear;

    text[0] = '\0';
    if (ear->state == WS_EAR_PLAYS && console->settings.volume_percent == 0)
        snprintf(text, size, "NO VOICE with the volume at 0: 7, then 2 makes it louder");
    else if (ear->state != WS_EAR_PLAYS)
        snprintf(text, size, "NO VOICE without sound: %.120s",
                 ear->why.text[0] != '\0' ? ear->why.text : "there is only the bell");
    else if (!ear->speaks)
        snprintf(text, size, "NO VOICE: %.120s",
                 ear->mute.text[0] != '\0' ? ear->mute.text : "it is still being made ready");
}

/* The tank a press at that moment would go to, and its view; -1: it would answer nothing. Not
 * always the one in the middle of the screen: inside get-ready nothing is asked there. */
static int hand_goes_to(const struct ws_frame *frame, int64_t boot_ns, struct ws_view *out)
{
    int64_t since_ms = (boot_ns - frame->boot_ns) / 1000000;
    struct ws_view view[WS_TANKS];
    struct ws_hands hands;
    int of[WS_TANKS], n = 0, which;

    for (int i = 0; i < frame->tanks; i++) {
        const struct ws_frame_tank *tank = &frame->tank[i];

        if (tank->plan == NULL || tank->session.closed)
            continue;
        ws_session_view(&tank->session, tank->plan, tank->at_ms + (since_ms > 0 ? since_ms : 0),
                        &view[n]);
        of[n++] = i;
    }
    ws_hands_begin(&hands);
    which = ws_hands_route(&hands, view, n, 0);
    if (which < 0)
        return -1;
    *out = view[which];
    return of[which];
}

/* What the hand key means at that moment. */
static void look_at_hand(const struct ws_console *console, struct sink *sink, int64_t boot_ns)
{
    const struct ws_frame *frame = &console->frame;
    struct ws_view view;
    int tank = hand_goes_to(frame, boot_ns, &view);

    sink->wanted = tank >= 0;
    sink->to_dark = !console->black && tank >= 0 && goes_dark(&frame->tank[tank], &view);
    if (sink->to_dark)
        sink->dark_tank = tank;
}

static void look_at_dark(const struct ws_console *console, const struct sight *sight,
                         struct sink *sink)
{
    const struct ws_frame *frame = &console->frame;

    sink_blacken(sink, console->black);
    sink->dark = dark_tanks(frame);
    look_at_hand(console, sink, frame->boot_ns);
    refuse_dark(console, &frame->tank[sink->to_dark ? sink->dark_tank : sight->focus],
                sink->refusal, sizeof sink->refusal);
    look_at_voice(console, sink->mute, sizeof sink->mute);
}

/* The run's own loop: until no run is open, or the room is left. */
static void run_visit(struct ws_console *console, struct sink *sink)
{
    console->wants_frames = true;
    leaveok(stdscr, TRUE); /* the cursor is hidden: it may stay where the last change was */
    while (!ws_console_leaving(console)) {
        struct sink_does does = { .strokes = 0 };
        const struct ws_frame_tank *tank;
        struct sight sight;
        int64_t now_ns;
        ws_key key;

        look(console, &sight);
        if (sight.focus < 0)
            break;
        tank = &console->frame.tank[sight.focus];
        look_at_dark(console, &sight, sink);
        take_settings(console, sink);
        if (sink->black)
            console->asks = sink->shown = false;
        else
            draw(console, sink, &sight);
        console->wake_ns = sink_settle_ns(sink);
        key = ws_console_next(console);
        now_ns = ws_clock_boot_ns(console->clock);
        if (key == WS_KEY_QUIT)
            break;
        look_at_hand(console, sink, console->key_boot_ns);
        if (key == WS_KEY_FRAME || key == WS_KEY_REDRAW)
            sink_settle(sink, tank, sight.focus, now_ns, console->scale, &does);
        else
            sink_key(sink, tank, sight.focus, key, console->key_boot_ns, console->scale, &does);
        carry_out(console, &does, &sight);
    }
    leaveok(stdscr, FALSE);
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
    console->said[0] = '\0';
    console->asks = false;
}

static void sink_visit(struct ws_console *console)
{
    struct sink sink;

    sink_begin(&sink);
    while (!ws_console_leaving(console)) {
        /* What was begun or closed just now is in a frame already. */
        console_look(console);
        if (console->drive != NULL)
            forget_closed(console);
        settings_settle(console, false);
        if (ws_console_run_open(console))
            run_visit(console, &sink);
        else if (console->black)
            dark_wait(console, &sink);
        else
            ws_sink_choose(console);
    }
}

const struct ws_room ws_room_sink = {
    WS_ROOM_SINK, "Sink",
    "choosing a run, and the run itself: every bath timed, every cue said and shown", sink_visit
};
