/* Watching runs that another process drives: their journals are read, and nothing is written.
 *
 * A thread of its own opens the book for reading, reads what is new and closes it again, a few
 * times a second. So no writer is held up, a book that goes away or comes back is seen, and a
 * screen never waits for a disk. */
#ifndef WETSIDE_DRIVE_WATCH_H
#define WETSIDE_DRIVE_WATCH_H

#include "wetside/drive/drive.h"

enum { WS_WATCH_MS = 300 };

struct ws_watch;

/* One run. Its session stands at the last event kept: ws_glimpse_tank carries it on. */
struct ws_watched_run {
    struct ws_glimpse glimpse;
    struct ws_holder holder; /* WS_HOLD_NONE: nobody answers for it */
    bool over;               /* it was watched, and is closed now: glimpse.line says how */
};

/* What is seen. Big: not for a stack. */
struct ws_watched {
    bool read; /* the book was read at least once */
    int runs;  /* open ones, the first begun first, and those that were watched and are over */
    struct ws_watched_run run[WS_TANKS];
    bool lost; /* the book can't be read now: `why`; the runs are as they were seen last */
    struct ws_message why;
};

/* Watches the open runs of the book at that path, or only the run with that row (0: all). Path and
 * clock are borrowed until it is stopped. */
enum ws_status ws_watch_start(const char *book_path, const struct ws_clock *clock, int64_t run,
                              struct ws_watch **out, struct ws_message *why);
/* What is seen, if it is other than at the last look; never waits for the disk. False: `out` is
 * left as it is. */
bool ws_watch_look(struct ws_watch *watch, struct ws_watched *out);
/* Reads once more, and waits for that: for tests. */
void ws_watch_settle(struct ws_watch *watch);
/* Waits for a reading that is under way. Null is allowed. */
void ws_watch_stop(struct ws_watch *watch);

#endif
