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
        return 4;
    if (view->stage == WS_STAGE_FILLING)
        return 3;
    return view->stage == WS_STAGE_IN_BATH ? 2 : 1;
}

int ws_hands_route(struct ws_hands *hands, const struct ws_view *view, int views, int64_t boot_ms)
{
    bool quiet =
        hands->last_boot_ms == INT64_MIN || boot_ms - hands->last_boot_ms >= hands->quiet_ms;
    int best = -1, i;

    hands->last_boot_ms = boot_ms;
    if (!quiet)
        return -1;
    for (i = 0; i < views; i++) {
        int is = urgency(&view[i]);

        if (is == 0)
            continue;
        if (best < 0 || is > urgency(&view[best]) ||
            (is == urgency(&view[best]) && view[i].asked_ms < view[best].asked_ms))
            best = i;
    }
    return best;
}

void ws_hands_pressed(struct ws_hands *hands, int run, uint32_t sequence)
{
    hands->run = run;
    hands->sequence = sequence;
}
