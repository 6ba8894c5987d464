/* What a person chooses for a run, before it is a plan: process, rolls, tank, bottles, dilution,
 * temperatures. What of it is not in the book yet is kept there only when the run begins.
 *
 * Plain values without ownership, but large: on the heap. */
#ifndef WETSIDE_DRIVE_CHOICE_H
#define WETSIDE_DRIVE_CHOICE_H

#include "wetside/book/batch.h"
#include "wetside/book/run.h"
#include "wetside/book/tank.h"
#include "wetside/calc/setup.h"

/* A bottle for one stock part of a bath. */
struct ws_choice_bottle {
    struct ws_batch batch; /* number empty: none named; row 0: not in the book, used by name */
    bool add;              /* is to be added to the book when the run begins */
};

struct ws_choice {
    struct ws_process process;
    bool have_process;
    bool keep_process;              /* made here: kept in the book when the run begins */
    bool changed;                   /* differs from the process of its name, for this run only */
    struct ws_roll roll[WS_PLACES]; /* reel by reel from the bottom; row 0: to be added */
    int rolls;
    int numbered;        /* so many of them, the last, were added by ws_choice_number_sheets */
    struct ws_tank tank; /* name empty: none named; row 0: not in the book */
    double fill_ml;      /* 0: not chosen yet */
    struct ws_choice_bottle bottle[WS_BATHS][WS_PARTS];
    struct ws_dilution dilution; /* of the developer; parts 0: the process's own */
    double bath_c[WS_BATHS];     /* measured; NAN: not measured */
    bool as_then;                /* the developer's temperature is that of an earlier run */
    double room_c;
    bool no_premix;       /* stock too little to measure well is measured as it is all the same */
    bool rehearsal;       /* every bath is water */
    struct ws_id repeats; /* the run that is repeated; zero: none */
    struct ws_id run; /* of the run to be: made when it is kept, so that a second try is no other */
    char who[WS_NAME];
    char reason[2 * WS_NAME]; /* why it goes on against a warning */
};

void ws_choice_default(struct ws_choice *choice);

/* Takes a process. Bottles and temperatures chosen for other baths are forgotten, rolls, tank and
 * fill stay. */
void ws_choice_set_process(struct ws_choice *choice, const struct ws_process *process);

/* The first developer's number among the baths; -1: there is none. */
int ws_choice_developer(const struct ws_choice *choice);

/* The dilution in force for that bath: the chosen one for a developer, else the process's own. */
const struct ws_dilution *ws_choice_dilution(const struct ws_choice *choice, int bath);

/* From how many bottles the bath is poured: its stock parts; 0: water, or whatever stands there. */
int ws_choice_bottles(const struct ws_choice *choice, int bath);

/* The least fill that covers all chosen rolls in the chosen tank; 0: not known. */
double ws_choice_cover_ml(const struct ws_choice *choice);

/* Refuses a fill that does not cover the reels, or that the tank does not hold. */
enum ws_status ws_choice_check_fill(const struct ws_choice *choice, double fill_ml,
                                    struct ws_message *why);
/* Refuses a tank with fewer reels than there are rolls. */
enum ws_status ws_choice_check_tank(const struct ws_choice *choice, const struct ws_tank *tank,
                                    struct ws_message *why);

/* Makes the developer's time at its temperature `time_ms`: all its points are scaled alike, so that
 * other temperatures keep their relation. For this run only. */
enum ws_status ws_choice_set_time(struct ws_choice *choice, int64_t time_ms,
                                  struct ws_message *why);

/* For calc; `wall_ms` gives the bottles their age. It borrows choice->process. */
void ws_choice_setup(const struct ws_choice *choice, int64_t wall_ms, struct ws_setup *setup);

/* The setup and the plan it makes (see ws_setup_plan); `setup` may then go to the pre-flight. */
enum ws_status ws_choice_plan(const struct ws_choice *choice, int64_t wall_ms,
                              struct ws_setup *setup, struct ws_plan *plan, struct ws_time_at *at,
                              struct ws_message *why);

/* Whole days from the local date `day` to the local date of wall_ms; -1: no date, or one to come.
 */
int ws_choice_age_days(const char *day, int64_t wall_ms);

