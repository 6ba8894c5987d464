/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and closing the book, its check, its settings. */
#include "wetside/book/book.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>

#include "backup.h"
#include "checking.h"
#include "file.h"
#include "migrate.h"
#include "sql.h"
#include "wetside/book/data.h"
#include "wetside/calc/units.h"

enum { BUSY_MS = 2000, BUSY_STEP_MS = 20 };

static const struct ws_migration steps[WS_SCHEMA] = {
    WS_MIGRATION(1, (const char *)ws_data_schema_1_sql),
    WS_MIGRATION(2, (const char *)ws_data_schema_2_sql),
};

/* ---- opening --------------------------------------------------------------------------------- */

/* Switches that hold for the connection: a schema made by another hand may not call functions, a
 * misspelt name is no text, and the file's own structure is not to be written. */
static enum ws_status guard(struct ws_book *book, struct ws_message *why)
{
    static const struct {
        int what, on;
    } guards[] = {
        { SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0 },
        { SQLITE_DBCONFIG_DQS_DDL, 0 },
        { SQLITE_DBCONFIG_DQS_DML, 0 },
        { SQLITE_DBCONFIG_DEFENSIVE, 1 },
        /* A book has neither: what another hand put in is never run. */
        { SQLITE_DBCONFIG_ENABLE_TRIGGER, 0 },
        { SQLITE_DBCONFIG_ENABLE_VIEW, 0 },
        { SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0 },
        /* Until it is known to be ours and not newer, even the log is left as it is. */
        { SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1 },
    };

    for (size_t i = 0; i < sizeof guards / sizeof guards[0]; i++) {
        int is = -1;

        if (sqlite3_db_config(book->db, guards[i].what, guards[i].on, &is) != SQLITE_OK ||
            is != guards[i].on)
            return ws_fail(why, WS_IO, "%s: this SQLite library lacks a switch the book needs",
                           book->path);
    }
    sqlite3_busy_timeout(book->db, BUSY_MS);
    return ws_sql_script(book, "PRAGMA temp_store = MEMORY; PRAGMA cell_size_check = ON", why);
}

static enum ws_status check_version(struct ws_book *book, int newest, struct ws_message *why)
{
    enum ws_status status;
    int version;

    status = ws_book_version(book, &version, why);
    if (status != WS_OK)
        return status;
    if (version < 0)
        return ws_fail(why, WS_FOREIGN,
                       "%s: this is not a wetside book; it was left as it is: name another file",
                       book->path);
    if (version > newest)
        return ws_fail(why, WS_NEWER,
                       "%s: this book is from a newer wetside (schema %d, this one knows up to %d);"
                       " it was left as it is: use the newer one",
                       book->path, version, newest);
    if (book->reading && version < newest)
        return ws_fail(why, WS_READ_ONLY,
                       "%s: this book is from an older wetside (schema %d): open it once for "
                       "writing to bring it up to %d",
                       book->path, version, newest);
    return WS_OK;
}

/* Reads the whole schema: a first page that can't be read shows here, and not in the first run. */
static enum ws_status check_tables(struct ws_book *book, struct ws_message *why)
{
    return ws_sql_script(book, "SELECT 1 FROM setting LIMIT 1", why);
}

/* A busy file is not waited for by SQLite when the journal mode changes. */
static enum ws_status want_log(struct ws_book *book, struct ws_message *why)
{
    char mode[16] = "";
    enum ws_status status = WS_BUSY;

    for (int waited = 0; status == WS_BUSY && waited <= BUSY_MS; waited += BUSY_STEP_MS) {
        struct ws_sql sql;

        if (waited > 0)
            sqlite3_sleep(BUSY_STEP_MS);
        ws_sql_open(&sql, book, "PRAGMA journal_mode = WAL");
        if (ws_sql_row(&sql))
            ws_sql_text(&sql, 0, mode, sizeof mode);
        status = ws_sql_end(&sql, why);
    }
    if (status == WS_OK && strcmp(mode, "wal") != 0)
        status = ws_fail(why, WS_IO,
                         "%s: a book can't be kept safely on this disk (journal mode %s instead of "
                         "wal); move it to a local one",
                         book->path, mode);
    return status;
}

static enum ws_status want_number(struct ws_book *book, const char *pragma, int64_t want,
                                  struct ws_message *why)
{
    struct ws_sql sql;
    int64_t is;
    enum ws_status status;

    ws_sql_open(&sql, book, pragma);
    status = ws_sql_number(&sql, -1, &is, why);
    if (status == WS_OK && is != want)
        status = ws_fail(why, WS_IO, "%s: %s is %lld, not %lld", book->path, pragma, (long long)is,
                         (long long)want);
    return status;
}

