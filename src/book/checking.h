/* What the parts of the book's check share. */
#ifndef WETSIDE_SRC_BOOK_CHECKING_H
#define WETSIDE_SRC_BOOK_CHECKING_H

#include "sql.h"
#include "wetside/book/check.h"

struct ws_checking {
    struct ws_book *book;
    void (*put)(void *self, const struct ws_fault *fault);
    void *self;
    struct ws_book_seen *seen;
    struct ws_message restore; /* what is advised where only a backup helps */
    struct ws_message *why;    /* of what could not be looked at, the first */
    enum ws_status status;     /* likewise */
    const char *of;            /* the thing being looked at: its faults are counted together */
    int64_t of_row;            /* which one, of several */
    int of_told, of_untold, told;
};

/* From here on faults are of this thing: "the ledger", "run" and its row. */
void ws_checking_of(struct ws_checking *checking, const char *what, int64_t row);

/* A fault, where the thing is named by `where`; `advice` null: that a backup helps. */
void ws_checking_fault(struct ws_checking *checking, const char *where, const char *advice,
                       const char *what, ...) __attribute__((format(printf, 4, 5)));

/* A part that could not be looked at to its end: what can't be read because it is damaged is a
 * fault, anything else the status of the whole. */
void ws_checking_failed(struct ws_checking *checking, const char *where, enum ws_status status,
                        const struct ws_message *why);

/* False: there is no sense in going on (memory is short, the disk can't be read). */
bool ws_checking_goes_on(const struct ws_checking *checking);

/* The parts, each in its file. */
void ws_check_tables(struct ws_checking *checking);  /* check_tables.c */
void ws_check_ledgers(struct ws_checking *checking); /* check_stock.c */
void ws_check_processes(struct ws_checking *checking);
void ws_check_rolls(struct ws_checking *checking); /* check_rolls.c */
void ws_check_words(struct ws_checking *checking);
void ws_check_runs(struct ws_checking *checking); /* check_run.c */

/* ---- book.c ---- */
/* The tables of a new book of that version in memory, for comparison. */
enum ws_status ws_book_pattern(int version, sqlite3 **out, struct ws_message *why);

#endif
