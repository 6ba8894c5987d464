/* Bringing a book up to the newest schema: steps by number, each in one transaction, after a
 * verified backup of the old file.
 *
 * The steps are a table, so that a test can open a book with one more than there is. */
#ifndef WETSIDE_SRC_BOOK_MIGRATE_H
#define WETSIDE_SRC_BOOK_MIGRATE_H

#include "wetside/book/book.h"

struct ws_migration {
    int version; /* that the book has after it; 1 up without gaps */
    const char *sql;
    const char *marks; /* writes that version, and whose book it is */
};

/* A step by its number, which must be written as one: no statement is put together when it runs. */
#define WS_MIGRATION(number, statements)                                                           \
    {                                                                                              \
        number, statements, "PRAGMA application_id = 0x77657473; PRAGMA user_version = " #number   \
    }

/* Applies the steps above the book's version. A book of version 0 is a new one: it is not backed
 * up, and takes all steps in one transaction. The backup is PATH.schema-N beside the book (N: its
 * version), or PATH.schema-N.2 and so on if that is there; it is removed again if nothing could be
 * applied. */
enum ws_status ws_migrate(struct ws_book *book, const struct ws_migration *step, int steps,
                          struct ws_message *why);

/* ws_book_open with other steps; the last one's version is the newest. */
enum ws_status ws_book_open_steps(const char *path, enum ws_book_mode mode,
                                  const struct ws_migration *step, int steps, struct ws_book **out,
                                  struct ws_message *why);

/* The version the book has, as its connection sees it. */
enum ws_status ws_book_version(struct ws_book *book, int *version, struct ws_message *why);

#endif
