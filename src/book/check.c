/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book's check of itself: the file's structure, references, ledgers, and what is derived. */
#include <string.h>

#include "ledger.h"
#include "sql.h"

static enum ws_status check_structure(struct ws_book *book, struct ws_message *why)
{
    struct ws_sql sql;
    char says[160] = "ok";
    enum ws_status status;

    ws_sql_open(&sql, book, "PRAGMA integrity_check(1)");
    if (ws_sql_row(&sql))
        ws_sql_text(&sql, 0, says, sizeof says);
    status = ws_sql_end(&sql, why);
    if (status == WS_OK && strcmp(says, "ok") != 0)
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
