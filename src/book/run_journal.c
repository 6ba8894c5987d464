/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The journal of a run, and who owns it. */
#include <math.h>
#include <stdlib.h>

#include "events.h"
#include "keep.h"
#include "sql.h"
#include "wetside/book/run.h"

/* ---- one row --------------------------------------------------------------------------------- */

static bool same_c(double a, double b)
{
    return a == b || (isnan(a) && isnan(b));
}

static bool same_stamp(const struct ws_stamp *a, const struct ws_stamp *b)
{
    return ws_id_equal(&a->boot, &b->boot) && a->boot_ns == b->boot_ns && a->wall_ns == b->wall_ns;
}

static bool same_event(const struct ws_event *a, const struct ws_event *b)
{
    return a->at_ms == b->at_ms && a->sequence == b->sequence && a->of == b->of &&
           a->kind == b->kind && a->cause == b->cause && a->bath == b->bath &&
           a->value_ms == b->value_ms && same_c(a->value_c, b->value_c) &&
           a->estimated == b->estimated;
}

bool ws_journal_same(const struct ws_journal_row *a, const struct ws_journal_row *b)
{
    return same_event(&a->event, &b->event) && same_stamp(&a->stamp, &b->stamp) &&
           a->epoch == b->epoch;
}

/* What a number of the row must be between, column by column; others may be anything. */
static const struct {
    const char *name;
    int64_t least, most;
} bounds[] = {
    [WS_JOURNAL_SEQUENCE] = { "sequence", 1, UINT32_MAX },
    [WS_JOURNAL_AT] = { "moment", 0, WS_EVENT_LATEST_MS },
    [WS_JOURNAL_OF] = { "answered event", 0, UINT32_MAX },
    [WS_JOURNAL_CAUSE] = { "cause", WS_BY_HAND, WS_BY_RECOVERY },
    [WS_JOURNAL_BATH] = { "bath", -1, WS_STEPS - 1 },
    [WS_JOURNAL_BOOT_NS] = { "boot clock", -WS_STAMP_MOST_NS, WS_STAMP_MOST_NS },
    [WS_JOURNAL_WALL_NS] = { "wall clock", -WS_STAMP_MOST_NS, WS_STAMP_MOST_NS },
    [WS_JOURNAL_EPOCH] = { "owner", 1, INT32_MAX },
};

const char *ws_journal_read(struct ws_sql *sql, int64_t run, struct ws_journal_row *out)
{
    const char *wrong = NULL;
    char kind[24];

    for (size_t i = 0; i < sizeof bounds / sizeof bounds[0] && wrong == NULL; i++) {
        int64_t value = ws_sql_int(sql, (int)i);

        if (bounds[i].name != NULL && (value < bounds[i].least || value > bounds[i].most))
            wrong = bounds[i].name;
    }
    *out = (struct ws_journal_row){ .run = run };
    out->event.sequence = (uint32_t)ws_sql_int(sql, WS_JOURNAL_SEQUENCE);
    ws_sql_text(sql, WS_JOURNAL_KIND, kind, sizeof kind);
    if (!ws_event_read_token(kind, &out->event.kind) || out->event.kind == WS_EVENT_TICK)
        return "kind";
    if (wrong != NULL)
        return wrong;
    out->event.at_ms = ws_sql_int(sql, WS_JOURNAL_AT);
    out->event.of = (uint32_t)ws_sql_int(sql, WS_JOURNAL_OF);
    out->event.cause = (enum ws_cause)ws_sql_int(sql, WS_JOURNAL_CAUSE);
    out->event.bath = (int)ws_sql_int(sql, WS_JOURNAL_BATH);
    out->event.value_ms = ws_sql_int(sql, WS_JOURNAL_VALUE);
    out->event.value_c = ws_sql_double(sql, WS_JOURNAL_C);
    out->event.estimated = ws_sql_int(sql, WS_JOURNAL_ESTIMATED) != 0;
    ws_sql_id(sql, WS_JOURNAL_BOOT, &out->stamp.boot);
    out->stamp.boot_ns = ws_sql_int(sql, WS_JOURNAL_BOOT_NS);
    out->stamp.wall_ns = ws_sql_int(sql, WS_JOURNAL_WALL_NS);
    out->epoch = ws_sql_int(sql, WS_JOURNAL_EPOCH);
    return NULL;
}

