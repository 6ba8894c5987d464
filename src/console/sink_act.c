/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a key at the sink does, once it was seen to stand alone (sink_keys.c): it asks, opens a
 * list, answers, chooses, or becomes a stroke for the drive. */
#include <stdio.h>
#include <string.h>

#include "wetside/calc/units.h"
#include "wetside/port/phrases.h"

#include "sink.h"

struct ws_stroke *sink_post(struct sink_does *does, enum ws_stroke_kind kind, int tank,
                            int64_t boot_ns)
{
    struct ws_stroke *stroke = &does->stroke[does->strokes++];

    memset(stroke, 0, sizeof *stroke);
    stroke->kind = kind;
    /* The hand, and what is about the last press, go to the tank that asked. */
    stroke->tank = kind <= WS_STROKE_ON_TIME ? -1 : tank;
    stroke->boot_ns = boot_ns;
    return stroke;
}

void sink_say(struct sink *sink, int64_t boot_ns, const char *text)
{
    ws_text_copy(sink->said, sizeof sink->said, text);
    sink->said_brief[0] = '\0';
    sink->said_ns = boot_ns;
}

static struct ws_stroke *post(const struct sink_on *on, enum ws_stroke_kind kind)
{
    return sink_post(on->does, kind, on->index, on->boot_ns);
}

static void ask(const struct sink_on *on, enum sink_asks what)
{
    on->sink->asks = what;
    on->sink->asks_ns = on->boot_ns;
    on->sink->panel = SINK_PANEL_NONE;
}

static void open_panel(const struct sink_on *on, enum sink_panel panel)
{
    on->sink->panel = panel;
    on->sink->panel_ns = on->boot_ns;
    on->sink->page = 0;
    on->sink->pages = 1;
}

/* ---- keys that act by themselves ---- */

/* What each does, or why it can't, the drive says: a frame may be older than the key. */

static void leave_program(const struct sink_on *on)
{
    if (on->tank->session.stage != WS_STAGE_OVER) {
        ask(on, SINK_ASKS_QUIT);
        return;
    }
    post(on, WS_STROKE_CLOSE);
    on->does->quit = true;
}

static void finish(const struct sink_on *on)
{
    if (on->tank->session.stage != WS_STAGE_OVER)
        return;
    post(on, WS_STROKE_CLOSE);
    on->does->closed = true;
}

/* The voice says it; where there is none, why not: the person is listening for it. */
static void tell(const struct sink_on *on)
{
    if (on->sink->mute[0] != '\0')
        sink_say(on->sink, on->boot_ns, on->sink->mute);
    post(on, WS_STROKE_TELL);
}

/* Where it is refused nothing is asked first. */
void sink_ask_lights(const struct sink_on *on)
{
    if (on->sink->refusal[0] != '\0') {
        sink_say(on->sink, on->boot_ns, on->sink->refusal);
        return;
    }
    ask(on, SINK_ASKS_LIGHTS);
    on->sink->choice = 0;
    on->sink->by_hand = on->sink->to_dark;
}

static void letter(const struct sink_on *on, ws_key key)
{
    switch (key) {
    case 'u':
        post(on, WS_STROKE_UNDO);
        break;
    case 't':
        post(on, WS_STROKE_ON_TIME);
        break;
    case '+':
        post(on, WS_STROKE_MINUTE);
        break;
    case 'n':
        ask(on, SINK_ASKS_LEAVE);
        break;
    case 'o':
        post(on, WS_STROKE_TAKE);
        break;
    case 'x':
        post(on, WS_STROKE_REFUSE);
        break;
    case 'a':
        post(on, on->tank->session.away ? WS_STROKE_BACK : WS_STROKE_AWAY);
        break;
    case 'i':
        open_panel(on, SINK_PANEL_INSERT);
        break;
    case 'r':
        open_panel(on, SINK_PANEL_ROOMS);
        break;
    case '?':
        open_panel(on, SINK_PANEL_KEYS);
        break;
    case '7':
        open_panel(on, SINK_PANEL_SETTINGS);
        break;
    case 'c':
        on->sink->typing = true;
        on->sink->typed[0] = '\0';
        break;
    case 'g':
        ask(on, SINK_ASKS_GIVE_UP);
        break;
    case 'l':
        sink_ask_lights(on);
        break;
    case 's':
        tell(on);
        break;
    case 'q':
        leave_program(on);
        break;
    default:
        break;
    }
}

