/* A program in a terminal of its own, which remembers all it is sent and the modes it had before.
 */
#ifndef WETSIDE_TESTS_TERMINAL_PTY_H
#define WETSIDE_TESTS_TERMINAL_PTY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>
#include <termios.h>

#include "modes.h"

enum { PTY_PATIENCE_MS = 30000 };

struct pty {
    int master, slave; /* the slave is held open, so that modes can be read after the child's end */
    pid_t child;
    struct termios before;
    struct modes modes;
    char *seen; /* all that was sent; a zero behind it */
    size_t length, room;
    bool ended;
    int status; /* of waitpid, once it has ended */
};

/* Opens the terminal, with modes no shell would leave, so that "as it was" is not what is usual;
 * forks. In the child: true, with the terminal as its input, output and error. */
bool pty_fork(struct pty *pty, int lines, int columns);
/* The program of this build (WETSIDE) with its words and settings of the environment, "NAME=value";
 * both end with null. Nothing of the person's own is left in it. */
void pty_start(struct pty *pty, int lines, int columns, const char *const *word,
               const char *const *setting);

/* Reads what is there, waiting so long at most for the first of it. True if anything came. */
bool pty_read(struct pty *pty, int wait_ms);
/* Until `text` was sent, from `from` on; false when it never came. */
bool pty_until(struct pty *pty, size_t from, const char *text);
/* Types as much as the terminal takes while it is read. False: it takes no more, the child has
 * ended. */
bool pty_type(struct pty *pty, const char *bytes, size_t length);
void pty_resize(struct pty *pty, int lines, int columns);
/* Reads on to the child's end; false when it did not come in that time. */
bool pty_await_end(struct pty *pty, int64_t within_ms);

/* Null when the terminal is as it was before, bit for bit and mode for mode; else what is not. */
const char *pty_changed(const struct pty *pty);
/* Ends a child that has not ended, closes all. */
void pty_close(struct pty *pty);

int64_t pty_now_ms(void);

#endif
