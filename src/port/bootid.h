/* Which boot of the machine this is: so that a boot clock read before a power cut is never compared
 * with one read after it. Apart from the clock, because this reads a file and the clock must not.
 */
#ifndef WETSIDE_PORT_BOOTID_H
#define WETSIDE_PORT_BOOTID_H

#include <stdbool.h>
#include <stdint.h>

#include "wetside/calc/plan.h"

/* Reads the 32 hexadecimal digits (dashes ignored) of a boot id file. False: none there. */
bool ws_boot_id_read(const char *path, struct ws_id *out);

/* An id made from the moment the machine booted (wall less boot clock): the same all through a boot
 * while the wall clock is left alone. If it is set by minutes the id changes, and a run of this
 * boot is then taken up by the wall clock: estimated, not wrong. */
void ws_boot_id_of_moment(int64_t boot_ns, int64_t wall_ns, struct ws_id *out);

/* The machine's: from the kernel, else from the boot moment. */
void ws_boot_id(struct ws_id *out);

/* One that no other clock has, for a clock that is not the machine's. */
void ws_boot_id_own(struct ws_id *out);

#endif
