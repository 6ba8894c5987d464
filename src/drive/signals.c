/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ordinary signals as something to read: blocked, and taken one by one by the drive. */
#include "inside.h"

#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

enum ws_status ws_signals_open(int *fd, sigset_t *old, struct ws_message *why)
{
    static const int ordinary[] = { SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGWINCH, SIGCONT, SIGTSTP };
    sigset_t set;

    sigemptyset(&set);
    for (size_t i = 0; i < sizeof ordinary / sizeof ordinary[0]; i++)
        sigaddset(&set, ordinary[i]);
    pthread_sigmask(SIG_BLOCK, &set, old);
    *fd = signalfd(-1, &set, SFD_NONBLOCK | SFD_CLOEXEC);
    if (*fd < 0) {
        int reason = errno;

        pthread_sigmask(SIG_SETMASK, old, NULL);
        return ws_fail(why, WS_IO, "signals can't be read: %s", strerror(reason));
    }
    return WS_OK;
}

int ws_signals_next(int fd)
{
    struct signalfd_siginfo info;
    ssize_t length;

    do
        length = read(fd, &info, sizeof info);
    while (length < 0 && errno == EINTR);
    return length == (ssize_t)sizeof info ? (int)info.ssi_signo : 0;
}
