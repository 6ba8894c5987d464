/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one door to SQLite. */
#include "sql.h"

#include <math.h>
#include <string.h>

#include "wetside/calc/units.h"

/* ---- results --------------------------------------------------------------------------------- */

enum ws_status ws_sql_status(struct ws_book *book, int result, struct ws_message *why)
{
    const char *path = book->path;

    switch (result & 0xFF) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return WS_OK;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_PROTOCOL: /* whoever was to bring the log's index in order takes its time */
        return ws_fail(why, WS_BUSY, "%s: another program is writing in the book; try again", path);
    case SQLITE_FULL:
        return ws_fail(why, WS_DISK_FULL, "%s: no room on the disk; nothing was written", path);
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return ws_fail(why, WS_READ_ONLY, "%s: the book can't be written", path);
    case SQLITE_NOMEM:
        return ws_fail(why, WS_NO_MEMORY, "%s: not enough memory", path);
    case SQLITE_ABORT:
        return ws_fail(why, WS_IO, "%s: the change was undone; nothing was written", path);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
    case SQLITE_FORMAT:
        return ws_fail(why, WS_DAMAGED, "%s: the book is damaged (%s); copy it before all else",
                       path, sqlite3_errmsg(book->db));
    case SQLITE_CONSTRAINT:
        return ws_fail(why, WS_BAD_INPUT, "%s: the book refuses this (%s)", path,
                       sqlite3_errmsg(book->db));
    case SQLITE_TOOBIG:
        return ws_fail(why, WS_BAD_INPUT, "%s: too long for the book", path);
    case SQLITE_ERROR:
    case SQLITE_SCHEMA:
        /* A statement that does not fit the tables: they are not those this program made. */
        return ws_fail(why, WS_DAMAGED,
                       "%s: the book's tables are not as they should be (%s); wetside check says "
                       "where",
                       path, sqlite3_errmsg(book->db));
    default:
        return ws_fail(why, WS_IO, "%s: %s", path, sqlite3_errmsg(book->db));
    }
}

/* ---- statements ------------------------------------------------------------------------------ */

static sqlite3_stmt *find_kept(struct ws_book *book, const char *text)
{
    for (int i = 0; i < book->cached; i++)
        if (book->cache[i].text == text)
            return book->cache[i].statement;
    return NULL;
}

void ws_sql_open(struct ws_sql *sql, struct ws_book *book, const char *text)
{
    sqlite3_stmt *kept = find_kept(book, text);

    *sql = (struct ws_sql){ .book = book, .cached = true };
    /* What SQLite has undone by itself must not go on, statement by statement. */
    if (book->depth > 0 && sqlite3_get_autocommit(book->db)) {
        sql->result = SQLITE_ABORT;
        return;
    }
    if (kept != NULL && !sqlite3_stmt_busy(kept)) {
        sql->statement = kept;
        return;
    }
    /* One that is being walked is prepared a second time, and then not kept. */
    sql->cached = kept == NULL && book->cached < WS_STATEMENTS;
    sql->result = sqlite3_prepare_v3(
        book->db, text, -1, sql->cached ? SQLITE_PREPARE_PERSISTENT : 0, &sql->statement, NULL);
    if (sql->result == SQLITE_OK && sql->cached) {
        book->cache[book->cached].text = text;
        book->cache[book->cached].statement = sql->statement;
        book->cached++;
    }
}

static void took(struct ws_sql *sql, int result)
{
    if (sql->result == SQLITE_OK)
        sql->result = result;
}

void ws_sql_put_null(struct ws_sql *sql)
{
    took(sql, sqlite3_bind_null(sql->statement, ++sql->put));
}

void ws_sql_put_int(struct ws_sql *sql, int64_t value)
{
    took(sql, sqlite3_bind_int64(sql->statement, ++sql->put, value));
}

void ws_sql_put_double(struct ws_sql *sql, double value)
{
    if (isnan(value))
        ws_sql_put_null(sql);
    else
        took(sql, sqlite3_bind_double(sql->statement, ++sql->put, value));
}

