/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is asked over a run, in words short enough for the window, and the keys that answer it. */
#include <stdio.h>

#include "wetside/calc/units.h"
#include "wetside/console/draw.h"

#include "sink.h"

/* By what is asked. The word comes first, so that it stands whole in the smallest window; the
 * longest of the two that fits is shown. */
static const struct {
    const char *whole, *brief, *yes, *no;
} words[] = {
    [SINK_ASKS_NOTHING] = { "", "", "", "" },
    [SINK_ASKS_LEAVE] = { "END %s EARLY? space: pour out now   any: no",
                          "END EARLY? space: pour out   any: no", "space: pour out now", "no" },
    [SINK_ASKS_QUIT] = { "LEAVE? Nothing cues while wetside is closed. y: leave   any: stay",
                         "LEAVE? y: leave   any: stay", "y: leave", "stay" },
    [SINK_ASKS_INSERT] = { "INSERT %s before the next pour? y: yes   any: no", "INSERT? y: %s",
                           "y: insert it", "no" },
    [SINK_ASKS_GIVE_UP] = { "GIVE THE RUN UP? It ends for good. y: give up   any: no",
                            "GIVE UP? y: for good   any: no", "y: give up", "no" },
    [SINK_ASKS_LIGHTS] = { "", "", "", "" }, /* below */
};

/* What would fog open film, in the order in which it can be seen to: the panel comes last, since
 * the rest is read from it. %s: the key that says yes. */
static const struct {
    const char *whole, *brief;
} lights[] = {
    { "LIGHTS OUT 1/4: lamps off, safelight too, door shut? %s: yes   any: no",
      "1/4 lamps off, door shut? %s: yes" },
    { "LIGHTS OUT 2/4: phone and watch off or out of the room? %s: yes   any: no",
      "2/4 phone, watch away? %s: yes" },
    { "LIGHTS OUT 3/4: status lights and lit bars covered? %s: yes   any: no",
      "3/4 status lights covered? %s: yes" },
    { "LIGHTS OUT 4/4: this screen off or covered: it glows when black. %s: black",
      "4/4 this screen covered? %s: black" },
    /* The last one, where the terminal can't be told to be black. */
    { "LIGHTS OUT 4/4: no colours, it may stay LIT: screen off or covered? %s: yes",
      "4/4 may stay LIT: covered? %s: yes" },
};
enum { LIGHT_LINES = sizeof lights / sizeof *lights - 1 };

int sink_light_lines(void)
{
    return LIGHT_LINES;
}

/* What the words are about: the bath that ends, or the one that is put in. */
static const char *about(const struct sink *sink, const struct ws_frame_tank *tank)
{
    const struct ws_bath *bath = NULL;
    enum ws_bath_kind kind;
    int64_t time_ms;
    const char *name = "";

    if (sink->asks == SINK_ASKS_INSERT) {
        sink_insert_choice(sink->choice, &kind, &time_ms, &name);
        return name;
    }
    if (tank != NULL)
        bath = ws_session_bath(&tank->session, tank->plan,
                               ws_session_bath_at(&tank->session, tank->session.step));
    return bath != NULL ? bath->name : "the bath";
}

/* Fills %s in; the formats are those above alone. */
static void put(char *text, size_t size, const char *words_of, const char *name)
{
    const char *gap = words_of;

    while (*gap != '\0' && (gap[0] != '%' || gap[1] != 's'))
        gap++;
    snprintf(text, size, "%.*s%s%s", (int)(gap - words_of), words_of, *gap != '\0' ? name : "",
             *gap != '\0' ? gap + 2 : "");
}

static const char *yes_key(const struct sink *sink)
{
    return sink->by_hand ? "space" : "y";
}

void sink_question(const struct sink *sink, const struct ws_frame_tank *tank, int columns,
                   char *text, size_t size)
{
    text[0] = '\0';
    if (sink->asks == SINK_ASKS_LIGHTS) {
        int line = sink->choice;

        if (line == LIGHT_LINES - 1 && !ws_draw_has_black())
            line++;
        put(text, size, lights[line].whole, yes_key(sink));
        if (ws_draw_columns(text) > columns)
            put(text, size, lights[line].brief, yes_key(sink));
    } else if (sink->asks != SINK_ASKS_NOTHING) {
        put(text, size, words[sink->asks].whole, about(sink, tank));
        if (ws_draw_columns(text) > columns)
            put(text, size, words[sink->asks].brief, about(sink, tank));
    } else if (sink->typing) {
        snprintf(text, size, "TEMPERATURE NOW: [%s_]   enter: note it   esc: not", sink->typed);
        if (ws_draw_columns(text) > columns)
            snprintf(text, size, "TEMPERATURE: [%s_]", sink->typed);
    } else {
        ws_text_copy(text, size, sink->said);
        if (ws_draw_columns(text) > columns && sink->said_brief[0] != '\0')
            ws_text_copy(text, size, sink->said_brief);
    }
}

