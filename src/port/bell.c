/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How each cue sounds where there is only a bell.
 *
 * A bell has one pitch and one length, so cues differ in rhythm alone: what is asked of the hands
 * (two short: agitate), what comes soon (slow three), what must be done now (fast and many). Rings
 * closer than about 100 ms run into one on common terminals, so 150 ms is the closest here (from
 * memory). The rhythms are our own. */
#include "wetside/port/sound.h"

struct rhythm {
    int rings;
    int64_t at_ms[8];
};

static const struct rhythm rhythm[WS_CUE_KINDS] = {
    [WS_CUE_GET_READY] = { 3, { 0, 600, 1200 } },
    [WS_CUE_POUR_IN] = { 4, { 0, 150, 300, 450 } },
    [WS_CUE_AGITATE] = { 2, { 0, 250 } },
    [WS_CUE_INVERT] = { 1, { 0 } },
    [WS_CUE_REST] = { 2, { 0, 800 } },
    [WS_CUE_COME_BACK] = { 5, { 0, 600, 1200, 1800, 2400 } },
    [WS_CUE_READING_DUE] = { 3, { 0, 250, 1000 } },
    [WS_CUE_READY_TO_POUR] = { 4, { 0, 600, 1200, 1400 } },
    [WS_CUE_POUR_OUT] = { 6, { 0, 150, 300, 450, 600, 750 } },
    [WS_CUE_OVERTIME] = { 8, { 0, 150, 300, 450, 600, 750, 900, 1050 } },
    [WS_CUE_DONE] = { 4, { 0, 800, 1000, 1200 } },
    [WS_CUE_OUT_OF_RANGE] = { 4, { 0, 150, 800, 950 } },
    [WS_CUE_OFFER] = { 3, { 0, 150, 800 } },
    [WS_CUE_PIECE_IN] = { 2, { 0, 400 } },
    [WS_CUE_PIECE_OUT] = { 3, { 0, 400, 800 } },
    [WS_CUE_SHUFFLE] = { 1, { 0 } },
    [WS_CUE_PASS] = { 2, { 0, 150 } },
};

int ws_bell_rhythm(enum ws_cue_kind kind, int64_t at_ms[8])
{
    if ((int)kind < 0 || kind >= WS_CUE_KINDS)
        return 0;
    for (int i = 0; i < rhythm[kind].rings; i++)
        at_ms[i] = rhythm[kind].at_ms[i];
    return rhythm[kind].rings;
}
