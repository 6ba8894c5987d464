/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bringing a book up to the newest schema. */
#include "migrate.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sql.h"

enum { BACKUPS_MOST = 99, TRIES = 3 };

enum ws_status ws_book_version(struct ws_book *book, int *version, struct ws_message *why)
{
    struct ws_sql sql;
    int64_t value;
    enum ws_status status;

    ws_sql_open(&sql, book, "PRAGMA user_version");
    status = ws_sql_number(&sql, 0, &value, why);
    if (status == WS_OK)
        *version = (int)value;
    return status;
}

/* ---- the backup ------------------------------------------------------------------------------ */

/* An empty file that was not there, 0600, under the first free name. */
static enum ws_status make_backup_file(struct ws_book *book, int version, char *name, size_t size,
                                       struct ws_message *why)
{
    const char *path = sqlite3_db_filename(book->db, "main");

    for (int i = 1; i <= BACKUPS_MOST; i++) {
        int length = i == 1 ? snprintf(name, size, "%s.schema-%d", path, version)
                            : snprintf(name, size, "%s.schema-%d.%d", path, version, i);
        int fd;

        if (length < 0 || (size_t)length >= size)
            return ws_fail(why, WS_IO, "%s: too long a name to make a backup beside it",
                           book->path);
        fd = open(name, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
        if (fd >= 0) {
            close(fd);
            return WS_OK;
        }
        if (errno != EEXIST)
            break;
    }
    return ws_fail(why, WS_IO, "%s: no backup could be made (%s: %s), so it was left as it is",
                   book->path, name, strerror(errno));
}

/* The number a one-row statement gives on a bare connection. */
static int ask_number(sqlite3 *db, const char *text, int64_t *value)
{
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(db, text, -1, &statement, NULL);

    if (result == SQLITE_OK)
        result = sqlite3_step(statement);
    if (result == SQLITE_ROW) {
        *value = sqlite3_column_int64(statement, 0);
        result = SQLITE_OK;
    } else if (result == SQLITE_DONE) {
        result = SQLITE_ERROR;
    }
    sqlite3_finalize(statement);
    return result;
}

/* Whether a statement gives the same number of both. */
static int ask_both(sqlite3 *book, sqlite3 *copy, const char *text, bool *same)
{
    int64_t one = 0, two = 0;
    int result = text == NULL ? SQLITE_NOMEM : ask_number(book, text, &one);

    if (result == SQLITE_OK)
        result = ask_number(copy, text, &two);
    *same = one == two;
    return result;
}

/* Whether every table has as many rows in both. */
static int compare_tables(sqlite3 *book, sqlite3 *copy, bool *same)
{
    sqlite3_stmt *tables = NULL;
    int result = sqlite3_prepare_v2(book, "SELECT name FROM sqlite_schema WHERE type = 'table'", -1,
                                    &tables, NULL);

    *same = true;
    if (result == SQLITE_OK)
        result = SQLITE_ROW;
    while (result == SQLITE_ROW && *same && (result = sqlite3_step(tables)) == SQLITE_ROW) {
        char *count =
            sqlite3_mprintf("SELECT count(*) FROM \"%w\"", sqlite3_column_text(tables, 0));
        int counted = ask_both(book, copy, count, same);

        sqlite3_free(count);
        if (counted != SQLITE_OK)
            result = counted;
    }
    sqlite3_finalize(tables);
    return result == SQLITE_DONE || result == SQLITE_ROW ? SQLITE_OK : result;
}

/* *is: the copy is sound, and has what the book has. Another result than SQLITE_OK: it could not be
 * found out. */
static int check_copy(sqlite3 *book, sqlite3 *copy, bool *is)
{
    char says[80];
    int64_t id = 0;
    int result = ws_sql_integrity(copy, says, sizeof says);

    *is = result == SQLITE_OK && says[0] == '\0';
    if (*is)
        result = ask_number(copy, "PRAGMA application_id", &id);
    *is = *is && id == WS_APPLICATION_ID;
    if (result == SQLITE_OK && *is)
        result = ask_both(book, copy, "PRAGMA user_version", is);
    if (result == SQLITE_OK && *is)
        result = compare_tables(book, copy, is);
    if ((result & 0xFF) != SQLITE_CORRUPT && (result & 0xFF) != SQLITE_NOTADB)
        return result;
    *is = false;
    return SQLITE_OK;
}

static enum ws_status status_of_copying(int result)
{
    switch (result & 0xFF) {
    case SQLITE_FULL:
        return WS_DISK_FULL;
    case SQLITE_NOMEM:
        return WS_NO_MEMORY;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return WS_BUSY;
    default:
        return WS_IO;
    }
}

static enum ws_status copy_to(struct ws_book *book, const char *name, struct ws_message *why)
{
    sqlite3 *copy = NULL;
    sqlite3_backup *backup = NULL;
    int result;
    enum ws_status status = WS_OK;
    bool is = false;

