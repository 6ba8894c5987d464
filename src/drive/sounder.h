/* The sound's thread itself, for who starts it. */
#ifndef WETSIDE_SRC_DRIVE_SOUNDER_H
#define WETSIDE_SRC_DRIVE_SOUNDER_H

#include "ringer.h"

struct sounder;

/* All that is the thread's own; null: not enough memory. One that was not run is freed plainly. */
struct sounder *ws_sounder_new(struct ws_ringer *ringer);
/* The thread, until the ringer is told to stop; it frees the sounder. */
void *ws_sounder_run(void *sounder);

#endif