const char *ws_journal_follows(const struct ws_journal_row *before,
                               const struct ws_journal_row *row)
{
    if (row->event.sequence != before->event.sequence + 1)
        return "is not the next one";
    if (before->event.kind == WS_EVENT_CLOSE)
        return "comes after the close of the run";
    if (row->event.at_ms < before->event.at_ms)
        return "is earlier than the one before it";
    if (row->epoch < before->epoch)
        return "is of an owner before the last";
    /* The wall clock may be set back in a run; the other never is while the machine is on. */
    if (ws_id_equal(&row->stamp.boot, &before->stamp.boot) &&
        row->stamp.boot_ns < before->stamp.boot_ns)
        return "has a boot clock that went back";
    return NULL;
}

enum ws_status ws_journal_insert(struct ws_book *book, const struct ws_journal_row *row,
                                 struct ws_message *why)
{
    const struct ws_event *event = &row->event;
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "INSERT INTO journal (run, sequence, kind, at_ms, of, cause, bath, value_ms,"
                " value_c, estimated, boot, boot_ns, wall_ns, epoch)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, row->run);
    ws_sql_put_int(&sql, event->sequence);
    ws_sql_put_text(&sql, ws_event_token(event->kind));
    ws_sql_put_int(&sql, event->at_ms);
    ws_sql_put_int(&sql, event->of);
    ws_sql_put_int(&sql, (int64_t)event->cause);
    ws_sql_put_int(&sql, event->bath);
    ws_sql_put_int(&sql, event->value_ms);
    ws_sql_put_double(&sql, event->value_c);
    ws_sql_put_int(&sql, event->estimated);
    ws_sql_put_id(&sql, &row->stamp.boot);
    ws_sql_put_int(&sql, row->stamp.boot_ns);
    ws_sql_put_int(&sql, row->stamp.wall_ns);
    ws_sql_put_int(&sql, row->epoch);
    return ws_sql_done(&sql, why);
}

/* Whether there is a row of that number, and whether it is this one. */
static enum ws_status find(struct ws_book *book, const struct ws_journal_row *row, bool *found,
                           bool *same, struct ws_message *why)
{
    struct ws_journal_row is;
    struct ws_sql sql;

    ws_sql_open(&sql, book, WS_JOURNAL_SELECT "WHERE run = ? AND sequence = ?");
    ws_sql_put_int(&sql, row->run);
    ws_sql_put_int(&sql, row->event.sequence);
    *found = ws_sql_row(&sql);
    *same = *found && ws_journal_read(&sql, row->run, &is) == NULL && ws_journal_same(&is, row);
    return ws_sql_end(&sql, why);
}

enum ws_status ws_run_epoch(struct ws_book *book, int64_t row, int64_t *epoch,
                            struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book, "SELECT epoch FROM run WHERE run = ?");
    ws_sql_put_int(&sql, row);
    status = ws_sql_number(&sql, 0, epoch, why);
    if (status == WS_OK && *epoch == 0)
        status = ws_fail(why, WS_NOT_FOUND, "no such run in the book");
    return status;
}

static enum ws_status check_owner(struct ws_book *book, int64_t run, int64_t epoch,
                                  struct ws_message *why)
{
    int64_t is;
    enum ws_status status = ws_run_epoch(book, run, &is, why);

    if (status == WS_OK && is != epoch)
        status = ws_fail(why, WS_OWNED,
                         "run %lld: another program drives it now; this one's entries are not "
                         "taken",
                         (long long)run);
    return status;
}

enum ws_status ws_journal_put(struct ws_book *book, const struct ws_journal_row *row,
                              struct ws_message *why)
{
    enum ws_status status;
    bool found, same;

    if (ws_event_token(row->event.kind) == NULL || row->event.kind == WS_EVENT_TICK ||
        row->event.sequence == 0)
        return ws_fail(why, WS_BAD_EVENT, "run %lld: an entry that is no event of a journal",
                       (long long)row->run);
    status = find(book, row, &found, &same, why);
    if (status != WS_OK || same)
        return status;
    /* First whose it is: what is there in its place is most often the next owner's. */
    status = check_owner(book, row->run, row->epoch, why);
    if (status == WS_OK && found)
        status = ws_fail(why, WS_BAD_EVENT, "run %lld: entry %u is there already, and another",
                         (long long)row->run, (unsigned)row->event.sequence);
    return status == WS_OK ? ws_journal_insert(book, row, why) : status;
}

