/* The listening plug-in as the tests use it: a configuration of ALSA in a folder of its own, with
 * the devices "listen" and "swallow" (which takes all and plays nothing), and what was heard, laid
 * out along the clock. */
#ifndef WETSIDE_TESTS_AID_LISTEN_H
#define WETSIDE_TESTS_AID_LISTEN_H

#include <stdbool.h>
#include <stdint.h>

#include "listen/listen.h"

struct listen_place {
    char folder[64], file[96], config[96], when[96];
};

/* Points ALSA and the plug-in to a new folder; false: the plug-in was not built. */
bool listen_begin(struct listen_place *place);
/* Forgets what was heard so far. */
void listen_clear(const struct listen_place *place);
void listen_end(struct listen_place *place);
/* How the device that is opened next is to fail (null: not), as soon as it is let to. */
void listen_fail(const struct listen_place *place, const char *how, int hang_fd);
void listen_let_fail(const struct listen_place *place);

/* What was heard since from_ns, a frame for each moment of the clock: silence where the device
 * stood. */
struct listened {
    int64_t from_ns; /* CLOCK_MONOTONIC of the first record */
    int16_t *frame;
    int frames;
    int count[LISTEN_CLOSED + 1]; /* records by kind */
    struct {
        int from, frames; /* in frame[]: while the device ran */
    } run[256];
    int runs;
    int ahead; /* frames written before the device was last started */
};

/* Reads all that was written so far. To be freed. */
void listen_read(const struct listen_place *place, struct listened *out);
void listened_free(struct listened *heard);

int64_t listen_now_ns(void);

#endif
