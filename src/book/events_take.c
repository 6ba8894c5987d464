/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Taking an events file into the book: all of it, at the end of a run's journal, or nothing. */
#include <stdlib.h>

#include "events.h"
#include "keep.h"
#include "sql.h"
#include "wetside/book/events_file.h"

struct taking {
    struct ws_book *book;
    const struct ws_journal_row *row; /* of the file */
    int rows;
    struct ws_events_taken *out;
    struct ws_journal_row *has; /* of the book */
    int count, first;           /* first: of the file's rows, the one that is new */
    int64_t epoch;              /* of the run's owner, as the book has it */
    bool open;
    struct ws_plan plan;
    struct ws_session session;
    struct ws_message *why;
};

static enum ws_status refuse(const struct taking *taking, uint32_t sequence, const char *because)
{
    return ws_fail(taking->why, WS_BAD_EVENT,
                   "run %lld: event %u %s; nothing was taken, keep the "
                   "file",
                   (long long)taking->out->run, (unsigned)sequence, because);
}

static enum ws_status find_run(struct taking *taking, const struct ws_id *plan)
{
    struct ws_run_line line;
    enum ws_status status = ws_run_by_id(taking->book, plan, &taking->out->run, taking->why);

    if (status == WS_OK && taking->out->run == 0)
        status = ws_fail(taking->why, WS_NOT_FOUND,
                         "this book never kept the run these events are of, so it can't take them; "
                         "keep the file");
    if (status == WS_OK)
        status = ws_run_epoch(taking->book, taking->out->run, &taking->epoch, taking->why);
    if (status != WS_OK)
        return status;
    status = ws_run_get(taking->book, taking->out->run, &line);
    if (status != WS_OK)
        return ws_fail(taking->why, status, "run %lld: can't be read in the book",
                       (long long)taking->out->run);
    taking->open = line.ended_ms == 0;
    return ws_run_events_all(taking->book, taking->out->run, &taking->has, &taking->count,
                             taking->why);
}

/* Rows the book has already: they must be these. Both go up by sequence. */
static enum ws_status pass_over(struct taking *taking)
{
    uint32_t last = taking->count > 0 ? taking->has[taking->count - 1].event.sequence : 0;
    int at = 0;

    while (taking->first < taking->rows && taking->row[taking->first].event.sequence <= last) {
        const struct ws_journal_row *row = &taking->row[taking->first];

        while (at < taking->count && taking->has[at].event.sequence < row->event.sequence)
            at++;
        if (at == taking->count || !ws_journal_same(&taking->has[at], row))
            return refuse(taking, row->event.sequence,
                          "is another in the book: it has gone on without these");
        taking->first++;
    }
    taking->out->known = taking->first;
    taking->out->added = taking->rows - taking->first;
    return WS_OK;
}

/* That the new rows follow, one by one, on what the book has. */
static enum ws_status check_order(const struct taking *taking)
{
    const struct ws_journal_row *before =
        taking->count > 0 ? &taking->has[taking->count - 1] : NULL;

    if (taking->out->added == 0)
        return WS_OK;
    if (!taking->open)
        return refuse(taking, taking->row[taking->first].event.sequence,
                      "comes after the end of the run, which is closed in the book");
    if (before == NULL)
        return ws_fail(taking->why, WS_DAMAGED, "run %lld has no journal: wetside check says more",
                       (long long)taking->out->run);
    for (int i = taking->first; i < taking->rows; i++) {
        const struct ws_journal_row *row = &taking->row[i];
        const char *not = ws_journal_follows(before, row);

        if (row->event.sequence > before->event.sequence + 1 && i == taking->first)
            return ws_fail(taking->why, WS_BAD_EVENT,
                           "run %lld: the book ends with event %u, and event %u to %u are not in "
                           "this file; take the one that has them first",
                           (long long)taking->out->run, (unsigned)before->event.sequence,
                           (unsigned)before->event.sequence + 1, (unsigned)row->event.sequence - 1);
        if (not != NULL)
            return refuse(taking, row->event.sequence, not );
        before = row;
    }
    return WS_OK;
}

