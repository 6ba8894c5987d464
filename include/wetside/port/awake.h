/* Keeps the machine awake while film is in a bath, as far as its system lets anybody, keeps the
 * Linux console lit, and says in one line what of this is kept and what is not.
 *
 * Sleep is kept off by an inhibitor of systemd-logind: its own program takes it, as a child that
 * holds it for as long as a pipe from here is open. Whatever ends this process closes the pipe, so
 * none is left behind. Nothing is linked or loaded for it, and a system that has no such program,
 * no bus, or one that never answers is no more than a line. */
#ifndef WETSIDE_PORT_AWAKE_H
#define WETSIDE_PORT_AWAKE_H

#include <stdbool.h>
#include <sys/types.h>

#include "wetside/calc/status.h"

struct ws_awake;

enum ws_awake_state {
    WS_AWAKE_TRYING, /* the system has not answered yet */
    WS_AWAKE_HELD,   /* neither idleness, nor the lid, nor anybody's wish puts it to sleep */
    WS_AWAKE_PARTLY, /* idleness does not; the lid and the sleep key still do. So over SSH */
    WS_AWAKE_NONE    /* nothing is kept; the state's line says why */
};

/* How it is done on a machine. Tests put their own in. All that it points to must outlive the
 * program. */
struct ws_awake_way {
    const char *const *program; /* tried in this order; a null at the end */
    int answer_ms;              /* with no answer in so long there is none */
    bool (*is_console)(int fd);
    bool (*unblank)(int fd);
};
/* This machine's. */
const struct ws_awake_way *ws_awake_way(void);

/* Begins to keep awake. Never blocks: all that may is done on a detached thread of its own, which
 * sleeps while the inhibitor is held. A thread that can't be had is WS_AWAKE_NONE. */
enum ws_status ws_awake_begin(const struct ws_awake_way *way, struct ws_awake **out,
                              struct ws_message *why);
/* Lets go. Never blocks: a child that does not end within a second is ended by the thread, or left
 * to the end of this process. Null is allowed. */
void ws_awake_end(struct ws_awake *awake);
/* Never blocks. Null is allowed: none. `why`, which may be null, is filled with WS_AWAKE_NONE only:
 * "systemd-inhibit: Failed to inhibit: Access denied". */
enum ws_awake_state ws_awake_state(struct ws_awake *awake, struct ws_message *why);

/* Whether the descriptor is a Linux console (tty1 to tty63) itself: not a terminal within one, nor
 * one that says so in TERM. Never blocks. */
bool ws_awake_is_console(int fd);
bool ws_awake_is_console_device(dev_t device);
/* Lights a Linux console that went blank (ioctl_console(2), TIOCLINUX, subcode 4); on a lit one it
 * does nothing. For the terminal's thread: switching a panel on may take the kernel a moment. Not
 * for while film lies open. False where there is no such call. */
bool ws_awake_unblank(int fd);

/* One line for before the start: what keeps machine and screen from going dark, and what does not.
 * By the state, by what `fd` is, and by SSH_CONNECTION. True when the machine is kept awake. */
bool ws_awake_can_say(struct ws_awake *awake, const struct ws_awake_way *way, int fd,
                      struct ws_message *line);

#endif
