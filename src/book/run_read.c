/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading runs. */
#include <string.h>

#include "keep.h"
#include "sql.h"
#include "wetside/book/process.h"
#include "wetside/book/run.h"

/* Of a plan's JSON, in bytes: more than three times the longest (tests/book/test_plan_json.c). */
enum { PLAN_MOST = 1 << 20 };

/* Numbers are those the rolls have now, so that a correction shows. */
#define RUN_SELECT                                                                                 \
    "SELECT run.run, run.id, run.began_ms, run.ended_ms, run.reason, run.tank, run.process,"       \
    " (SELECT group_concat(number, ', ') FROM (SELECT roll.number FROM place"                      \
    "  JOIN roll ON roll.roll = place.roll WHERE place.run = run.run ORDER BY place.place))"       \
    " FROM run "

static void take_row(struct ws_sql *sql, struct ws_run_line *out)
{
    memset(out, 0, sizeof *out);
    out->row = ws_sql_int(sql, 0);
    ws_sql_id(sql, 1, &out->id);
    out->began_ms = ws_sql_int(sql, 2);
    out->ended_ms = ws_sql_int(sql, 3);
    out->given_up = !ws_sql_null(sql, 4);
    ws_sql_text(sql, 4, out->reason, sizeof out->reason);
    ws_sql_text(sql, 5, out->tank, sizeof out->tank);
    ws_sql_text(sql, 6, out->process, sizeof out->process);
    ws_sql_text(sql, 7, out->rolls, sizeof out->rolls);
}

static enum ws_status take_rows(struct ws_sql *sql, struct ws_run_line *out, int room, int *n)
{
    *n = 0;
    while (*n < room && ws_sql_row(sql))
        take_row(sql, &out[(*n)++]);
    return ws_sql_end(sql, NULL);
}

enum ws_status ws_run_by_id(struct ws_book *book, const struct ws_id *id, int64_t *row,
                            struct ws_message *why)
{
    return ws_row_of_id(book, "SELECT run FROM run WHERE id = ?", id, row, why);
}

enum ws_status ws_run_get(struct ws_book *book, int64_t row, struct ws_run_line *out)
{
    struct ws_run_line line;
    struct ws_sql sql;
    enum ws_status status;
    int n;

    ws_sql_open(&sql, book, RUN_SELECT "WHERE run.run = ?");
    ws_sql_put_int(&sql, row);
    status = take_rows(&sql, &line, 1, &n);
    if (status == WS_OK && n == 0)
        return WS_NOT_FOUND;
    if (status == WS_OK)
        *out = line;
    return status;
}

enum ws_status ws_run_list(struct ws_book *book, bool all, int64_t offset, struct ws_run_line *out,
                           int room, int *n)
{
    struct ws_sql sql;

    if (all)
        ws_sql_open(&sql, book,
                    RUN_SELECT "ORDER BY run.began_ms DESC, run.run DESC LIMIT ? OFFSET ?");
    else
        ws_sql_open(&sql, book,
                    RUN_SELECT "WHERE run.ended_ms IS NULL"
                               " ORDER BY run.began_ms DESC, run.run DESC LIMIT ? OFFSET ?");
    ws_sql_put_int(&sql, room);
    ws_sql_put_int(&sql, offset);
    return take_rows(&sql, out, room, n);
}

enum ws_status ws_run_of_roll(struct ws_book *book, int64_t roll, struct ws_run_line *out, int room,
                              int *n)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                RUN_SELECT "WHERE run.run IN (SELECT place.run FROM place WHERE place.roll = ?)"
                           " ORDER BY run.began_ms DESC, run.run DESC LIMIT ?");
    ws_sql_put_int(&sql, roll);
    ws_sql_put_int(&sql, room);
    return take_rows(&sql, out, room, n);
}

enum ws_status ws_run_reel(struct ws_book *book, int64_t row, int64_t roll, int *reel)
{
    struct ws_sql sql;
    enum ws_status status;
    int is = 0;

    ws_sql_open(&sql, book, "SELECT reel FROM place WHERE run = ? AND roll = ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, roll);
    if (ws_sql_row(&sql))
        is = (int)ws_sql_int(&sql, 0);
    status = ws_sql_end(&sql, NULL);
    if (status == WS_OK)
        *reel = is;
    return status;
}

enum ws_status ws_run_plan(struct ws_book *book, int64_t row, struct ws_plan *out,
                           struct ws_message *why)
{
    struct ws_message inner = { "" };
    struct ws_sql sql;
    const char *text = NULL;
    size_t length;
    enum ws_status read = WS_NOT_FOUND, status;

    ws_sql_open(&sql, book, "SELECT plan FROM run WHERE run = ?");
    ws_sql_put_int(&sql, row);
    if (ws_sql_row(&sql)) {
        text = (const char *)sqlite3_column_text(sql.statement, 0);
        length = (size_t)sqlite3_column_bytes(sql.statement, 0);
        if (length > PLAN_MOST)
            read = ws_fail(&inner, WS_BAD_INPUT, "%zu bytes, and no plan has more than %d", length,
                           PLAN_MOST);
        else
            read = text == NULL ? WS_NO_MEMORY : ws_plan_from_json(text, length, out, &inner);
    }
    status = ws_sql_end(&sql, why);
    if (status != WS_OK || read == WS_OK)
        return status;
    if (read == WS_NOT_FOUND)
        return ws_fail(why, read, "no such run in the book");
    return ws_fail(why, read == WS_BAD_INPUT ? WS_DAMAGED : read, "run %lld: its plan: %s",
                   (long long)row, inner.text);
}