/* ---- the journal ----------------------------------------------------------------------------- */

enum ws_status ws_run_journal(struct ws_book *book, const struct ws_journal_row *row, int rows,
                              struct ws_message *why)
{
    enum ws_status status = ws_sql_begin(book, why);

    if (status != WS_OK)
        return status;
    for (int i = 0; i < rows && status == WS_OK; i++)
        status = ws_journal_put(book, &row[i], why);
    return ws_sql_commit(book, status, why);
}

enum ws_status ws_run_events(struct ws_book *book, int64_t row, uint32_t sequence,
                             struct ws_journal_row *out, int room, int *n)
{
    struct ws_sql sql;
    enum ws_status status;
    bool known = true;

    *n = 0;
    ws_sql_open(&sql, book,
                WS_JOURNAL_SELECT "WHERE run = ? AND sequence >= ? ORDER BY sequence LIMIT ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, sequence);
    ws_sql_put_int(&sql, room);
    while (known && *n < room && ws_sql_row(&sql)) {
        known = ws_journal_read(&sql, row, &out[*n]) == NULL;
        *n += known;
    }
    status = ws_sql_end(&sql, NULL);
    return status == WS_OK && !known ? WS_DAMAGED : status;
}

enum ws_status ws_run_events_all(struct ws_book *book, int64_t row, struct ws_journal_row **out,
                                 int *n, struct ws_message *why)
{
    enum { AT_ONCE = 256 };
    struct ws_journal_row *all = NULL;
    uint32_t from = 0;
    int have = 0, got = AT_ONCE;
    enum ws_status status = WS_OK;

    while (status == WS_OK && got == AT_ONCE) {
        struct ws_journal_row *more = realloc(all, (size_t)(have + AT_ONCE) * sizeof *all);

        if (more == NULL) {
            status = WS_NO_MEMORY;
            break;
        }
        all = more;
        status = ws_run_events(book, row, from, all + have, AT_ONCE, &got);
        have += got;
        from = got > 0 ? all[have - 1].event.sequence + 1 : from;
    }
    if (status != WS_OK || have == 0) {
        free(all);
        all = NULL;
    }
    *out = all;
    *n = status == WS_OK ? have : 0;
    return status == WS_OK
               ? WS_OK
               : ws_fail(why, status, "run %lld: its journal can't be read", (long long)row);
}

enum ws_status ws_run_own(struct ws_book *book, int64_t row, int64_t *epoch, struct ws_message *why)
{
    struct ws_sql sql;
    int64_t raised = 0;
    enum ws_status status = ws_sql_begin(book, why);

    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book, "UPDATE run SET epoch = epoch + 1 WHERE run = ? RETURNING epoch");
    ws_sql_put_int(&sql, row);
    status = ws_sql_number(&sql, 0, &raised, why);
    if (status == WS_OK && raised == 0)
        status = ws_fail(why, WS_NOT_FOUND, "no such run in the book");
    status = ws_sql_commit(book, status, why);
    if (status == WS_OK)
        *epoch = raised;
    return status;
}

enum ws_status ws_run_own_after(struct ws_book *book, int64_t row, int64_t from,
                                struct ws_message *why)
{
    struct ws_sql sql;
    int64_t epoch = 0;
    enum ws_status status = ws_sql_begin(book, why);

    if (status != WS_OK)
        return status;
    status = ws_run_epoch(book, row, &epoch, why);
    if (status == WS_OK && epoch != from + 1) {
        status = check_owner(book, row, from, why);
        if (status == WS_OK) {
            ws_sql_open(&sql, book, "UPDATE run SET epoch = ? WHERE run = ?");
            ws_sql_put_int(&sql, from + 1);
            ws_sql_put_int(&sql, row);
            status = ws_sql_done(&sql, why);
        }
    }
    return ws_sql_commit(book, status, why);
}
