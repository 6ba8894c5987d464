/* A copy of the book in one file, made while the book is in use. */
#ifndef WETSIDE_BOOK_BACKUP_H
#define WETSIDE_BOOK_BACKUP_H

#include "wetside/book/book.h"

struct ws_backup {
    bool replace; /* a backup that is there already may be replaced */
    /* Called between steps with how many pages are copied, of how many; false stops, and the
     * backup ends in WS_IGNORED. May be null. */
    bool (*go_on)(void *self, int copied, int of);
    void *self;
};

/* Copies the book as it is at this moment to `to`, one file that stands alone: whoever writes in
 * the book meanwhile is not held up, and what is written after the beginning is not in it. The copy
 * is made beside `to` under a name of its own (0600), opened and checked, flushed, and only then
 * renamed into place, so that `to` is never half a book; what fails leaves nothing behind, and an
 * older backup as it was. *bytes is its size.
 *
 * WS_EXISTS: there is something at `to`, and with `replace` something that is no backup: a folder,
 * a link, another kind of file, a book that is open. WS_BAD_INPUT: it is the book itself, or a name
 * that belongs to it. WS_DAMAGED: the copy is not sound, because the book is not. WS_DISK_FULL,
 * WS_READ_ONLY, WS_IO: it can't be written there. */
enum ws_status ws_book_backup(struct ws_book *book, const char *to, const struct ws_backup *how,
                              int64_t *bytes, struct ws_message *why);

#endif
