/* From what a person chooses to a plan: times at the measured temperature, millilitres for this
 * tank, and the pre-flight's lines. Pure. */
#ifndef WETSIDE_CALC_SETUP_H
#define WETSIDE_CALC_SETUP_H

#include "wetside/calc/plan.h"
#include "wetside/calc/units.h"

/* What is known of one bottle that is poured from. */
struct ws_bottle {
    struct ws_id batch; /* zero: not in the book */
    char name[WS_NAME]; /* as on the bottle */
    double left_ml;     /* NAN: not known */
    double least_ml;    /* the person's own minimum of stock a roll; 0: not set */
    int age_days;       /* -1: not known */
    double rolls;       /* film it has seen */
};

struct ws_setup {
    const struct ws_process *process;
    char tank[WS_NAME], who[WS_NAME];
    double fill_ml;
    double cover_ml; /* least fill for the reels; 0: not known */
    struct ws_place place[WS_PLACES];
    int places;
    struct ws_dilution dilution; /* of the developer, replaces the process's; parts 0: its own */
    struct ws_bottle bottle[WS_BATHS]
                           [WS_PARTS]; /* by bath and stock part; empty name: none named */
    double bath_c[WS_BATHS];           /* measured; NAN: not measured */
    double room_c;                     /* NAN: not known */
    char reason[2 * WS_NAME];          /* why it goes on against a warning; kept */
    bool premix;                       /* below WS_MEASURABLE_ML a stock is pre-diluted */
    bool rehearsal;                    /* every bath is water, and no film of worth is in it */
    bool sound;                        /* there is working sound; without it black is refused */
    enum ws_scale scale;               /* temperatures of the pre-flight's lines */
};

/* Nothing chosen yet: NAN temperatures, no bottles, pre-dilutions where they are needed. */
void ws_setup_default(struct ws_setup *setup, const struct ws_process *process);

/* Builds the plan and checks it. The developer's time is the curve's at its measured temperature
 * (rounded to the second), or at the process's own first point if none was measured; a stand or
 * semi-stand with one point keeps its time. A stock part too small to measure is pre-diluted where
 * its bottle is not known to hold too little for that: drawn_ml is then what leaves it. `at` (may
 * be null) gets the developer's time with its band. WS_BAD_PLAN with a line. */
enum ws_status ws_setup_plan(const struct ws_setup *setup, struct ws_plan *plan,
                             struct ws_time_at *at, struct ws_message *why);

/* The pre-flight: what is to be seen to before the first pour, in order. */
enum ws_preflight_level {
    WS_PREFLIGHT_ASK,  /* tick it */
    WS_PREFLIGHT_WARN, /* tick it knowing this; a reason is kept where `wants_reason` */
    WS_PREFLIGHT_STOP  /* can't go on */
};
struct ws_preflight {
    enum ws_preflight_level level;
    bool wants_reason;
    bool bottle; /* of STOP: a bottle holds less than is asked */
    int bath;    /* -1: none */
    char text[320];
};
enum { WS_PREFLIGHT_LINES = 256 }; /* above what 24 baths and 12 rolls can give: none is lost */

/* Lines: vessels in pouring order by name; core in and lid turned (tanks); the fill covers the
 * reels in every bath; each bath's parts in millilitres with what the graduate should show, or the
 * pre-dilution; each bottle's age and what is left; stock a roll against the minimum with ways
 * out; where film lies open without working sound, that it can't be; temperatures of the baths, 2.8
 * C apart at most (common practice); cautions of the time; gloves; what keys mean in the dark.
 * Returns how many. */
int ws_setup_preflight(const struct ws_setup *setup, const struct ws_plan *plan,
                       const struct ws_time_at *at, struct ws_preflight line[WS_PREFLIGHT_LINES]);

#endif
