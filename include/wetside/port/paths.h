/* Where things are, from the environment: the book, and what can't go into it. */
#ifndef WETSIDE_PORT_PATHS_H
#define WETSIDE_PORT_PATHS_H

#include <stddef.h>

#include "wetside/calc/status.h"

/* `given` (from --book) if not null, else $WETSIDE_BOOK, else $XDG_DATA_HOME/wetside/book.db, else
 * $HOME/.local/share/wetside/book.db. Relative XDG paths are ignored, as its specification says. */
enum ws_status ws_path_book(const char *given, char *path, size_t size, struct ws_message *why);

/* A folder for what `path`'s own disk can't take: the first of $HOME, the current folder, $TMPDIR
 * and /tmp that can be written and lies on another file system than `path`; else the first that can
 * be written, and in the end the current folder, as `.`. */
void ws_path_elsewhere(const char *path, char *folder, size_t size);

#endif
