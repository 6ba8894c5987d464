/* A run driven without a screen, in a process that is going to be killed: it opens the book, takes
 * up the run that is open there or begins one, and presses at random moments, telling all of it. */
#ifndef WETSIDE_TESTS_FAULT_KILL_CHILD_H
#define WETSIDE_TESTS_FAULT_KILL_CHILD_H

#include <sys/types.h>

#include "wetside/drive/drive.h"

/* What it is in a hurry to do, so that it can be killed in the middle of it. */
enum kill_goal {
    KILL_PRESSING,
    KILL_TAKING,
    KILL_CLOSING,
    KILL_BEGINNING, /* one run is closed for another */
    KILL_LAST       /* closes the run and ends by itself */
};

struct kill_order {
    struct ws_clock clock; /* scaled; its rate, origin and boot are those of the process before */
    const char *path;
    uint64_t seed;
    enum kill_goal goal;
};

/* xorshift64: 0 to below - 1. */
int kill_random(uint64_t *seed, int below);
/* Forks; *fd is where it tells, as `who`. */
pid_t kill_child(const struct kill_order *order, int who, int *fd);

/* A scaled clock that begins now, at a boot of its own; and another boot of the same machine, at
 * the same moment by the wall. */
void kill_clock(struct ws_clock *clock, double rate);
void kill_clock_reboot(struct ws_clock *clock);

/* One frame's view of a tank, told. */
void kill_tell_seen(const struct ws_frame *frame, int tank, bool first);
/* A press, a reading or the like, at the clock's moment. */
void kill_press(struct ws_drive *drive, const struct ws_clock *clock, uint64_t *seed, int tank,
                int kinds);

#endif
