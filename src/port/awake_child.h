/* The child that holds an inhibitor: started, and ended whatever it does. On a thread that may
 * wait.
 */
#ifndef WETSIDE_SRC_PORT_AWAKE_CHILD_H
#define WETSIDE_SRC_PORT_AWAKE_CHILD_H

#include <sys/types.h>

#include "wetside/calc/status.h"

/* What the child says in a line of its own once it holds the inhibitor. */
#define AWAKE_CHILD_HOLDS "held"

struct awake_child {
    pid_t pid;
    int hold_fd; /* while this is open it holds */
    int out_fd;  /* what it says, also of errors; at its end it is gone */
};

/* Asks for an inhibitor against `what`. WS_NOT_FOUND: there is no such program. */
enum ws_status awake_child_start(struct awake_child *child, const char *program, const char *what,
                                 struct ws_message *why);
/* The line for a program that is not there; gives WS_NOT_FOUND. */
enum ws_status awake_child_is_none(const char *program, struct ws_message *why);
/* Lets it end by itself within a second, then ends it. */
void awake_child_end(struct awake_child *child);

#endif
