/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book's tables, compared with those this program makes: a trigger or view that another hand
 * put in, a table that is missing or not as it should be. None of our books has a trigger or view,
 * and they are switched off for every connection (book.c). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "checking.h"
#include "migrate.h"

enum { NAME = 80 };

/* A statement without its comments, and its blanks as one: what a schema file says besides may
 * change. In place. */
static void boil_down(char *text)
{
    char *to = text, quote = '\0';
    bool gap = false;

    for (const char *at = text; *at != '\0'; at++) {
        if (quote == '\0' && at[0] == '-' && at[1] == '-') {
            at += strcspn(at, "\n");
            gap = true;
            if (*at == '\0')
                break;
            continue;
        }
        if (quote == '\0' && strchr(" \t\r\n", *at) != NULL) {
            gap = true;
            continue;
        }
        if (gap && to != text)
            *to++ = ' ';
        gap = false;
        if (quote != '\0')
            quote = *at == quote ? '\0' : quote;
        else if (*at == '\'' || *at == '"' || *at == '`')
            quote = *at;
        *to++ = *at;
    }
    *to = '\0';
}

/* What SQLite and its word index make by themselves is theirs to shape. */
static bool is_ours(const char *name)
{
    return strncmp(name, "sqlite_", 7) != 0 && strncmp(name, "roll_word_", 10) != 0;
}

/* The text of a thing of that type and name, malloced; *found false: there is none. */
static int find_thing(sqlite3 *db, const char *type, const char *name, char **text, bool *found)
{
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(
        db, "SELECT sql FROM sqlite_schema WHERE type = ? AND name = ? COLLATE NOCASE", -1,
        &statement, NULL);

    *text = NULL;
    *found = false;
    if (result == SQLITE_OK)
        result = sqlite3_bind_text(statement, 1, type, -1, SQLITE_TRANSIENT);
    if (result == SQLITE_OK)
        result = sqlite3_bind_text(statement, 2, name, -1, SQLITE_TRANSIENT);
    if (result == SQLITE_OK)
        result = sqlite3_step(statement);
    if (result == SQLITE_ROW) {
        const char *is = (const char *)sqlite3_column_text(statement, 0);

        *found = true;
        *text = strdup(is == NULL ? "" : is);
        result = *text == NULL ? SQLITE_NOMEM : SQLITE_OK;
    } else if (result == SQLITE_DONE) {
        result = SQLITE_OK;
    }
    sqlite3_finalize(statement);
    return result;
}

/* One thing of the pattern in the book. */
static int check_ours(struct ws_checking *checking, const char *type, const char *name,
                      const char *wanted)
{
    char where[2 * NAME], *is = NULL, *want = strdup(wanted);
    bool found = false;
    int result =
        want == NULL ? SQLITE_NOMEM : find_thing(checking->book->db, type, name, &is, &found);

    if (result == SQLITE_OK) {
        snprintf(where, sizeof where, "%s %s", type, name);
        if (found) {
            boil_down(is);
            boil_down(want);
        }
        if (!found)
            ws_checking_fault(checking, where, NULL, "is missing");
        else if (strcmp(is, want) != 0)
            ws_checking_fault(checking, where, NULL, "is not as wetside makes it");
    }
    free(want);
    free(is);
    return result;
}

static int check_each_of_ours(struct ws_checking *checking, sqlite3 *pattern)
{
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(
        pattern, "SELECT type, name, coalesce(sql, '') FROM sqlite_schema ORDER BY rowid", -1,
        &statement, NULL);

    while (result == SQLITE_OK && (result = sqlite3_step(statement)) == SQLITE_ROW) {
        const char *type = (const char *)sqlite3_column_text(statement, 0);
        const char *name = (const char *)sqlite3_column_text(statement, 1);
        const char *sql = (const char *)sqlite3_column_text(statement, 2);

        if (type == NULL || name == NULL || sql == NULL)
            result = SQLITE_NOMEM;
        else
            result = is_ours(name) ? check_ours(checking, type, name, sql) : SQLITE_OK;
    }
    sqlite3_finalize(statement);
    return result == SQLITE_DONE ? SQLITE_OK : result;
}

/* What the book has and the pattern has not. */
static int check_strangers(struct ws_checking *checking, sqlite3 *pattern)
{
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(
        checking->book->db,
        "SELECT type, name FROM sqlite_schema WHERE name IS NOT NULL ORDER BY rowid", -1,
        &statement, NULL);

    while (result == SQLITE_OK && (result = sqlite3_step(statement)) == SQLITE_ROW) {
        const char *type = (const char *)sqlite3_column_text(statement, 0);
        const char *name = (const char *)sqlite3_column_text(statement, 1);
        char where[2 * NAME], *text = NULL;
        bool found = true;

        result = type == NULL || name == NULL ? SQLITE_NOMEM : SQLITE_OK;
        if (result == SQLITE_OK && is_ours(name))
            result = find_thing(pattern, type, name, &text, &found);
        free(text);
        if (result != SQLITE_OK || found)
            continue;
        snprintf(where, sizeof where, "%.20s %.60s", type, name);
        ws_checking_fault(checking, where, "nothing of it is ever used: find out who put it there",
                          "is none of wetside's");
    }
    sqlite3_finalize(statement);
    return result == SQLITE_DONE ? SQLITE_OK : result;
}

void ws_check_tables(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    sqlite3 *pattern = NULL;
    int version = 0, result;
    enum ws_status status = ws_book_version(checking->book, &version, &why);

    ws_checking_of(checking, "the tables", 0);
    /* A step a newer program knows, or a test made up: there is nothing to compare with. */
    if (status == WS_OK && version > WS_SCHEMA)
        return;
    if (status == WS_OK)
        status = ws_book_pattern(version, &pattern, &why);
    if (status == WS_OK) {
        result = check_each_of_ours(checking, pattern);
        if (result == SQLITE_OK)
            result = check_strangers(checking, pattern);
        status = ws_sql_status(checking->book, result, &why);
    }
    sqlite3_close(pattern);
    if (status != WS_OK)
        ws_checking_failed(checking, "the tables", status, &why);
}
