/* One tank driven by hand: a plan built bath by bath, events at stated moments, all cues kept. */
#ifndef WETSIDE_TESTS_AID_TANK_H
#define WETSIDE_TESTS_AID_TANK_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/session/session.h"

#define S        INT64_C(1000)
#define MIN      (60 * S)
#define AT(m, s) ((m)*MIN + (s)*S)

enum { AID_TANK_CUES = 4096, AID_TANK_EVENTS = 256 };

struct aid_tank {
    struct ws_plan plan;
    struct ws_session session;
    struct ws_event journal[AID_TANK_EVENTS];
    int journaled;
    struct ws_cue cue[AID_TANK_CUES];
    int cues, taken_from; /* cues from taken_from on were said in the last take */
};

/* The house's defaults and no baths. */
void aid_tank_empty(struct aid_tank *tank);

/* Adds a bath: clock when full, 15 s to pour in, drain of 10 s inside, 5 s count-in for a
 * developer and none else, stand. The pointer is into the plan. */
struct ws_bath *aid_tank_bath(struct aid_tank *tank, enum ws_bath_kind kind, int64_t time_ms);

/* first_ms at the start, then length_ms each every_ms. */
void aid_tank_cycles(struct ws_bath *bath, int64_t first_ms, int64_t every_ms, int64_t length_ms);

/* Begins the session and takes BEGIN at 0. */
void aid_tank_begin(struct aid_tank *tank);

/* Takes an event under the next sequence, journals it if it changed something, keeps its cues. */
enum ws_status aid_tank_take(struct aid_tank *tank, struct ws_event event);

/* An event of that kind at that moment, otherwise empty; bath -1. */
struct ws_event aid_tank_event(enum ws_event_kind kind, int64_t at_ms);

enum ws_status aid_tank_send(struct aid_tank *tank, enum ws_event_kind kind, int64_t at_ms);
enum ws_status aid_tank_press(struct aid_tank *tank, int64_t at_ms);
enum ws_status aid_tank_undo(struct aid_tank *tank, int64_t at_ms);
enum ws_status aid_tank_end(struct aid_tank *tank, int64_t at_ms, int bath, int64_t time_ms,
                            enum ws_cause cause);
enum ws_status aid_tank_read(struct aid_tank *tank, int64_t at_ms, double c);
void aid_tank_wait(struct aid_tank *tank, int64_t until_ms);

/* Presses at the first bath's waiting, at FULL, and at each later answer that is asked for, all in
 * time, until `until_ms`. */
void aid_tank_hands(struct aid_tank *tank, int64_t until_ms);

/* The nth (0 up) cue of that kind for that bath, null if it was not said so often. */
const struct ws_cue *aid_tank_cue(const struct aid_tank *tank, enum ws_cue_kind kind, int bath,
                                  int nth);
int aid_tank_count(const struct aid_tank *tank, enum ws_cue_kind kind, int bath);
/* Said in the last take; null if not. */
const struct ws_cue *aid_tank_just_said(const struct aid_tank *tank, enum ws_cue_kind kind);

bool aid_tank_asked(const struct aid_tank *tank, int bath, int cycle);
bool aid_tank_confirmed(const struct aid_tank *tank, int bath, int cycle);

struct ws_view aid_tank_view(const struct aid_tank *tank, int64_t at_ms);

#endif
