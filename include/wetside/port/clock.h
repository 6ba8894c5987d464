/* The clock, injected: real, scaled (a rehearsal at speed) or stepped (tests).
 *
 * Boot time is CLOCK_BOOTTIME in nanoseconds: it goes on through sleep and is never set. All
 * deadlines of the program are boot moments of the clock in use. */
#ifndef WETSIDE_PORT_CLOCK_H
#define WETSIDE_PORT_CLOCK_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/session/timebase.h"

enum ws_clock_kind { WS_CLOCK_REAL, WS_CLOCK_SCALED, WS_CLOCK_STEPPED };

/* Read by several threads; a stepped one is advanced by one (atomically). */
struct ws_clock {
    enum ws_clock_kind kind;
    double rate;            /* scaled: this many seconds pass in one */
    int64_t real_origin_ns; /* scaled: CLOCK_BOOTTIME at which it stood at origin_ns */
    int64_t origin_ns;      /* scaled, stepped: boot time at the start */
    int64_t wall_origin_ns; /* wall time at origin_ns (scaled, stepped) */
    struct ws_id boot;
    _Atomic int64_t stepped_ns; /* stepped: boot time now */
};

/* Reads the boot id of the machine (/proc/sys/kernel/random/boot_id; where there is none, one made
 * from the boot moment, so that it is stable for a boot). */
void ws_clock_real(struct ws_clock *clock);
void ws_clock_scaled(struct ws_clock *clock, double rate);
/* Starts at boot_ns, wall_ns with a boot id of its own; stands still until stepped. */
void ws_clock_stepped(struct ws_clock *clock, int64_t boot_ns, int64_t wall_ns);
void ws_clock_step_to(struct ws_clock *clock, int64_t boot_ns); /* never back */

void ws_clock_stamp(const struct ws_clock *clock, struct ws_stamp *out);
int64_t ws_clock_boot_ns(const struct ws_clock *clock);

/* The moment of CLOCK_BOOTTIME at which this clock shows boot_ns (rounded up, never early);
 * INT64_MAX for a stepped clock, which no waiting moves. */
int64_t ws_clock_real_ns(const struct ws_clock *clock, int64_t boot_ns);

/* How far this clock goes in so much real time: what a sound lasts by it. A stepped clock goes as
 * the real one does, as far as this can be said of it. */
int64_t ws_clock_span_ns(const struct ws_clock *clock, int64_t real_ns);

#endif
