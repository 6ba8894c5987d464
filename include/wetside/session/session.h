/* The engine: one tank's run as a state machine. Plan + events -> state + cues.
 *
 * Pure: no I/O, no clock, no globals, no heap. Time comes in only with events, so a live run, a
 * rehearsal, a recovery after a power cut and a test are one mechanism. The plan is never changed;
 * the state is a plain struct and a copy is a snapshot.
 *
 * Five laws, each a property test (tests/session/test_laws.c):
 *   1. a tick to a, then to b, is a tick to b; ticks are not journaled;
 *   2. the journal folded, then one tick to now, is the live state;
 *   3. what is foretold for (a, b] when no event comes is what is said in (a, b];
 *   4. no cue is said twice and none is skipped, whatever moves the end;
 *   5. sessions are plain structs, any number side by side.
 *
 * Steps: the baths of the plan in order, with those inserted by hand between them. A cue names its
 * bath by a stable number: 0 up for the plan's own, WS_BATHS up for inserted ones. */
#ifndef WETSIDE_SESSION_SESSION_H
#define WETSIDE_SESSION_SESSION_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/plan.h"
#include "wetside/calc/schedule.h"
#include "wetside/calc/status.h"

enum { WS_EXTRA = 4, WS_STEPS = WS_BATHS + WS_EXTRA, WS_CYCLE_MOST = 2048 };

#define WS_NEVER INT64_MAX

enum ws_event_kind {
    WS_EVENT_BEGIN,      /* the run exists; at_ms 0 */
    WS_EVENT_HAND,       /* the hand key: "I did what you asked" */
    WS_EVENT_UNDO,       /* takes back the last press; of: its sequence */
    WS_EVENT_ON_TIME,    /* "it was on time": keeps the due moment beside press `of` */
    WS_EVENT_READING,    /* value_c, thermometer's offset already applied; bath as in cues */
    WS_EVENT_TAKE,       /* takes offer `of` */
    WS_EVENT_REFUSE,     /* refuses offer `of` */
    WS_EVENT_END_SET,    /* the bath's time is now value_ms; cause says why */
    WS_EVENT_START_SET,  /* first liquid of the waiting bath is due at value_ms (run time) */
    WS_EVENT_LEAVE,      /* end the bath early on purpose: pour out now */
    WS_EVENT_INSERT,     /* a bath of kind `of` and time value_ms before the next pour */
    WS_EVENT_LIGHTS_OUT, /* film lies open from now */
    WS_EVENT_LIGHTS_ON,  /* and no longer: neither by lights out nor by a bath of the plan */
    WS_EVENT_AWAY,
    WS_EVENT_BACK,
    WS_EVENT_TIME_LOST, /* the clock could not be trusted: later moments are estimated */
    WS_EVENT_OWNER,     /* another process drives the run from now on */
    WS_EVENT_CLOSE,     /* the run is over, finished or given up */
    WS_EVENT_TICK,      /* time went on; never journaled */
    WS_EVENT_KINDS
};

enum ws_cause { WS_BY_HAND, WS_BY_TEMPERATURE, WS_BY_HAND_PLAN, WS_BY_RECOVERY };

struct ws_event {
    int64_t at_ms;
    uint32_t sequence; /* 1 up, unique in the run; 0 for ticks */
    uint32_t of;       /* the event undone or amended, the offer answered, the kind inserted */
    enum ws_event_kind kind;
    enum ws_cause cause;
    int bath; /* READING, END_SET: which bath; -1: the one in hand */
    int64_t value_ms;
    double value_c;
    bool estimated; /* at_ms rests on a clock that could not be trusted */
};

enum ws_cue_kind {
    WS_CUE_GET_READY,     /* the bath is next: press when ready (starts the count-in) */
    WS_CUE_POUR_IN,       /* pour now; of pieces: the first in */
    WS_CUE_AGITATE,       /* index: the cycle's number; of: its inversions */
    WS_CUE_INVERT,        /* index: cycle * 64 + nth (1 up); of: all of them */
    WS_CUE_REST,          /* index: the cycle's number */
    WS_CUE_COME_BACK,     /* a long rest ends at value_ms; index: count in this bath */
    WS_CUE_READING_DUE,   /* index: count in this bath */
    WS_CUE_READY_TO_POUR, /* index: 0, then 1 up when a later end says it again */
    WS_CUE_POUR_OUT,      /* index likewise */
    WS_CUE_OVERTIME,      /* insistent: POUR OUT, or STOP NOW, was due value_ms ago */
    WS_CUE_DONE,          /* the last bath is poured out */
    WS_CUE_OUT_OF_RANGE,  /* a reading outside the tolerance; index: its sequence */
    WS_CUE_OFFER,         /* value_ms: the bath's time that is offered; index: its sequence */
    WS_CUE_PIECE_IN,      /* index: 0 up; of: pieces */
    WS_CUE_PIECE_OUT,
    WS_CUE_SHUFFLE, /* index: tick number, 1 up */
    WS_CUE_PASS,    /* the tick that ends a full pass; index: tick number */
    WS_CUE_KINDS
};