void ws_sql_put_text(struct ws_sql *sql, const char *value)
{
    took(sql, sqlite3_bind_text(sql->statement, ++sql->put, value, -1, SQLITE_TRANSIENT));
}

void ws_sql_put_stated(struct ws_sql *sql, const char *value)
{
    ws_sql_put_text(sql, value != NULL && value[0] != '\0' ? value : NULL);
}

void ws_sql_put_id(struct ws_sql *sql, const struct ws_id *value)
{
    took(sql, sqlite3_bind_blob(sql->statement, ++sql->put, value->byte, sizeof value->byte,
                                SQLITE_TRANSIENT));
}

void ws_sql_put_row(struct ws_sql *sql, int64_t value)
{
    if (value == 0)
        ws_sql_put_null(sql);
    else
        ws_sql_put_int(sql, value);
}

bool ws_sql_row(struct ws_sql *sql)
{
    int result;

    if (sql->result != SQLITE_OK)
        return false;
    result = sqlite3_step(sql->statement);
    if (result == SQLITE_ROW)
        return true;
    sql->result = result;
    return false;
}

int64_t ws_sql_int(struct ws_sql *sql, int column)
{
    return sqlite3_column_int64(sql->statement, column);
}

double ws_sql_double(struct ws_sql *sql, int column)
{
    if (ws_sql_null(sql, column))
        return NAN;
    return sqlite3_column_double(sql->statement, column);
}

void ws_sql_text(struct ws_sql *sql, int column, char *text, size_t size)
{
    const unsigned char *value = sqlite3_column_text(sql->statement, column);

    if (value == NULL && !ws_sql_null(sql, column))
        took(sql, SQLITE_NOMEM);
    ws_text_copy(text, size, value == NULL ? "" : (const char *)value);
}

void ws_sql_id(struct ws_sql *sql, int column, struct ws_id *out)
{
    const void *value = sqlite3_column_blob(sql->statement, column);

    memset(out, 0, sizeof *out);
    if (value != NULL && sqlite3_column_bytes(sql->statement, column) == (int)sizeof out->byte)
        memcpy(out->byte, value, sizeof out->byte);
}

bool ws_sql_null(struct ws_sql *sql, int column)
{
    return sqlite3_column_type(sql->statement, column) == SQLITE_NULL;
}

enum ws_status ws_sql_end(struct ws_sql *sql, struct ws_message *why)
{
    enum ws_status status;

    /* Also what failed after the last row was taken: a value that could not be read. Then all that
     * the transaction did may be undone by now. */
    if (sql->result == SQLITE_OK || sql->result == SQLITE_DONE)
        sql->result = sqlite3_reset(sql->statement);
    status = ws_sql_status(sql->book, sql->result, why);
    if (sql->statement == NULL)
        return status;
    if (sql->cached) {
        sqlite3_reset(sql->statement);
        sqlite3_clear_bindings(sql->statement);
    } else {
        sqlite3_finalize(sql->statement);
    }
    sql->statement = NULL;
    return status;
}

enum ws_status ws_sql_done(struct ws_sql *sql, struct ws_message *why)
{
    while (ws_sql_row(sql))
        continue;
    return ws_sql_end(sql, why);
}

enum ws_status ws_sql_number(struct ws_sql *sql, int64_t none, int64_t *out, struct ws_message *why)
{
    int64_t value = none;
    enum ws_status status;

    if (ws_sql_row(sql) && !ws_sql_null(sql, 0))
        value = ws_sql_int(sql, 0);
    status = ws_sql_done(sql, why);
    if (status == WS_OK)
        *out = value;
    return status;
}

enum ws_status ws_sql_script(struct ws_book *book, const char *text, struct ws_message *why)
{
    return ws_sql_status(book, sqlite3_exec(book->db, text, NULL, NULL, NULL), why);
}

void ws_sql_forget(struct ws_book *book)
{
    for (int i = 0; i < book->cached; i++)
        sqlite3_finalize(book->cache[i].statement);
    book->cached = 0;
}

/* ---- transactions ---------------------------------------------------------------------------- */

