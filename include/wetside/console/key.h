/* Names of keys: for the screen, and for the book, which remembers a learned one by its name.
 *
 * "b", "F13", "Page-Down", "Ctrl-A"; keys beyond these by the name ncurses has for them, which it
 * knows only while the terminal is started. Never a blank or a control character in a name. */
#ifndef WETSIDE_CONSOLE_KEY_H
#define WETSIDE_CONSOLE_KEY_H

#include <stdbool.h>
#include <stddef.h>

#include "wetside/console/terminal.h"

/* False: the key has no name (it can't be told from others), and `text` is empty. */
bool ws_key_name(ws_key key, char *text, size_t size);
/* WS_KEY_NONE: no key has that name, or none of this terminal. */
ws_key ws_key_called(const char *name);

#endif