/* Said once: (bath, attempt, kind, index) never comes twice. `attempt` counts how often the bath
 * was begun (an undone pour begins it again). */
struct ws_cue {
    int64_t due_ms, until_ms; /* until: when it stops being true; WS_NEVER: until a press */
    enum ws_cue_kind kind;
    int bath, attempt, index, of;
    bool wants_hand;
    bool late; /* said more than late_ms after due, and not what is due now: show, don't sound */
    int64_t value_ms;
};

enum ws_stage {
    WS_STAGE_WAITING,  /* before the pour: the next press begins it */
    WS_STAGE_COUNT_IN, /* counting to first liquid */
    WS_STAGE_FILLING,  /* from first liquid until full */
    WS_STAGE_IN_BATH,
    WS_STAGE_DRAINING, /* from POUR OUT until the press that says empty */
    WS_STAGE_OVER
};

/* What was done with one bath. Moments are run time; WS_NEVER: not (yet). */
struct ws_bath_record {
    int64_t wait_ms;         /* began to wait for its pour */
    int64_t first_liquid_ms; /* poured in */
    int64_t full_ms;
    int64_t time_ms;     /* the time in force */
    int64_t pour_out_ms; /* when it was due */
    int64_t empty_ms;    /* when the press said empty */
    int64_t gap_ms;      /* drained film waited so long for this bath after a developer; else 0 */
    /* Set by "it was on time": the moment that was due, beside the one pressed; else WS_NEVER. */
    int64_t first_liquid_due_ms, full_due_ms, empty_due_ms;
    int cycles_on_time;   /* confirmations that were said to be late, not the hands */
    int pours;            /* how often it was begun; above 1 when a pour was undone */
    int asked, confirmed; /* agitations asked for by a cue, and confirmed */
    int readings;
    double low_c, high_c; /* of the readings, NAN when none */
    double fraction;      /* developed so far at the last reading or the end; NAN: no points */
    bool full_assumed, left_early, moved;
    int attempt;    /* how often begun, less one */
    int last_cycle; /* number of the last agitation asked for, -1 none */
    uint64_t was_asked[WS_CYCLE_MOST / 64], was_confirmed[WS_CYCLE_MOST / 64];
};

/* How far the cues of the bath in hand have been said. */
struct ws_said {
    int get_ready, pour_in; /* how often, in this waiting */
    int64_t start_for_ms;   /* the start that was last said for */
    int cycle;              /* number of the agitation begun last, -1 none */
    int inversion;          /* counted ones said within it */
    int inversions;
    bool rested; /* its REST was said */
    int64_t cycle_due_ms, cycle_until_ms, pace_ms;
    int come_back;
    int64_t come_back_for_ms; /* the moment after the rest it was last said for */
    int reading;
    int64_t reading_from_ms; /* the next reading is due one interval later */
    int ready_out, pour_out, overtime;
    int64_t ready_for_ms, pour_for_ms, overtime_for_ms; /* the POUR OUT each was last said for */
    int shuffle, pieces_in, pieces_out;
    int pieces_out_before; /* of the bath before, whose sheets go into this one */
    int64_t floor_ms;      /* an end was moved then: what is due before is passed over */
};

/* What the last press set, so that undo restores only that. sequence 0: nothing to undo. */
enum ws_press_what {
    WS_PRESS_NONE,
    WS_PRESS_BEGAN,
    WS_PRESS_FULL,
    WS_PRESS_CYCLE,
    WS_PRESS_CAME_BACK,
    WS_PRESS_EMPTY
};

struct ws_press {
    uint32_t sequence;
    enum ws_press_what what;
    int64_t at_ms, due_ms; /* due: the moment that was asked for, WS_NEVER if none */
    bool on_time;          /* it was said since that it was on time */
    int step, cycle;
    enum ws_stage stage; /* these as they were before the press */
    bool come_back_waits;
    struct ws_span span;
    struct ws_said said;
    int64_t reading_ms;
    double reading_c, fraction, record_fraction;
    uint32_t offer;
    int64_t offer_time_ms;
};

struct ws_session {
    int64_t now_ms;
    uint32_t sequence; /* of the last event taken */
    enum ws_stage stage;
    int step, steps;
    int order[WS_STEPS]; /* step -> stable bath number */
    struct ws_bath extra[WS_EXTRA];
    int extras;
    struct ws_bath_record record[WS_STEPS]; /* by stable bath number */
    int64_t start_due_ms; /* of the waiting bath's first liquid; WS_NEVER: the hand decides */
    struct ws_span span;  /* of the bath in hand, from COUNT_IN on */
    struct ws_said said;
    bool come_back_waits;  /* said and not yet pressed */
    uint32_t offer;        /* sequence of the reading behind the open offer; 0 none */
    int64_t offer_time_ms; /* the bath's time it offers */
    int64_t reading_ms;    /* anchor of the developed fraction; WS_NEVER none */
    double reading_c, fraction;
    struct ws_press press;
    bool begun, open_film, away, closed, estimated;
    bool lit;         /* lights went on over a bath with open film: no bath makes it dark again */
    int done;         /* how often DONE was said */
    unsigned pending; /* cues of the last event still to be said, internal */
    uint32_t unsaid;  /* the event they belong to, while room was short */
};

