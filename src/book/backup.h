/* Backups beside a book: which there is, for the line that says what to do. */
#ifndef WETSIDE_SRC_BOOK_BACKUP_H
#define WETSIDE_SRC_BOOK_BACKUP_H

#include "wetside/book/backup.h"

/* What can be done about a book at `path` that is damaged: which backup lies beside it, or that one
 * is needed. A piece of a line. */
void ws_backup_advise(const char *path, struct ws_message *advice);

#endif
