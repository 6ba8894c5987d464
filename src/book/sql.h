/* The one door to SQLite: statements, transactions, and results turned into enum ws_status.
 *
 * A statement is opened by its text, its values are put in the order of its question marks, and it
 * is walked row by row or done at once. The first error sticks, so that only the end is asked:
 *
 *     struct ws_sql sql;
 *     ws_sql_open(&sql, book, "SELECT name FROM film WHERE film = ?");
 *     ws_sql_put_int(&sql, row);
 *     if (ws_sql_row(&sql))
 *         ws_sql_text(&sql, 0, name, sizeof name);
 *     return ws_sql_end(&sql, why);
 *
 * Values never become part of a statement's text. Statements are prepared once per book and kept,
 * by the address of their text: it must be a constant. */
#ifndef WETSIDE_SRC_BOOK_SQL_H
#define WETSIDE_SRC_BOOK_SQL_H

#include <sqlite3.h>

#include "wetside/book/book.h"

enum { WS_STATEMENTS = 192, WS_PATH_BYTES = 4096 };

struct ws_book {
    sqlite3 *db;
    char *path; /* as given, for messages */
    bool reading;
    int depth;   /* of transactions within one another */
    bool doomed; /* an inner one could not be undone: the whole will be */
    bool shaken; /* a change was undone since the last began */
    /* Prepared when the book is opened: taking back must not need memory. */
    sqlite3_stmt *begin, *commit, *rollback;
    struct {
        const char *text;
        sqlite3_stmt *statement;
    } cache[WS_STATEMENTS];
    int cached;
    sqlite3_file *hold; /* a read lock of our own beside an immutable connection, see file.c */
    char *hold_name;
    int64_t log_device, log_inode; /* of the log, when the book was last seen in its place */
};

struct ws_sql {
    struct ws_book *book;
    sqlite3_stmt *statement;
    int result; /* of SQLite; SQLITE_OK while all is well */
    int put;    /* values put so far */
    bool cached;
};

void ws_sql_open(struct ws_sql *sql, struct ws_book *book, const char *text);
void ws_sql_put_null(struct ws_sql *sql);
void ws_sql_put_int(struct ws_sql *sql, int64_t value);
void ws_sql_put_double(struct ws_sql *sql, double value);    /* NAN: null */
void ws_sql_put_text(struct ws_sql *sql, const char *value); /* null: null */
/* Likewise, but an empty text is null too. */
void ws_sql_put_stated(struct ws_sql *sql, const char *value);
void ws_sql_put_id(struct ws_sql *sql, const struct ws_id *value);
void ws_sql_put_row(struct ws_sql *sql, int64_t value); /* 0: null */

/* True while there is a row. */
bool ws_sql_row(struct ws_sql *sql);

int64_t ws_sql_int(struct ws_sql *sql, int column);                        /* null: 0 */
double ws_sql_double(struct ws_sql *sql, int column);                      /* null: NAN */
void ws_sql_text(struct ws_sql *sql, int column, char *text, size_t size); /* null: empty */
void ws_sql_id(struct ws_sql *sql, int column, struct ws_id *out);         /* null: none */
bool ws_sql_null(struct ws_sql *sql, int column);

/* Gives the statement back, and tells how it went. */
enum ws_status ws_sql_end(struct ws_sql *sql, struct ws_message *why);
/* Runs it to its end and gives it back: for what returns no rows. */
enum ws_status ws_sql_done(struct ws_sql *sql, struct ws_message *why);
/* The first column of the first row, or `none`, with what was put. */
enum ws_status ws_sql_number(struct ws_sql *sql, int64_t none, int64_t *out,
                             struct ws_message *why);

/* Statements without values, one or several: pragmas and schemas. */
enum ws_status ws_sql_script(struct ws_book *book, const char *text, struct ws_message *why);

/* Prepares what transactions need. */
enum ws_status ws_sql_ready(struct ws_book *book, struct ws_message *why);

/* Finalizes every kept statement. */
void ws_sql_forget(struct ws_book *book);

/* What a result of SQLite means, with a line that names the book. */
enum ws_status ws_sql_status(struct ws_book *book, int result, struct ws_message *why);

/* One transaction, and within it savepoints, so that a function that writes may call another. Each
 * begin that gave WS_OK is followed by one end, which commits when `status` is WS_OK and else
 * undoes; it returns what became of it. WS_OK of the outermost: COMMIT has returned. */
enum ws_status ws_sql_begin(struct ws_book *book, struct ws_message *why);
enum ws_status ws_sql_commit(struct ws_book *book, enum ws_status status, struct ws_message *why);

/* Until the end the book is read as it is at this moment, whatever others write meanwhile; they are
 * not held up. Not within a transaction. */
enum ws_status ws_sql_still(struct ws_book *book, struct ws_message *why);
void ws_sql_still_end(struct ws_book *book);

/* ---- check.c ---- */
/* SQLite's own check of a connection's file; `says` is empty when it is sound, else the first
 * fault. Another result than SQLITE_OK: it could not be checked. */
int ws_sql_integrity(sqlite3 *db, char *says, size_t size);

/* ---- moved.c ---- */
/* WS_NOT_FOUND: the file was deleted, or another has its name. Every begin and commit asks. */
enum ws_status ws_sql_still_there(struct ws_book *book, struct ws_message *why);

#endif