/* ---- the line of the keys ---- */

enum { WORDINGS = 4 };

/* The first that fits, from the longest on; else the last. */
static void take_fitting(char wording[WORDINGS][SINK_KEYS_BYTES], int columns, char *text,
                         size_t size)
{
    int i = 0;

    while (i < WORDINGS - 1 && wording[i + 1][0] != '\0' && ws_draw_columns(wording[i]) > columns)
        i++;
    ws_text_copy(text, size, wording[i]);
}

#define WORD(n, ...) snprintf(wording[n], sizeof wording[n], __VA_ARGS__)

static void asked_keys(const struct sink *sink, char wording[WORDINGS][SINK_KEYS_BYTES])
{
    const char *yes = sink->by_hand ? "space" : "y";

    if (sink->asks == SINK_ASKS_NOTHING) {
        WORD(0, "enter: note it   esc: not");
    } else if (sink->asks != SINK_ASKS_LIGHTS) {
        WORD(0, "%s   any other key: %s", words[sink->asks].yes, words[sink->asks].no);
        WORD(1, "%s   any: %s", words[sink->asks].yes, words[sink->asks].no);
    } else if (sink->choice == sink_light_lines() - 1) {
        /* The last that can be read: how it becomes light again. */
        WORD(0, "%s: black   light again: esc, 3 seconds, enter", yes);
        WORD(1, "%s: black   light: esc, 3 s, enter", yes);
    } else {
        WORD(0, "%s: yes   any other key: no", yes);
        WORD(1, "%s: yes   any: no", yes);
    }
}

/* Where the foot has no room the keys say what is offered. */
static void offer_keys(int64_t time_ms, char wording[WORDINGS][SINK_KEYS_BYTES])
{
    char time[24];

    ws_time_print(time_ms, time, sizeof time);
    WORD(0, "space: done   o: take %s   x: refuse   ?: all keys", time);
    WORD(1, "space: done  o: take %s  x: not  ?: keys", time);
    WORD(2, "space  o: take %s  x: not  ?: keys", time);
}

static void run_keys(const struct sink *sink, const struct ws_view *view,
                     char wording[WORDINGS][SINK_KEYS_BYTES])
{
    if (sink->to_dark && sink->refusal[0] != '\0') {
        WORD(0, "space: why the lights must stay on   ?: all keys");
        WORD(1, "space: why not yet   ?: all keys");
    } else if (sink->to_dark) {
        WORD(0, "space: lights out, step by step   ?: all keys");
        WORD(1, "space: lights out   ?: all keys");
    } else if (view->stage == WS_STAGE_OVER) {
        WORD(0, "space: to the Log   u: undo   ?: all keys");
        WORD(1, "space: to the Log   u: undo   ?: keys");
        WORD(2, "space: Log   ?: keys");
    } else if (view->can_undo) {
        WORD(0, "space: done   u: undo   ?: all keys");
        WORD(1, "space: done   ?: all keys");
    } else {
        WORD(0, "space: done   ?: all keys");
    }
}

void sink_keys_line(const struct sink *sink, const struct ws_frame_tank *tank,
                    const struct ws_view *view, int rows, int columns, char *text, size_t size)
{
    char wording[WORDINGS][SINK_KEYS_BYTES] = { "" };
    int i = 0;

    if (sink_asks(sink))
        asked_keys(sink, wording);
    else if (tank->session.offer != 0 && rows < SINK_FOOT_ROWS)
        offer_keys(tank->session.offer_time_ms, wording);
    else
        run_keys(sink, view, wording);
    while (i < WORDINGS - 1 && wording[i][0] != '\0')
        i++;
    /* Whatever else is there, in the narrowest window too. */
    if (!sink_asks(sink))
        WORD(i, "space   ?: keys");
    take_fitting(wording, columns - (columns >= 60 ? 2 : 1), text, size);
}
