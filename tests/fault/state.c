/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is in a book, as a text that can be compared. */
#include "state.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../../src/book/sql.h"
#include "../book/book_aid.h"

/* Ids also stand in the frozen plans: 32 hexadecimal digits become a star. */
static void add_text(sqlite3_str *to, const char *text)
{
    static const char digits[] = "0123456789abcdef";

    while (*text != '\0') {
        size_t plain = strcspn(text, digits), in_a_row = strspn(text + plain, digits);

        sqlite3_str_append(to, text, (int)plain);
        if (in_a_row == 32)
            sqlite3_str_appendall(to, "*");
        else
            sqlite3_str_append(to, text + plain, (int)in_a_row);
        text += plain + in_a_row;
    }
}

static void add_row(sqlite3_str *to, const char *table, sqlite3_stmt *row)
{
    sqlite3_str_appendf(to, "%s:", table);
    for (int i = 0; i < sqlite3_column_count(row); i++) {
        const char *name = sqlite3_column_name(row, i);
        int type = sqlite3_column_type(row, i);

        if (strcmp(name, "id") == 0)
            continue;
        sqlite3_str_appendf(to, " %s=", name);
        if (type == SQLITE_BLOB)
            sqlite3_str_appendf(to, "(%d bytes)", sqlite3_column_bytes(row, i));
        else if (type != SQLITE_NULL)
            add_text(to, (const char *)sqlite3_column_text(row, i));
    }
    sqlite3_str_appendall(to, "\n");
}

static void add_table(sqlite3_str *to, sqlite3 *db, const char *table)
{
    char *text = sqlite3_mprintf("SELECT rowid AS place, * FROM \"%w\"", table);
    char *bare = sqlite3_mprintf("SELECT * FROM \"%w\"", table);
    sqlite3_stmt *rows = NULL;
    int result;

    /* Of the word index the row number is half of what it says. */
    if (sqlite3_prepare_v2(db, strcmp(table, "roll_word") == 0 ? text : bare, -1, &rows, NULL) !=
        SQLITE_OK)
        fail_msg("%s: %s", table, sqlite3_errmsg(db));
    while ((result = sqlite3_step(rows)) == SQLITE_ROW)
        add_row(to, table, rows);
    if (result != SQLITE_DONE)
        fail_msg("%s: %s", table, sqlite3_errmsg(db));
    sqlite3_finalize(rows);
    sqlite3_free(bare);
    sqlite3_free(text);
}

char *state_of(struct ws_book *book)
{
    sqlite3_str *to = sqlite3_str_new(book->db);
    sqlite3_stmt *tables = NULL;
    char *state, *own;

    sqlite3_str_appendf(to, "a book\n"); /* not nothing, even with nothing in it */
    if (sqlite3_prepare_v2(book->db,
                           "SELECT name FROM sqlite_schema WHERE type = 'table'"
                           " AND name NOT LIKE 'roll!_word!_%' ESCAPE '!' ORDER BY name",
                           -1, &tables, NULL) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(book->db));
    while (sqlite3_step(tables) == SQLITE_ROW)
        add_table(to, book->db, (const char *)sqlite3_column_text(tables, 0));
    sqlite3_finalize(tables);
    state = sqlite3_str_finish(to);
    assert_non_null(state);
    own = malloc(strlen(state) + 1);
    assert_non_null(own);
    strcpy(own, state);
    sqlite3_free(state);
    return own;
}

/* ---- books that were looked at already ------------------------------------------------------- */

/* The check of a book takes its time, and most faults leave one of two books behind, to the byte.
 * So those that were found sound are remembered by their bytes. */
static struct seen {
    uint64_t mark;
    long size;
    char *state;
} seen[512];
static int seens;

/* FNV-1a of 64 bits. */
static uint64_t mark_of(const unsigned char *bytes, long size)
{
    uint64_t mark = UINT64_C(14695981039346656037);

    for (long i = 0; i < size; i++)
        mark = (mark ^ bytes[i]) * UINT64_C(1099511628211);
    return mark;
}

static bool has_log(const char *path)
{
    char log[400];

    snprintf(log, sizeof log, "%s-wal", path);
    return aid_exists(log);
}

/* The remembered book that lies at `path`, or a new one to be remembered; null: neither, or there
 * is more in a log. */
static struct seen *find_seen(const char *path)
{
    unsigned char *bytes;
    struct seen this = { 0, 0, NULL };

    if (has_log(path))
        return NULL;
    bytes = aid_bytes(path, &this.size);
    if (bytes == NULL)
        return NULL;
    this.mark = mark_of(bytes, this.size);
    free(bytes);
    for (int i = 0; i < seens; i++)
        if (seen[i].mark == this.mark && seen[i].size == this.size)
            return &seen[i];
    if (seens == (int)(sizeof seen / sizeof seen[0]))
        return NULL;
    seen[seens] = this;
    return &seen[seens++];
}

static char *look_at(const char *path, struct ws_message *why)
{
    struct ws_book *book = NULL;
    char *state = NULL;

    if (ws_book_open(path, WS_BOOK_WRITE, &book, why) != WS_OK)
        return NULL;
    if (ws_book_check(book, why) == WS_OK)
        state = state_of(book);
    ws_book_close(book);
    return state;
}

char *state_after_opening(const char *path, struct ws_message *why)
{
    struct ws_book *book = NULL;
    struct seen *known;
    char *state;

    /* Opening brings in order what a fault or a cut left. */
    if (ws_book_open(path, WS_BOOK_WRITE, &book, why) != WS_OK)
        return NULL;
    ws_book_close(book);
    known = find_seen(path);
    if (known != NULL && known->state != NULL)
        return strdup(known->state);
    state = look_at(path, why);
    if (known != NULL && state != NULL)
        known->state = strdup(state);
    return state;
}

void state_forget(void)
{
    for (int i = 0; i < seens; i++)
        free(seen[i].state);
    seens = 0;
}

const char *state_difference(const char *is, const char *wanted)
{
    static char line[600];
    size_t same = 0, from;

    if (is == NULL || wanted == NULL)
        return "one of them is none";
    while (is[same] != '\0' && is[same] == wanted[same])
        same++;
    for (from = same; from > 0 && is[from - 1] != '\n'; from--)
        continue;
    snprintf(line, sizeof line, "is \"%.*s\", wanted \"%.*s\"", (int)strcspn(is + from, "\n"),
             is + from, (int)strcspn(wanted + from, "\n"), wanted + from);
    return line;
}
