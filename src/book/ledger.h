/* A batch's ledger: one row for each millilitre in and out, each saying what it leaves. */
#ifndef WETSIDE_SRC_BOOK_LEDGER_H
#define WETSIDE_SRC_BOOK_LEDGER_H

#include "wetside/book/batch.h"

/* One change of what a batch holds, within the caller's transaction. */
struct ws_ledger_entry {
    int64_t batch;
    enum ws_ledger_kind kind;
    double ml;   /* above 0, what goes in or out; of a stock-take what is left. NAN: not known */
    int64_t run; /* 0 none */
    int bath;    /* -1 none */
    int64_t wall_ms;
    const char *reason;
};

/* What the batch holds now (NAN: not known) and its number. WS_NOT_FOUND without a line. */
enum ws_status ws_ledger_left(struct ws_book *book, int64_t batch, double *left_ml,
                              char number[WS_NUMBER], struct ws_message *why);

/* Writes the row, and what it leaves into the batch. WS_SHORT, with nothing written, when more
 * would go out than is there. */
enum ws_status ws_ledger_enter(struct ws_book *book, const struct ws_ledger_entry *entry,
                               struct ws_message *why);

/* WS_SHORT's line: which batch, what it holds, what is asked, and the way on. */
enum ws_status ws_ledger_short(const char *number, double left_ml, double asked_ml,
                               struct ws_message *why);

/* Sums below this are rounding of doubles: a thousandth of a drop. */
#define WS_LEDGER_SLACK_ML 1e-5

#endif
