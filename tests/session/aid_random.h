/* Random plans and random events from a fixed seed: what the laws of the engine are tried on. */
#ifndef WETSIDE_TESTS_AID_RANDOM_H
#define WETSIDE_TESTS_AID_RANDOM_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/session/session.h"

/* splitmix64: 64 bits of state, the same numbers everywhere. */
struct aid_random {
    uint64_t state;
};

uint64_t aid_next(struct aid_random *random);
/* Both ends included. */
int64_t aid_between(struct aid_random *random, int64_t least, int64_t most);
bool aid_chance(struct aid_random *random, int percent);

/* A plan that passes ws_plan_check: all kinds of bath, rhythms, conventions, sheets, points. */
void aid_plan(struct aid_random *random, struct ws_plan *plan);

/* An event of any kind, TICK included, that may follow in the state the session is in: mostly
 * sensible, sometimes not. Its sequence is the one after the session's last. */
void aid_event(struct aid_random *random, const struct ws_session *session,
               const struct ws_plan *plan, struct ws_event *event);

/* A tick to `at_ms`. */
struct ws_event aid_tick(int64_t at_ms);

#endif
