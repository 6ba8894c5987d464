/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the engine's files share; nothing outside src/session includes it. */
#ifndef WETSIDE_SRC_SESSION_ENGINE_H
#define WETSIDE_SRC_SESSION_ENGINE_H

#include "wetside/session/session.h"

/* Cues that an event makes due at its own moment. */
enum { PENDING_RANGE = 1, PENDING_OFFER = 2, PENDING_DONE = 4 };

/* ---- state.c: where the run stands ---- */
int engine_bath(const struct ws_session *session); /* stable number in hand, -1 when over */
const struct ws_bath *engine_bath_in_hand(const struct ws_session *session,
                                          const struct ws_plan *plan);
struct ws_bath_record *engine_record(struct ws_session *session);
/* The bath of the step before the one in hand, null at the first. */
const struct ws_bath *engine_bath_before(const struct ws_session *session,
                                         const struct ws_plan *plan);
/* The bath of the step after, null at the last. */
const struct ws_bath *engine_bath_after(const struct ws_session *session,
                                        const struct ws_plan *plan);
/* The film hangs drained of developer: the gap to the next bath runs. */
bool engine_stop_now(const struct ws_session *session, const struct ws_plan *plan);
/* Since when it hangs so: a bath that is put in between does not begin the gap anew. */
int64_t engine_drained_ms(const struct ws_session *session);
/* The bath in hand is announced by GET READY and a count-in or press, not by POUR IN alone. */
bool engine_waits_for_ready(const struct ws_session *session, const struct ws_plan *plan);
/* Its sheets go over into the next bath by themselves when their time is up. */
bool engine_hands_over(const struct ws_session *session, const struct ws_plan *plan);
/* Its sheets come out with the next bath's going in, not into the air. */
bool engine_pieces_go_on(const struct ws_session *session, const struct ws_plan *plan);
/* Film lies open: lights are out, or the bath in hand says so and no light went on over it. */
bool engine_film_open(const struct ws_session *session, const struct ws_plan *plan);
/* The agitation asked for last waits to be confirmed. */
bool engine_unconfirmed(const struct ws_session *session, const struct ws_plan *plan);

void engine_wait(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms);
void engine_pour(struct ws_session *session, const struct ws_plan *plan, int64_t first_liquid_ms);
void engine_full(struct ws_session *session, const struct ws_plan *plan, int64_t full_ms,
                 bool assumed);
void engine_empty(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms);
void engine_hand_over(struct ws_session *session, const struct ws_plan *plan);
void engine_respan(struct ws_session *session, const struct ws_plan *plan);

/* ---- cues.c: what is to be said next, and what changes by itself ---- */
/* The earliest cue not yet said, whatever its due; false: none while nothing happens. */
bool engine_next_cue(const struct ws_session *session, const struct ws_plan *plan,
                     struct ws_cue *cue);
void engine_say(struct ws_session *session, const struct ws_plan *plan, const struct ws_cue *cue);
/* The moment at which the stage changes by itself; WS_NEVER: none. */
int64_t engine_turn_ms(const struct ws_session *session, const struct ws_plan *plan);
void engine_turn(struct ws_session *session, const struct ws_plan *plan);

/* ---- press.c, follow.c: what events do; WS_OK or WS_IGNORED ---- */
enum ws_status engine_hand(struct ws_session *session, const struct ws_plan *plan,
                           const struct ws_event *event);
enum ws_status engine_undo(struct ws_session *session, const struct ws_plan *plan,
                           const struct ws_event *event);
enum ws_status engine_on_time(struct ws_session *session, const struct ws_event *event);
enum ws_status engine_reading(struct ws_session *session, const struct ws_plan *plan,
                              const struct ws_event *event);
enum ws_status engine_take_offer(struct ws_session *session, const struct ws_plan *plan,
                                 const struct ws_event *event);
enum ws_status engine_end_set(struct ws_session *session, const struct ws_plan *plan,
                              const struct ws_event *event);
enum ws_status engine_leave(struct ws_session *session, const struct ws_plan *plan, int64_t at_ms);
enum ws_status engine_insert(struct ws_session *session, const struct ws_plan *plan,
                             const struct ws_event *event);
/* Developed so far at at_ms; NAN when it is not followed. */
double engine_fraction_at(const struct ws_session *session, const struct ws_plan *plan,
                          int64_t at_ms);

#endif
