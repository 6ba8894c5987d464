/* The file of a book, before and beside the connection: what stands at a path, making a new one,
 * and opening for reading without writing a byte.
 *
 * What is no book, or one from a newer version, is told by its first hundred bytes, before SQLite
 * could roll back a journal or make files beside it. They are read through SQLite's own file layer:
 * a descriptor closed behind its back would drop the locks of a connection to the same file. */
#ifndef WETSIDE_SRC_BOOK_FILE_H
#define WETSIDE_SRC_BOOK_FILE_H

#include <sqlite3.h>

#include "wetside/book/book.h"

enum ws_file_kind { WS_FILE_NONE, WS_FILE_EMPTY, WS_FILE_BOOK };

struct ws_file {
    const char *shown; /* as the person gave it; borrowed */
    char *name;        /* never looks like a URI or a name SQLite takes for its own */
    enum ws_file_kind kind;
    int version; /* the header's user_version; with a WAL beside it the book's may be higher */
    bool wal;    /* the header says write-ahead log */
};

/* Looks at `path`. WS_FOREIGN for what is no book, WS_IO for what can't be read. `out->name` is
 * malloced also on an error. */
enum ws_status ws_file_look(const char *path, struct ws_file *out, struct ws_message *why);

/* The folder of a name, malloced; null without memory. */
char *ws_file_folder(const char *name);

/* WS_READ_ONLY unless file and folder may be written. A file or folder whose permissions let nobody
 * write is left alone even where the system would let root through. */
enum ws_status ws_file_writable(const struct ws_file *file, struct ws_message *why);

/* Makes the folders that are missing (0700) and an empty file (0600). *made: it was not there. */
enum ws_status ws_file_make(struct ws_file *file, bool *made, struct ws_message *why);

/* The line and status of a file that can't be made or written, by errno. */
enum ws_status ws_file_failed(const char *name, int error, struct ws_message *why);

/* Flushes the folder of a file or folder that was made, so that a power cut does not lose its name.
 */
void ws_file_sync_above(const char *name);

/* Takes away a file that was made and that nothing came into. No connection may be open to it. */
void ws_file_unmake(const struct ws_file *file);

/* Opens `file` for reading. With a log beside it this is an ordinary read-only connection. Without
 * one the file alone is the book, and an ordinary connection would make a log and its index: so a
 * shared lock is taken on the file and held in *hold, under which no writer's last close copies its
 * log into the file, and the file is opened as one that doesn't change. */
enum ws_status ws_file_open_to_read(const struct ws_file *file, sqlite3 **db, sqlite3_file **hold,
                                    char **hold_name, struct ws_message *why);
/* How much there is in the log beside the file; -1: nobody can say. */
int64_t ws_file_log_bytes(const char *name);
void ws_file_release(sqlite3_file *hold, char *hold_name);

#endif