    result = sqlite3_open_v2(name, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, NULL);
    if (result == SQLITE_OK)
        backup = sqlite3_backup_init(copy, "main", book->db, "main");
    if (backup != NULL) {
        sqlite3_backup_step(backup, -1);
        result = sqlite3_backup_finish(backup);
        /* The copy says it keeps a log; it is to stand alone as one file. */
        if (result == SQLITE_OK)
            result = sqlite3_exec(copy, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    } else if (result == SQLITE_OK) {
        result = sqlite3_errcode(copy);
    }
    if (result == SQLITE_OK)
        result = check_copy(book->db, copy, &is);
    if (result != SQLITE_OK)
        status = ws_fail(why, status_of_copying(result),
                         "%s: no backup could be made (%s: %s), so it was left as it is",
                         book->path, name, sqlite3_errstr(result));
    else if (!is)
        status = ws_fail(why, WS_DAMAGED, "%s: its backup %s is not sound, so it was left as it is",
                         book->path, name);
    sqlite3_close(copy);
    return status;
}

/* ---- the steps ------------------------------------------------------------------------------- */

static enum ws_status count_strays(struct ws_book *book, struct ws_message *why)
{
    struct ws_sql sql;
    enum ws_status status;
    bool stray;

    ws_sql_open(&sql, book, "PRAGMA foreign_key_check");
    stray = ws_sql_row(&sql);
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && stray)
        status = ws_fail(why, WS_DAMAGED, "%s: a row refers to one that is not there", book->path);
    return status;
}

/* One step within a transaction. */
static enum ws_status apply_step(struct ws_book *book, const struct ws_migration *step,
                                 struct ws_message *why)
{
    enum ws_status status;
    char text[96];
    int version;

    /* Another program may have been here first. */
    status = ws_book_version(book, &version, why);
    if (status != WS_OK || version >= step->version)
        return status;
    snprintf(text, sizeof text, "PRAGMA application_id = %d; PRAGMA user_version = %d",
             WS_APPLICATION_ID, step->version);
    status = ws_sql_script(book, text, why);
    if (status == WS_OK)
        status = ws_sql_script(book, step->sql, why);
    return status == WS_OK ? count_strays(book, why) : status;
}

static enum ws_status apply(struct ws_book *book, const struct ws_migration *step, int steps,
                            struct ws_message *why)
{
    enum ws_status status = ws_sql_begin(book, why);

    if (status != WS_OK)
        return status;
    for (int i = 0; i < steps && status == WS_OK; i++)
        status = apply_step(book, &step[i], why);
    return ws_sql_commit(book, status, why);
}

static enum ws_status apply_all(struct ws_book *book, const struct ws_migration *step, int steps,
                                bool *any, struct ws_message *why)
{
    enum ws_status status;
    int version;

    status = ws_book_version(book, &version, why);
    /* A new book is whole or not there: a half-made one would leave its journal beside nothing. */
    if (status == WS_OK && version == 0)
        return apply(book, step, steps, why);
    for (int i = 0; i < steps && status == WS_OK; i++) {
        if (step[i].version <= version)
            continue;
        status = apply(book, &step[i], 1, why);
        /* A commit whose outcome is not known may have changed the book. */
        *any = *any || status == WS_OK || status == WS_UNKNOWN;
    }
    return status;
}

/* Counts up when another connection has written. */
static enum ws_status writes_seen(struct ws_book *book, int64_t *writes, struct ws_message *why)
{
    return ws_sql_status(book, ask_number(book->db, "PRAGMA data_version", writes), why);
}

/* A verified copy of the book beside it, made while nobody else wrote. */
static enum ws_status back_up(struct ws_book *book, int version, char *name, size_t size,
                              struct ws_message *why)
{
    int64_t before = 0, after = 0;
    enum ws_status status = writes_seen(book, &before, why);

    if (status == WS_OK)
        status = make_backup_file(book, version, name, size, why);
    if (status != WS_OK) {
        name[0] = '\0';
        return status;
    }
    status = copy_to(book, name, why);
    if (status == WS_OK)
        status = writes_seen(book, &after, why);
    if (status == WS_OK && after != before)
        status = ws_fail(why, WS_BUSY, "%s: another program is writing in the book; try again",
                         book->path);
    return status;
}

/* With what a copying that failed may have left beside it. */
static void remove_backup(const char *name)
{
    static const char *const ends[] = { "", "-journal", "-wal", "-shm" };
    char file[WS_PATH_BYTES + 16];

    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        snprintf(file, sizeof file, "%s%s", name, ends[i]);
        unlink(file);
    }
}

enum ws_status ws_migrate(struct ws_book *book, const struct ws_migration *step, int steps,
                          struct ws_message *why)
{
    char name[WS_PATH_BYTES] = "";
    bool any = false;
    enum ws_status status;
    int version;

    status = ws_book_version(book, &version, why);
    if (status != WS_OK || steps == 0 || version >= step[steps - 1].version)
        return status;
    if (version > 0)
        status = back_up(book, version, name, sizeof name, why);
    /* A step may rebuild a table others refer to; the references are checked before each commit. */
    if (status == WS_OK)
        status = ws_sql_script(book, "PRAGMA foreign_keys = OFF", why);
    if (status == WS_OK)
        status = apply_all(book, step, steps, &any, why);
    if (name[0] != '\0' && !any)
        remove_backup(name);
    ws_sql_forget(book);
    if (status == WS_OK)
        status = ws_sql_script(book, "PRAGMA foreign_keys = ON", why);
    return status;
}
