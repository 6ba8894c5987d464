/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book's check of itself: the file's structure, references, ledgers, and what is derived. */
#include <stdlib.h>
#include <string.h>

#include "ledger.h"
#include "sql.h"
#include "wetside/calc/units.h"

/* The text of the check gives a page that could not be read, or memory that ran out, as a fault of
 * the file: "unable to get the page. error code=266". It is none. */
static int result_in(const char *says)
{
    static const char mark[] = "error code";
    const char *at = strstr(says, mark);
    long result = at == NULL ? SQLITE_OK : strtol(at + sizeof mark, NULL, 10);

    switch (result & 0xFF) {
    case SQLITE_IOERR:
    case SQLITE_NOMEM:
    case SQLITE_BUSY:
    case SQLITE_CANTOPEN:
        return (int)result;
    default:
        return strcmp(says, "out of memory") == 0 ? SQLITE_NOMEM : SQLITE_OK;
    }
}

int ws_sql_integrity(sqlite3 *db, char *says, size_t size)
{
    sqlite3_stmt *statement = NULL;
    const char *text = "";
    int result = sqlite3_prepare_v2(db, "PRAGMA integrity_check(1)", -1, &statement, NULL);

    says[0] = '\0';
    if (result == SQLITE_OK)
        result = sqlite3_step(statement);
    if (result == SQLITE_ROW) {
        text = (const char *)sqlite3_column_text(statement, 0);
        result = text == NULL ? SQLITE_NOMEM : result_in(text);
    } else if (result == SQLITE_DONE) {
        result = SQLITE_ERROR;
    }
    /* A heading and a line break stand before what is wrong. */
    if (result == SQLITE_OK && strcmp(text, "ok") != 0)
        ws_text_copy(says, size,
                     strncmp(text, "***", 3) == 0 && strchr(text, '\n') != NULL
                         ? strchr(text, '\n') + 1
                         : text);
    sqlite3_finalize(statement);
    return result;
}

static enum ws_status check_structure(struct ws_book *book, struct ws_message *why)
{
    char says[160];
    int result = ws_sql_integrity(book->db, says, sizeof says);
    enum ws_status status = ws_sql_status(book, result, why);

    if (status == WS_IO)
        ws_fail(why, status, "%s: it can't be read: %s", book->path, sqlite3_errstr(result));
    if (status == WS_OK && says[0] != '\0')
        status = ws_fail(why, WS_DAMAGED, "%s: the file is damaged: %s", book->path, says);
    return status;
}

static enum ws_status check_references(struct ws_book *book, struct ws_message *why)
{
    struct ws_sql sql;
    char table[40] = "";
    enum ws_status status;
    bool stray;

    ws_sql_open(&sql, book, "PRAGMA foreign_key_check");
    stray = ws_sql_row(&sql);
    if (stray)
        ws_sql_text(&sql, 0, table, sizeof table);
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && stray)
        status = ws_fail(why, WS_DAMAGED, "%s: a row of %s refers to one that is not there",
                         book->path, table);
    return status;
}

/* Each gives the first roll of which something derived is not what it is derived from. */
static const struct {
    const char *select, *what;
} derived[] = {
    { "SELECT number FROM roll WHERE run IS NOT (SELECT run.run FROM place"
      " JOIN run ON run.run = place.run WHERE place.roll = roll.roll AND run.dry = 0"
      " ORDER BY run.began_ms DESC, run.run DESC LIMIT 1)",
      "its latest run" },
    { "SELECT number FROM roll WHERE state IS NOT coalesce((SELECT"
      " max(iif(run.ended_ms IS NULL, 1, 2)) FROM place JOIN run ON run.run = place.run"
      " WHERE place.roll = roll.roll AND run.dry = 0), 0)",
      "its state" },
    { "SELECT number FROM roll WHERE verdict IS NOT coalesce((SELECT says FROM verdict"
      " WHERE verdict.roll = roll.roll AND says <> '' ORDER BY verdict DESC LIMIT 1), '')",
      "its verdict" },
    { "SELECT number FROM roll WHERE listed NOT IN (SELECT rowid FROM roll_word)",
      "its words for the search" },
};

static enum ws_status check_derived(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status = WS_OK;

    for (size_t i = 0; i < sizeof derived / sizeof derived[0] && status == WS_OK; i++) {
        char number[WS_NUMBER];
        struct ws_sql sql;
        bool wrong;

        ws_sql_open(&sql, book, derived[i].select);
        wrong = ws_sql_row(&sql);
        if (wrong)
            ws_sql_text(&sql, 0, number, sizeof number);
        status = ws_sql_end(&sql, why);
        if (status == WS_OK && wrong)
            status = ws_fail(why, WS_DAMAGED, "roll %s: %s is not what its runs and verdicts say",
                             number, derived[i].what);
    }
    return status;
}

/* FTS5's own check of its index against the words; it takes the form of a write. */
static enum ws_status check_words(struct ws_book *book, struct ws_message *why)
{
    struct ws_sql sql;

    if (book->reading)
        return WS_OK;
    ws_sql_open(&sql, book, "INSERT INTO roll_word (roll_word) VALUES ('integrity-check')");
    return ws_sql_done(&sql, why);
}

enum ws_status ws_book_check(struct ws_book *book, struct ws_message *why)
{
    enum ws_status status;

    status = check_structure(book, why);
    if (status == WS_OK)
        status = check_references(book, why);
    if (status == WS_OK)
        status = ws_ledger_check(book, why);
    if (status == WS_OK)
        status = check_derived(book, why);
    if (status == WS_OK)
        status = check_words(book, why);
    return status;
}
