/* A process is what a run follows; a plan is one run's own, frozen copy of it.
 *
 * Plain values without ownership: a copy is a copy. Times are int64 milliseconds, temperatures
 * degrees Celsius (NAN: not known), volumes millilitres, areas square centimetres. */
#ifndef WETSIDE_CALC_PLAN_H
#define WETSIDE_CALC_PLAN_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/development.h"
#include "wetside/calc/dilution.h"
#include "wetside/calc/status.h"

enum { WS_BATHS = 24, WS_PLACES = 12, WS_MOMENTS = 8, WS_NAME = 64, WS_NUMBER = 48 };

/* The number of the engine's rules: stored with each plan, so that a replay compares like with
 * like. Raise it whenever the same plan and events would give another state or other cues; a run
 * made under older rules, down to WS_ENGINE_LEAST, goes on by those.
 *   2: a bath put in between two trays has their sheets. */
enum { WS_ENGINE_LEAST = 1, WS_ENGINE_SHEETS_PUT_IN = 2, WS_ENGINE = WS_ENGINE_SHEETS_PUT_IN };

enum ws_bath_kind {
    WS_BATH_PRESOAK,
    WS_BATH_DEVELOPER,
    WS_BATH_STOP,
    WS_BATH_FIXER,
    WS_BATH_WASH_AID,
    WS_BATH_WASH,
    WS_BATH_WETTING,
    WS_BATH_OTHER,
    WS_BATH_KINDS
};

enum ws_clock_from { WS_FROM_FULL, WS_FROM_FIRST_LIQUID };
enum ws_drain { WS_DRAIN_INSIDE, WS_DRAIN_AFTER };
enum ws_rhythm { WS_STAND, WS_CYCLES, WS_CONTINUOUS, WS_AT_MOMENTS, WS_SHUFFLE, WS_RHYTHMS };
enum ws_afterwards { WS_TO_DRAIN, WS_TO_BOTTLE, WS_STAYS, WS_TO_WASTE, WS_AFTERWARDS };

/* Stable random id of a row that can be exchanged between two books. All zero: none. */
struct ws_id {
    unsigned char byte[16];
};

/* The first agitation starts when the tank is full and lasts first_ms (0: none). Then, by rhythm:
 * WS_CYCLES at each multiple of every_ms on the bath's clock for length_ms; WS_AT_MOMENTS at the
 * stated moments of the clock (semi-stand); WS_CONTINUOUS to the end; WS_SHUFFLE one piece each
 * every_ms; WS_STAND nothing. `inversions` is the count within length_ms (0: not counted). */
struct ws_agitation {
    enum ws_rhythm rhythm;
    int64_t first_ms, every_ms, length_ms;
    int64_t moment_ms[WS_MOMENTS];
    int moments;
    int inversions;
    bool tap; /* rap the tank at the end of each cycle against air bells */
};

/* One thing that goes into a bath: a batch in the book, a bottle that is not, or water. */
struct ws_part {
    char name[WS_NAME];
    struct ws_id batch; /* zero: not in the book, or water */
    double ml;          /* in the bath */
    /* What leaves the bottle: more than ml where it is pre-diluted to be measurable. 0: ml. */
    double drawn_ml;
    bool water;
};

struct ws_bath {
    enum ws_bath_kind kind;
    char name[WS_NAME];            /* how the vessel is called at the sink */
    struct ws_dilution dilution;   /* parts 0: poured as it is */
    struct ws_part part[WS_PARTS]; /* measured out; empty in a process */
    int parts;
    enum ws_afterwards afterwards;
    int64_t time_ms; /* on the bath's clock, at start_c; in a process 0 where points give it */
    int64_t pour_in_ms, drain_ms, count_in_ms;
    int64_t longest_ms; /* 0: may run long without limit; time_ms: may not run long */
    enum ws_clock_from clock_from;
    enum ws_drain drain;
    struct ws_agitation agitation;
    double start_c; /* as measured before the pour */
    double want_c, tolerance_c;
    double ratio_per_10c; /* the process's own, 0: the general one */
    struct ws_point point[WS_POINTS];
    int points;
    bool open_film;         /* film lies open: only black is allowed */
    int64_t light_ms;       /* light may go on when it has been in so long, of pieces the last;
                               0: not stated */
    int pieces;             /* sheets handled one by one; 0: a closed tank */
    int64_t piece_every_ms; /* the k-th goes in, and out, k times this after the first */
};

