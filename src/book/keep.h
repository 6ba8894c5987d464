/* What the files of the book do for one another: kept corrections, and the derived columns. */
#ifndef WETSIDE_SRC_BOOK_KEEP_H
#define WETSIDE_SRC_BOOK_KEEP_H

#include "wetside/book/book.h"

/* Keeps the old value of a corrected field; `what` is the table. wall_ms 0: not told. */
enum ws_status ws_correction_keep(struct ws_book *book, const char *what, int64_t row,
                                  const char *field, const char *was, const char *became,
                                  const char *reason, int64_t wall_ms, struct ws_message *why);

/* The row of the film of that name, which is added if it is new. */
enum ws_status ws_film_row(struct ws_book *book, const char *name, int64_t *row,
                           struct ws_message *why);

/* Brings the roll's derived columns and its words for the search up to date. */
enum ws_status ws_roll_derive(struct ws_book *book, int64_t row, struct ws_message *why);

/* The place in the list of a roll that is in no run: below all that are, the latest highest. */
int64_t ws_roll_waiting_place(int64_t row);

/* Writes one row of the journal, or passes it over if it is there; see ws_run_journal. */
struct ws_journal_row;
enum ws_status ws_journal_put(struct ws_book *book, const struct ws_journal_row *row,
                              struct ws_message *why);

/* The row that carries this id in a table, 0 if none does. `text` selects it by one id. */
enum ws_status ws_row_of_id(struct ws_book *book, const char *text, const struct ws_id *id,
                            int64_t *row, struct ws_message *why);

/* roll.state */
enum { WS_ROLL_WAITS = 0, WS_ROLL_IN_TANK = 1, WS_ROLL_DEVELOPED = 2 };

#endif
