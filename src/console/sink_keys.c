/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a key at the sink acts; what it does is in sink_act.c, what it is for in words in
 * sink_means.c. The hand key acts at once; every other key with an effect acts only when it stands
 * alone, and what can't be taken back needs two. So a wet palm does nothing. */
#include <stdio.h>
#include <string.h>

#include "sink.h"

#define NS_PER_MS INT64_C(1000000)

/* Enter ends a number: sooner after the last digit it is a palm's. */
enum { TYPED_ENTER_MS = 150 };

void sink_begin(struct sink *sink)
{
    memset(sink, 0, sizeof *sink);
    sink->hand = ' ';
    sink->waiting = WS_KEY_NONE;
    sink->last_ns = INT64_MIN;
    sink->hand_ns = INT64_MIN;
    sink->esc_ns = INT64_MIN;
    sink->told_ns = INT64_MIN;
}

bool sink_is_hand(const struct sink *sink, ws_key key)
{
    for (int i = 0; i < sink->learned_keys; i++)
        if (key == sink->learned[i])
            return true;
    return key == sink->hand;
}

/* Of two keys the second came before what the first leads to: neither does anything, and that is
 * said. A palm's keys come in greater number, and take the line away again. */
static void say_too_fast(struct sink *sink, ws_key first, ws_key second, int64_t boot_ns)
{
    bool hand = sink_is_hand(sink, second) || second == WS_KEY_ENTER;
    const char *what = strchr("ir7", (int)first) != NULL ? "list" : "question";
    char then[8] = "space";

    if (!hand)
        snprintf(then, sizeof then, "%c", (int)second);
    snprintf(sink->said, sizeof sink->said, "too fast: %c, wait for the %s, then %s", (int)first,
             what, then);
    snprintf(sink->said_brief, sizeof sink->said_brief, "too fast: %c, wait, then %s", (int)first,
             then);
    sink->said_ns = boot_ns;
}

/* `second` has come before `first` was seen to stand alone. */
static bool is_too_fast(const struct sink *sink, ws_key first, ws_key second)
{
    bool hand = sink_is_hand(sink, second) || second == WS_KEY_ENTER;

    if (sink->asks != SINK_ASKS_NOTHING || sink->typing)
        return false;
    /* A number in the list of baths asks; in other lists it acts. */
    if (sink->panel == SINK_PANEL_INSERT)
        return first >= '1' && first <= '9' && second == 'y';
    return sink->panel == SINK_PANEL_NONE && sink_key_goes_on(first, second, hand);
}

/* ---- second keys ---- */

/* Before lights out that the hand began, unless another tank asks for it meanwhile. */
static bool leads_by_hand(const struct sink *sink)
{
    return sink->asks == SINK_ASKS_LIGHTS && sink->by_hand && sink->to_dark;
}

/* Whether the key says yes to what is asked: to the early end the hand key itself does, as the hand
 * is there already; to what comes before lights out as well, where the hand began it. */
static bool says_yes(const struct sink *sink, ws_key key)
{
    if (sink->asks == SINK_ASKS_LEAVE)
        return sink_is_hand(sink, key);
    if (leads_by_hand(sink) && (sink_is_hand(sink, key) || key == WS_KEY_ENTER))
        return true;
    return key == 'y';
}

static int64_t most_ns(const struct sink *sink)
{
    return (sink->asks == SINK_ASKS_LIGHTS ? SINK_LIGHTS_MOST_MS : SINK_SECOND_MOST_MS) * NS_PER_MS;
}

/* ---- a temperature ---- */

/* True if the key belongs to the number that is typed. */
static bool typed(struct sink *sink, ws_key key)
{
    size_t length = strlen(sink->typed);

    if (key == WS_KEY_ESC) {
        sink->typing = false;
        return true;
    }
    if (key == WS_KEY_BACK) {
        if (length > 0)
            sink->typed[length - 1] = '\0';
        return true;
    }
    if ((key >= '0' && key <= '9') || key == '.' || key == ',' || key == '-' || key == 'C' ||
        key == 'c' || key == 'F' || key == 'f') {
        if (length + 1 < sizeof sink->typed) {
            sink->typed[length] = (char)key;
            sink->typed[length + 1] = '\0';
        }
        return true;
    }
    return false;
}

/* A key while a question is open: yes at the right moment waits to stand alone; all else is no. */
static bool answer(struct sink *sink, ws_key key, int64_t boot_ns)
{
    int64_t since_ns = boot_ns - sink->asks_ns;
    bool by_hand = sink->asks == SINK_ASKS_LEAVE || leads_by_hand(sink);

    if (since_ns > most_ns(sink)) {
        sink->asks = SINK_ASKS_NOTHING;
        return false;
    }
    if (says_yes(sink, key) && since_ns >= SINK_SECOND_LEAST_MS * NS_PER_MS) {
        sink->waiting = key;
        sink->waiting_ns = boot_ns;
        return true;
    }
    sink_say(sink, boot_ns,
             says_yes(sink, key) ? "too fast: nothing was done. Read the question first."
                                 : "Nothing was done.");
    sink->asks = SINK_ASKS_NOTHING;
    /* The hand must not be lost to a question it does not answer. */
    return !sink_is_hand(sink, key) || by_hand;
}