/* How the book is written: each commit is on the disk when it returns, and no commit but the last
 * close waits for the log to be copied back. */
static enum ws_status make_safe(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status;

    status = ws_sql_script(book,
                           "PRAGMA synchronous = FULL; PRAGMA wal_autocheckpoint = 0;"
                           "PRAGMA foreign_keys = ON",
                           why);
    if (status == WS_OK)
        status = want_number(book, "PRAGMA synchronous", 2, why);
    if (status == WS_OK)
        status = want_number(book, "PRAGMA foreign_keys", 1, why);
    return status;
}

static enum ws_status open_to_write(struct ws_book *book, const struct ws_file *file,
                                    const struct ws_migration *step, int count,
                                    struct ws_message *why)
{
    enum ws_status status;
    int result;

    result =
        sqlite3_open_v2(file->name, &book->db,
                        SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE, NULL);
    if (result != SQLITE_OK)
        return ws_fail(why, result == SQLITE_NOMEM ? WS_NO_MEMORY : WS_IO,
                       "%s: can't be opened: %s", book->path, sqlite3_errstr(result));
    if (sqlite3_db_readonly(book->db, "main") != 0)
        return ws_fail(why, WS_READ_ONLY, "%s: this book is read-only", book->path);
    status = guard(book, why);
    if (status == WS_OK)
        status = ws_sql_ready(book, why);
    if (status == WS_OK)
        status = check_version(book, step[count - 1].version, why);
    if (status != WS_OK)
        return status;
    sqlite3_db_config(book->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
    /* A new book is made under a rollback journal: then its first page is in the file itself from
     * the first commit on, and is known for a book even with a log beside it. */
    if (file->kind == WS_FILE_EMPTY)
        status = ws_migrate(book, step, count, why);
    if (status == WS_OK)
        status = want_log(book, why);
    if (status == WS_OK)
        status = make_safe(book, why);
    if (status == WS_OK)
        status = ws_migrate(book, step, count, why);
    return status == WS_OK ? check_tables(book, why) : status;
}

static enum ws_status open_to_read(struct ws_book *book, const struct ws_file *file, int newest,
                                   struct ws_message *why)
{
    enum ws_status status;

    status = ws_file_open_to_read(file, &book->db, &book->hold, &book->hold_name, why);
    if (status == WS_OK)
        status = guard(book, why);
    if (status == WS_OK)
        status = ws_sql_script(book, "PRAGMA query_only = ON", why);
    if (status == WS_OK)
        status = ws_sql_ready(book, why);
    /* The first look into the log needs its index, which lies in a file beside it. */
    if (status == WS_OK && sqlite3_exec(book->db, "PRAGMA schema_version", NULL, NULL, NULL) != 0) {
        int result = sqlite3_extended_errcode(book->db);

        if ((result & 0xFF) != SQLITE_CANTOPEN && (result & 0xFF) != SQLITE_READONLY)
            return ws_sql_status(book, result, why);
        return ws_fail(why, WS_READ_ONLY,
                       "%s: this book was not closed, and its folder is read-only: copy it with "
                       "its -wal file to where you may write",
                       book->path);
    }
    if (status == WS_OK)
        status = check_version(book, newest, why);
    return status == WS_OK ? check_tables(book, why) : status;
}

static enum ws_status open_file(struct ws_book *book, struct ws_file *file,
                                const struct ws_migration *step, int count, bool *made,
                                struct ws_message *why)
{
    enum ws_status status;
    int64_t log;

    if (file->version > step[count - 1].version)
        return ws_fail(why, WS_NEWER,
                       "%s: this book is from a newer wetside (schema %d, this one knows up to %d);"
                       " it was left as it is: use the newer one",
                       book->path, file->version, step[count - 1].version);
    /* SQLite would begin a file that is empty anew, and throw away a log that lies beside it. */
    log = file->kind != WS_FILE_BOOK ? ws_file_log_bytes(file->name) : 0;
    if (log < 0)
        return ws_fail(why, WS_IO, "%s-wal: can't be looked at", book->path);
    if (log > 0)
        return ws_fail(why, WS_DAMAGED,
                       "%s: %s, but what was written last lies in %s-wal beside it: put the book "
                       "back that it belongs to, or move it away",
                       book->path, file->kind == WS_FILE_NONE ? "there is no book" : "it is empty",
                       book->path);
    if (book->reading) {
        if (file->kind != WS_FILE_BOOK)
            return ws_fail(why, WS_NOT_FOUND, "%s: there is no book here yet", book->path);
        return open_to_read(book, file, step[count - 1].version, why);
    }
    if (file->kind == WS_FILE_NONE)
        status = ws_file_make(file, made, why);
    else
        status = ws_file_writable(file, why);
    return status == WS_OK ? open_to_write(book, file, step, count, why) : status;
}

/* The line of a book that can't be used any more says what can. */
static enum ws_status advise(const char *path, struct ws_message *why)
{
    struct ws_message advice, line;
    char *end;

