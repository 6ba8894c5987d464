/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the files of choosing a run share. */
#ifndef WETSIDE_SRC_CONSOLE_CHOOSE_H
#define WETSIDE_SRC_CONSOLE_CHOOSE_H

#include "wetside/console/ask.h"
#include "wetside/console/log.h"
#include "wetside/drive/choice.h"

enum { CHOOSE_SO_FAR = 12, CHOOSE_LINE = 256 };

/* One choosing, from the first question to the pour. On the heap. */
struct choosing {
    struct ws_console *console;
    struct ws_choice choice;
    struct ws_few_answers few; /* while a process is made of answers */
    bool rehearsal;            /* nothing is written to the book */
    bool stranger;             /* no roll and no process is in the book yet */
    bool making;               /* a process is being made */
    bool baths_answered;       /* stop, fixer and wash were asked, */
    bool baths_in_trays;       /* and the pre-soak of sheets; as typed: */
    char baths_text[4][32];
    bool closed_sheets;      /* sheets, but in a tank: no trays */
    int question, questions; /* for the head: 3 of 8 */
    char so_far[CHOOSE_SO_FAR][CHOOSE_LINE];
    const char *so_far_line[CHOOSE_SO_FAR];
    int so_far_lines;
    /* What the choice comes to; `status` says whether the plan stands. */
    struct ws_setup setup;
    struct ws_plan plan;
    struct ws_time_at at;
    enum ws_status status;
    struct ws_message why;
    struct ws_plan was; /* the run that is repeated */
};

/* A question: asks, and puts the answer into the choice. */
struct question {
    enum ws_answer (*ask)(struct choosing *c);
    bool (*applies)(const struct choosing *c); /* null: always */
};
/* Asks one after another, back and forth; NEXT after the last. */
enum ws_answer choose_ask_all(struct choosing *c, const struct question *question, int questions);

/* Which process, then its questions; NEXT when a run has begun. (choose_flow.c) */
enum ws_answer choose_develop(struct choosing *c);
/* Sheet, pre-flight, begin; back and forth between them. BACK: out of the sheet. */
enum ws_answer choose_to_the_pour(struct choosing *c, bool sheet_first);
/* An earlier run again: chosen from a list, or that one. (choose_repeat.c) */
enum ws_answer choose_repeat(struct choosing *c);
enum ws_answer choose_repeat_run(struct choosing *c, int64_t run);

/* Makes the plan of the choice as it stands. */
void choose_work_out(struct choosing *c);
/* Whether it is an earlier run again; `was` is that one then. */
bool choose_repeats(const struct choosing *c);
/* What beside the room's name says: `new run   question 3 of 8`. */
const char *choose_what(const struct choosing *c, char *text, size_t size);
/* A page with head and what was answered so far. */
void choose_page(struct choosing *c, struct ws_ask *page, char what[CHOOSE_LINE]);
/* `9:30 at 20.0 C (9:02 to 9:59), from one point`, for the developer at `celsius`. */
void choose_time_line(const struct choosing *c, const struct ws_curve *curve, double celsius,
                      struct ws_notes *notes);
/* `150 ml MQB-014 + 150 ml water`, for the developer with that dilution in that fill. */
bool choose_parts_line(const struct choosing *c, const struct ws_dilution *dilution, double fill_ml,
                       char *text, size_t size);

/* choose_rolls.c */
enum ws_answer choose_film(struct choosing *c);  /* a stranger's one film */
enum ws_answer choose_rolls(struct choosing *c); /* reel by reel, or sheet by sheet */
/* choose_trays.c: for sheets, how many go through the trays in which rhythm; first, while a process
 * is being made, whether in trays. */
enum ws_answer choose_trays(struct choosing *c);
bool choose_are_sheets(const struct choosing *c);
bool choose_in_trays(const struct choosing *c);
/* `6 sheets, one in every 0:10, one shuffled every 0:05`; empty where there are no trays. */
void choose_trays_line(const struct choosing *c, char *text, size_t size);
/* choose_bottle.c */
enum ws_answer choose_new_bottle(struct choosing *c); /* a stranger's one bottle */
enum ws_answer choose_bottles(struct choosing *c);    /* of the developer */
enum ws_answer choose_dilution(struct choosing *c);
/* Text typed for a bottle: a number of the book, or a name. Empty: none. */
void choose_bottle_by_text(struct choosing *c, const char *text, struct ws_batch *batch);
/* choose_tank.c */
enum ws_answer choose_tank(struct choosing *c);
enum ws_answer choose_fill(struct choosing *c);
bool choose_has_tanks(const struct choosing *c);
/* choose_times.c */
enum ws_answer choose_printed(struct choosing *c);
enum ws_answer choose_now(struct choosing *c);
enum ws_answer choose_agitation(struct choosing *c);
enum ws_answer choose_baths(struct choosing *c);
enum ws_answer choose_time(struct choosing *c);
/* choose_sheet.c: all that was chosen, to be changed; NEXT: to the pre-flight. */
enum ws_answer choose_sheet(struct choosing *c);
/* choose_premix.c: whether stock too little to measure is pre-diluted; a line on it, false where no
 * stock is so little. */
enum ws_answer choose_premix(struct choosing *c);
bool choose_premix_line(const struct choosing *c, char *text, size_t size);
/* A line when the dilution is not the one the process's times are for. */
bool choose_other_dilution(const struct choosing *c, char *text, size_t size);
/* preflight.c: NEXT when everything is ticked. */
enum ws_answer choose_preflight(struct choosing *c);
/* choose_begin.c: true when the run has begun. */
bool choose_begin(struct choosing *c);
/* The stock-take of a bottle that holds less than is asked; true when the choice has the new value.
 */
bool choose_stock_take(struct choosing *c);
/* Takes up an open run; true when it is at the sink. */
bool choose_resume(struct ws_console *console, int64_t run);

#endif
