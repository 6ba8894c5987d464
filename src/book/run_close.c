/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of a run: which baths were poured, what goes back to its bottle, and what became of the
 * rolls. */
#include <stdlib.h>

#include "keep.h"
#include "ledger.h"
#include "sql.h"
#include "wetside/book/run.h"
#include "words.h"

struct closing {
    struct ws_book *book;
    int64_t row, wall_ms;
    struct ws_plan plan;
    struct ws_session session;
    bool known; /* whether the engine could follow the journal */
    struct ws_message *why;
};

/* ---- what was poured ------------------------------------------------------------------------- */

/* Folds the journal. One that the engine can't follow (made under other rules) says nothing of what
 * was poured, and must not keep the run open for ever. */
static enum ws_status follow(struct closing *close)
{
    struct ws_journal_row *row = NULL;
    struct ws_event *event;
    int rows = 0;
    enum ws_status status = ws_run_events_all(close->book, close->row, &row, &rows, close->why);

    if (status != WS_OK)
        return status;
    event = calloc((size_t)rows + 1, sizeof *event);
    if (event == NULL) {
        free(row);
        return ws_fail(close->why, WS_NO_MEMORY, "run %lld: its journal can't be read",
                       (long long)close->row);
    }
    for (int i = 0; i < rows; i++)
        event[i] = row[i].event;
    close->known = ws_session_fold(&close->session, &close->plan, event, rows, NULL) == WS_OK;
    free(event);
    free(row);
    return WS_OK;
}

static bool was_poured(const struct closing *close, int bath)
{
    return close->known && close->session.record[bath].first_liquid_ms != WS_NEVER;
}

/* No developer has touched the film; or, in a run without one, nothing has. */
static bool stayed_dry(const struct closing *close)
{
    bool developer = false, poured = false, developed = false;

    for (int i = 0; i < close->plan.baths; i++) {
        bool is_developer = close->plan.bath[i].kind == WS_BATH_DEVELOPER;

        developer = developer || is_developer;
        poured = poured || was_poured(close, i);
        developed = developed || (is_developer && was_poured(close, i));
    }
    return close->known && !(developer ? developed : poured);
}

/* ---- back to the bottles --------------------------------------------------------------------- */

/* The one batch a bath was poured from undiluted; 0: mixed or diluted, so that it can't go back to
 * what it came from. */
static enum ws_status whole_batch(const struct closing *close, int bath, int64_t *batch, double *ml)
{
    struct ws_sql sql;
    bool mixed = false;

    *batch = 0;
    *ml = 0;
    ws_sql_open(&sql, close->book,
                "SELECT batch, ml FROM measured WHERE run = ? AND bath = ? AND ml > 0");
    ws_sql_put_int(&sql, close->row);
    ws_sql_put_int(&sql, bath);
    while (ws_sql_row(&sql)) {
        int64_t from = ws_sql_int(&sql, 0);

        mixed = mixed || from == 0 || (*batch != 0 && *batch != from);
        *batch = from;
        *ml += ws_sql_double(&sql, 1);
    }
    if (mixed)
        *batch = 0;
    return ws_sql_end(&sql, close->why);
}

static enum ws_status end_bath(const struct closing *close, int i)
{
    bool poured = was_poured(close, i);
    struct ws_ledger_entry back = { .kind = WS_LEDGER_RETURNED,
                                    .run = close->row,
                                    .bath = i,
                                    .wall_ms = close->wall_ms,
                                    .reason = "" };
    struct ws_sql sql;
    enum ws_status status;

    if (close->known) {
        ws_sql_open(&sql, close->book,
                    "UPDATE run_bath SET poured = ?3 WHERE run = ?1 AND bath = ?2");
        ws_sql_put_int(&sql, close->row);
        ws_sql_put_int(&sql, i);
        ws_sql_put_int(&sql, poured);
        status = ws_sql_done(&sql, close->why);
        if (status != WS_OK)
            return status;
    }
    if (!poured || close->plan.bath[i].afterwards != WS_TO_BOTTLE)
        return WS_OK;
    status = whole_batch(close, i, &back.batch, &back.ml);
    if (status == WS_OK && back.batch != 0)
        status = ws_ledger_enter(close->book, &back, close->why);
    return status;
}

/* ---- the rolls ------------------------------------------------------------------------------- */

static enum ws_status derive_rolls(const struct closing *close)
{
    int64_t roll[WS_PLACES];
    struct ws_sql sql;
    enum ws_status status;
    int rolls = 0;

    ws_sql_open(&sql, close->book, "SELECT DISTINCT roll FROM place WHERE run = ?");
    ws_sql_put_int(&sql, close->row);
    while (rolls < WS_PLACES && ws_sql_row(&sql))
        roll[rolls++] = ws_sql_int(&sql, 0);
    status = ws_sql_end(&sql, close->why);
    for (int i = 0; i < rolls && status == WS_OK; i++)
        status = ws_roll_derive(close->book, roll[i], close->why);
    return status;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static enum ws_status end_run(struct closing *close, const char *reason)
{
    struct ws_sql sql;
    enum ws_status status;

    status = ws_run_plan(close->book, close->row, &close->plan, close->why);
    if (status == WS_OK)
        status = follow(close);
    for (int i = 0; i < close->plan.baths && status == WS_OK; i++)
        status = end_bath(close, i);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, close->book,
                "UPDATE run SET ended_ms = ?2, reason = ?3, dry = ?4 WHERE run = ?1");
    ws_sql_put_int(&sql, close->row);
    ws_sql_put_int(&sql, close->wall_ms);
    ws_sql_put_text(&sql, reason);
    ws_sql_put_int(&sql, reason != NULL && stayed_dry(close));
    status = ws_sql_done(&sql, close->why);
    return status == WS_OK ? derive_rolls(close) : status;
}

enum ws_status ws_run_close(struct ws_book *book, int64_t row, const char *reason,
                            const struct ws_stamp *stamp, struct ws_message *why)
{
    struct closing *close = NULL;
    struct ws_run_line line;
    char because[WS_REMARK] = "";
    enum ws_status status = WS_OK;

    if (reason != NULL)
        status = ws_words_take("reason", reason, because, sizeof because, why);
    if (status != WS_OK)
        return status;
    close = calloc(1, sizeof *close);
    if (close == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to close a run");
    close->book = book;
    close->row = row;
    close->wall_ms = stamp->wall_ns / 1000000;
    close->why = why;
    status = ws_sql_begin(book, why);
    if (status == WS_OK) {
        status = ws_run_get(book, row, &line);
        if (status != WS_OK)
            ws_fail(why, status, "%s",
                    status == WS_NOT_FOUND ? "no such run in the book"
                                           : "the run can't be read in the book");
        if (status == WS_OK && line.ended_ms == 0)
            status = end_run(close, reason == NULL ? NULL : because);
        status = ws_sql_commit(book, status, why);
    }
    free(close);
    return status;
}
