/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book's check of itself: the file's structure and references here, the rest in the files named
 * in checking.h; and how faults are told. */
#include "wetside/book/check.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "backup.h"
#include "checking.h"
#include "wetside/calc/units.h"

/* ---- faults ---------------------------------------------------------------------------------- */

void ws_fault_print(const struct ws_fault *fault, struct ws_message *line)
{
    ws_fail(line, WS_OK, "%s: %s; %s", fault->where.text, fault->what.text, fault->advice.text);
}

static void tell(struct ws_checking *checking, const struct ws_fault *fault)
{
    checking->told++;
    if (checking->put != NULL)
        checking->put(checking->self, fault);
}

/* What was counted of the last thing and not told. */
static void tell_untold(struct ws_checking *checking)
{
    struct ws_fault fault;

    if (checking->of_untold > 0 && checking->told < WS_FAULTS_MOST) {
        if (checking->of_row != 0)
            ws_fail(&fault.where, WS_OK, "%s %lld", checking->of, (long long)checking->of_row);
        else
            ws_fail(&fault.where, WS_OK, "%s", checking->of);
        ws_fail(&fault.what, WS_OK, "%d more of its faults are not shown", checking->of_untold);
        ws_fail(&fault.advice, WS_OK, "they are counted");
        tell(checking, &fault);
    }
    checking->of_told = checking->of_untold = 0;
}

void ws_checking_of(struct ws_checking *checking, const char *what, int64_t row)
{
    tell_untold(checking);
    checking->of = what;
    checking->of_row = row;
}

void ws_checking_fault(struct ws_checking *checking, const char *where, const char *advice,
                       const char *what, ...)
{
    struct ws_fault fault;
    char text[WS_MESSAGE_BYTES];
    va_list arguments;

    checking->seen->faults++;
    if (checking->of_told >= WS_FAULTS_OF_ONE || checking->told >= WS_FAULTS_MOST) {
        checking->of_untold++;
        return;
    }
    checking->of_told++;
    va_start(arguments, what);
    vsnprintf(text, sizeof text, what, arguments);
    va_end(arguments);
    ws_fail(&fault.where, WS_OK, "%s", where);
    ws_fail(&fault.what, WS_OK, "%s", text);
    ws_fail(&fault.advice, WS_OK, "%s", advice != NULL ? advice : checking->restore.text);
    tell(checking, &fault);
}

/* The line of a failure names the book first, as the fault will. */
static const char *without_path(const struct ws_checking *checking, const char *text)
{
    size_t length = strlen(checking->book->path);

    return strncmp(text, checking->book->path, length) == 0 && strncmp(text + length, ": ", 2) == 0
               ? text + length + 2
               : text;
}

void ws_checking_failed(struct ws_checking *checking, const char *where, enum ws_status status,
                        const struct ws_message *why)
{
    if (status == WS_DAMAGED || status == WS_BAD_INPUT) {
        struct ws_message line = *why;
        char *end = strstr(line.text, "); "); /* the fault brings an advice of its own */

        if (end != NULL)
            end[1] = '\0';
        ws_checking_fault(checking, where, NULL, "%s", without_path(checking, line.text));
        return;
    }
    if (checking->status != WS_OK)
        return;
    checking->status = status;
    if (checking->why != NULL)
        *checking->why = *why;
}

bool ws_checking_goes_on(const struct ws_checking *checking)
{
    return checking->status == WS_OK;
}

/* ---- the file's structure -------------------------------------------------------------------- */

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

/* What one row of SQLite's check says: a line for each fault, after a heading. Gives the next line
 * in *at; false: no more. */
static bool next_fault(const char **at, char *line, size_t size)
{
    while (**at != '\0') {
        size_t length = strcspn(*at, "\n");

        snprintf(line, size, "%.*s", (int)length, *at);
        *at += length + ((*at)[length] == '\n');
        if (line[0] != '\0' && strncmp(line, "***", 3) != 0)
            return true;
    }
    return false;
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
    if (result == SQLITE_OK && strcmp(text, "ok") != 0 && !next_fault(&text, says, size))
        ws_text_copy(says, size, "damaged");
    sqlite3_finalize(statement);
    return result;
}

