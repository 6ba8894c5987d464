/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs that another process drives, seen from here: the Sink's screen without its keys. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "wetside/console/big.h"
#include "wetside/console/face.h"
#include "wetside/console/strip.h"

#include "layers.h"
#include "recover.h"
#include "sink.h"

#define NS_PER_MS INT64_C(1000000)
#define NS_PER_S  INT64_C(1000000000)

struct watching {
    struct ws_console *console;
    struct ws_watch *watch;
    struct ws_watched *seen;
    struct ws_frame frame; /* of what is watched, made here */
    struct ws_view view[WS_TANKS];
    int focus;      /* -1: nothing to be seen */
    bool told;      /* its state stands in the line for messages */
    int64_t esc_ns; /* in black: when Esc asked for the light; INT64_MIN: not */
};

/* ---- what is seen ---- */

/* A run that is over stays to be read until another asks for the middle. */
static int last_over(const struct ws_watched *seen)
{
    int at = -1;

    for (int i = 0; i < seen->runs; i++)
        if (seen->run[i].over &&
            (at < 0 || seen->run[i].glimpse.line.ended_ms >= seen->run[at].glimpse.line.ended_ms))
            at = i;
    return at;
}

static void look(struct watching *w)
{
    struct ws_clock *clock = w->console->clock;

    ws_watch_look(w->watch, w->seen);
    memset(&w->frame, 0, sizeof w->frame);
    w->frame.tanks = w->seen->runs;
    for (int i = 0; i < w->seen->runs; i++) {
        struct ws_frame_tank *tank = &w->frame.tank[i];

        ws_glimpse_tank(&w->seen->run[i].glimpse, clock, tank);
        tank->kept = WS_KEPT_NONE;
        tank->session.closed = w->seen->run[i].over;
        ws_session_view(&tank->session, tank->plan, tank->at_ms, &w->view[i]);
    }
    w->focus = ws_face_focus(&w->frame, w->view);
    if (w->focus < 0)
        w->focus = last_over(w->seen);
}

/* Film of a run that is watched lies in somebody's dark: perhaps this one. */
static bool lies_open(const struct watching *w)
{
    for (int i = 0; i < w->seen->runs; i++)
        if (!w->seen->run[i].over && w->view[i].film_open)
            return true;
    return false;
}

/* What is to be known of the run in the middle besides its time. */
static void say_state(const struct watching *w, char *text, size_t size)
{
    const struct ws_watched_run *run = w->focus >= 0 ? &w->seen->run[w->focus] : NULL;

    text[0] = '\0';
    if (w->seen->lost) {
        snprintf(text, size, "NOT READ now: %.280s", w->seen->why.text);
        return;
    }
    if (run == NULL || run->over)
        return;
    if (run->holder.hold == WS_HOLD_NONE)
        snprintf(text, size, "NOBODY DRIVES IT any more, and nothing cues: start wetside");
    else if (run->holder.hold == WS_HOLD_DUMB)
        snprintf(text, size, "The process that drives it (%d) does not answer", run->holder.pid);
    else if (run->holder.hold == WS_HOLD_ALONE)
        snprintf(text, size,
                 "Its terminal was lost; its cues go on. Start wetside to have it there");
    else if (run->glimpse.ask)
        snprintf(text, size, "This machine's clock can't tell where it stands");
}

/* ---- drawing ---- */

static int local_minutes(int64_t wall_ms)
{
    time_t second = (time_t)(wall_ms / 1000);
    struct tm local;

    if (localtime_r(&second, &local) == NULL)
        return 0;
    return local.tm_hour * 60 + local.tm_min;
}

/* Ends the text where a key is told. */
static void cut_at(char *text, const char *key)
{
    char *at = strstr(text, key);

    if (at != NULL)
        *at = '\0';
}

