/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys in black. Nobody sees what a key does, and hands find it by touch: so no key does harm.
 *
 * A hand key answers what is asked. Every other one, and a hand key when nothing is asked, has the
 * time that is left said. What changes the run otherwise (undo, an early end, ...) waits for the
 * light: a key that is hit in search of any must not take the last press back.
 *
 * Lights on: Esc alone, the voice asks, and Enter alone two to six seconds later. Enter is a hand
 * key else; for a while after an Esc it is not, so that one that comes too soon or too late begins
 * no bath. */
#include "wetside/port/phrases.h"

#include "sink.h"

#define NS_PER_MS INT64_C(1000000)

static int64_t ns(int64_t ms)
{
    return ms * NS_PER_MS;
}

void sink_blacken(struct sink *sink, bool black)
{
    if (sink->black == black)
        return;
    sink->black = black;
    sink->asks = SINK_ASKS_NOTHING;
    sink->panel = SINK_PANEL_NONE;
    sink->typing = false;
    sink->waiting = WS_KEY_NONE;
    sink->said[0] = '\0';
    sink->asks_light = false;
    sink->esc_ns = sink->asked_ns = INT64_MIN;
}

/* ---- saying ---- */

static void say(struct sink *sink, int index, enum ws_phrase phrase, int64_t boot_ns,
                struct sink_does *does)
{
    sink_post(does, WS_STROKE_SAY, index, boot_ns)->value_ms = phrase;
    sink->told_ns = boot_ns;
}

static bool told_just_now(const struct sink *sink, int64_t boot_ns)
{
    return sink->told_ns != INT64_MIN && boot_ns - sink->told_ns < ns(SINK_TELL_MS);
}

static void tell(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does)
{
    if (told_just_now(sink, boot_ns))
        return;
    sink_post(does, WS_STROKE_TELL, index, boot_ns);
    sink->told_ns = boot_ns;
}

/* ---- lights on ---- */

/* The lamp lights the room: all film in it. */
static void lights_on(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does)
{
    for (int tank = 0; tank < WS_TANKS; tank++)
        if ((sink->dark & 1u << tank) != 0)
            sink_post(does, WS_STROKE_LIGHTS_ON, tank, boot_ns);
    does->lights_on = true;
    say(sink, index, WS_PHRASE_LIGHTS_ON, boot_ns, does);
    sink->asks_light = false;
    sink->esc_ns = sink->asked_ns = INT64_MIN;
}

static void stay_dark(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does)
{
    sink->asks_light = false;
    say(sink, index, WS_PHRASE_LIGHTS_STAY, boot_ns, does);
}

/* Esc or Enter has stood alone. */
static void carry_out(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does)
{
    ws_key key = sink->waiting;

    sink->waiting = WS_KEY_NONE;
    if (key == WS_KEY_ENTER) {
        lights_on(sink, index, boot_ns, does);
        return;
    }
    sink->asks_light = true;
    sink->asked_ns = sink->waiting_ns;
    say(sink, index, WS_PHRASE_LIGHTS_ASK, boot_ns, does);
}

static void wait_alone(struct sink *sink, ws_key key, int64_t boot_ns)
{
    sink->waiting = key;
    sink->waiting_ns = boot_ns;
}

/* Enter while the voice's question is open, in time, and the only one. */
static bool says_yes(const struct sink *sink, ws_key key, int64_t boot_ns)
{
    return key == WS_KEY_ENTER && sink->waiting == WS_KEY_NONE &&
           boot_ns - sink->asked_ns >= ns(SINK_ENTER_LEAST_MS);
}

/* Whoever has hit Esc means the lights with Enter, also where that Esc was too near another key. */
static bool is_about_lights(const struct sink *sink, ws_key key, int64_t boot_ns)
{
    return key == WS_KEY_ENTER && sink->esc_ns != INT64_MIN &&
           boot_ns - sink->esc_ns <= ns(SINK_ENTER_LIGHTS_MS);
}

/* ---- keys ---- */

static void plain(struct sink *sink, int index, ws_key key, bool hand, int64_t boot_ns,
                  struct sink_does *does)
{
    if (is_about_lights(sink, key, boot_ns)) {
        sink_post(does, WS_STROKE_OTHER, index, boot_ns);
        if (!told_just_now(sink, boot_ns))
            say(sink, index, WS_PHRASE_LIGHTS_STAY, boot_ns, does);
        return;
    }
    sink_post(does, hand ? WS_STROKE_HAND : WS_STROKE_OTHER, index, boot_ns);
    if (!hand || !sink->wanted)
        tell(sink, index, boot_ns, does);
}

void sink_black_key(struct sink *sink, int index, ws_key key, bool hand, int64_t boot_ns,
                    struct sink_does *does)
{
    int64_t last_ns = sink->last_ns;
    bool alone = last_ns == INT64_MIN || boot_ns - last_ns >= ns(SINK_ALONE_MS);

    sink_black_settle(sink, index, boot_ns, does);
    sink->last_ns = boot_ns;
    if (key == WS_KEY_ESC)
        sink->esc_ns = boot_ns;
    if (sink->asks_light ? says_yes(sink, key, boot_ns) : key == WS_KEY_ESC && alone) {
        sink_post(does, WS_STROKE_OTHER, index, boot_ns);
        wait_alone(sink, key, boot_ns);
        return;
    }
    /* What waited did not stand alone. */
    sink->waiting = WS_KEY_NONE;
    if (sink->asks_light)
        stay_dark(sink, index, boot_ns, does);
    plain(sink, index, key, hand, boot_ns, does);
}

void sink_black_settle(struct sink *sink, int index, int64_t boot_ns, struct sink_does *does)
{
    if (sink->waiting != WS_KEY_NONE && boot_ns - sink->waiting_ns >= ns(SINK_ALONE_MS))
        carry_out(sink, index, boot_ns, does);
    if (sink->asks_light && sink->waiting == WS_KEY_NONE &&
        boot_ns - sink->asked_ns > ns(SINK_ENTER_MOST_MS))
        stay_dark(sink, index, boot_ns, does);
}

int64_t sink_black_settle_ns(const struct sink *sink)
{
    if (sink->waiting != WS_KEY_NONE)
        return sink->waiting_ns + ns(SINK_ALONE_MS);
    if (sink->asks_light)
        return sink->asked_ns + ns(SINK_ENTER_MOST_MS) + 1;
    return INT64_MAX;
}
