/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A batch's ledger. */
#include "ledger.h"

#include <math.h>
#include <string.h>

#include "sql.h"
#include "wetside/calc/units.h"

static const char *const kinds[WS_LEDGER_KINDS] = { "made", "drawn", "returned", "stock-take",
                                                    "discarded" };

const char *ws_ledger_kind_name(enum ws_ledger_kind kind)
{
    return (unsigned)kind < WS_LEDGER_KINDS ? kinds[kind] : NULL;
}

enum ws_status ws_ledger_left(struct ws_book *book, int64_t batch, double *left_ml,
                              char number[WS_NUMBER], struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    bool found;

    ws_sql_open(&sql, book, "SELECT left_ml, number FROM batch WHERE batch = ?");
    ws_sql_put_int(&sql, batch);
    found = ws_sql_row(&sql);
    if (found) {
        *left_ml = ws_sql_double(&sql, 0);
        ws_sql_text(&sql, 1, number, WS_NUMBER);
    }
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && !found)
        status = ws_fail(why, WS_NOT_FOUND, "no such batch in the book");
    return status;
}

enum ws_status ws_ledger_short(const char *number, double left_ml, double asked_ml,
                               struct ws_message *why)
{
    char left[32], asked[32];

    ws_volume_print(left_ml, left, sizeof left);
    ws_volume_print(asked_ml, asked, sizeof asked);
    return ws_fail(why, WS_SHORT,
                   "%s holds %s, but %s are asked; if there is more left than the book says, count "
                   "it first (stock-take)",
                   number, left, asked);
}

/* ---- one row --------------------------------------------------------------------------------- */

/* What the row says, and what it leaves. */
static void work_out(const struct ws_ledger_entry *entry, double before, double *ml, double *left)
{
    switch (entry->kind) {
    case WS_LEDGER_MADE:
        *ml = *left = entry->ml;
        return;
    case WS_LEDGER_STOCK_TAKE:
        *ml = entry->ml - before; /* not known if either is not */
        *left = entry->ml;
        return;
    case WS_LEDGER_RETURNED:
        *ml = entry->ml;
        break;
    default:
        *ml = -entry->ml;
        break;
    }
    *left = before + *ml;
    if (fabs(*left) < WS_LEDGER_SLACK_ML)
        *left = 0;
}

static enum ws_status write_row(struct ws_book *book, const struct ws_ledger_entry *entry,
                                double ml, double left_ml, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book,
                "INSERT INTO ledger (batch, kind, ml, left_ml, run, bath, wall_ms, reason)"
                " VALUES (?, ?, ?, ?, ?, ?, ?, ?)");
    ws_sql_put_int(&sql, entry->batch);
    ws_sql_put_text(&sql, kinds[entry->kind]);
    ws_sql_put_double(&sql, ml);
    ws_sql_put_double(&sql, left_ml);
    ws_sql_put_row(&sql, entry->run);
    if (entry->bath >= 0)
        ws_sql_put_int(&sql, entry->bath);
    else
        ws_sql_put_null(&sql);
    ws_sql_put_int(&sql, entry->wall_ms);
    ws_sql_put_text(&sql, entry->reason);
    status = ws_sql_done(&sql, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book, "UPDATE batch SET left_ml = ?2 WHERE batch = ?1");
    ws_sql_put_int(&sql, entry->batch);
    ws_sql_put_double(&sql, left_ml);
    return ws_sql_done(&sql, why);
}

enum ws_status ws_ledger_enter(struct ws_book *book, const struct ws_ledger_entry *entry,
                               struct ws_message *why)
{
    char number[WS_NUMBER];
    double before, ml, left_ml;
    enum ws_status status;

    status = ws_ledger_left(book, entry->batch, &before, number, why);
    if (status != WS_OK)
        return status;
    work_out(entry, before, &ml, &left_ml);
    if (left_ml < 0)
        return ws_ledger_short(number, before, entry->ml, why);
    return write_row(book, entry, ml, left_ml, why);
}
