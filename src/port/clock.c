/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The clock: real, scaled or stepped. */
#include "wetside/port/clock.h"

#include <math.h>
#include <stdatomic.h>
#include <string.h>
#include <time.h>

#include "bootid.h"

static int64_t machine_ns(clockid_t which)
{
    struct timespec t = { 0, 0 };

    clock_gettime(which, &t);
    return (int64_t)t.tv_sec * 1000000000 + t.tv_nsec;
}

void ws_clock_real(struct ws_clock *clock)
{
    memset(clock, 0, sizeof *clock);
    clock->kind = WS_CLOCK_REAL;
    clock->rate = 1.0;
    ws_boot_id(&clock->boot);
}

void ws_clock_scaled(struct ws_clock *clock, double rate)
{
    memset(clock, 0, sizeof *clock);
    clock->kind = WS_CLOCK_SCALED;
    clock->rate = rate > 0.0 ? rate : 1.0;
    clock->real_origin_ns = machine_ns(CLOCK_BOOTTIME);
    clock->origin_ns = clock->real_origin_ns;
    clock->wall_origin_ns = machine_ns(CLOCK_REALTIME);
    /* Its moments are not the machine's: they must never be taken for them. */
    ws_boot_id_own(&clock->boot);
}

void ws_clock_stepped(struct ws_clock *clock, int64_t boot_ns, int64_t wall_ns)
{
    memset(clock, 0, sizeof *clock);
    clock->kind = WS_CLOCK_STEPPED;
    clock->rate = 0.0;
    clock->origin_ns = boot_ns;
    clock->wall_origin_ns = wall_ns;
    ws_boot_id_own(&clock->boot);
    atomic_init(&clock->stepped_ns, boot_ns);
}

void ws_clock_step_to(struct ws_clock *clock, int64_t boot_ns)
{
    int64_t now = atomic_load(&clock->stepped_ns);

    while (now < boot_ns && !atomic_compare_exchange_weak(&clock->stepped_ns, &now, boot_ns))
        continue;
}

/* What a scaled clock shows when the machine's boot clock shows real_ns. */
static int64_t scaled_at(const struct ws_clock *clock, int64_t real_ns)
{
    double passed = floor((double)(real_ns - clock->real_origin_ns) * clock->rate);

    /* 9.2e18 ns is the end of the count, 292 years on. */
    if (passed >= (double)(INT64_MAX / 2))
        return INT64_MAX / 2;
    return clock->origin_ns + (int64_t)passed;
}

int64_t ws_clock_boot_ns(const struct ws_clock *clock)
{
    switch (clock->kind) {
    case WS_CLOCK_STEPPED:
        return atomic_load(&clock->stepped_ns);
    case WS_CLOCK_SCALED:
        return scaled_at(clock, machine_ns(CLOCK_BOOTTIME));
    case WS_CLOCK_REAL:
        break;
    }
    return machine_ns(CLOCK_BOOTTIME);
}

void ws_clock_stamp(const struct ws_clock *clock, struct ws_stamp *out)
{
    out->boot = clock->boot;
    out->boot_ns = ws_clock_boot_ns(clock);
    if (clock->kind == WS_CLOCK_REAL)
        out->wall_ns = machine_ns(CLOCK_REALTIME);
    else
        out->wall_ns = clock->wall_origin_ns + (out->boot_ns - clock->origin_ns);
}

int64_t ws_clock_real_ns(const struct ws_clock *clock, int64_t boot_ns)
{
    double after;
    int64_t real_ns;

    if (clock->kind == WS_CLOCK_STEPPED || boot_ns == INT64_MAX)
        return INT64_MAX;
    if (clock->kind == WS_CLOCK_REAL)
        return boot_ns;
    after = ceil((double)(boot_ns - clock->origin_ns) / clock->rate);
    if (after >= (double)(INT64_MAX / 2))
        return INT64_MAX;
    real_ns = clock->real_origin_ns + (int64_t)after;
    /* A double carries 53 bits: the quotient can be a nanosecond or two short of the moment. */
    while (scaled_at(clock, real_ns) < boot_ns)
        real_ns++;
    return real_ns;
}

int64_t ws_clock_span_ns(const struct ws_clock *clock, int64_t real_ns)
{
    double span;

    if (clock->kind != WS_CLOCK_SCALED)
        return real_ns;
    span = ceil((double)real_ns * clock->rate);
    return span >= (double)(INT64_MAX / 2) ? INT64_MAX / 2 : (int64_t)span;
}
