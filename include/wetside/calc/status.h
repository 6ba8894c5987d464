/* The one integer result of the whole program, and the one line that goes to the person.
 *
 * Every function that can fail returns enum ws_status and fills its out-parameters only on WS_OK
 * (or says otherwise). The line for the person is built where the knowledge is, in a
 * struct ws_message, and carried up unchanged: what is wrong, where, and what would be right. */
#ifndef WETSIDE_CALC_STATUS_H
#define WETSIDE_CALC_STATUS_H

#include <stddef.h>

enum ws_status {
    WS_OK = 0,
    WS_MORE,      /* room was short: call again with the same arguments */
    WS_IGNORED,   /* nothing changed: not to be journaled */
    WS_BAD_INPUT, /* text or a value from a person, a file or a command line */
    WS_BAD_PLAN,  /* a plan the engine can't run */
    WS_BAD_EVENT, /* an event that can't be: unknown kind, no such bath */
    WS_TIME_BACK, /* an event earlier than the last one */
    WS_NOT_FOUND, /* no such thing in the book */
    WS_EXISTS,    /* the name or number is taken */
    WS_SHORT,     /* the batch holds less than is asked */
    WS_FOREIGN,   /* a file that is not a wetside book */
    WS_NEWER,     /* a book from a newer version */
    WS_READ_ONLY, /* a book or folder that can't be written */
    WS_DAMAGED,   /* a book that fails its own checks */
    WS_BUSY,      /* another process holds the book, or drives the run */
    WS_OWNED,     /* the run has got another owner: nothing of this one's is taken any more */
    WS_DISK_FULL, /* no room for the book to grow */
    WS_IO,        /* the disk or another device failed */
    WS_UNKNOWN,   /* COMMIT failed: written or not, nobody can say; retry is idempotent */
    WS_NO_MEMORY
};

enum { WS_MESSAGE_BYTES = 320 };

/* One line for the person, UTF-8, never with a line break. Empty when there is nothing to say. */
struct ws_message {
    char text[WS_MESSAGE_BYTES];
};

/* Formats into `message` (which may be null) and returns `status`, so that a failing function can
 * end in `return ws_fail(why, WS_BAD_INPUT, "...", ...)`. Too long a text is cut. */
enum ws_status ws_fail(struct ws_message *message, enum ws_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The exit status of the program for `status`: 0 done, 2 wrong usage or wrong input, else 1. */
int ws_status_exit(enum ws_status status);

#endif
