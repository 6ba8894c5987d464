/* A run without a screen: for the demo without a terminal, for scripts and for tests. */
#ifndef WETSIDE_DRIVE_HEADLESS_H
#define WETSIDE_DRIVE_HEADLESS_H

#include "wetside/drive/drive.h"

/* One cue as it was said. Everything is valid during the call only. */
struct ws_headless_line {
    const struct ws_plan *plan;
    const struct ws_session *session; /* about as it was when the cue was said */
    const struct ws_bath *bath;       /* the cue's */
    int tank;
    struct ws_cue cue; /* due_ms is run time */
};

/* Drives the run at `tank` (begun or taken up) to its end with hands that are in time: they press
 * when ws_session_answer_ms says, but never twice within a second. Reports each cue on the calling
 * thread in the order said, closes the run, and returns when the book has it as finished (the tank
 * is not forgotten). Takes the frames meanwhile, so nobody else may.
 *
 * A stepped clock is stepped from moment to moment: the run is over in no time and the same each
 * time. On a real or scaled clock it is waited for. WS_NOT_FOUND: no open run there. WS_IO: the
 * book does not take the run's events (`why` says which error); the run is over then, too. */
enum ws_status ws_headless_run(struct ws_drive *drive, int tank,
                               void (*on_line)(void *self, const struct ws_headless_line *line),
                               void *self, struct ws_message *why);

enum { WS_SETTLE_DRIVE = 1, WS_SETTLE_SOUND = 2, WS_SETTLE_BOOK = 4, WS_SETTLE_ALL = 7 };

/* Waits until the named threads have done all there is to do up to the clock's moment: the drive
 * has taken every stroke posted before and said what is due, the sound has played it, the book has
 * made an attempt at every row that waits (and the drive has seen how it went). To be called after
 * a stepped clock was stepped, which wakes nobody by itself. `what`: WS_SETTLE_ bits; the drive is
 * always among them. */
void ws_drive_settle(struct ws_drive *drive, unsigned what);

#endif
