/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Waiting for a moment or a wake-up: one absolute timerfd, one eventfd and one more, polled. */
#include "wetside/port/wait.h"

#include <errno.h>
#include <poll.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

enum ws_status ws_wait_open(struct ws_wait *wait, const struct ws_clock *clock,
                            struct ws_message *why)
{
    wait->clock = clock;
    wait->extra_fd = -1;
    wait->wake_fd = -1;
    wait->timer_fd = timerfd_create(CLOCK_BOOTTIME, TFD_NONBLOCK | TFD_CLOEXEC);
    if (wait->timer_fd >= 0)
        wait->wake_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
    if (wait->wake_fd < 0) {
        int reason = errno;

        ws_wait_close(wait);
        return ws_fail(why, WS_IO, "no timer from the system: %s", strerror(reason));
    }
    return WS_OK;
}

void ws_wait_close(struct ws_wait *wait)
{
    if (wait->timer_fd >= 0)
        close(wait->timer_fd);
    if (wait->wake_fd >= 0)
        close(wait->wake_fd);
    wait->timer_fd = -1;
    wait->wake_fd = -1;
}

/* Sets the timer to a moment of the machine's boot clock; INT64_MAX stops it. */
static void arm(const struct ws_wait *wait, int64_t real_ns)
{
    struct itimerspec at;

    memset(&at, 0, sizeof at);
    if (real_ns != INT64_MAX) {
        /* All zero would stop the timer; nothing waits for the first nanosecond of a boot. */
        if (real_ns < 1)
            real_ns = 1;
        at.it_value.tv_sec = (time_t)(real_ns / 1000000000);
        at.it_value.tv_nsec = (long)(real_ns % 1000000000);
    }
    timerfd_settime(wait->timer_fd, TFD_TIMER_ABSTIME, &at, NULL);
}

static void drain(int fd)
{
    uint64_t count;

    /* Both descriptors are non-blocking: nothing there is no wait. */
    while (read(fd, &count, sizeof count) < 0 && errno == EINTR)
        continue;
}

/* Polls once, for `timeout` as poll has it. Returns WS_WOKE_ bits. */
static int look(struct ws_wait *wait, struct pollfd *more, int count, int timeout)
{
    struct pollfd fd[3 + WS_WAIT_MORE] = { { wait->timer_fd, POLLIN, 0 },
                                           { wait->wake_fd, POLLIN, 0 },
                                           { wait->extra_fd, POLLIN, 0 } };
    int woke = 0;

    for (int i = 0; i < count; i++) {
        fd[3 + i] = more[i];
        more[i].revents = 0;
    }
    if (poll(fd, 3 + (nfds_t)count, timeout) <= 0)
        return 0;
    if (fd[0].revents & POLLIN) {
        drain(wait->timer_fd);
        woke |= WS_WOKE_TIMER;
    }
    if (fd[1].revents & POLLIN) {
        drain(wait->wake_fd);
        woke |= WS_WOKE_CALL;
    }
    if (fd[2].revents & POLLIN)
        woke |= WS_WOKE_EXTRA;
    else if (fd[2].revents != 0)
        wait->extra_fd = -1; /* dead: poll would return at once for ever */
    for (int i = 0; i < count; i++) {
        more[i].revents = fd[3 + i].revents;
        if (more[i].revents != 0)
            woke |= WS_WOKE_EXTRA;
    }
    return woke;
}

int ws_wait_until_or(struct ws_wait *wait, int64_t boot_ns, struct pollfd *more, int count)
{
    bool passed = ws_clock_boot_ns(wait->clock) >= boot_ns;
    int woke;

    if (count > WS_WAIT_MORE)
        count = WS_WAIT_MORE;
    if (passed)
        return look(wait, more, count, 0) | WS_WOKE_TIMER;
    arm(wait, ws_clock_real_ns(wait->clock, boot_ns));
    do {
        woke = look(wait, more, count, -1);
        /* The kernel's timer never fires early, but an expiry left over from before may be read
         * here: only the clock says that the moment has come. */
        if ((woke & WS_WOKE_TIMER) && ws_clock_boot_ns(wait->clock) < boot_ns)
            woke &= ~WS_WOKE_TIMER;
    } while (woke == 0);
    return woke;
}

int ws_wait_until(struct ws_wait *wait, int64_t boot_ns)
{
    return ws_wait_until_or(wait, boot_ns, NULL, 0);
}

void ws_wait_wake(struct ws_wait *wait)
{
    uint64_t one = 1;

    /* EAGAIN means that the count is at its end: then it is awake already. */
    while (write(wait->wake_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
}
