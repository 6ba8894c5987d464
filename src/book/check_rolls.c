/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is derived of every roll, against what it is derived from; and the words it is found by. */
#include <stdio.h>

#include "checking.h"
#include "keep.h"

static const char again[] = "a remark or verdict on the roll works it out anew";

/* Each gives the rolls of which something derived is not what it is derived from. */
static const struct {
    const char *select, *what;
} derived[] = {
    { "SELECT number FROM roll WHERE run IS NOT (SELECT run.run FROM place"
      " JOIN run ON run.run = place.run WHERE place.roll = roll.roll AND run.dry = 0"
      " ORDER BY run.began_ms DESC, run.run DESC LIMIT 1)",
      "its latest run is not the latest it was in" },
    { "SELECT number FROM roll WHERE state IS NOT coalesce((SELECT"
      " max(iif(run.ended_ms IS NULL, 1, 2)) FROM place JOIN run ON run.run = place.run"
      " WHERE place.roll = roll.roll AND run.dry = 0), 0)",
      "its state is not that of its runs" },
    { "SELECT number FROM roll WHERE verdict IS NOT coalesce((SELECT says FROM verdict"
      " WHERE verdict.roll = roll.roll AND says <> '' ORDER BY verdict DESC LIMIT 1), '')",
      "its verdict is not the last it was given" },
    { "SELECT number FROM roll WHERE listed NOT IN (SELECT rowid FROM roll_word)",
      "its words for the search are missing" },
    { "SELECT roll.number FROM roll JOIN film ON film.film = roll.film"
      " JOIN roll_word ON roll_word.rowid = roll.listed WHERE roll_word.words IS NOT "
      "(" WS_ROLL_WORDS ")",
      "its words for the search are not its own" },
};

static enum ws_status look_at(struct ws_checking *checking, const char *select, const char *what,
                              struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, checking->book, select);
    while (ws_sql_row(&sql)) {
        char number[WS_NUMBER], where[WS_NUMBER + 16];

        ws_sql_text(&sql, 0, number, sizeof number);
        snprintf(where, sizeof where, "roll %s", number);
        ws_checking_fault(checking, where, again, "%s", what);
    }
    return ws_sql_end(&sql, why);
}

/* Its place in the list, which is reckoned here and not in SQL. Counts the rolls. */
static enum ws_status look_at_places(struct ws_checking *checking, struct ws_message *why)
{
    struct ws_sql sql;

    ws_sql_open(&sql, checking->book,
                "SELECT roll.roll, roll.number, roll.listed, run.began_ms FROM roll"
                " LEFT JOIN run ON run.run = roll.run");
    while (ws_sql_row(&sql)) {
        int64_t row = ws_sql_int(&sql, 0), listed = ws_sql_int(&sql, 2);
        bool in_run = !ws_sql_null(&sql, 3);
        int64_t wanted;
        char number[WS_NUMBER], where[WS_NUMBER + 16];

        checking->seen->rolls++;
        if (row < 1) /* of no roll we made, and not to be reckoned with */
            wanted = listed;
        else
            wanted =
                in_run ? ws_roll_run_place(row, ws_sql_int(&sql, 3)) : ws_roll_waiting_place(row);
        if (listed == wanted || (in_run && listed > wanted && listed < wanted + WS_PLACES_A_MS))
            continue;
        ws_sql_text(&sql, 1, number, sizeof number);
        snprintf(where, sizeof where, "roll %s", number);
        ws_checking_fault(checking, where, again, "its place in the list is not that of its run");
    }
    return ws_sql_end(&sql, why);
}

void ws_check_rolls(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    enum ws_status status;

    ws_checking_of(checking, "the rolls", 0);
    status = look_at_places(checking, &why);
    if (status != WS_OK)
        ws_checking_failed(checking, "the rolls", status, &why);
    for (size_t i = 0; i < sizeof derived / sizeof derived[0] && ws_checking_goes_on(checking);
         i++) {
        status = look_at(checking, derived[i].select, derived[i].what, &why);
        if (status != WS_OK)
            ws_checking_failed(checking, "the rolls", status, &why);
    }
}

/* ---- the word index -------------------------------------------------------------------------- */

/* The index's own check of itself takes the form of a write: so it is asked of a copy in memory. */
static int copy_to_memory(sqlite3 *book, sqlite3 **out)
{
    sqlite3_backup *backup;
    int result = sqlite3_open_v2(
        ":memory:", out, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, NULL);

    if (result != SQLITE_OK)
        return result;
    backup = sqlite3_backup_init(*out, "main", book, "main");
    if (backup == NULL)
        return sqlite3_errcode(*out);
    result = sqlite3_backup_step(backup, -1);
    sqlite3_backup_finish(backup);
    return result == SQLITE_DONE ? SQLITE_OK : result;
}

void ws_check_words(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    sqlite3 *copy = NULL;
    int result = copy_to_memory(checking->book->db, &copy);
    enum ws_status status = WS_OK;

    ws_checking_of(checking, "the words rolls are found by", 0);
    if (result == SQLITE_OK)
        result = sqlite3_exec(copy, "INSERT INTO roll_word (roll_word) VALUES ('integrity-check')",
                              NULL, NULL, NULL);
    if ((result & 0xFF) == SQLITE_CORRUPT || (result & 0xFF) == SQLITE_ERROR)
        ws_checking_fault(checking, checking->of, NULL, "their index does not fit them (%s)",
                          copy == NULL ? "" : sqlite3_errmsg(copy));
    else
        status = ws_sql_status(checking->book, result, &why);
    sqlite3_close(copy);
    if (status != WS_OK)
        ws_checking_failed(checking, checking->of, status, &why);
}
