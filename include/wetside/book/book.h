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

enum { WS_SCHEMA = 1, WS_DAY = 11, WS_REMARK = 512 };
enum { WS_APPLICATION_ID = 0x77657473 }; /* "wets" */

struct ws_book;

enum ws_book_mode { WS_BOOK_WRITE, WS_BOOK_READ };

/* Opens the book at `path`; with WS_BOOK_WRITE makes it (0600, its folder 0700) if there is none,
 * and migrates an older one after a verified backup beside it. One line in `why` for: a file that
 * is no book (WS_FOREIGN), from a newer version (WS_NEWER, left unchanged), unreadable, read-only.
 * WS_BOOK_READ never writes a byte. Integrity is not checked here (it takes seconds). */
enum ws_status ws_book_open(const char *path, enum ws_book_mode mode, struct ws_book **out,
                            struct ws_message *why);
void ws_book_close(struct ws_book *book);

/* Integrity, foreign keys and ledger sums; the first fault in `why`, WS_DAMAGED. Slow. */
enum ws_status ws_book_check(struct ws_book *book, struct ws_message *why);

/* Settings are text by key. WS_NOT_FOUND leaves `value` untouched. */
enum ws_status ws_setting_get(struct ws_book *book, const char *key, char *value, size_t size);
enum ws_status ws_setting_set(struct ws_book *book, const char *key, const char *value,
                              struct ws_message *why);

/* A fresh random id (getrandom). */
void ws_id_make(struct ws_id *out);

#endif
