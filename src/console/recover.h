/* What the files of the first screen after a power cut share: the open runs of the book as they are
 * found, and what is known of each. */
#ifndef WETSIDE_SRC_CONSOLE_RECOVER_H
#define WETSIDE_SRC_CONSOLE_RECOVER_H

#include "wetside/console/room.h"
#include "wetside/drive/watch.h"

enum recover_is {
    RECOVER_HERE,      /* at this sink: taken up, or on its way */
    RECOVER_WAITS,     /* nobody drives it: forgotten, or it could not be taken up */
    RECOVER_ASKS,      /* the clocks can't say where it stands */
    RECOVER_ELSEWHERE, /* another process drives it, with a screen */
    RECOVER_DUMB       /* another process has it, and does not answer */
};

struct recover_run {
    int64_t run;
    enum recover_is is;
    struct ws_glimpse *glimpse; /* as it was found; of ELSEWHERE and DUMB, as it was read last */
    int64_t away_ms;            /* since its last event, when it was found; of ASKS 0 */
    bool was_alone;             /* it was driven all the time, without a terminal, */
    int64_t alone_ms;           /* since when */
    int pid;
    struct ws_message why; /* why it could not be taken up; empty: it was not tried */
    /* As it is now, for drawing. */
    struct ws_frame_tank tank;
    struct ws_view view;
};

struct recover {
    struct ws_console *console;
    struct recover_run run[WS_TANKS];
    int runs, at;           /* at: which one is marked */
    bool more;              /* there are more open runs in the book */
    ws_key waiting;         /* typed, and acts once it is seen to stand alone; WS_KEY_NONE: none */
    int64_t last_ns;        /* of the last key; INT64_MIN: none yet */
    struct ws_watch *watch; /* of what is driven elsewhere; null: nothing is */
    struct ws_watched *watched;
};

/* ---- recover_find.c ---- */
/* The open runs of the book; what the clocks vouch for and nobody else drives is taken up. */
void recover_find(struct recover *recover);
/* All as they are now; those that are over, or were handed on, are dropped. */
void recover_look(struct recover *recover);
/* Looks at one without taking it up. */
enum ws_status recover_look_at(struct recover *recover, struct recover_run *run);
/* Takes one up; minutes_away as in ws_drive_resume. */
void recover_take_up(struct recover *recover, struct recover_run *run, double minutes_away);
void recover_drop(struct recover *recover, int at);
bool recover_any(const struct recover *recover, enum recover_is is);
/* The run's tank in the frame; null: it is not at this sink. */
const struct ws_frame_tank *recover_at_sink(const struct ws_console *console, int64_t run);

/* ---- recover_take.c ---- */
/* All that nobody drives; true when the page has done its work. */
bool recover_take_up_all(struct recover *recover);
/* The marked one: taken up or over; its process ended; closed for good. Each asks what it has to.
 */
void recover_take_up_one(struct recover *recover);
void recover_end_other(struct recover *recover);
void recover_close(struct recover *recover);

/* ---- recover_draw.c ---- */
/* For the last row: the keys, by what is left and which run is marked. */
const char *recover_keys(const struct recover *recover);
/* The page, on the standard screen. */
void recover_draw(const struct recover *recover);

/* ---- recover.c ---- */
/* The first screen, before any room: what was left open is taken up at once where it can be, and
 * told; nothing where there is no open run. (recover.c) */
void recover_first(struct ws_console *console);
/* The same from the Sink at rest, with that run marked. True: a run is at the sink. */
bool recover_again(struct ws_console *console, int64_t run);

/* ---- watching.c ---- */
/* One run of the book (0: all open ones) that another process drives, read-only, until it is left.
 */
void watching_visit(struct ws_console *console, int64_t run);

/* ---- unwritten.c ---- */
/* What the book did not take of runs that are over, or on leaving the program of all runs, offered
 * as files elsewhere; nothing where all is kept. On leaving it is asked until each is written, or
 * refused twice. */
void unwritten_offer(struct ws_console *console, bool leaving);

#endif
