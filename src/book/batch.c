/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Batches and bottles. */
#include "wetside/book/batch.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "keep.h"
#include "ledger.h"
#include "sql.h"
#include "token.h"
#include "wetside/calc/units.h"
#include "words.h"

static const struct {
    const char *name, *token;
} kinds[WS_BATCH_KINDS] = {
    [WS_BATCH_STOCK] = { "stock", "stock" },
    [WS_BATCH_CONCENTRATE] = { "concentrate", "concentrate" },
    [WS_BATCH_WORKING] = { "working solution", "working" },
};
/* By enum ws_colon. */
static const char *const colons[] = { "ask", "plus", "in" };

enum { ML_MOST = 1000000 };

const char *ws_batch_kind_name(enum ws_batch_kind kind)
{
    return (unsigned)kind < WS_BATCH_KINDS ? kinds[kind].name : NULL;
}

const char *ws_batch_kind_token(enum ws_batch_kind kind)
{
    return (unsigned)kind < WS_BATCH_KINDS ? kinds[kind].token : NULL;
}

/* ---- adding ---------------------------------------------------------------------------------- */

static enum ws_status check_ml(const char *field, double ml, bool zero, struct ws_message *why)
{
    if ((ml > 0 || (zero && ml == 0)) && ml <= ML_MOST)
        return WS_OK;
    return ws_fail(why, WS_BAD_INPUT, "%s: %g is not %s and at most %d ml", field, ml,
                   zero ? "0 or more" : "above 0", ML_MOST);
}

static enum ws_status take_batch(struct ws_batch *batch, struct ws_message *why)
{
    enum ws_status status;

    if ((unsigned)batch->kind >= WS_BATCH_KINDS || (unsigned)batch->use >= WS_BATH_KINDS ||
        (unsigned)batch->colon > WS_COLON_IN)
        return ws_fail(why, WS_BAD_INPUT, "kind: give stock, concentrate or working");
    status =
        ws_words_need("number", batch->number, "MQB-014", batch->number, sizeof batch->number, why);
    if (status == WS_OK)
        status = ws_words_need("what", batch->what, "\"metol-borax stock\"", batch->what,
                               sizeof batch->what, why);
    if (status == WS_OK)
        status = ws_words_take("who", batch->who, batch->who, sizeof batch->who, why);
    if (status == WS_OK)
        status = ws_words_take("note", batch->note, batch->note, sizeof batch->note, why);
    if (status == WS_OK)
        status = ws_words_day("made_day", batch->made_day, why);
    if (status == WS_OK && !isnan(batch->volume_ml))
        status = check_ml("volume", batch->volume_ml, false, why);
    if (status == WS_OK)
        status = check_ml("least", batch->least_ml, true, why);
    return status;
}

static enum ws_status check_free(struct ws_book *book, const char *number, struct ws_message *why)
{
    struct ws_sql sql;
    int64_t taken;
    enum ws_status status;

    ws_sql_open(&sql, book, "SELECT batch FROM batch WHERE number = ?");
    ws_sql_put_text(&sql, number);
    status = ws_sql_number(&sql, 0, &taken, why);
    if (status == WS_OK && taken != 0)
        status =
            ws_fail(why, WS_EXISTS, "batch %s is in the book already; give another number", number);
    return status;
}

static enum ws_status insert_batch(struct ws_book *book, struct ws_batch *batch, int64_t wall_ms,
                                   struct ws_message *why)
{
    struct ws_ledger_entry made = {
        .kind = WS_LEDGER_MADE, .ml = batch->volume_ml, .bath = -1, .wall_ms = wall_ms, .reason = ""
    };
    struct ws_sql sql;
    enum ws_status status;

    status = check_free(book, batch->number, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "INSERT INTO batch (id, number, what, kind, use, made_day, who, volume_ml,"
                " least_ml, colon, note) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING batch");
    ws_sql_put_id(&sql, &batch->id);
    ws_sql_put_text(&sql, batch->number);
    ws_sql_put_text(&sql, batch->what);
    ws_sql_put_text(&sql, ws_batch_kind_token(batch->kind));
    ws_sql_put_text(&sql, ws_bath_kind_token(batch->use));
    ws_sql_put_stated(&sql, batch->made_day);
    ws_sql_put_text(&sql, batch->who);
    ws_sql_put_double(&sql, batch->volume_ml);
    ws_sql_put_double(&sql, batch->least_ml);
    ws_sql_put_text(&sql, colons[batch->colon]);
    ws_sql_put_text(&sql, batch->note);
    status = ws_sql_number(&sql, 0, &made.batch, why);
    if (status == WS_OK)
        status = ws_ledger_enter(book, &made, why);
    if (status == WS_OK)
        batch->row = made.batch;
    return status;
}

enum ws_status ws_batch_add(struct ws_book *book, struct ws_batch *batch, int64_t wall_ms,
                            struct ws_message *why)
{
    int64_t row = 0;
    enum ws_status status;

