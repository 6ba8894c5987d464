/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of cues and events in files and in JSON. */
#include <string.h>

#include "wetside/session/session.h"

static const char *const cues[WS_CUE_KINDS] = {
    [WS_CUE_GET_READY] = "get_ready",
    [WS_CUE_POUR_IN] = "pour_in",
    [WS_CUE_AGITATE] = "agitate",
    [WS_CUE_INVERT] = "invert",
    [WS_CUE_REST] = "rest",
    [WS_CUE_COME_BACK] = "come_back",
    [WS_CUE_READING_DUE] = "reading_due",
    [WS_CUE_READY_TO_POUR] = "ready_to_pour",
    [WS_CUE_POUR_OUT] = "pour_out",
    [WS_CUE_OVERTIME] = "overtime",
    [WS_CUE_DONE] = "done",
    [WS_CUE_OUT_OF_RANGE] = "out_of_range",
    [WS_CUE_OFFER] = "offer",
    [WS_CUE_PIECE_IN] = "piece_in",
    [WS_CUE_PIECE_OUT] = "piece_out",
    [WS_CUE_SHUFFLE] = "shuffle",
    [WS_CUE_PASS] = "pass",
};

static const char *const events[WS_EVENT_KINDS] = {
    [WS_EVENT_BEGIN] = "begin",         [WS_EVENT_HAND] = "hand",
    [WS_EVENT_UNDO] = "undo",           [WS_EVENT_ON_TIME] = "on_time",
    [WS_EVENT_READING] = "reading",     [WS_EVENT_TAKE] = "take",
    [WS_EVENT_REFUSE] = "refuse",       [WS_EVENT_END_SET] = "end_set",
    [WS_EVENT_START_SET] = "start_set", [WS_EVENT_LEAVE] = "leave",
    [WS_EVENT_INSERT] = "insert",       [WS_EVENT_LIGHTS_OUT] = "lights_out",
    [WS_EVENT_LIGHTS_ON] = "lights_on", [WS_EVENT_AWAY] = "away",
    [WS_EVENT_BACK] = "back",           [WS_EVENT_TIME_LOST] = "time_lost",
    [WS_EVENT_OWNER] = "owner",         [WS_EVENT_CLOSE] = "close",
    [WS_EVENT_TICK] = "tick",
};

const char *ws_cue_token(enum ws_cue_kind kind)
{
    return (unsigned)kind < WS_CUE_KINDS ? cues[kind] : NULL;
}

const char *ws_event_token(enum ws_event_kind kind)
{
    return (unsigned)kind < WS_EVENT_KINDS ? events[kind] : NULL;
}

bool ws_event_read_token(const char *token, enum ws_event_kind *kind)
{
    int k;

    for (k = 0; k < WS_EVENT_KINDS; k++) {
        if (strcmp(token, events[k]) == 0) {
            *kind = (enum ws_event_kind)k;
            return true;
        }
    }
    return false;
}