static void other_key(struct sink *sink, ws_key key, int64_t boot_ns, int64_t gap_ns)
{
    if (sink->typing && typed(sink, key))
        return;
    if (sink->typing && key != WS_KEY_ENTER)
        return;
    if (sink->panel != SINK_PANEL_NONE && key == '?' && sink->pages > 1) {
        sink->page = (sink->page + 1) % sink->pages;
        sink->panel_ns = boot_ns;
        return;
    }
    if (sink->panel != SINK_PANEL_NONE && (key < '1' || key > '9')) {
        sink->panel = SINK_PANEL_NONE;
        return;
    }
    if (sink->panel == SINK_PANEL_KEYS) {
        sink->panel = SINK_PANEL_NONE;
        return;
    }
    if (gap_ns < (sink->typing ? TYPED_ENTER_MS : SINK_ALONE_MS) * NS_PER_MS)
        return;
    sink->waiting = key;
    sink->waiting_ns = boot_ns;
}

/* When the last bath is out the hand key leads to the Log, as Enter does: but not so soon after its
 * last press that it could still be about the pour. */
static bool leads_to_log(const struct sink *sink, const struct ws_frame_tank *tank, ws_key key,
                         int64_t boot_ns)
{
    return tank != NULL && tank->session.stage == WS_STAGE_OVER && sink_is_hand(sink, key) &&
           (sink->hand_ns == INT64_MIN || boot_ns - sink->hand_ns >= SINK_LOG_MS * NS_PER_MS);
}

void sink_key(struct sink *sink, const struct ws_frame_tank *tank, int index, ws_key key,
              int64_t boot_ns, enum ws_scale scale, struct sink_does *does)
{
    struct sink_on on = {
        .sink = sink, .tank = tank, .index = index, .boot_ns = boot_ns, .does = does
    };
    int64_t gap_ns = sink->last_ns == INT64_MIN ? INT64_MAX : boot_ns - sink->last_ns;
    bool hand;

    memset(does, 0, sizeof *does);
    if (sink->black) {
        sink_black_key(sink, index, key, sink_is_hand(sink, key) || key == WS_KEY_ENTER, boot_ns,
                       does);
        return;
    }
    sink->said[0] = '\0';
    sink_settle(sink, tank, index, boot_ns, scale, does);
    if (sink->waiting != WS_KEY_NONE) {
        /* What waited did not stand alone. */
        if (is_too_fast(sink, sink->waiting, key))
            say_too_fast(sink, sink->waiting, key, boot_ns);
        sink->waiting = WS_KEY_NONE;
        sink->asks = SINK_ASKS_NOTHING;
    }
    sink->last_ns = boot_ns;
    if (sink->asks == SINK_ASKS_NOTHING && !sink->typing && leads_to_log(sink, tank, key, boot_ns))
        key = WS_KEY_ENTER;
    hand = sink_is_hand(sink, key) || (key == WS_KEY_ENTER && !sink->typing && tank != NULL &&
                                       tank->session.stage != WS_STAGE_OVER);
    if (sink->asks != SINK_ASKS_NOTHING && answer(sink, key, boot_ns)) {
        sink_post(does, WS_STROKE_OTHER, index, boot_ns);
        return;
    }
    if (hand && sink->to_dark) {
        sink_post(does, WS_STROKE_OTHER, index, boot_ns);
        if (gap_ns >= SINK_ALONE_MS * NS_PER_MS)
            sink_ask_lights(&on);
        return;
    }
    sink_post(does, hand ? WS_STROKE_HAND : WS_STROKE_OTHER, index, boot_ns);
    if (hand) {
        sink->hand_ns = boot_ns;
        sink->panel = SINK_PANEL_NONE;
    } else {
        other_key(sink, key, boot_ns, gap_ns);
    }
}

void sink_settle(struct sink *sink, const struct ws_frame_tank *tank, int index, int64_t boot_ns,
                 enum ws_scale scale, struct sink_does *does)
{
    struct sink_on on = {
        .sink = sink, .tank = tank, .index = index, .boot_ns = boot_ns, .does = does
    };

    if (sink->black) {
        sink_black_settle(sink, index, boot_ns, does);
        return;
    }
    if (sink->waiting != WS_KEY_NONE && boot_ns - sink->waiting_ns >= SINK_ALONE_MS * NS_PER_MS) {
        ws_key key = sink->waiting;

        sink->waiting = WS_KEY_NONE;
        sink_act(&on, key, scale);
    }
    if (sink->asks != SINK_ASKS_NOTHING && sink->waiting == WS_KEY_NONE &&
        boot_ns - sink->asks_ns > most_ns(sink))
        sink->asks = SINK_ASKS_NOTHING;
    if (sink->panel != SINK_PANEL_NONE && boot_ns - sink->panel_ns > SINK_PANEL_MS * NS_PER_MS)
        sink->panel = SINK_PANEL_NONE;
    if (boot_ns - sink->said_ns > SINK_SAID_MS * NS_PER_MS)
        sink->said[0] = '\0';
}

int64_t sink_settle_ns(const struct sink *sink)
{
    int64_t at_ns = INT64_MAX;

    if (sink->black)
        return sink_black_settle_ns(sink);
    if (sink->waiting != WS_KEY_NONE)
        at_ns = sink->waiting_ns + SINK_ALONE_MS * NS_PER_MS;
    if (sink->asks != SINK_ASKS_NOTHING && sink->waiting == WS_KEY_NONE)
        at_ns = sink->asks_ns + most_ns(sink) + 1;
    if (sink->panel != SINK_PANEL_NONE && sink->panel_ns + SINK_PANEL_MS * NS_PER_MS + 1 < at_ns)
        at_ns = sink->panel_ns + SINK_PANEL_MS * NS_PER_MS + 1;
    return at_ns;
}

bool sink_asks(const struct sink *sink)
{
    return sink->asks != SINK_ASKS_NOTHING || sink->typing;
}