/* One answer of SQLite's check. Gives what kept it from looking. */
static int take_answer(struct ws_checking *checking, const char *text)
{
    char line[200];
    int result;

    if (strcmp(text, "ok") == 0)
        return SQLITE_OK;
    while (next_fault(&text, line, sizeof line)) {
        result = result_in(line);
        if (result != SQLITE_OK)
            return result;
        ws_checking_fault(checking, "the file", NULL, "is damaged: %s", line);
    }
    return SQLITE_OK;
}

static void check_structure(struct ws_checking *checking)
{
    struct ws_book *book = checking->book;
    struct ws_message why = { "" };
    sqlite3_stmt *statement = NULL;
    int result = sqlite3_prepare_v2(book->db, "PRAGMA integrity_check(100)", -1, &statement, NULL);
    enum ws_status status;

    ws_checking_of(checking, "the file", 0);
    while (result == SQLITE_OK && (result = sqlite3_step(statement)) == SQLITE_ROW) {
        const char *text = (const char *)sqlite3_column_text(statement, 0);

        result = text == NULL ? SQLITE_NOMEM : take_answer(checking, text);
    }
    status = ws_sql_status(book, result, &why);
    sqlite3_finalize(statement);
    if (status == WS_IO)
        ws_fail(&why, status, "%s: it can't be read: %s", book->path, sqlite3_errstr(result));
    if (status != WS_OK)
        ws_checking_failed(checking, "the file", status, &why);
}

static void check_references(struct ws_checking *checking)
{
    struct ws_message why = { "" };
    struct ws_sql sql;
    enum ws_status status;

    ws_checking_of(checking, "references", 0);
    ws_sql_open(&sql, checking->book, "PRAGMA foreign_key_check");
    while (ws_sql_row(&sql)) {
        char table[WS_NAME], to[WS_NAME], where[WS_NAME + 40];

        ws_sql_text(&sql, 0, table, sizeof table);
        ws_sql_text(&sql, 2, to, sizeof to);
        if (ws_sql_null(&sql, 1))
            snprintf(where, sizeof where, "table %s", table);
        else
            snprintf(where, sizeof where, "table %s, row %lld", table,
                     (long long)ws_sql_int(&sql, 1));
        ws_checking_fault(checking, where, NULL, "refers to a %s that is not there", to);
    }
    status = ws_sql_end(&sql, &why);
    if (status != WS_OK)
        ws_checking_failed(checking, "references", status, &why);
}

/* ---- the whole ------------------------------------------------------------------------------- */

enum ws_status ws_book_faults(struct ws_book *book,
                              void (*put)(void *self, const struct ws_fault *fault), void *self,
                              struct ws_book_seen *seen, struct ws_message *why)
{
    static void (*const parts[])(struct ws_checking *) = {
        check_structure,    ws_check_tables, check_references, ws_check_ledgers,
        ws_check_processes, ws_check_runs,   ws_check_rolls,   ws_check_words,
    };
    struct ws_checking checking = {
        .book = book, .put = put, .self = self, .seen = seen, .why = why, .status = WS_OK
    };
    enum ws_status status;

    memset(seen, 0, sizeof *seen);
    ws_backup_advise(book->path, &checking.restore);
    status = ws_sql_still(book, why);
    if (status != WS_OK)
        return status;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0] && ws_checking_goes_on(&checking); i++)
        parts[i](&checking);
    tell_untold(&checking);
    ws_sql_still_end(book);
    return checking.status;
}

static void keep_first(void *self, const struct ws_fault *fault)
{
    struct ws_message *first = self;

    if (first->text[0] == '\0')
        ws_fault_print(fault, first);
}

enum ws_status ws_book_check(struct ws_book *book, struct ws_message *why)
{
    struct ws_message first = { "" };
    struct ws_book_seen seen;
    enum ws_status status = ws_book_faults(book, keep_first, &first, &seen, why);

    if (status != WS_OK || seen.faults == 0)
        return status;
    return ws_fail(why, WS_DAMAGED, "%s: %s", book->path, first.text);
}
