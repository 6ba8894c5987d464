/* The terminal: ncurses started, kept clean, and given back whole whatever ends the program.
 *
 * Only the terminal thread may call anything here, or ncurses itself: output can block on a
 * terminal that nobody reads. Since ncurses has one current screen, so has this module.
 *
 * Raw keys: Ctrl-C, Ctrl-Z, Ctrl-S are keys like others. Ordinary signals must be blocked before
 * ws_terminal_start (drive reads them by signalfd). All others that would end the program, faults
 * on any thread among them, restore the terminal from bytes prepared at the start, on a stack of
 * their own, and are raised again; a call of exit restores it too. While a shell has the terminal
 * (we were stopped from outside and go on behind it) nothing is read, written or set. */
#ifndef WETSIDE_CONSOLE_TERMINAL_H
#define WETSIDE_CONSOLE_TERMINAL_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/status.h"

/* A key: a Unicode code point (control keys as they are: Ctrl-C is 3), or one of these. */
typedef int32_t ws_key;

enum {
    WS_KEY_NONE = -1,
    WS_KEY_FIRST = 0x200000, /* above all of Unicode */
    WS_KEY_ENTER = WS_KEY_FIRST,
    WS_KEY_ESC,
    WS_KEY_TAB,
    WS_KEY_BACK_TAB,
    WS_KEY_BACK, /* backspace */
    WS_KEY_DELETE,
    WS_KEY_UP,
    WS_KEY_DOWN,
    WS_KEY_LEFT,
    WS_KEY_RIGHT,
    WS_KEY_PAGE_UP,
    WS_KEY_PAGE_DOWN,
    WS_KEY_HOME,
    WS_KEY_END_OF_LINE,
    WS_KEY_F1, /* F2 is WS_KEY_F1 + 1, and so on to F63: keyboards end at F12, switches do not */
    WS_KEY_F63 = WS_KEY_F1 + 62,
    WS_KEY_OTHER, /* a key that has no name here */
    /* What ws_console_next gives besides keys (room.h). */
    WS_KEY_REDRAW, /* the window or what lies over the room changed: draw again */
    WS_KEY_FRAME,  /* a new frame; only to who asked for frames */
    WS_KEY_QUIT,   /* the program ends: undo what you began and return */
    /* Above this: keys that only ncurses has a name for (ws_terminal_key_name). */
    WS_KEY_NAMED = 0x210000
};

struct ws_terminal_options {
    const char *type;   /* null: TERM */
    bool headless;      /* no terminal: cells are kept, bytes go nowhere, keys come by script */
    int lines, columns; /* of a headless one */
};

/* Whether a terminal of that type (null: TERM) could be started; nothing is started or written. For
 * who must not begin anything else if it can't. WS_IO with a line. */
enum ws_status ws_terminal_check(const char *type, struct ws_message *why);
/* Starts ncurses on standard input and output. WS_IO with a line when they are no terminal or its
 * type is unknown or can't move the cursor. setlocale must have been called. */
enum ws_status ws_terminal_start(const struct ws_terminal_options *options, struct ws_message *why);
/* Restores the terminal; harmless when not started. */
void ws_terminal_stop(void);

/* For poll; -1 when headless or dropped. */
int ws_terminal_fd(void);
int ws_terminal_out_fd(void);
/* The next key, WS_KEY_NONE when there is none now. Never waits. */
ws_key ws_terminal_key(void);
/* ncurses's own name of a key above WS_KEY_NAMED, null for any other; and the key of such a name as
 * this terminal knows it, else WS_KEY_NONE. */
const char *ws_terminal_key_name(ws_key key);
ws_key ws_terminal_key_called(const char *name);
/* True when the locale has UTF-8 and the terminal may be sent it. */
bool ws_terminal_utf8(void);
/* True when inverse video can be shown; otherwise shape must do. */
bool ws_terminal_inverse(void);
/* Takes over the window's size; what was drawn must be drawn again. */
void ws_terminal_resized(void);
/* Only headless: pretends the window has this size. */
void ws_terminal_pretend(int lines, int columns);
/* poll said HUP or ERR: nothing is read or written any more. */
void ws_terminal_drop(void);
bool ws_terminal_dropped(void);
/* To the screen what was drawn (doupdate), unless the terminal takes nothing now: then it is owed,
 * and ws_terminal_owed says so until a later flush. */
void ws_terminal_flush(void);
bool ws_terminal_owed(void);
/* One bell, unless the terminal takes nothing now. */
void ws_terminal_bell(void);

/* Ends the program on an impossible state: restores the terminal, says `what` on standard error,
 * aborts. */
_Noreturn void ws_terminal_fatal(const char *what);

#endif