static void put_before(char *text, size_t size, const char *word)
{
    size_t length = strlen(word);
    char after[192];

    ws_text_copy(after, sizeof after, text);
    ws_text_copy(text, size, word);
    if (after[0] != '\0' && length + 3 < size) {
        memset(text + length, ' ', 3);
        ws_text_copy(text + length + 3, size - length - 3, after);
    }
}

/* The face without what only hands at the other screen can do. */
static void take_keys_away(struct ws_face *face)
{
    static const char press[] = "space: ";

    if (strncmp(face->next, press, sizeof press - 1) == 0) {
        memmove(face->next, face->next + sizeof press - 1,
                strlen(face->next + sizeof press - 1) + 1);
        if (strncmp(face->next, "counts", 6) != 0)
            face->next[0] = '\0';
    }
    cut_at(face->hint, "space:");
    cut_at(face->hint, "enter:");
    cut_at(face->hint, "; ");
    cut_at(face->foot, "   o: take");
    put_before(face->head_left, sizeof face->head_left, "WATCHING");
    put_before(face->head_short, sizeof face->head_short, "WATCHING");
    ws_text_copy(face->kept, sizeof face->kept, "WATCHING");
    face->kept_alarm = false;
}

static void face_over(const struct ws_run_line *line, struct ws_face *face)
{
    face->tone = WS_TONE_DO;
    ws_text_copy(face->word, sizeof face->word, line->given_up ? "GIVEN UP" : "DONE");
    face->clock[0] = face->beside[0] = face->vessel[0] = face->hint[0] = '\0';
    face->detail[0] = face->detail_brief[0] = face->foot[0] = '\0';
    if (line->given_up)
        snprintf(face->next, sizeof face->next, "The run was given up: %.120s", line->reason);
    else
        ws_text_copy(face->next, sizeof face->next, "The run is over, and kept.");
}

static int other_lines(const struct watching *w, char line[WS_TANKS][200], const char **others)
{
    int n = 0;

    for (int i = 0; i < w->frame.tanks; i++) {
        if (i == w->focus || w->frame.tank[i].session.closed)
            continue;
        ws_face_line(&w->frame.tank[i], &w->view[i], line[n], sizeof line[n]);
        cut_at(line[n], "space:");
        others[n] = line[n];
        n++;
    }
    return n;
}

static void draw_run(const struct watching *w)
{
    struct ws_face_options options = { .local_minutes = local_minutes, .scale = w->console->scale };
    const struct ws_frame_tank *tank = &w->frame.tank[w->focus];
    int columns = getmaxx(stdscr);
    const char *others[WS_TANKS];
    char line[WS_TANKS][200];
    int n = other_lines(w, line, others);
    struct ws_strip strip;
    struct ws_face face;
    bool has = !w->seen->run[w->focus].over &&
               ws_strip_make(tank, columns - (columns >= 60 ? 4 : 2), &strip);

    ws_face_make(tank, &w->view[w->focus], &options, &face);
    take_keys_away(&face);
    if (w->seen->run[w->focus].over)
        face_over(&w->seen->run[w->focus].glimpse.line, &face);
    sink_draw(stdscr, &face, has ? &strip : NULL, others, n, "q: leave");
}

/* The word is as tall as a run's own would be. */
static void draw_nothing(const struct watching *w)
{
    static const char word[] = "NO RUN";
    int rows = getmaxy(stdscr), columns = getmaxx(stdscr), x = columns >= 60 ? 2 : 1, y = 0;
    struct ws_big_size size;
    const char *text = "No run is open. One that is begun at another terminal is shown here.";

    if (w->seen->lost)
        text = "The book can't be read.";
    else if (!w->seen->read)
        text = "The book is being read.";
    else if (rows < 7)
        text = "No run is open.";
    if (rows >= 7)
        ws_draw_text(stdscr, y++, 1, columns - 2, WS_ROLE_PLAIN, "WATCHING");
    y += rows >= 12;
    if (w->seen->read && ws_big_fit(word, columns - 2 * x, rows / 3, &size)) {
        ws_big_draw(stdscr, y, x, word, &size, WS_ROLE_PLAIN);
        y += size.lines + 1;
    }
    ws_draw_wrap(stdscr, y, x, columns - 2 * x, rows - y - 2, WS_ROLE_LOUD, text);
    if (rows >= 3)
        ws_draw_text(stdscr, rows - 1, x, columns - x, WS_ROLE_QUIET, "q: leave");
}

