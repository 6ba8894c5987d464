/* The book: one SQLite file, and the only place with SQL.
 *
 * Used from one thread at a time (the book thread owns the process's only connection). Every
 * function that writes is one transaction unless it says otherwise; WS_OK means COMMIT returned.
 * Errors: WS_BUSY, WS_DISK_FULL, WS_READ_ONLY, WS_DAMAGED, WS_IO, WS_NO_MEMORY, WS_UNKNOWN (COMMIT
 * failed: retrying is idempotent where a row has a stable id or a (run, sequence) key).
 *
 * Texts are UTF-8. Wall moments are milliseconds since 1970 UTC; days are local dates
 * `YYYY-MM-DD`. Nothing is deleted: a correction keeps the old value, the moment and the reason. */
#ifndef WETSIDE_BOOK_BOOK_H
#define WETSIDE_BOOK_BOOK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "wetside/calc/plan.h"
#include "wetside/calc/status.h"

enum { WS_SCHEMA = 2, WS_DAY = 11, WS_REMARK = 512 };
enum { WS_APPLICATION_ID = 0x77657473 }; /* "wets" */

struct ws_book;

enum ws_book_mode { WS_BOOK_WRITE, WS_BOOK_READ };

/* Opens the book at `path`. One line in `why` for what can't be opened, which is left as it is: no
 * book (WS_FOREIGN, told by the file's first bytes), from a newer version (WS_NEWER), unreadable
 * (WS_IO), damaged (WS_DAMAGED), held by another program for two seconds (WS_BUSY). Integrity is
 * not checked here (it takes seconds).
 *
 * WS_BOOK_WRITE makes the book (0600, its folders 0700) if there is no file, or an empty one, which
 * holds nothing to lose and is what a power cut during the making leaves; brings an older one up
 * after a verified backup beside it (PATH.schema-N); and refuses a file or folder that can't be
 * written, or whose permissions let nobody write, even to root (WS_READ_ONLY).
 *
 * WS_BOOK_READ never writes a byte to the book or its log and makes no file beside it; without a
 * book it is WS_NOT_FOUND, and one from an older version WS_READ_ONLY. A book that was closed is
 * read as it was when opened. One that a writer has open, or that was not closed, is read through
 * its log, whose index file beside it SQLite keeps or makes; where it can't, WS_READ_ONLY says to
 * copy the two. */
enum ws_status ws_book_open(const char *path, enum ws_book_mode mode, struct ws_book **out,
                            struct ws_message *why);
void ws_book_close(struct ws_book *book);

/* Integrity, foreign keys and ledger sums; the first fault in `why`, WS_DAMAGED. Slow. */
enum ws_status ws_book_check(struct ws_book *book, struct ws_message *why);

/* Settings are text by key. WS_NOT_FOUND leaves `value` untouched. */
enum ws_status ws_setting_get(struct ws_book *book, const char *key, char *value, size_t size);
enum ws_status ws_setting_set(struct ws_book *book, const char *key, const char *value,
                              struct ws_message *why);

/* Whether `text` is a day of the calendar, YYYY-MM-DD, from 1800 on: before there was any film. */
bool ws_day_exists(const char *text);

/* A fresh random id (getrandom). */
void ws_id_make(struct ws_id *out);

#endif
