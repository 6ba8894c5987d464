/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whether the book still lies where it was opened.
 *
 * SQLite goes on writing to a file that was deleted or whose name another file has taken: what it
 * commits is in no book any more. Worse, its log keeps its name beside the new file, and would be
 * applied to it at the next open. So each transaction looks before it begins and after its commit,
 * and a log of ours that lies beside a stranger is put aside under another name. */
#include <stdio.h>
#include <sys/stat.h>

#include "sql.h"

static bool has_moved(struct ws_book *book)
{
    int moved = 0;

    /* A file system layer that can't say leaves it at 0. */
    return sqlite3_file_control(book->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) == SQLITE_OK &&
           moved != 0;
}

static bool look(const char *name, struct stat *is)
{
    return name != NULL && name[0] != '\0' && stat(name, is) == 0;
}

/* Only a log that is known for ours by its inode: another program may have begun one of its own. */
static void put_log_aside(struct ws_book *book)
{
    const char *name = sqlite3_db_filename(book->db, "main");
    const char *log = name != NULL ? sqlite3_filename_wal(name) : NULL;
    char aside[4096];
    struct stat is;

    if (!look(name, &is) || !look(log, &is) || (int64_t)is.st_dev != book->log_device ||
        (int64_t)is.st_ino != book->log_inode)
        return;
    if (snprintf(aside, sizeof aside, "%s-of-another-book", log) < (int)sizeof aside)
        rename(log, aside);
}

enum ws_status ws_sql_still_there(struct ws_book *book, struct ws_message *why)
{
    const char *name;
    struct stat is;

    if (!has_moved(book)) {
        name = sqlite3_db_filename(book->db, "main");
        if (name != NULL && look(sqlite3_filename_wal(name), &is)) {
            book->log_device = (int64_t)is.st_dev;
            book->log_inode = (int64_t)is.st_ino;
        }
        return WS_OK;
    }
    put_log_aside(book);
    return ws_fail(why, WS_NOT_FOUND,
                   "%s: this is not the book any more that was opened: put it back where it was",
                   book->path);
}
