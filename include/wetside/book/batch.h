/* Batches and bottles, with a ledger of every millilitre in and out.
 *
 * A batch may have an unknown volume, which stays unknown whatever is drawn. Otherwise it can't be
 * drawn below what it holds (WS_SHORT) without an explicit stock-take. */
#ifndef WETSIDE_BOOK_BATCH_H
#define WETSIDE_BOOK_BATCH_H

#include "wetside/book/book.h"

enum ws_batch_kind { WS_BATCH_STOCK, WS_BATCH_CONCENTRATE, WS_BATCH_WORKING, WS_BATCH_KINDS };
const char *ws_batch_kind_token(enum ws_batch_kind kind); /* stock, concentrate, working */
const char *ws_batch_kind_name(enum ws_batch_kind kind);  /* for people: working solution */

struct ws_batch {
    int64_t row;
    struct ws_id id;
    char number[WS_NUMBER]; /* as on the bottle: MQB-014 */
    char what[WS_NAME];     /* what is in it */
    enum ws_batch_kind kind;
    enum ws_bath_kind use; /* developer, fixer, ... */
    char made_day[WS_DAY]; /* mixed, or opened; empty: not known */
    char who[WS_NAME];
    double volume_ml;    /* at first; NAN: not known */
    double least_ml;     /* the person's own minimum of stock for one roll; 0: not set */
    enum ws_colon colon; /* what a bare colon on this bottle means */
    char note[WS_REMARK];
    double left_ml; /* on reading: what the ledger leaves; NAN: not known */
    double rolls;   /* on reading: film it has seen, in units of 80 square inches */
};

enum ws_ledger_kind {
    WS_LEDGER_MADE,
    WS_LEDGER_DRAWN,
    WS_LEDGER_RETURNED,
    WS_LEDGER_STOCK_TAKE,
    WS_LEDGER_DISCARDED,
    WS_LEDGER_KINDS
};
const char *ws_ledger_kind_name(enum ws_ledger_kind kind);

struct ws_ledger_line {
    enum ws_ledger_kind kind;
    double ml;   /* in +, out -; of a stock-take the correction; NAN: not known */
    int64_t run; /* 0 none */
    int64_t wall_ms;
    char reason[WS_REMARK];
};

/* Adds the batch with its first ledger row. WS_EXISTS when the number is taken. */
enum ws_status ws_batch_add(struct ws_book *book, struct ws_batch *batch, int64_t wall_ms,
                            struct ws_message *why);
enum ws_status ws_batch_get(struct ws_book *book, const struct ws_id *id, struct ws_batch *out);
enum ws_status ws_batch_by_row(struct ws_book *book, int64_t row, struct ws_batch *out);
enum ws_status ws_batch_find(struct ws_book *book, const char *number, struct ws_batch *out,
                             struct ws_message *why);
/* Newest first; `use` WS_BATH_KINDS: all; empty ones (0 ml) last. */
enum ws_status ws_batch_list(struct ws_book *book, enum ws_bath_kind use, struct ws_batch *out,
                             int room, int *n);
enum ws_status ws_batch_ledger(struct ws_book *book, int64_t row, struct ws_ledger_line *line,
                               int room, int *n);
/* "There is more (or less) left than the book says": sets what is left, with a reason. */
enum ws_status ws_batch_stock_take(struct ws_book *book, int64_t row, double left_ml,
                                   const char *reason, int64_t wall_ms, struct ws_message *why);
enum ws_status ws_batch_discard(struct ws_book *book, int64_t row, double ml, const char *where,
                                int64_t wall_ms, struct ws_message *why);
enum ws_status ws_batch_set_colon(struct ws_book *book, int64_t row, enum ws_colon colon,
                                  struct ws_message *why);
enum ws_status ws_batch_set_least(struct ws_book *book, int64_t row, double least_ml,
                                  struct ws_message *why);
/* All rolls that went through the batch, latest run first (as in ws_roll_search). */
struct ws_roll_line;
enum ws_status ws_batch_rolls(struct ws_book *book, int64_t row, struct ws_roll_line *line,
                              int room, int *n);

#endif
