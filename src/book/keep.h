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

/* A place in the list is a begin in milliseconds times this, plus the low bits of the roll's row:
 * later runs are higher, and the rolls of one run lie side by side. */
enum { WS_PLACES_A_MS = 4096 };
/* The year 37,000: far enough for a clock gone wrong. */
#define WS_LATEST_BEGIN_MS (INT64_C(1) << 50)

/* The place wanted for a roll in a run begun then; it gets this one or the first free one above. */
int64_t ws_roll_run_place(int64_t row, int64_t began_ms);

/* The words a roll is found by, of `roll` joined with its `film`. */
#define WS_ROLL_WORDS                                                                              \
    "roll.number || ' ' || film.name || ' ' || roll.subject || ' ' || roll.verdict"                \
    " || coalesce(' ' || (SELECT group_concat(run.process || ' ' || run.developer"                 \
    "    || coalesce(' ' || (SELECT group_concat(batch.number, ' ') FROM measured"                 \
    "     JOIN batch ON batch.batch = measured.batch"                                              \
    "     WHERE measured.run = run.run), ''), ' ')"                                                \
    "   FROM place JOIN run ON run.run = place.run"                                                \
    "   WHERE place.roll = roll.roll AND run.dry = 0), '')"                                        \
    " || coalesce(' ' || (SELECT group_concat(verdict.remark, ' ') FROM verdict"                   \
    "   WHERE verdict.roll = roll.roll), '')"

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
