/* Runs: the frozen plan, the journal of events, what was measured out for them. */
#ifndef WETSIDE_BOOK_RUN_H
#define WETSIDE_BOOK_RUN_H

#include "wetside/book/roll.h"
#include "wetside/session/session.h"
#include "wetside/session/timebase.h"

/* One row of the journal. */
struct ws_journal_row {
    int64_t run;
    struct ws_event event;
    struct ws_stamp stamp;
    int64_t epoch; /* of the owner that wrote it, 1 up */
};

struct ws_run_line {
    int64_t row;
    struct ws_id id;
    int64_t began_ms; /* wall */
    int64_t ended_ms; /* wall; 0: open */
    bool given_up;
    char tank[WS_NAME], process[WS_NAME], rolls[128]; /* numbers, with commas */
    char reason[WS_REMARK];                           /* why it was given up */
};

/* Keeps the plan, whose id must be set (ws_id_make), its rolls (by id; each must be in the book),
 * what is measured out for every bath and the ledger draws, and its first journal row (BEGIN at
 * `stamp`: sequence 1, bath -1), in one transaction. WS_SHORT names the batch, what it holds and
 * what is asked; nothing is written then. Parts without a batch (a bottle that is not in the book)
 * are kept by name. Gives the row; the owner's epoch is 1. The same plan once more is the same run,
 * and WS_OK. */
enum ws_status ws_run_keep(struct ws_book *book, const struct ws_plan *plan,
                           const struct ws_stamp *stamp, int64_t *row, struct ws_message *why);

/* Appends events in one transaction; a row whose (run, sequence) is there already and equal is
 * passed over; a different one is WS_BAD_EVENT, an epoch that is not the run's WS_OWNED. */
enum ws_status ws_run_journal(struct ws_book *book, const struct ws_journal_row *row, int rows,
                              struct ws_message *why);

/* Closes the run, and returns to their bottles the baths that were poured and go back: those
 * measured out of one batch alone, since what was diluted or mixed can't go back to what it came
 * from. `reason` null: finished; else given up; given up before the developer (in a run without
 * one: anything) was poured, its rolls wait again. Closing a closed run again is WS_OK. */
enum ws_status ws_run_close(struct ws_book *book, int64_t row, const char *reason,
                            const struct ws_stamp *stamp, struct ws_message *why);

enum ws_status ws_run_get(struct ws_book *book, int64_t row, struct ws_run_line *out);
/* The run kept under a plan's id; *row 0: none is. */
enum ws_status ws_run_by_id(struct ws_book *book, const struct ws_id *id, int64_t *row,
                            struct ws_message *why);
enum ws_status ws_run_plan(struct ws_book *book, int64_t row, struct ws_plan *out,
                           struct ws_message *why);
/* The journal from `sequence` on, in order. */
enum ws_status ws_run_events(struct ws_book *book, int64_t row, uint32_t sequence,
                             struct ws_journal_row *out, int room, int *n);
/* The whole journal, in order; `out` is malloced, and null when it has no rows. */
enum ws_status ws_run_events_all(struct ws_book *book, int64_t row, struct ws_journal_row **out,
                                 int *n, struct ws_message *why);
/* Open runs, latest first; closed ones too with `all`. */
enum ws_status ws_run_list(struct ws_book *book, bool all, int64_t offset, struct ws_run_line *out,
                           int room, int *n);
/* The runs of a roll, latest first. */
enum ws_status ws_run_of_roll(struct ws_book *book, int64_t roll, struct ws_run_line *out, int room,
                              int *n);
/* The reel that roll was on in that run, as corrected since; *reel 0: it was not in it. */
enum ws_status ws_run_reel(struct ws_book *book, int64_t row, int64_t roll, int *reel);
/* The sleeve shows that another roll of the book was in that tank: puts roll `is` in the place of
 * roll `was`, and keeps that it was there, the moment and the reason. Both rolls' runs, states and
 * verdicts due follow; the frozen plan and the ledger stay as they are. WS_NOT_FOUND when `was` is
 * not in the run, WS_EXISTS when `is` is in it already. */
enum ws_status ws_run_correct_roll(struct ws_book *book, int64_t row, int64_t was, int64_t is,
                                   const char *reason, int64_t wall_ms, struct ws_message *why);

/* A new owner: raises the run's epoch and gives it. */
enum ws_status ws_run_own(struct ws_book *book, int64_t row, int64_t *epoch,
                          struct ws_message *why);
/* The epoch of the run's owner now. */
enum ws_status ws_run_epoch(struct ws_book *book, int64_t row, int64_t *epoch,
                            struct ws_message *why);
/* Raises the epoch from `from` to `from` + 1. Asked again after an unknown COMMIT it is WS_OK as
 * well. WS_OWNED: it is another by now. */
enum ws_status ws_run_own_after(struct ws_book *book, int64_t row, int64_t from,
                                struct ws_message *why);

#endif
