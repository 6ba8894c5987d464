/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What follows from a roll's runs and verdicts: its state, its place in the list, and the words it
 * is found by. Written in the transaction that changes what they follow from. */
#include <string.h>

#include "keep.h"
#include "sql.h"
#include "wetside/book/roll.h"
#include "words.h"

int64_t ws_roll_run_place(int64_t row, int64_t began_ms)
{
    if (began_ms < 0)
        began_ms = 0;
    if (began_ms > WS_LATEST_BEGIN_MS)
        began_ms = WS_LATEST_BEGIN_MS;
    return began_ms * WS_PLACES_A_MS + (row & (WS_PLACES_A_MS - 1));
}

/* The wanted place or the first free one above it. */
static enum ws_status free_place(struct ws_book *book, int64_t row, int64_t wanted, int64_t *out,
                                 struct ws_message *why)
{
    enum ws_status status;
    int64_t taken;

    for (;; wanted++) {
        struct ws_sql sql;

        ws_sql_open(&sql, book, "SELECT roll FROM roll WHERE listed = ?");
        ws_sql_put_int(&sql, wanted);
        status = ws_sql_number(&sql, 0, &taken, why);
        if (status != WS_OK || taken == 0 || taken == row)
            break;
    }
    *out = wanted;
    return status;
}

static enum ws_status update_state(struct ws_book *book, int64_t row, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "UPDATE roll SET"
                " run = (SELECT run.run FROM place JOIN run ON run.run = place.run"
                "  WHERE place.roll = ?1 AND run.dry = 0"
                "  ORDER BY run.began_ms DESC, run.run DESC LIMIT 1),"
                " state = coalesce((SELECT max(iif(run.ended_ms IS NULL, 1, 2))"
                "  FROM place JOIN run ON run.run = place.run"
                "  WHERE place.roll = ?1 AND run.dry = 0), 0),"
                " verdict = coalesce((SELECT says FROM verdict WHERE roll = ?1 AND says <> ''"
                "  ORDER BY verdict DESC LIMIT 1), '')"
                " WHERE roll = ?1");
    ws_sql_put_int(&sql, row);
    return ws_sql_done(&sql, why);
}

/* Where the roll is listed now, and the begin of its run; *in_run false: none. */
static enum ws_status read_place(struct ws_book *book, int64_t row, int64_t *listed, bool *in_run,
                                 int64_t *began_ms, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "SELECT roll.listed, run.began_ms FROM roll LEFT JOIN run ON run.run = roll.run"
                " WHERE roll.roll = ?");
    ws_sql_put_int(&sql, row);
    *listed = *began_ms = 0;
    *in_run = false;
    if (ws_sql_row(&sql)) {
        *listed = ws_sql_int(&sql, 0);
        *in_run = !ws_sql_null(&sql, 1);
        *began_ms = ws_sql_int(&sql, 1);
    }
    return ws_sql_end(&sql, why);
}

static enum ws_status put_words(struct ws_book *book, int64_t row, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book,
                "INSERT INTO roll_word (rowid, words) SELECT roll.listed, " WS_ROLL_WORDS
                " FROM roll JOIN film ON film.film = roll.film WHERE roll.roll = ?");
    ws_sql_put_int(&sql, row);
    return ws_sql_done(&sql, why);
}

static enum ws_status move_to(struct ws_book *book, int64_t row, int64_t from, int64_t to,
                              struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book, "DELETE FROM roll_word WHERE rowid = ?");
    ws_sql_put_int(&sql, from);
    status = ws_sql_done(&sql, why);
    if (status != WS_OK || from == to)
        return status;
    ws_sql_open(&sql, book, "UPDATE roll SET listed = ?2 WHERE roll = ?1");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, to);
    return ws_sql_done(&sql, why);
}

enum ws_status ws_roll_derive(struct ws_book *book, int64_t row, struct ws_message *why)
{
    int64_t from, to, began_ms;
    enum ws_status status;
    bool in_run;

    status = update_state(book, row, why);
    if (status == WS_OK)
        status = read_place(book, row, &from, &in_run, &began_ms, why);
    if (status != WS_OK)
        return status;
    to = ws_roll_waiting_place(row);
    if (in_run)
        status = free_place(book, row, ws_roll_run_place(row, began_ms), &to, why);
    if (status == WS_OK)
        status = move_to(book, row, from, to, why);
    if (status == WS_OK)
        status = put_words(book, row, why);
    return status;
}

/* ---- verdicts -------------------------------------------------------------------------------- */

static enum ws_status insert_verdict(struct ws_book *book, int64_t roll, enum ws_verdict verdict,
                                     const char *remark, int64_t wall_ms, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    int64_t known;

    ws_sql_open(&sql, book, "SELECT roll FROM roll WHERE roll = ?");
    ws_sql_put_int(&sql, roll);
    status = ws_sql_number(&sql, 0, &known, why);
    if (status == WS_OK && known == 0)
        status = ws_fail(why, WS_NOT_FOUND, "no such roll in the book");
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "INSERT INTO verdict (roll, says, remark, wall_ms) VALUES (?, ?, ?, ?)");
    ws_sql_put_int(&sql, roll);
    ws_sql_put_text(&sql, ws_verdict_name(verdict));
    ws_sql_put_text(&sql, remark);
    ws_sql_put_int(&sql, wall_ms);
    status = ws_sql_done(&sql, why);
    return status == WS_OK ? ws_roll_derive(book, roll, why) : status;
}

enum ws_status ws_verdict_add(struct ws_book *book, int64_t roll, enum ws_verdict verdict,
                              const char *remark, int64_t wall_ms, struct ws_message *why)
{
    char said[WS_REMARK];
    enum ws_status status;

    status = ws_words_take("remark", remark == NULL ? "" : remark, said, sizeof said, why);
    if (status != WS_OK)
        return status;
    if (ws_verdict_name(verdict) == NULL || (verdict == WS_VERDICT_NONE && said[0] == '\0'))
        return ws_fail(why, WS_BAD_INPUT,
                       "verdict: give thin, good, dense or uneven, or a remark alone");
    status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    return ws_sql_commit(book, insert_verdict(book, roll, verdict, said, wall_ms, why), why);
}