/* In the line for messages, where a run of this process may have its own to say. */
static void tell_state(struct watching *w)
{
    char text[WS_MESSAGE_BYTES], *line = w->console->frame.notice;

    say_state(w, text, sizeof text);
    if (text[0] != '\0' || w->told)
        ws_text_copy(line, sizeof w->console->frame.notice, text);
    w->told = text[0] != '\0';
}

static void draw(struct watching *w)
{
    erase();
    if (w->focus >= 0)
        draw_run(w);
    else
        draw_nothing(w);
    tell_state(w);
}

/* ---- keys ---- */

/* Nothing shines by one key: Esc asks, Enter a while later lights the screen, and it is left. */
static bool key_in_black(struct watching *w, ws_key key)
{
    int64_t now_ns = w->console->key_boot_ns, esc_ns = w->esc_ns;

    w->esc_ns = key == WS_KEY_ESC ? now_ns : INT64_MIN;
    return key == WS_KEY_ENTER && esc_ns != INT64_MIN &&
           now_ns - esc_ns >= SINK_ENTER_LEAST_MS * NS_PER_MS &&
           now_ns - esc_ns <= SINK_ENTER_MOST_MS * NS_PER_MS;
}

/* True: it is left. */
static bool key_typed(struct watching *w, ws_key key)
{
    if (w->console->black)
        return key_in_black(w, key);
    if (key == 'q' || key == WS_KEY_ESC)
        return true;
    ws_console_say(w->console, "Only watched: no key here changes it. wetside takes it over.");
    return false;
}

static int64_t wake_ns(const struct watching *w)
{
    int64_t now_ns = ws_clock_boot_ns(w->console->clock);
    int64_t second_ns = now_ns - now_ns % NS_PER_S + NS_PER_S;
    int64_t look_ns = now_ns + WS_WATCH_MS * NS_PER_MS;

    return look_ns < second_ns ? look_ns : second_ns;
}

static void go_on(struct watching *w)
{
    struct ws_console *console = w->console;
    bool left = false;

    while (!left && !ws_console_leaving(console)) {
        ws_key key;

        console->wants_frames = true;
        look(w);
        dark_watch(console, lies_open(w));
        if (!console->black)
            draw(w);
        console->wake_ns = wake_ns(w);
        key = ws_console_next(console);
        if (key == WS_KEY_QUIT)
            break;
        if (key != WS_KEY_FRAME && key != WS_KEY_REDRAW)
            left = key_typed(w, key);
    }
    if (w->told)
        console->frame.notice[0] = '\0';
    dark_watch(console, false);
    console->wants_frames = false;
    console->wake_ns = INT64_MAX;
}

void watching_visit(struct ws_console *console, int64_t run)
{
    struct watching *w = calloc(1, sizeof *w);
    enum ws_room_number was = console->at, go = console->go;
    struct ws_message why = { "" };

    if (w == NULL)
        return;
    w->console = console;
    w->esc_ns = INT64_MIN;
    w->seen = calloc(1, sizeof *w->seen);
    console->at = WS_ROOM_SINK;
    console->go = WS_ROOM_NONE;
    if (w->seen == NULL)
        ws_console_say(console, "not enough memory to watch a run");
    else if (ws_watch_start(console->book_path, console->clock, run, &w->watch, &why) != WS_OK)
        ws_console_say(console, "%s", why.text);
    else
        go_on(w);
    console->at = was;
    if (console->go == WS_ROOM_NONE)
        console->go = go;
    ws_watch_stop(w->watch);
    free(w->seen);
    free(w);
}
