/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The terminal given back by a handler, from what was prepared at the start. */
#include "restore.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include "wetside/console/draw.h"
#include <term.h>

enum { RESTORE_BYTES = 512, STACK_BYTES = 64 * 1024, NAME_BYTES = 256, OTHER_WAIT_MS = 200 };

/* What ends a program that does nothing about it, and may come from outside at any time: faults
 * first, which are also raised by the instruction itself. What drive reads in order (SIGTERM and
 * the like) is blocked by then and never comes here. */
static const int ends[] = {
    SIGSEGV,   SIGBUS,  SIGFPE,    SIGILL,  SIGABRT, SIGTRAP, SIGSYS,  SIGXCPU,
    SIGXFSZ,   SIGALRM, SIGVTALRM, SIGPROF, SIGUSR1, SIGUSR2, SIGPIPE, SIGPOLL,
#ifdef SIGPWR
    SIGPWR,
#endif
#ifdef SIGSTKFLT
    SIGSTKFLT,
#endif
};
enum { ENDS = sizeof ends / sizeof *ends, FAULTS = 7 };

enum { DISARMED, ARMED, RESTORING };

static struct {
    char bytes[RESTORE_BYTES];
    size_t length;
    struct termios modes;
    bool have_modes;
    atomic_bool screen; /* bytes have gone out that are to be undone */
    atomic_int state;
    int terminal_fd; /* the same terminal, opened once more so that no write to it waits; or -1 */
    int nowhere_fd;  /* /dev/null, or -1 */
    struct sigaction before[ENDS];
    bool taken[ENDS];
    stack_t stack_before;
    void *stack;
} restore = { .terminal_fd = -1, .nowhere_fd = -1 };

/* ---- prepared ---- */

static int collect(int byte)
{
    if (restore.length < sizeof restore.bytes)
        restore.bytes[restore.length++] = (char)byte;
    return byte;
}

static void collect_capability(const char *capability)
{
    if (capability != NULL && capability != (const char *)-1)
        tputs(capability, 1, collect);
}

/* The bytes that undo what ncurses switched on: letters of another set, attributes, colours, what
 * it holds for a moment in the last cell (no wrap, insertion), hidden cursor, keypad keys, the
 * second screen. */
void restore_prepare(void)
{
    restore.length = 0;
    collect_capability(exit_alt_charset_mode);
    collect_capability(exit_attribute_mode);
    collect_capability(orig_pair);
    if (auto_right_margin && exit_am_mode != NULL)
        collect_capability(enter_am_mode);
    collect_capability(exit_insert_mode);
    collect_capability(cursor_normal);
    collect_capability(keypad_local);
    collect_capability(exit_ca_mode);
    if (restore.length >= sizeof restore.bytes)
        restore.length = 0; /* cut short it could do harm */
}

