/* One run as the book's check looks at it. */
#ifndef WETSIDE_SRC_BOOK_CHECK_RUN_H
#define WETSIDE_SRC_BOOK_CHECK_RUN_H

#include "checking.h"
#include "wetside/book/run.h"

/* What the ledgers have of a run: one batch in one bath, drawn or returned. */
struct ws_look_ledger {
    struct ws_sql sql;
    bool there; /* there is a row, of `run` */
    int64_t run;
    int bath;
    char kind[16];
    struct ws_id batch;
    double ml;
};

struct ws_look {
    struct ws_checking *checking;
    char where[32]; /* "run 3" */
    int64_t run;
    /* As stored. */
    struct ws_id id, batch;
    char process[WS_NAME], tank[WS_NAME], who[WS_NAME];
    int64_t began_ms, epoch;
    double stock_ml;
    bool ended, given_up, dry;
    signed char poured[WS_BATHS]; /* -1: not told */
    /* As replayed. */
    struct ws_plan plan;
    struct ws_session session;
    bool planned;  /* the plan can be read */
    bool followed; /* and the whole journal was replayed over it */
    struct ws_look_ledger ledger;
};

/* A fault of this run, with what a backup is advised for. */
#define WS_LOOK_FAULT(look, ...)                                                                   \
    ws_checking_fault((look)->checking, (look)->where, NULL, __VA_ARGS__)

/* ---- check_poured.c: its baths, what was measured out, its places, and the ledgers ---- */
enum ws_status ws_look_at_baths(struct ws_look *look, struct ws_message *why);
enum ws_status ws_look_at_measured(struct ws_look *look, struct ws_message *why);
enum ws_status ws_look_at_places(struct ws_look *look, struct ws_message *why);
/* Runs come in the order of their rows. */
void ws_look_begin_ledger(struct ws_look *look);
void ws_look_at_ledger(struct ws_look *look);
enum ws_status ws_look_end_ledger(struct ws_look *look, struct ws_message *why);

#endif
