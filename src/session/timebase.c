/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boot clock and wall clock to run time. See timebase.h. */
#include "wetside/session/timebase.h"

#include <math.h>

enum { NS_IN_MS = 1000000 };

/* Rounds toward the past, also before zero, so that a moment is never foretold. */
static int64_t floor_ms(int64_t ns)
{
    int64_t ms = ns / NS_IN_MS;

    return ns % NS_IN_MS < 0 ? ms - 1 : ms;
}

int64_t ws_timebase_run_ms(const struct ws_anchor *anchor, const struct ws_stamp *stamp,
                           double minutes_away, bool *estimated)
{
    const double longest_away_ms = 1e12; /* thirty years: what is longer can't be reckoned with */
    int64_t since_ms;

    *estimated = false;
    if (ws_id_equal(&anchor->stamp.boot, &stamp->boot)) {
        since_ms = floor_ms(stamp->boot_ns - anchor->stamp.boot_ns);
    } else {
        *estimated = true;
        if (minutes_away >= 0)
            since_ms = (int64_t)fmin(minutes_away * 60000, longest_away_ms);
        else
            since_ms = floor_ms(stamp->wall_ns - anchor->stamp.wall_ns);
    }
    return anchor->at_ms + (since_ms > 0 ? since_ms : 0);
}

int64_t ws_timebase_boot_ns(const struct ws_anchor *anchor, int64_t at_ms)
{
    int64_t since_ms = at_ms - anchor->at_ms;

    /* WS_NEVER, and what is as good as it. */
    if (since_ms > (INT64_MAX - anchor->stamp.boot_ns) / NS_IN_MS)
        return INT64_MAX;
    return anchor->stamp.boot_ns + since_ms * NS_IN_MS;
}

bool ws_timebase_wall_plausible(const struct ws_anchor *anchor, const struct ws_stamp *stamp)
{
    const int64_t half_day_ns = INT64_C(12) * 60 * 60 * 1000 * NS_IN_MS;
    int64_t away_ns = stamp->wall_ns - anchor->stamp.wall_ns;

    return away_ns >= 0 && away_ns <= half_day_ns;
}