static void open_ends(void)
{
    char name[NAME_BYTES];

    restore.terminal_fd = -1;
    if (ttyname_r(STDOUT_FILENO, name, sizeof name) == 0)
        restore.terminal_fd = open(name, O_WRONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    restore.nowhere_fd = open("/dev/null", O_WRONLY | O_CLOEXEC);
}

static void close_ends(void)
{
    if (restore.terminal_fd >= 0)
        close(restore.terminal_fd);
    if (restore.nowhere_fd >= 0)
        close(restore.nowhere_fd);
    restore.terminal_fd = restore.nowhere_fd = -1;
}

/* ---- carried out ---- */

/* Whether the bytes went out. Without a descriptor of our own that never waits we look before, as
 * the screen does. */
static bool put_bytes(void)
{
    struct pollfd room = { .fd = STDOUT_FILENO, .events = POLLOUT };
    int fd = restore.terminal_fd;

    if (fd < 0) {
        if (poll(&room, 1, 0) != 1 || (room.revents & POLLOUT) == 0)
            return false;
        fd = STDOUT_FILENO;
    }
    return write(fd, restore.bytes, restore.length) == (ssize_t)restore.length;
}

void restore_modes(void)
{
    if (restore.have_modes)
        tcsetattr(STDIN_FILENO, TCSANOW, &restore.modes);
}

/* A shell that has the terminal for itself, while we were stopped or sent behind, has made it as it
 * wants it. */
static bool is_anothers(void)
{
    pid_t front = tcgetpgrp(STDIN_FILENO);

    return front > 0 && front != getpgrp();
}

void restore_now(void)
{
    int was = ARMED;

    if (!atomic_compare_exchange_strong(&restore.state, &was, RESTORING)) {
        /* Two threads may fail at once: the second must not end the program under the first. */
        for (int i = 0; was == RESTORING && i < OTHER_WAIT_MS; i++) {
            poll(NULL, 0, 1);
            was = atomic_load(&restore.state);
        }
        return;
    }
    if (!is_anothers()) {
        /* The terminal's own thread may be in the middle of a frame; the rest of it is lost. */
        if (restore.terminal_fd >= 0 && restore.nowhere_fd >= 0)
            dup2(restore.nowhere_fd, STDOUT_FILENO);
        if (atomic_load(&restore.screen) && !put_bytes()) {
            /* What nobody has read makes room for the end. */
            tcflush(STDIN_FILENO, TCOFLUSH);
            put_bytes();
        }
        restore_modes();
    }
    atomic_store(&restore.state, DISARMED);
}

static void on_end(int number, siginfo_t *info, void *context)
{
    int saved = errno;
    bool fault = false;

    (void)context;
    restore_now();
    for (int i = 0; i < ENDS; i++)
        if (ends[i] == number) {
            sigaction(number, &restore.before[i], NULL);
            fault = i < FAULTS;
        }
    errno = saved;
    /* A fault of the machine comes again by itself when the instruction is run again, with its own
     * context for whoever looks at it (a core, a sanitizer); one that was sent must be sent anew.
     */
    if (!fault || info == NULL || info->si_code <= 0)
        raise(number);
}

/* ---- from start to end ---- */

static void take_signals(void)
{
    struct sigaction action = { .sa_sigaction = on_end,
                                .sa_flags = SA_SIGINFO | SA_ONSTACK | SA_NODEFER };

    sigemptyset(&action.sa_mask);
    for (int i = 0; i < ENDS; i++) {
        sigaction(ends[i], NULL, &restore.before[i]);
        /* Of the others one that is ignored, or taken by somebody else, does not end us. */
        restore.taken[i] = i < FAULTS || ((restore.before[i].sa_flags & SA_SIGINFO) == 0 &&
                                          restore.before[i].sa_handler == SIG_DFL);
        if (restore.taken[i])
            sigaction(ends[i], &action, NULL);
    }
}

void restore_take(void)
{
    static bool at_exit;
    stack_t stack = { .ss_size = STACK_BYTES };

    restore.have_modes = tcgetattr(STDIN_FILENO, &restore.modes) == 0;
    restore.stack = malloc(STACK_BYTES);
    stack.ss_sp = restore.stack;
    /* Without memory for it the handler runs on the thread's own stack: only an overflow of that
     * one would then leave the terminal as it is. */
    if (restore.stack == NULL || sigaltstack(&stack, &restore.stack_before) != 0) {
        free(restore.stack);
        restore.stack = NULL;
    }
    open_ends();
    atomic_store(&restore.screen, false);
    take_signals();
    atomic_store(&restore.state, ARMED);
    /* A library may end the program by itself. */
    if (!at_exit)
        at_exit = atexit(restore_now) == 0;
}

void restore_screen(void)
{
    atomic_store(&restore.screen, true);
}

void restore_disarm(void)
{
    atomic_store(&restore.state, DISARMED);
}

void restore_let_go(void)
{
    restore_disarm();
    for (int i = 0; i < ENDS; i++)
        if (restore.taken[i])
            sigaction(ends[i], &restore.before[i], NULL);
    if (restore.stack != NULL) {
        sigaltstack(&restore.stack_before, NULL);
        free(restore.stack);
        restore.stack = NULL;
    }
    close_ends();
}