    status = take_batch(batch, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    if (ws_id_none(&batch->id))
        ws_id_make(&batch->id);
    status = ws_row_of_id(book, "SELECT batch FROM batch WHERE id = ?", &batch->id, &row, why);
    if (status == WS_OK && row != 0)
        batch->row = row; /* a second try of what was written after all */
    else if (status == WS_OK)
        status = insert_batch(book, batch, wall_ms, why);
    status = ws_sql_commit(book, status, why);
    if (status == WS_OK)
        batch->left_ml = batch->volume_ml;
    return status;
}

/* ---- reading --------------------------------------------------------------------------------- */

/* A run counts once for a batch, in however many of its baths it was. */
#define BATCH_SELECT                                                                               \
    "SELECT batch, id, number, what, kind, use, made_day, who, volume_ml, least_ml, colon, note,"  \
    " left_ml, (SELECT total(place.rolls) FROM place WHERE place.run IN (SELECT measured.run"      \
    "  FROM measured JOIN run_bath ON run_bath.run = measured.run"                                 \
    "  AND run_bath.bath = measured.bath WHERE measured.batch = batch.batch"                       \
    "  AND run_bath.poured IS NOT 0)) FROM batch "

static const char *colon_token(int value)
{
    return value <= WS_COLON_IN ? colons[value] : NULL;
}

static void take_kinds(struct ws_sql *sql, struct ws_batch *out)
{
    char token[24];

    ws_sql_text(sql, 4, token, sizeof token);
    out->kind = (enum ws_batch_kind)ws_token_find(ws_token_batch_kind, token, WS_BATCH_STOCK);
    ws_sql_text(sql, 5, token, sizeof token);
    out->use = (enum ws_bath_kind)ws_token_find(ws_token_bath_kind, token, WS_BATH_OTHER);
    ws_sql_text(sql, 10, token, sizeof token);
    out->colon = (enum ws_colon)ws_token_find(colon_token, token, WS_COLON_ASK);
}

static void take_row(struct ws_sql *sql, struct ws_batch *out)
{
    memset(out, 0, sizeof *out);
    out->row = ws_sql_int(sql, 0);
    ws_sql_id(sql, 1, &out->id);
    ws_sql_text(sql, 2, out->number, sizeof out->number);
    ws_sql_text(sql, 3, out->what, sizeof out->what);
    take_kinds(sql, out);
    ws_sql_text(sql, 6, out->made_day, sizeof out->made_day);
    ws_sql_text(sql, 7, out->who, sizeof out->who);
    out->volume_ml = ws_sql_double(sql, 8);
    out->least_ml = ws_sql_double(sql, 9);
    ws_sql_text(sql, 11, out->note, sizeof out->note);
    out->left_ml = ws_sql_double(sql, 12);
    out->rolls = ws_sql_double(sql, 13);
}

static enum ws_status take_one(struct ws_sql *sql, struct ws_batch *out, struct ws_message *why)
{
    bool found = ws_sql_row(sql);
    enum ws_status status;

    if (found)
        take_row(sql, out);
    status = ws_sql_end(sql, why);
    return status == WS_OK && !found ? WS_NOT_FOUND : status;
}

enum ws_status ws_batch_get(struct ws_book *book, const struct ws_id *id, struct ws_batch *out)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, BATCH_SELECT "WHERE id = ?");
    ws_sql_put_id(&sql, id);
    return take_one(&sql, out, NULL);
}

enum ws_status ws_batch_by_row(struct ws_book *book, int64_t row, struct ws_batch *out)
{
    struct ws_sql sql;

    ws_sql_open(&sql, book, BATCH_SELECT "WHERE batch = ?");
    ws_sql_put_int(&sql, row);
    return take_one(&sql, out, NULL);
}

enum ws_status ws_batch_find(struct ws_book *book, const char *number, struct ws_batch *out,
                             struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    ws_sql_open(&sql, book, BATCH_SELECT "WHERE number = ?");
    ws_sql_put_text(&sql, number);
    status = take_one(&sql, out, why);
    if (status != WS_NOT_FOUND)
        return status;
    return ws_nearest_in_book(book, "SELECT number FROM batch ORDER BY batch DESC", "batch", number,
                              why);
}

enum ws_status ws_batch_list(struct ws_book *book, enum ws_bath_kind use, struct ws_batch *out,
                             int room, int *n)
{
    struct ws_sql sql;

    *n = 0;
    ws_sql_open(&sql, book,
                BATCH_SELECT "WHERE use = ?1 OR ?1 IS NULL"
                             " ORDER BY left_ml IS 0.0, made_day DESC, batch DESC LIMIT ?2");
    ws_sql_put_text(&sql, ws_bath_kind_token(use));
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql))
        take_row(&sql, &out[(*n)++]);
    return ws_sql_end(&sql, NULL);
}

