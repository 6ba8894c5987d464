/* The journal of a run as a file: what the book did not take is kept elsewhere, and goes back into
 * the book when it can be written again.
 *
 * The file is JSON, one event on a line, and names the run by the stable id of its plan, so that it
 * finds the run in any copy of the book; man/wetside-events.5 describes it. Reading is strict: a
 * member that is missing, is none of ours or can't be is refused by its place. */
#ifndef WETSIDE_BOOK_EVENTS_FILE_H
#define WETSIDE_BOOK_EVENTS_FILE_H

#include "wetside/book/run.h"

/* Sequences go up within a file, and its rows are at most this many: ten times what a foot that
 * never stops types in a day. */
enum { WS_EVENTS_MOST = 1 << 20 };

/* Writes the rows (at least one; sequences going up; their `run` is not looked at) of the run whose
 * plan has that id to a new file (0600) and flushes it and its folder. No book is needed. WS_EXISTS
 * when there is something at `path`, which is left as it is; WS_DISK_FULL, WS_READ_ONLY, WS_IO: the
 * file can't be made, and nothing of it is left behind. WS_BAD_EVENT: a row that is no event of a
 * journal. */
enum ws_status ws_events_write(const char *path, const struct ws_id *plan,
                               const struct ws_journal_row *row, int rows, struct ws_message *why);

/* The same as text; `*text` is malloced. */
enum ws_status ws_events_to_json(const struct ws_id *plan, const struct ws_journal_row *row,
                                 int rows, char **text, size_t *length, struct ws_message *why);

/* Reads what ws_events_write wrote. WS_BAD_INPUT names the line, or the member by its path, such as
 * `events[3].kind`. `*row` is malloced and its `run` 0. */
enum ws_status ws_events_from_json(const char *text, size_t length, struct ws_id *plan,
                                   struct ws_journal_row **row, int *rows, struct ws_message *why);

/* What became of a file that was taken. */
struct ws_events_taken {
    int64_t run;
    int added, known; /* rows that are new to the book, and that it had already */
    bool closed;      /* the journal ended with them, and so the run was closed in the book */
};

/* Adds rows to the journal of the run kept under that id, in one transaction: all of them or none.
 * A row that is there already, and equal, is passed over, so that taking a file again changes
 * nothing.
 *
 * Rows are added at the end of the journal only, each one sequence on, and only to a run that is
 * open and that no other owner has gone on with: from the first row that is new, every row of the
 * book comes before it, and no epoch is older than one before it. A later owner that has journaled
 * nothing yet is no hindrance, and writes nothing any more afterwards: the run's epoch becomes the
 * highest of the rows, or one more than its own where that is higher already. What is journaled
 * then is replayed over the frozen plan before it is kept. If the run is over with it, it is closed
 * as well, as finished when its last bath is done and else as given up.
 *
 * WS_NOT_FOUND: the book never kept that run. WS_BAD_EVENT: the rows are not what follows in this
 * book. Nothing is written then. Whoever calls this knows that nobody drives the run now. */
enum ws_status ws_events_take(struct ws_book *book, const struct ws_id *plan,
                              const struct ws_journal_row *row, int rows,
                              struct ws_events_taken *out, struct ws_message *why);

#endif
