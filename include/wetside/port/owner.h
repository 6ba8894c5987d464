/* Who drives a run: one process at any moment on a machine, and how another asks it to let go.
 *
 * The owner holds an flock on a lock file beside the book, named by book and run, and listens on a
 * socket beside it. The kernel drops the lock with the process, whatever ends it; a lock file that
 * is left is nothing but a name. Both are the user's alone (0600), and nobody else is answered.
 *
 * Names are those the book really has: a path through links leads to the same lock. */
#ifndef WETSIDE_PORT_OWNER_H
#define WETSIDE_PORT_OWNER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#include "wetside/calc/status.h"

struct ws_owner;

/* Takes the run `run` of the book at `book`. WS_BUSY: another has it, in this process or another.
 * On a file system that knows no locks there is none: WS_OK, and ws_owner_locks says 0. Without a
 * socket (no room, no descriptor) the run is owned all the same, and nobody can ask for it. */
enum ws_status ws_owner_take(const char *book, int64_t run, struct ws_owner **out,
                             struct ws_message *why);
/* Removes both names, then lets go. Null is allowed. */
void ws_owner_release(struct ws_owner *owner);
int64_t ws_owner_run(const struct ws_owner *owner);
int ws_owner_locks(const struct ws_owner *owner);
/* Readable when somebody asks; -1: nobody can. */
int ws_owner_fd(const struct ws_owner *owner);
/* The next who asks, of this user; -1: none. The caller closes it. */
int ws_owner_accept(struct ws_owner *owner);

/* Calls whoever listens for that run. *fd is the line, which the caller closes; *pid the process,
 * 0 where it can't be told. WS_NOT_FOUND: nobody listens. */
enum ws_status ws_owner_call(const char *book, int64_t run, int *fd, pid_t *pid,
                             struct ws_message *why);
/* Ends the process at the other end of the line for good (SIGKILL), if it is one of this user's;
 * never another that has got its number since. */
enum ws_status ws_owner_end(int fd, pid_t pid, struct ws_message *why);

/* One message each, whole or not at all, within most_ms of real time. WS_BUSY: the other side did
 * not take or send any in time; WS_NOT_FOUND: it has hung up; WS_IO. */
enum ws_status ws_line_send(int fd, const void *bytes, size_t length, int most_ms);
enum ws_status ws_line_receive(int fd, void *bytes, size_t room, size_t *length, int most_ms);
/* Whether the other side has hung up; what it said before may still wait to be received. */
bool ws_line_hung_up(int fd);

#endif
