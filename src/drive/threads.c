/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting threads. */
#include "threads.h"

#include <signal.h>

bool ws_thread_start(pthread_t *thread, void *(*run)(void *self), void *self)
{
    sigset_t all, old;
    bool started;

    sigfillset(&all);
    /* Faults of the thread's own must still reach its handler, and end the program. */
    sigdelset(&all, SIGSEGV);
    sigdelset(&all, SIGBUS);
    sigdelset(&all, SIGFPE);
    sigdelset(&all, SIGILL);
    sigdelset(&all, SIGABRT);
    pthread_sigmask(SIG_SETMASK, &all, &old);
    started = pthread_create(thread, NULL, run, self) == 0;
    pthread_sigmask(SIG_SETMASK, &old, NULL);
    return started;
}

void ws_thread_name(const char *name)
{
    pthread_setname_np(pthread_self(), name);
}