static enum ws_status fold(struct taking *taking)
{
    int rows = taking->count + taking->out->added;
    struct ws_event *event = calloc((size_t)rows + 1, sizeof *event);
    struct ws_message inner = { "" };
    enum ws_status status;

    if (event == NULL)
        return ws_fail(taking->why, WS_NO_MEMORY, "not enough memory to take the events");
    for (int i = 0; i < rows; i++)
        event[i] = i < taking->count ? taking->has[i].event
                                     : taking->row[taking->first + i - taking->count].event;
    status = ws_session_fold(&taking->session, &taking->plan, event, rows, &inner);
    free(event);
    if (status == WS_OK)
        return WS_OK;
    return ws_fail(taking->why, WS_BAD_EVENT,
                   "run %lld: %s with these; nothing was taken, keep the file",
                   (long long)taking->out->run, inner.text);
}

/* The owner's epoch afterwards: that of the rows where it is the highest, as of an owner whose
 * epoch the book could not take; else one more than that of an owner who came later, so that
 * nothing of his follows. */
static enum ws_status raise_epoch(const struct taking *taking)
{
    int64_t last = taking->row[taking->rows - 1].epoch;
    int64_t epoch = last >= taking->epoch ? last : taking->epoch + 1;
    struct ws_sql sql;

    if (epoch == taking->epoch)
        return WS_OK;
    ws_sql_open(&sql, taking->book, "UPDATE run SET epoch = ?2 WHERE run = ?1");
    ws_sql_put_int(&sql, taking->out->run);
    ws_sql_put_int(&sql, epoch);
    return ws_sql_done(&sql, taking->why);
}

static enum ws_status add(struct taking *taking)
{
    enum ws_status status = raise_epoch(taking);

    for (int i = taking->first; i < taking->rows && status == WS_OK; i++) {
        struct ws_journal_row row = taking->row[i];

        row.run = taking->out->run;
        status = ws_journal_insert(taking->book, &row, taking->why);
    }
    return status;
}

/* The journal says that the run is over. */
static enum ws_status close_run(struct taking *taking)
{
    const struct ws_session *session = &taking->session;
    const struct ws_journal_row *last =
        taking->out->added > 0 ? &taking->row[taking->rows - 1] : &taking->has[taking->count - 1];

    taking->out->closed = true;
    return ws_run_close(taking->book, taking->out->run,
                        session->step < session->steps ? "given up" : NULL, &last->stamp,
                        taking->why);
}

static enum ws_status take(struct taking *taking, const struct ws_id *plan)
{
    enum ws_status status = find_run(taking, plan);

    if (status == WS_OK)
        status = pass_over(taking);
    if (status == WS_OK)
        status = check_order(taking);
    if (status != WS_OK || !taking->open)
        return status;
    status = ws_run_plan(taking->book, taking->out->run, &taking->plan, taking->why);
    if (status == WS_OK)
        status = fold(taking);
    if (status == WS_OK && taking->out->added > 0)
        status = add(taking);
    if (status == WS_OK && taking->session.closed)
        status = close_run(taking);
    return status;
}

enum ws_status ws_events_take(struct ws_book *book, const struct ws_id *plan,
                              const struct ws_journal_row *row, int rows,
                              struct ws_events_taken *out, struct ws_message *why)
{
    struct taking *taking = calloc(1, sizeof *taking);
    enum ws_status status;

    *out = (struct ws_events_taken){ .run = 0 };
    if (taking == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to take the events");
    taking->book = book;
    taking->row = row;
    taking->rows = rows;
    taking->out = out;
    taking->why = why;
    status = ws_sql_begin(book, why);
    if (status == WS_OK)
        status = ws_sql_commit(book, take(taking, plan), why);
    free(taking->has);
    free(taking);
    return status;
}
