/* Where things are: the book's path, from the environment. */
#ifndef WETSIDE_PORT_PATHS_H
#define WETSIDE_PORT_PATHS_H

#include <stddef.h>

#include "wetside/calc/status.h"

/* `given` (from --book) if not null, else $WETSIDE_BOOK, else $XDG_DATA_HOME/wetside/book.db, else
 * $HOME/.local/share/wetside/book.db. Relative XDG paths are ignored, as its specification says. */
enum ws_status ws_path_book(const char *given, char *path, size_t size, struct ws_message *why);

#endif