/* ---- sheets in trays ---- */

struct ws_trays {
    int sheets;         /* that go through one by one; 0: there are no trays */
    int64_t every_ms;   /* each in, and out, so long after the one before it */
    int64_t shuffle_ms; /* one of them is moved so often; 0: none is */
};

/* How sheets go through the trays of the process; false: it has no trays. */
bool ws_choice_trays(const struct ws_choice *choice, struct ws_trays *trays);

/* The least time of a tray: the last sheet is in before the first is due out. */
int64_t ws_trays_least_ms(const struct ws_trays *trays);
/* Refuses a bath's time that is less; `name` is the bath's. */
enum ws_status ws_trays_check(const struct ws_trays *trays, const char *name, int64_t time_ms,
                              struct ws_message *why);

/* Makes the bath a tray of those, with open film; over a fixer light may go on after two minutes
 * (common practice). */
void ws_trays_bath(const struct ws_trays *trays, struct ws_bath *bath);

/* Other sheets through all trays of the process, for this run only; refused where a tray is too
 * short for them. */
enum ws_status ws_choice_set_trays(struct ws_choice *choice, const struct ws_trays *trays,
                                   struct ws_message *why);

/* Takes off the rolls that ws_choice_number_sheets added. */
void ws_choice_unnumber_sheets(struct ws_choice *choice);

/* ---- with the book (on its thread) ---- */

/* Adds new rolls like the last one chosen, with the numbers that come next, until there is one for
 * each of so many sheets, or WS_PLACES; those added before are taken off first. Refuses fewer
 * sheets than are chosen by number. */
enum ws_status ws_choice_number_sheets(struct ws_book *book, struct ws_choice *choice, int sheets,
                                       struct ws_message *why);

/* Everything as in that run, by its frozen plan; but in place of its rolls as many exposed ones of
 * the same film, or new ones with the numbers that come next. */
enum ws_status ws_choice_repeat(struct ws_book *book, int64_t run, struct ws_choice *choice,
                                struct ws_message *why);

/* Puts into the book what is not in it yet: rolls, bottles to add, the process. Safe to repeat:
 * what has been put in has its row by then. */
enum ws_status ws_choice_keep(struct ws_book *book, struct ws_choice *choice, int64_t wall_ms,
                              struct ws_message *why);

/* The bottle that part `part` of the developer was poured from in the latest run of that process,
 * among the latest runs; none: a zero id. */
enum ws_status ws_choice_last_bottle(struct ws_book *book, const char *process, int part,
                                     struct ws_id *batch);

/* The first batch that holds less than the plan asks of it; false: all suffice. */
bool ws_choice_short(struct ws_book *book, const struct ws_plan *plan, struct ws_batch *batch,
                     double *asked_ml);

/* Reads the batch anew into every place it was chosen for. */
void ws_choice_refresh(struct ws_choice *choice, const struct ws_batch *batch);

/* ---- numbers of rolls ---- */

/* The number the next roll is offered: after the last new one of its kind (sheet or not) that is
 * chosen, else what the book says. */
enum ws_status ws_choice_next_number(struct ws_book *book, const struct ws_choice *choice,
                                     enum ws_format format, char number[WS_NUMBER]);

/* A line when `number` is a double or leaves a gap, else empty: reported, never forbidden. */
void ws_choice_number_note(struct ws_book *book, const struct ws_choice *choice, const char *number,
                           char *text, size_t size);

/* ---- a process from a few answers ---- */

struct ws_few_answers {
    char film[WS_NAME], developer[WS_NAME];
    int ei;
    struct ws_dilution dilution;
    struct ws_point point; /* as printed on the box or the data sheet */
    struct ws_agitation agitation;
    struct ws_trays trays; /* in place of the agitation, where there are sheets in it */
    int64_t presoak_ms, stop_ms, fixer_ms, wash_ms; /* 0: there is no such bath */
};

/* The process these make, with what is common practice for the rest; it has passed
 * ws_process_check. Its name is made of film, developer and dilution. */
enum ws_status ws_choice_process(const struct ws_few_answers *answers, struct ws_process *out,
                                 struct ws_message *why);

#endif