enum ws_status ws_sql_ready(struct ws_book *book, struct ws_message *why)
{
    const struct {
        const char *text;
        sqlite3_stmt **to;
    } ready[] = {
        { "BEGIN IMMEDIATE", &book->begin },
        { "COMMIT", &book->commit },
        { "ROLLBACK", &book->rollback },
    };

    for (size_t i = 0; i < sizeof ready / sizeof ready[0]; i++) {
        int result = sqlite3_prepare_v3(book->db, ready[i].text, -1, SQLITE_PREPARE_PERSISTENT,
                                        ready[i].to, NULL);

        if (result != SQLITE_OK)
            return ws_sql_status(book, result, why);
    }
    return WS_OK;
}

static int run_ready(sqlite3_stmt *statement)
{
    int result = sqlite3_step(statement);

    sqlite3_reset(statement);
    return result == SQLITE_DONE ? SQLITE_OK : result;
}

/* After some errors SQLite has rolled back by itself, and there is nothing left to undo. */
static void undo(struct ws_book *book)
{
    book->shaken = true;
    if (sqlite3_get_autocommit(book->db))
        return;
    if (book->depth == 0) {
        run_ready(book->rollback);
        return;
    }
    if (sqlite3_exec(book->db, "ROLLBACK TO level; RELEASE level", NULL, NULL, NULL) != SQLITE_OK)
        book->doomed = true;
}

/* Where memory runs out in the statements that the word index has of its own, SQLite (3.40) undoes
 * the transaction before the index has done with it, which then goes on with sums that are none,
 * and would write them into the book. So after a change that was undone it begins from what is
 * kept. */
static enum ws_status think_anew(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status = WS_OK;

    if (book->shaken)
        status = ws_sql_script(book, "PRAGMA writable_schema = RESET", why);
    book->shaken = book->shaken && status != WS_OK;
    return status;
}

enum ws_status ws_sql_begin(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status;

    if (book->reading)
        return ws_fail(why, WS_READ_ONLY, "%s: the book is open for reading only", book->path);
    if (book->depth == 0) {
        if (!sqlite3_get_autocommit(book->db))
            undo(book);
        book->doomed = false;
        status = think_anew(book, why);
        if (status == WS_OK)
            status = ws_sql_status(book, run_ready(book->begin), why);
        if (status == WS_OK) {
            status = ws_sql_still_there(book, why);
            if (status != WS_OK)
                undo(book);
        }
    } else {
        /* One name for all: SQLite takes the innermost of that name. */
        status = ws_sql_script(book, "SAVEPOINT level", why);
    }
    if (status == WS_OK)
        book->depth++;
    return status;
}

static enum ws_status commit(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status;
    int result = run_ready(book->commit);

    if (result == SQLITE_OK)
        return ws_sql_still_there(book, why);
    /* Without room the frame that makes a commit was not written whole, so nothing is. Of any other
     * failure (a sync that failed) nobody can tell: the retry finds out. */
    status = ws_sql_status(book, result, why);
    if (status != WS_DISK_FULL)
        status =
            ws_fail(why, WS_UNKNOWN, "%s: %s: nobody can say whether the last entry was written",
                    book->path, sqlite3_errstr(result));
    undo(book);
    return status;
}

enum ws_status ws_sql_commit(struct ws_book *book, enum ws_status status, struct ws_message *why)
{
    book->depth--;
    if (status == WS_OK && (book->doomed || sqlite3_get_autocommit(book->db)))
        status = ws_fail(why, WS_IO, "%s: the change was undone; nothing was written", book->path);
    if (status != WS_OK) {
        undo(book);
        return status;
    }
    if (book->depth == 0)
        return commit(book, why);
    return ws_sql_script(book, "RELEASE level", why);
}

enum ws_status ws_sql_still(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status;

    undo(book); /* memory may have been short at the end of the last */
    status = ws_sql_script(book, "BEGIN", why);
    /* The first read takes the moment. */
    if (status == WS_OK)
        status = ws_sql_script(book, "SELECT 1 FROM sqlite_schema LIMIT 1", why);
    if (status != WS_OK)
        ws_sql_still_end(book);
    return status;
}

void ws_sql_still_end(struct ws_book *book)
{
    undo(book);
}
