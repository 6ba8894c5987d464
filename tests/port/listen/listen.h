/* What the listening plug-in writes down: records one after another, in the machine's byte order.
 *
 * The plug-in is told by the environment, read when a device of type "listen" is opened:
 *   LISTEN_FILE             where to write; appended to
 *   LISTEN_CHANNELS         how many it has, 1 unless said; only one is written down
 *   LISTEN_FAIL             hang-prepare, hang-write: that call blocks until LISTEN_HANG_FD can be
 *                           read; gone: everything is refused with ENODEV; still: time stands still
 *   LISTEN_AFTER_MS         it fails so long after it was opened,
 *   LISTEN_AFTER_WRITES     and after so many writes; both 0 unless said
 *   LISTEN_WHEN             and as long as there is such a file; else always
 *   LISTEN_HANG_FD          a descriptor */
#ifndef WETSIDE_TESTS_LISTEN_H
#define WETSIDE_TESTS_LISTEN_H

#include <stdint.h>

enum listen_what {
    LISTEN_OPENED,
    LISTEN_PREPARED,
    LISTEN_STARTED,
    LISTEN_WROTE,   /* place: of the first frame since the stream was prepared; samples follow */
    LISTEN_STOPPED, /* place: how many frames were heard since it was prepared */
    LISTEN_RAN_DRY, /* likewise: all that were written */
    LISTEN_HANGS,
    LISTEN_CLOSED
};

struct listen_record {
    int32_t what, frames;
    int64_t at_ns; /* CLOCK_MONOTONIC */
    int64_t place;
};

#endif
