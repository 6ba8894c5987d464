/* Rows of the journal: read, compared, written; and what one must be to follow another. */
#ifndef WETSIDE_SRC_BOOK_EVENTS_H
#define WETSIDE_SRC_BOOK_EVENTS_H

#include "sql.h"
#include "wetside/book/run.h"

/* The latest moment of a run the engine takes (src/session/session.c). */
#define WS_EVENT_LATEST_MS (INT64_C(1) << 50)

/* A clock's nanoseconds, either way (146 years): the difference of two still fits. */
#define WS_STAMP_MOST_NS (INT64_C(1) << 62)

/* The columns of WS_JOURNAL_SELECT. */
enum {
    WS_JOURNAL_SEQUENCE,
    WS_JOURNAL_KIND,
    WS_JOURNAL_AT,
    WS_JOURNAL_OF,
    WS_JOURNAL_CAUSE,
    WS_JOURNAL_BATH,
    WS_JOURNAL_VALUE,
    WS_JOURNAL_C,
    WS_JOURNAL_ESTIMATED,
    WS_JOURNAL_BOOT,
    WS_JOURNAL_BOOT_NS,
    WS_JOURNAL_WALL_NS,
    WS_JOURNAL_EPOCH
};
#define WS_JOURNAL_SELECT                                                                          \
    "SELECT sequence, kind, at_ms, of, cause, bath, value_ms, value_c, estimated, boot, boot_ns,"  \
    " wall_ns, epoch FROM journal "

/* Takes a row. Null: it is one that can be. Else which of its fields can't, in words; `out` then
 * has its sequence alone. */
const char *ws_journal_read(struct ws_sql *sql, int64_t run, struct ws_journal_row *out);

bool ws_journal_same(const struct ws_journal_row *a, const struct ws_journal_row *b);

/* Null: `row` can come right after `before`. Else why not, in words. */
const char *ws_journal_follows(const struct ws_journal_row *before,
                               const struct ws_journal_row *row);

/* Inserts it, whoever owns the run. Within a transaction. */
enum ws_status ws_journal_insert(struct ws_book *book, const struct ws_journal_row *row,
                                 struct ws_message *why);

#endif