/* ---- second keys ---- */

/* The next thing to be done before lights out; after the last it is dark, and said so. */
static void next_light(const struct sink_on *on)
{
    if (++on->sink->choice < sink_light_lines()) {
        ask(on, SINK_ASKS_LIGHTS);
        return;
    }
    post(on, WS_STROKE_LIGHTS_OUT)->tank = on->sink->by_hand ? on->sink->dark_tank : on->index;
    post(on, WS_STROKE_SAY)->value_ms = WS_PHRASE_LIGHTS_OUT;
}

static void carry_out(const struct sink_on *on)
{
    enum sink_asks asked = on->sink->asks;
    struct ws_stroke *stroke;
    const char *name;

    on->sink->asks = SINK_ASKS_NOTHING;
    switch (asked) {
    case SINK_ASKS_LEAVE:
        post(on, WS_STROKE_LEAVE);
        break;
    case SINK_ASKS_INSERT:
        stroke = post(on, WS_STROKE_INSERT);
        sink_insert_choice(on->sink->choice, &stroke->bath_kind, &stroke->value_ms, &name);
        break;
    case SINK_ASKS_GIVE_UP:
        stroke = post(on, WS_STROKE_CLOSE);
        snprintf(stroke->reason, sizeof stroke->reason, "given up at the sink");
        on->does->closed = true;
        break;
    case SINK_ASKS_LIGHTS:
        next_light(on);
        break;
    case SINK_ASKS_QUIT:
        on->does->quit = true;
        break;
    case SINK_ASKS_NOTHING:
        break;
    }
}

/* The panel stays for the next step; all the settings take its place. */
static void choose_setting(const struct sink_on *on, ws_key key)
{
    enum sink_set last = on->sink->all_settings ? SINK_SET_ALL : SINK_SET_SPEECH;

    if (key < '1' || key > '0' + (ws_key)last || key == '0' + SINK_SET_ALL)
        on->sink->panel = SINK_PANEL_NONE;
    if (key >= '1' && key <= '0' + (ws_key)last)
        on->does->set = (enum sink_set)(key - '0');
    on->sink->panel_ns = on->boot_ns;
}

static void choose(const struct sink_on *on, ws_key key)
{
    enum ws_bath_kind kind;
    int64_t time_ms;
    const char *name;

    if (on->sink->panel == SINK_PANEL_ROOMS) {
        on->sink->panel = SINK_PANEL_NONE;
        if (key >= '2' && key <= '6')
            on->does->room = key - '0';
        if (key == '7')
            open_panel(on, SINK_PANEL_SETTINGS);
        return;
    }
    if (on->sink->panel == SINK_PANEL_SETTINGS) {
        choose_setting(on, key);
        return;
    }
    if (!sink_insert_choice(key - '0', &kind, &time_ms, &name)) {
        on->sink->panel = SINK_PANEL_NONE;
        return;
    }
    on->sink->choice = key - '0';
    ask(on, SINK_ASKS_INSERT);
}

static void end_typing(const struct sink_on *on, enum ws_scale scale)
{
    struct ws_stroke *stroke;
    struct ws_message why;
    double c;

    on->sink->typing = false;
    if (ws_temperature_read(on->sink->typed, scale, WS_FOR_BATH, &c, &why) != WS_OK) {
        sink_say(on->sink, on->boot_ns, why.text);
        return;
    }
    stroke = post(on, WS_STROKE_READING);
    stroke->value_c = c;
    stroke->scale = scale;
}

/* ---- from key to what it does ---- */

void sink_act(const struct sink_on *on, ws_key key, enum ws_scale scale)
{
    if (on->tank == NULL)
        return;
    if (on->sink->asks != SINK_ASKS_NOTHING) {
        carry_out(on);
    } else if (on->sink->typing) {
        end_typing(on, scale);
    } else if (on->sink->panel != SINK_PANEL_NONE) {
        choose(on, key);
    } else if (key == WS_KEY_ENTER) {
        finish(on);
    } else {
        letter(on, key);
    }
}
