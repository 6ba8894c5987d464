/* Boot clock and wall clock to run time: milliseconds since the run began, never backwards, on
 * through sleep and power cuts. Pure. */
#ifndef WETSIDE_SESSION_TIMEBASE_H
#define WETSIDE_SESSION_TIMEBASE_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/plan.h"

/* A moment as the machine knows it. `boot` changes with every start of the machine. */
struct ws_stamp {
    struct ws_id boot;
    int64_t boot_ns; /* CLOCK_BOOTTIME: goes on through sleep */
    int64_t wall_ns; /* CLOCK_REALTIME since 1970 */
};

/* A moment of a run whose stamp is known: usually its last journaled event. */
struct ws_anchor {
    struct ws_stamp stamp;
    int64_t at_ms;
};

/* Run time of `stamp`. Same boot: the boot clock. Another boot: minutes_away >= 0 (an answer to
 * "how many minutes away?") after the anchor, else the wall clock; both set *estimated. Never
 * before the anchor. */
int64_t ws_timebase_run_ms(const struct ws_anchor *anchor, const struct ws_stamp *stamp,
                           double minutes_away, bool *estimated);

/* The boot-clock moment of run time `at_ms`, for setting timers; only for the anchor's own boot. */
int64_t ws_timebase_boot_ns(const struct ws_anchor *anchor, int64_t at_ms);

/* False when the wall clock can't be trusted over another boot: it went back, or by more than
 * twelve hours forward. Then the minutes are to be asked. */
bool ws_timebase_wall_plausible(const struct ws_anchor *anchor, const struct ws_stamp *stamp);

#endif
