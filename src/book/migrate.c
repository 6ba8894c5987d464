/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bringing a book up to the newest schema. */
#include "migrate.h"

#include <stdio.h>
#include <unistd.h>

#include "backup.h"
#include "sql.h"

enum { BACKUPS_MOST = 99 };

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

/* A verified copy of the book beside it, under the first free name. */
static enum ws_status copy_beside(struct ws_book *book, int version, char *name, size_t size,
                                  struct ws_message *why)
{
    static const struct ws_backup how = { .replace = false };
    const char *path = sqlite3_db_filename(book->db, "main");
    struct ws_message inner = { "" };
    enum ws_status status = WS_EXISTS;

    for (int i = 1; i <= BACKUPS_MOST && status == WS_EXISTS; i++) {
        int length = i == 1 ? snprintf(name, size, "%s.schema-%d", path, version)
                            : snprintf(name, size, "%s.schema-%d.%d", path, version, i);

        if (length < 0 || (size_t)length >= size)
            return ws_fail(why, WS_IO, "%s: too long a name to make a backup beside it",
                           book->path);
        status = ws_book_backup(book, name, &how, NULL, &inner);
    }
    if (status == WS_OK)
        return WS_OK;
    name[0] = '\0';
    return ws_fail(why, status, "%s: no backup could be made, so it was left as it is: %s",
                   book->path, inner.text);
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
    int version;

    /* Another program may have been here first. */
    status = ws_book_version(book, &version, why);
    if (status != WS_OK || version >= step->version)
        return status;
    status = ws_sql_script(book, step->marks, why);
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
    struct ws_sql sql;

    ws_sql_open(&sql, book, "PRAGMA data_version");
    return ws_sql_number(&sql, 0, writes, why);
}

/* A backup made while nobody else wrote. */
static enum ws_status back_up(struct ws_book *book, int version, char *name, size_t size,
                              struct ws_message *why)
{
    int64_t before = 0, after = 0;
    enum ws_status status = writes_seen(book, &before, why);

    if (status == WS_OK)
        status = copy_beside(book, version, name, size, why);
    if (status == WS_OK)
        status = writes_seen(book, &after, why);
    if (status == WS_OK && after != before)
        status = ws_fail(why, WS_BUSY, "%s: another program is writing in the book; try again",
                         book->path);
    return status;
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
        unlink(name);
    ws_sql_forget(book);
    if (status == WS_OK)
        status = ws_sql_script(book, "PRAGMA foreign_keys = ON", why);
    return status;
}