    if (why == NULL || strstr(why->text, "put the book back") != NULL)
        return WS_DAMAGED;
    line = *why;
    end = strstr(line.text, "); "); /* the advice of one that was open */
    if (end != NULL)
        end[1] = '\0';
    ws_backup_advise(path, &advice);
    return ws_fail(why, WS_DAMAGED, "%s; %s", line.text, advice.text);
}

enum ws_status ws_book_open_steps(const char *path, enum ws_book_mode mode,
                                  const struct ws_migration *step, int count, struct ws_book **out,
                                  struct ws_message *why)
{
    struct ws_book *book = NULL;
    struct ws_file file = { 0 };
    enum ws_status status;
    bool made = false;

    status = ws_file_look(path, &file, why);
    if (status != WS_OK)
        goto out;
    book = calloc(1, sizeof *book);
    if (book == NULL || (book->path = strdup(path)) == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "%s: not enough memory", path);
        goto out;
    }
    book->reading = mode == WS_BOOK_READ;
    status = open_file(book, &file, step, count, &made, why);
out:
    if (status == WS_OK) {
        *out = book;
    } else {
        ws_book_close(book);
        if (made)
            ws_file_unmake(&file);
        if (status == WS_DAMAGED)
            advise(path, why);
    }
    free(file.name);
    return status;
}

enum ws_status ws_book_open(const char *path, enum ws_book_mode mode, struct ws_book **out,
                            struct ws_message *why)
{
    return ws_book_open_steps(path, mode, steps, WS_SCHEMA, out, why);
}

void ws_book_close(struct ws_book *book)
{
    struct ws_message why;

    if (book == NULL)
        return;
    if (book->db != NULL && !book->reading)
        ws_sql_still_there(book, &why); /* or its log is put aside */
    ws_sql_forget(book);
    sqlite3_finalize(book->begin);
    sqlite3_finalize(book->commit);
    sqlite3_finalize(book->rollback);
    sqlite3_close(book->db);
    ws_file_release(book->hold, book->hold_name);
    free(book->path);
    free(book);
}

enum ws_status ws_book_pattern(int version, sqlite3 **out, struct ws_message *why)
{
    sqlite3 *db = NULL;
    int result = sqlite3_open_v2(
        ":memory:", &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL);

    for (int i = 0; i < WS_SCHEMA && steps[i].version <= version && result == SQLITE_OK; i++)
        result = sqlite3_exec(db, steps[i].sql, NULL, NULL, NULL);
    if (result == SQLITE_OK) {
        *out = db;
        return WS_OK;
    }
    sqlite3_close(db);
    return ws_fail(why, (result & 0xFF) == SQLITE_NOMEM ? WS_NO_MEMORY : WS_IO,
                   "the book's tables can't be compared with new ones: %s", sqlite3_errstr(result));
}

/* ---- settings and ids ------------------------------------------------------------------------ */

enum ws_status ws_setting_get(struct ws_book *book, const char *key, char *value, size_t size)
{
    struct ws_sql sql;
    enum ws_status status;
    bool found;

    ws_sql_open(&sql, book, "SELECT value FROM setting WHERE key = ?");
    ws_sql_put_text(&sql, key);
    found = ws_sql_row(&sql);
    if (found)
        ws_sql_text(&sql, 0, value, size);
    status = ws_sql_end(&sql, NULL);
    return status != WS_OK ? status : found ? WS_OK : WS_NOT_FOUND;
}

enum ws_status ws_setting_set(struct ws_book *book, const char *key, const char *value,
                              struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;

    if (key == NULL || key[0] == '\0' || value == NULL)
        return ws_fail(why, WS_BAD_INPUT, "a setting needs a name and a value");
    status = ws_sql_begin(book, why);
    if (status != WS_OK)
        return status;
    ws_sql_open(&sql, book,
                "INSERT INTO setting (key, value) VALUES (?, ?)"
                " ON CONFLICT (key) DO UPDATE SET value = excluded.value");
    ws_sql_put_text(&sql, key);
    ws_sql_put_text(&sql, value);
    return ws_sql_commit(book, ws_sql_done(&sql, why), why);
}

void ws_id_make(struct ws_id *out)
{
    size_t have = 0;

    /* Interrupted reads are short; before the machine's pool is ready they wait. */
    while (have < sizeof out->byte) {
        ssize_t got = getrandom(out->byte + have, sizeof out->byte - have, 0);

        if (got > 0)
            have += (size_t)got;
    }
}