struct ws_process {
    struct ws_id id;
    char name[WS_NAME];
    char film[WS_NAME]; /* empty: any */
    int ei;             /* 0: not stated */
    char note[256];
    struct ws_bath bath[WS_BATHS];
    int baths;
};

/* Where one roll or sheet sits. Reels count from the bottom, 1 up. */
struct ws_place {
    struct ws_id roll;
    char number[WS_NUMBER];
    char film[WS_NAME];
    int reel;
    double rolls; /* area in units of 80 square inches (one 135-36, one 120, four 4x5) */
};

struct ws_plan {
    struct ws_id id;
    struct ws_id repeats; /* the run it repeats, of that id; zero: none */
    int engine;
    char process[WS_NAME], tank[WS_NAME], who[WS_NAME];
    double fill_ml, cover_ml; /* what is poured, and the least that covers all reels (0: unknown) */
    struct ws_place place[WS_PLACES];
    int places;
    struct ws_bath bath[WS_BATHS];
    int baths;
    int64_t ready_lead_ms; /* get-ready before POUR OUT and before a set start */
    int64_t insist_ms; /* so long after POUR OUT a cue insists, once the hands had time to empty and
                          press */
    int64_t late_ms;   /* a cue later than this is shown, not sounded */
    int64_t confirm_grace_ms; /* after POUR OUT a press still confirms the cycle */
    int64_t undo_ms;          /* how long a press can be undone */
    int64_t least_move_ms;    /* the smallest move of an end that is worth it */
    int64_t reading_every_ms; /* 0: no readings asked for */
    int64_t long_rest_ms, come_back_lead_ms;
    bool follow; /* ends follow the readings without being asked */
    double room_c;
    int64_t halving_ms;       /* of the tank's distance from the room; 0: not known */
    char reason[2 * WS_NAME]; /* why it was begun against a warning; kept with its rolls */
};

/* Names in files and on screen: "presoak", "developer", ... ; null for an unknown value. */
const char *ws_bath_kind_name(enum ws_bath_kind kind);  /* "pre-soak": for people */
const char *ws_bath_kind_token(enum ws_bath_kind kind); /* "presoak": for files */
const char *ws_rhythm_token(enum ws_rhythm rhythm); /* stand cycles continuous moments shuffle */
const char *ws_afterwards_token(enum ws_afterwards where); /* drain bottle stays waste */

/* A bath of that kind with common practice filled in (marked so in plan.c): when full, 15 s to pour
 * in, drain of 10 s inside the time, may run long unless developer, 5 s count-in for a developer,
 * no temperature wanted, stand. name is the kind's. time 0. */
void ws_bath_default(enum ws_bath_kind kind, struct ws_bath *out);

/* The agitation as one line for people: "30 s first, then 10 s every 1:00 (4 inversions), tap". */
size_t ws_agitation_print(const struct ws_agitation *agitation, char *text, size_t size);

/* How sheets go through the bath, and whether film lies open in it, as one line for people: "6
 * sheets, one every 10 s; film lies open: black; light may go on 2:00 after the last is in". Empty
 * for film in a closed tank. */
size_t ws_bath_open_print(const struct ws_bath *bath, char *text, size_t size);

/* Patterns of common practice, ready to choose; index from 0; null past the last. */
const char *ws_agitation_pattern(int index, struct ws_agitation *out);

/* A plan with the house's lead times and no baths. */
void ws_plan_default(struct ws_plan *out);

/* What leaves the bottle for that part. */
double ws_part_drawn_ml(const struct ws_part *part);

/* True if the bath may be left longer than its time (stop, fixer, wash). */
bool ws_bath_may_run_long(const struct ws_bath *bath);

/* Checks one bath; a message begins with the field's path under `path`: "baths[1].time: ...".
 * `as_process`: a developer's time comes from its points, so time_ms may be 0 there, points may
 * not be missing. */
enum ws_status ws_bath_check(const struct ws_bath *bath, const char *path, bool as_process,
                             struct ws_message *why);
enum ws_status ws_process_check(const struct ws_process *process, struct ws_message *why);
/* Also: something in every bath covers the reels; parts add up; pieces pass every bath in time. */
enum ws_status ws_plan_check(const struct ws_plan *plan, struct ws_message *why);

bool ws_id_equal(const struct ws_id *a, const struct ws_id *b);
bool ws_id_none(const struct ws_id *id);
/* 32 hexadecimal digits and a zero. */
void ws_id_print(const struct ws_id *id, char text[33]);
bool ws_id_read(const char *text, struct ws_id *out);

#endif
