/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting threads. */
#include "threads.h"

#include <signal.h>
#include <stdlib.h>

/* What a thread that has used up its own stack still has for the handler that gives the terminal
 * back. */
enum { FAULT_STACK = 32 * 1024 };
static _Thread_local char fault_stack[FAULT_STACK];

struct beginning {
    void *(*run)(void *self);
    void *self;
};

static void *begin(void *arg)
{
    struct beginning what = *(struct beginning *)arg;
    stack_t stack = { .ss_sp = fault_stack, .ss_size = sizeof fault_stack }, there;

    free(arg);
    /* A sanitizer has set one already, and takes away what it finds at the thread's end. */
    if (sigaltstack(NULL, &there) == 0 && (there.ss_flags & SS_DISABLE) != 0)
        sigaltstack(&stack, NULL);
    return what.run(what.self);
}

bool ws_thread_start(pthread_t *thread, void *(*run)(void *self), void *self)
{
    /* Faults of the thread's own must still reach their handler, and end the program. */
    static const int faults[] = { SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGTRAP, SIGSYS };
    struct beginning *what = malloc(sizeof *what);
    sigset_t all, old;
    bool started;

    if (what == NULL)
        return false;
    *what = (struct beginning){ .run = run, .self = self };
    sigfillset(&all);
    for (size_t i = 0; i < sizeof faults / sizeof faults[0]; i++)
        sigdelset(&all, faults[i]);
    pthread_sigmask(SIG_SETMASK, &all, &old);
    started = pthread_create(thread, NULL, begin, what) == 0;
    pthread_sigmask(SIG_SETMASK, &old, NULL);
    if (!started)
        free(what);
    return started;
}

void ws_thread_name(const char *name)
{
    pthread_setname_np(pthread_self(), name);
}
