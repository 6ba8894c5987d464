/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A program in a terminal of its own. */
#include "pty.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>
#include <utmp.h>

static _Noreturn void give_up(const char *what)
{
    perror(what);
    exit(1);
}

int64_t pty_now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static void make_odd(struct termios *modes)
{
    modes->c_iflag |= IXANY | INLCR;
    modes->c_lflag &= ~(tcflag_t)(ECHOK | ECHOCTL);
    modes->c_cc[VERASE] = '\b';
    modes->c_cc[VKILL] = 'X' & 0x1F;
    modes->c_cc[VSUSP] = _POSIX_VDISABLE;
}

bool pty_fork(struct pty *pty, int lines, int columns)
{
    struct winsize size = { .ws_row = (unsigned short)lines, .ws_col = (unsigned short)columns };

    memset(pty, 0, sizeof *pty);
    modes_begin(&pty->modes, lines);
    if (openpty(&pty->master, &pty->slave, NULL, NULL, &size) != 0)
        give_up("openpty");
    if (tcgetattr(pty->slave, &pty->before) != 0)
        give_up("tcgetattr");
    make_odd(&pty->before);
    if (tcsetattr(pty->slave, TCSANOW, &pty->before) != 0 ||
        tcgetattr(pty->slave, &pty->before) != 0)
        give_up("tcsetattr");
    fcntl(pty->master, F_SETFL, O_NONBLOCK);
    fcntl(pty->master, F_SETFD, FD_CLOEXEC);
    fflush(NULL);
    pty->child = fork();
    if (pty->child < 0)
        give_up("fork");
    if (pty->child > 0)
        return false;
    close(pty->master);
    login_tty(dup(pty->slave));
    close(pty->slave);
    return true;
}

void pty_start(struct pty *pty, int lines, int columns, const char *const *word,
               const char *const *setting)
{
    const char *program = getenv("WETSIDE");
    const char *sanitizer = getenv("ASAN_OPTIONS");
    char sanitizer_is[512];
    char *argument[16] = { NULL }, *environment[24] = { NULL };
    int n = 0;

    if (program == NULL) {
        fprintf(stderr, "WETSIDE must name the program\n");
        exit(1);
    }
    if (!pty_fork(pty, lines, columns))
        return;
    snprintf(sanitizer_is, sizeof sanitizer_is, "ASAN_OPTIONS=%s",
             sanitizer != NULL ? sanitizer : "");
    environment[n++] = sanitizer_is;
    for (int i = 0; setting[i] != NULL && n < 23; i++)
        environment[n++] = strdup(setting[i]);
    argument[0] = strdup(program);
    for (int i = 0; word[i] != NULL && i < 14; i++)
        argument[i + 1] = strdup(word[i]);
    execve(program, argument, environment);
    perror(program);
    _exit(127);
}

bool pty_read(struct pty *pty, int wait_ms)
{
    struct pollfd fd = { .fd = pty->master, .events = POLLIN };
    size_t before = pty->length;

    if (poll(&fd, 1, wait_ms) != 1)
        return false;
    for (;;) {
        ssize_t got;

        if (pty->length + 65536 > pty->room) {
            pty->room = 2 * pty->room + 131072;
            pty->seen = realloc(pty->seen, pty->room);
            if (pty->seen == NULL)
                give_up("realloc");
        }
        got = read(pty->master, pty->seen + pty->length, pty->room - pty->length - 1);
        if (got <= 0)
            break;
        modes_take(&pty->modes, pty->seen + pty->length, (size_t)got);
        pty->length += (size_t)got;
        pty->seen[pty->length] = '\0';
    }
    return pty->length > before;
}

static void look_for_end(struct pty *pty)
{
    if (!pty->ended && waitpid(pty->child, &pty->status, WNOHANG) == pty->child)
        pty->ended = true;
}

bool pty_until(struct pty *pty, size_t from, const char *text)
{
    int64_t until_ms = pty_now_ms() + PTY_PATIENCE_MS;

    for (;;) {
        if (from < pty->length &&
            memmem(pty->seen + from, pty->length - from, text, strlen(text)) != NULL)
            return true;
        if (!pty_read(pty, 50)) {
            if (pty->ended || pty_now_ms() > until_ms)
                return false;
            look_for_end(pty);
        }
    }
}

bool pty_type(struct pty *pty, const char *bytes, size_t length)
{
    int64_t until_ms = pty_now_ms() + PTY_PATIENCE_MS;

    while (length > 0) {
        struct pollfd fd = { .fd = pty->master, .events = POLLIN | POLLOUT };
        ssize_t put = write(pty->master, bytes, length);

        if (put > 0) {
            bytes += put;
            length -= (size_t)put;
            continue;
        }
        if (put < 0 && errno != EAGAIN)
            return false;
        poll(&fd, 1, 20);
        pty_read(pty, 0);
        look_for_end(pty);
        if (pty->ended || pty_now_ms() > until_ms)
            return false;
    }
    return true;
}

void pty_resize(struct pty *pty, int lines, int columns)
{
    struct winsize size = { .ws_row = (unsigned short)lines, .ws_col = (unsigned short)columns };

    modes_resized(&pty->modes, lines);
    ioctl(pty->slave, TIOCSWINSZ, &size);
}

bool pty_await_end(struct pty *pty, int64_t within_ms)
{
    int64_t until_ms = pty_now_ms() + within_ms;

    while (!pty->ended && pty_now_ms() <= until_ms) {
        pty_read(pty, 10);
        look_for_end(pty);
    }
    while (pty_read(pty, 0))
        continue;
    return pty->ended;
}

const char *pty_changed(const struct pty *pty)
{
    const struct termios *was = &pty->before;
    struct termios is;

    if (tcgetattr(pty->slave, &is) != 0)
        return "its modes can't be read";
    if (is.c_iflag != was->c_iflag || is.c_oflag != was->c_oflag || is.c_cflag != was->c_cflag ||
        is.c_lflag != was->c_lflag)
        return "its modes are others";
    if (memcmp(is.c_cc, was->c_cc, sizeof is.c_cc) != 0)
        return "its special characters are others";
    if (cfgetispeed(&is) != cfgetispeed(was) || cfgetospeed(&is) != cfgetospeed(was))
        return "its speed is another";
    return modes_changed(&pty->modes);
}

void pty_close(struct pty *pty)
{
    if (!pty->ended) {
        kill(pty->child, SIGKILL);
        waitpid(pty->child, &pty->status, 0);
    }
    close(pty->master);
    close(pty->slave);
    free(pty->seen);
    pty->seen = NULL;
}
