/* One key, many tanks: decides whether a key stroke is a press, and which tank asked for it.
 *
 * Debounce lives here, before there is an event, so that the journal alone rebuilds a session. A
 * stroke counts when none, counted or not, was seen in the last quiet_ms: the
 * repeats of a held key begin sooner than that and follow faster, so a held foot is one press. */
#ifndef WETSIDE_SESSION_HANDS_H
#define WETSIDE_SESSION_HANDS_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/session/session.h"

enum { WS_QUIET_MS = 800 };

struct ws_hands {
    int64_t last_boot_ms; /* of the last stroke seen; INT64_MIN: none yet */
    int64_t quiet_ms;
    int run;           /* the tank that got the last press, -1 none */
    uint32_t sequence; /* its event: what undo takes back */
};

void ws_hands_begin(struct ws_hands *hands);

/* Whether a stroke at `boot_ms` would count. */
bool ws_hands_counts(const struct ws_hands *hands, int64_t boot_ms);

/* Takes a stroke of the hand key at `boot_ms`; the views are all of that moment. Returns the index
 * of the tank that asked (the one whose question is most urgent: POUR OUT and STOP NOW before
 * agitation before waiting, and last a tank that only gets ready to be poured out; among equals
 * the longest asked, each by its own run's time), or -1: no press, or no tank asked. */
int ws_hands_route(struct ws_hands *hands, const struct ws_view *view, int views, int64_t boot_ms);

/* Remembers that the press given to tank `run` became event `sequence`. */
void ws_hands_pressed(struct ws_hands *hands, int run, uint32_t sequence);

#endif
