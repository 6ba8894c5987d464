/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One key, many tanks. See hands.h. */
#include "wetside/session/hands.h"

void ws_hands_begin(struct ws_hands *hands)
{
    hands->last_boot_ms = INT64_MIN;
    hands->quiet_ms = WS_QUIET_MS;
    hands->run = -1;
    hands->sequence = 0;
}

/* How pressing a tank's question is: the film that goes on developing comes first. 0: none. */
static int urgency(const struct ws_view *view)
{
    if (!view->wants_hand)
        return 0;
    if (view->stage == WS_STAGE_DRAINING || view->stop_now)
        return 5;
    if (view->stage == WS_STAGE_FILLING)
        return 4;
    if (view->stage != WS_STAGE_IN_BATH)
        return 2;
    /* Inside get-ready nothing is asked: a press meant for another tank must not end this bath. A
     * call back from a long rest comes while the word is REST. */
    return view->unconfirmed || view->word == WS_WORD_REST ? 3 : 1;
}

/* Each run counts from its own beginning, so only how long ago can be compared. */
static int64_t asked_for_ms(const struct ws_view *view)
{
    return view->at_ms - view->asked_ms;
}

bool ws_hands_counts(const struct ws_hands *hands, int64_t boot_ms)
{
    return hands->last_boot_ms == INT64_MIN || boot_ms - hands->last_boot_ms >= hands->quiet_ms;
}

int ws_hands_route(struct ws_hands *hands, const struct ws_view *view, int views, int64_t boot_ms)
{
    bool quiet = ws_hands_counts(hands, boot_ms);
    int best = -1, i;

    hands->last_boot_ms = boot_ms;
    if (!quiet)
        return -1;
    for (i = 0; i < views; i++) {
        int is = urgency(&view[i]);

        if (is == 0)
            continue;
        if (best < 0 || is > urgency(&view[best]) ||
            (is == urgency(&view[best]) && asked_for_ms(&view[i]) > asked_for_ms(&view[best])))
            best = i;
    }
    return best;
}

void ws_hands_pressed(struct ws_hands *hands, int run, uint32_t sequence)
{
    hands->run = run;
    hands->sequence = sequence;
}
