/* Waiting for a moment or a wake-up, whichever is first: one absolute timerfd on CLOCK_BOOTTIME and
 * one eventfd, polled together (a BSD or macOS port would use pselect here). Signals come through
 * a signalfd, set up by whoever owns them, as one more descriptor. */
#ifndef WETSIDE_PORT_WAIT_H
#define WETSIDE_PORT_WAIT_H

#include <poll.h>

#include "wetside/port/clock.h"
#include "wetside/calc/status.h"

struct ws_wait {
    const struct ws_clock *clock;
    int timer_fd, wake_fd, extra_fd; /* extra: one more to watch, -1 none */
};

enum { WS_WAIT_MORE = 12 }; /* most descriptors besides its own */

enum { WS_WOKE_TIMER = 1, WS_WOKE_CALL = 2, WS_WOKE_EXTRA = 4 };

enum ws_status ws_wait_open(struct ws_wait *wait, const struct ws_clock *clock,
                            struct ws_message *why);
void ws_wait_close(struct ws_wait *wait);
/* Returns WS_WOKE_ bits; returns at once if boot_ns has passed. INT64_MAX: no moment. */
int ws_wait_until(struct ws_wait *wait, int64_t boot_ns);
/* The same, or until one of `more` (at most WS_WAIT_MORE) is ready: WS_WOKE_EXTRA, and its revents
 * say which. */
int ws_wait_until_or(struct ws_wait *wait, int64_t boot_ns, struct pollfd *more, int count);
/* From any thread; never blocks. */
void ws_wait_wake(struct ws_wait *wait);

#endif