enum ws_status ws_batch_ledger(struct ws_book *book, int64_t row, struct ws_ledger_line *line,
                               int room, int *n)
{
    struct ws_sql sql;
    char kind[16];

    *n = 0;
    ws_sql_open(&sql, book,
                "SELECT kind, ml, run, wall_ms, reason FROM ledger WHERE batch = ?"
                " ORDER BY ledger LIMIT ?");
    ws_sql_put_int(&sql, row);
    ws_sql_put_int(&sql, room);
    while (*n < room && ws_sql_row(&sql)) {
        struct ws_ledger_line *to = &line[(*n)++];

        ws_sql_text(&sql, 0, kind, sizeof kind);
        to->kind = WS_LEDGER_MADE;
        for (int i = 0; i < WS_LEDGER_KINDS; i++)
            if (strcmp(kind, ws_ledger_kind_name((enum ws_ledger_kind)i)) == 0)
                to->kind = (enum ws_ledger_kind)i;
        to->ml = ws_sql_double(&sql, 1);
        to->run = ws_sql_int(&sql, 2);
        to->wall_ms = ws_sql_int(&sql, 3);
        ws_sql_text(&sql, 4, to->reason, sizeof to->reason);
    }
    return ws_sql_end(&sql, NULL);
}

/* ---- changing -------------------------------------------------------------------------------- */

static enum ws_status enter(struct ws_book *book, struct ws_ledger_entry *entry, const char *field,
                            const char *reason, struct ws_message *why)
{
    char because[WS_REMARK];
    enum ws_status status;

    status = ws_words_take(field, reason == NULL ? "" : reason, because, sizeof because, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    entry->reason = because;
    entry->bath = -1;
    return ws_sql_commit(book, ws_ledger_enter(book, entry, why), why);
}

enum ws_status ws_batch_stock_take(struct ws_book *book, int64_t row, double left_ml,
                                   const char *reason, int64_t wall_ms, struct ws_message *why)
{
    struct ws_ledger_entry entry = {
        .batch = row, .kind = WS_LEDGER_STOCK_TAKE, .ml = left_ml, .wall_ms = wall_ms
    };

    if (!isnan(left_ml) && check_ml("left", left_ml, true, why) != WS_OK)
        return WS_BAD_INPUT;
    return enter(book, &entry, "reason", reason, why);
}

enum ws_status ws_batch_discard(struct ws_book *book, int64_t row, double ml, const char *where,
                                int64_t wall_ms, struct ws_message *why)
{
    struct ws_ledger_entry entry = {
        .batch = row, .kind = WS_LEDGER_DISCARDED, .ml = ml, .wall_ms = wall_ms
    };

    if (check_ml("volume", ml, false, why) != WS_OK)
        return WS_BAD_INPUT;
    return enter(book, &entry, "where", where, why);
}

/* Reads the old value, writes the new one and keeps the old. `became` is the new value as text. */
static enum ws_status change(struct ws_book *book, int64_t row, const char *field,
                             const char *select, struct ws_sql *update, const char *became,
                             struct ws_message *why)
{
    struct ws_sql sql;
    char was[32] = "";
    enum ws_status status;
    bool found;

    ws_sql_open(&sql, book, select);
    ws_sql_put_int(&sql, row);
    found = ws_sql_row(&sql);
    if (found)
        ws_sql_text(&sql, 0, was, sizeof was);
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && !found)
        status = ws_fail(why, WS_NOT_FOUND, "no such batch in the book");
    if (status != WS_OK || strcmp(was, became) == 0) {
        ws_sql_end(update, NULL);
        return status;
    }
    status = ws_sql_done(update, why);
    if (status == WS_OK)
        status = ws_correction_keep(book, "batch", row, field, was, became, "", 0, why);
    return status;
}

enum ws_status ws_batch_set_colon(struct ws_book *book, int64_t row, enum ws_colon colon,
                                  struct ws_message *why)
{
    struct ws_sql update;
    enum ws_status status;

    if ((unsigned)colon > WS_COLON_IN)
        return ws_fail(why, WS_BAD_INPUT, "colon: give ask, plus or in");
    status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&update, book, "UPDATE batch SET colon = ?2 WHERE batch = ?1");
    ws_sql_put_int(&update, row);
    ws_sql_put_text(&update, colons[colon]);
    status = change(book, row, "colon", "SELECT colon FROM batch WHERE batch = ?", &update,
                    colons[colon], why);
    return ws_sql_commit(book, status, why);
}

enum ws_status ws_batch_set_least(struct ws_book *book, int64_t row, double least_ml,
                                  struct ws_message *why)
{
    struct ws_sql update;
    enum ws_status status;
    char became[32];

    status = check_ml("least", least_ml, true, why);
    if (status == WS_OK)
        status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    /* As SQLite makes a text of it. */
    sqlite3_snprintf(sizeof became, became, "%!.15g", least_ml);
    ws_sql_open(&update, book, "UPDATE batch SET least_ml = ?2 WHERE batch = ?1");
    ws_sql_put_int(&update, row);
    ws_sql_put_double(&update, least_ml);
    status = change(book, row, "least_ml", "SELECT least_ml FROM batch WHERE batch = ?", &update,
                    became, why);
    return ws_sql_commit(book, status, why);
}
