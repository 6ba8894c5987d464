/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The child that holds an inhibitor: logind's own program, which takes it and runs a command for as
 * long as it is to be held. The command is a shell that reads a pipe from here to its end. */
#include "awake_child.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <string.h>
#include <fcntl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { END_WAIT_MS = 1000, REAP_POLL_MS = 10 };

/* The environment, as unistd.h has it. */
extern char **environ;

/* In a session of its own it has no terminal to ask for a password on, and no signal from one
 * reaches it; its whole group can be ended by the one number. Signals are as a program expects
 * them, not blocked as they are here. */
static int set_attributes(posix_spawnattr_t *attributes)
{
    sigset_t none, all;
    int failed;

    sigemptyset(&none);
    sigfillset(&all);
    failed = posix_spawnattr_setsigmask(attributes, &none);
    if (failed == 0)
        failed = posix_spawnattr_setsigdefault(attributes, &all);
    if (failed == 0)
        failed = posix_spawnattr_setflags(attributes, POSIX_SPAWN_SETSID | POSIX_SPAWN_SETSIGMASK |
                                                          POSIX_SPAWN_SETSIGDEF);
    return failed;
}

static int spawn(pid_t *pid, const char *program, const char *what, int in_fd, int out_fd)
{
    static const char command[] = "echo " AWAKE_CHILD_HOLDS "; read -r nothing; exit 0";
    char program_is[128], what_is[96];
    char who[] = "--who=wetside", mode[] = "--mode=block",
         why[] = "--why=a film is being developed";
    char shell[] = "sh", option[] = "-c", does[sizeof command];
    char *argument[] = { program_is, what_is, who, why, mode, shell, option, does, NULL };
    posix_spawn_file_actions_t actions;
    posix_spawnattr_t attributes;
    int failed;

    snprintf(program_is, sizeof program_is, "%s", program);
    snprintf(what_is, sizeof what_is, "--what=%s", what);
    memcpy(does, command, sizeof command);
    failed = posix_spawn_file_actions_init(&actions);
    if (failed != 0)
        return failed;
    failed = posix_spawnattr_init(&attributes);
    if (failed != 0)
        goto out;
    failed = set_attributes(&attributes);
    if (failed == 0)
        failed = posix_spawn_file_actions_adddup2(&actions, in_fd, STDIN_FILENO);
    if (failed == 0)
        failed = posix_spawn_file_actions_adddup2(&actions, out_fd, STDOUT_FILENO);
    if (failed == 0)
        failed = posix_spawn_file_actions_adddup2(&actions, out_fd, STDERR_FILENO);
    if (failed == 0)
        failed = posix_spawnp(pid, program, &actions, &attributes, argument, environ);
    posix_spawnattr_destroy(&attributes);
out:
    posix_spawn_file_actions_destroy(&actions);
    return failed;
}

enum ws_status awake_child_is_none(const char *program, struct ws_message *why)
{
    return ws_fail(why, WS_NOT_FOUND, "there is no %s that works", program);
}

enum ws_status awake_child_start(struct awake_child *child, const char *program, const char *what,
                                 struct ws_message *why)
{
    int in[2], out[2], failed;

    /* Closed on exec, so that no other child holds the inhibitor on. */
    if (pipe2(in, O_CLOEXEC) != 0)
        return ws_fail(why, WS_IO, "%s: %s", program, strerror(errno));
    if (pipe2(out, O_CLOEXEC) != 0) {
        failed = errno;
        close(in[0]);
        close(in[1]);
        return ws_fail(why, WS_IO, "%s: %s", program, strerror(failed));
    }
    failed = spawn(&child->pid, program, what, in[0], out[1]);
    close(in[0]);
    close(out[1]);
    child->hold_fd = in[1];
    child->out_fd = out[0];
    if (failed == 0)
        return WS_OK;
    close(in[1]);
    close(out[0]);
    if (failed == ENOENT || failed == EACCES)
        return awake_child_is_none(program, why);
    return ws_fail(why, WS_IO, "%s: %s", program, strerror(failed));
}

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* Reads what it still says, to its end. */
static void hear_out(int fd, int64_t until_ms)
{
    char nothing[256];

    for (;;) {
        struct pollfd heard = { .fd = fd, .events = POLLIN };
        int64_t left_ms = until_ms - now_ms();

        if (left_ms <= 0 || poll(&heard, 1, (int)left_ms) == 0)
            return;
        if (heard.revents != 0 && read(fd, nothing, sizeof nothing) <= 0)
            return;
    }
}

void awake_child_end(struct awake_child *child)
{
    int64_t until_ms = now_ms() + END_WAIT_MS;
    pid_t ended = 0;

    close(child->hold_fd);
    hear_out(child->out_fd, until_ms);
    close(child->out_fd);
    while (ended == 0 && now_ms() < until_ms) {
        ended = waitpid(child->pid, NULL, WNOHANG);
        if (ended == 0)
            poll(NULL, 0, REAP_POLL_MS);
    }
    if (ended != 0)
        return;
    /* It leads its group; until it is waited for, nobody else can have the number. */
    kill(-child->pid, SIGKILL);
    while (waitpid(child->pid, NULL, 0) < 0 && errno == EINTR)
        continue;
}
