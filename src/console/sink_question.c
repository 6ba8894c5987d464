/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is asked over a run, in words short enough for the window, and the keys that answer it. */
#include <stdio.h>

#include "wetside/console/draw.h"

#include "sink.h"

/* By what is asked. The word comes first, so that it stands whole in the smallest window; the
 * longest of the two that fits is shown. */
static const struct {
    const char *whole, *brief, *keys;
} words[] = {
    [SINK_ASKS_NOTHING] = { "", "", NULL },
    [SINK_ASKS_LEAVE] = { "END %s EARLY? space: pour out now   any: no",
                          "END EARLY? space: pour out   any: no",
                          "space: pour out now   any other key: no" },
    [SINK_ASKS_QUIT] = { "LEAVE? Nothing cues while wetside is closed. y: leave   any: stay",
                         "LEAVE? y: leave   any: stay", "y: leave   any other key: stay" },
    [SINK_ASKS_INSERT] = { "INSERT %s before the next pour? y: yes   any: no", "INSERT? y: %s",
                           "y: insert it   any other key: no" },
    [SINK_ASKS_GIVE_UP] = { "GIVE THE RUN UP? It ends for good. y: give up   any: no",
                            "GIVE UP? y: for good   any: no", "y: give up   any other key: no" },
    [SINK_ASKS_LIGHTS] = { "", "", NULL }, /* below */
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
};

int sink_light_lines(void)
{
    return sizeof lights / sizeof *lights;
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
        put(text, size, lights[sink->choice].whole, yes_key(sink));
        if (ws_draw_columns(text) > columns)
            put(text, size, lights[sink->choice].brief, yes_key(sink));
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
    }
}

const char *sink_question_keys(const struct sink *sink)
{
    if (sink->asks == SINK_ASKS_NOTHING && sink->typing)
        return "enter: note it   esc: not";
    /* The last that can be read: how it becomes light again. */
    if (sink->asks == SINK_ASKS_LIGHTS && sink->choice == sink_light_lines() - 1)
        return sink->by_hand ? "space: black   light again: esc, 3 seconds, enter"
                             : "y: black   light again: esc, 3 seconds, enter";
    if (sink->asks == SINK_ASKS_LIGHTS)
        return sink->by_hand ? "space: yes   any other key: no" : "y: yes   any other key: no";
    return words[sink->asks].keys;
}