enum ws_status ws_session_begin(struct ws_session *session, const struct ws_plan *plan,
                                struct ws_message *why);

/* Takes one event. Writes the cues due in (now, at] and those that the event itself makes due at
 * `at`, in order of due; *n is how many. WS_MORE: `room` was short; call again with the same event.
 * WS_IGNORED: time has advanced to `at`, but the event changed nothing; do not journal it.
 * WS_BAD_EVENT, WS_TIME_BACK: nothing changed at all. */
enum ws_status ws_session_take(struct ws_session *session, const struct ws_plan *plan,
                               const struct ws_event *event, struct ws_cue *cue, int room, int *n);

/* The next moment after now at which a cue falls due or the state changes by itself when no event
 * comes; WS_NEVER: none. */
int64_t ws_session_next_ms(const struct ws_session *session, const struct ws_plan *plan);

/* When hands that are in time would press next, given what is asked now: at once for what is asked
 * at its due, drained for POUR OUT; WS_NEVER: nothing is asked. */
int64_t ws_session_answer_ms(const struct ws_session *session, const struct ws_plan *plan);

/* What will be said in (now, to], on a copy: with `in_time` hands answer as above, else no event
 * comes. Returns how many cues, at most `room`, in order of due. */
int ws_session_ahead(const struct ws_session *session, const struct ws_plan *plan, int64_t to_ms,
                     bool in_time, struct ws_cue *cue, int room);

/* Begins a session and folds a journal (ordered by sequence) into it; cues are dropped. */
enum ws_status ws_session_fold(struct ws_session *session, const struct ws_plan *plan,
                               const struct ws_event *event, int events, struct ws_message *why);

/* The bath with a stable number; null if there is none. */
const struct ws_bath *ws_session_bath(const struct ws_session *session, const struct ws_plan *plan,
                                      int bath);
/* The stable number of the bath at `step`; -1 past the end. */
int ws_session_bath_at(const struct ws_session *session, int step);

/* What the hands should be doing, in the console's words. */
enum ws_word {
    WS_WORD_PRESS_WHEN_READY, /* waiting for the pour of the bath in hand */
    WS_WORD_COUNT_IN,
    WS_WORD_POUR_IN, /* filling, or a bath without count-in that waits */
    WS_WORD_AGITATE,
    WS_WORD_REST,
    WS_WORD_GET_READY, /* to pour out */
    WS_WORD_POUR_OUT,
    WS_WORD_SHUFFLE,
    WS_WORD_PIECES_IN,
    WS_WORD_PIECES_OUT,
    WS_WORD_DONE
};

/* What a screen or a voice needs to know at at_ms (>= now; the session is not changed). */
struct ws_view {
    int64_t at_ms; /* the moment looked at, run time */
    enum ws_stage stage;
    int step, steps, bath;
    enum ws_word word;
    int count, of;       /* inversions, or pieces: 3 of 4; of 0: not counted */
    bool film_open;      /* film lies open, by lights out or by the bath: nothing may shine */
    bool stop_now;       /* drained after a developer: the gap runs */
    bool wants_hand;     /* a press would answer something */
    bool unconfirmed;    /* the current agitation is not confirmed yet */
    bool draining;       /* past POUR OUT, and hands that tipped in time are not done yet */
    bool insists;        /* OVERTIME was said, and is not answered */
    int64_t asked_ms;    /* since when a press is wanted; WS_NEVER: not */
    int64_t in_bath_ms;  /* on the bath's clock, negative before it */
    int64_t time_ms;     /* in force */
    int64_t left_ms;     /* to the next thing in this stage: count-in, full or POUR OUT */
    int64_t over_ms;     /* past POUR OUT, or past the drain after a developer; 0 */
    int64_t pour_out_ms; /* run time; WS_NEVER */
    struct ws_cue next;  /* the next cue the hands should know of; due WS_NEVER: none */
    double fraction;     /* developed at at_ms; NAN: not followed */
    bool can_undo;
};

void ws_session_view(const struct ws_session *session, const struct ws_plan *plan, int64_t at_ms,
                     struct ws_view *view);

/* Names in JSON and in the log: get_ready, pour_in, agitate, invert, rest, come_back, reading_due,
 * ready_to_pour, pour_out, overtime, done, out_of_range, offer, piece_in, piece_out, shuffle,
 * pass. Events: begin, hand, undo, on_time, reading, take, refuse, end_set, start_set, leave,
 * insert, lights_out, lights_on, away, back, time_lost, owner, close, tick. Null if unknown. */
const char *ws_cue_token(enum ws_cue_kind kind);
const char *ws_event_token(enum ws_event_kind kind);
bool ws_event_read_token(const char *token, enum ws_event_kind *kind);

#endif
