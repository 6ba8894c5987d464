/* The sound's thread: cues handed over ahead of time, played at their moments.
 *
 * For each tank it holds one list, replaced whole whenever an event moves what is to come. A cue is
 * known by (bath, attempt, kind, index): what was played is not played again when a newer list
 * carries it too. */
#ifndef WETSIDE_SRC_DRIVE_RINGER_H
#define WETSIDE_SRC_DRIVE_RINGER_H

#include <pthread.h>
#include <stdatomic.h>

#include "wetside/drive/drive.h"
#include "wetside/port/wait.h"

enum { WS_RING_ITEMS = 192, WS_RING_PLAYED = 256, WS_RING_BELLS = 64 };

struct ws_ring_item {
    struct ws_cue cue;
    int64_t due_ns, until_ns; /* boot moments of the drive's clock; until INT64_MAX: no end */
    int64_t again_ns;         /* 0: once; else repeated while it stands in the list */
    bool standing;            /* said before: only the repeats are to be played */
};

struct ws_ring_list {
    int items;
    unsigned serial; /* of the run: cues of another run at this tank are others */
    bool hush;       /* a press answered: what still rings falls silent */
    int64_t late_ns; /* older than this is not played, unless it is repeated */
    struct ws_ring_item item[WS_RING_ITEMS];
};

struct ws_ringer {
    pthread_t thread;
    pthread_mutex_t lock; /* held for copies only */
    pthread_cond_t changed;
    struct ws_ring_list handed[WS_TANKS];
    unsigned version[WS_TANKS];
    _Atomic bool stop;
    bool ended, abandoned;
    unsigned settle_asked, settle_done;
    struct ws_wait wait;
    struct ws_sound sound;
    bool has_sound;     /* else bells are asked of the terminal */
    _Atomic int *bells; /* the drive's, with the descriptor that tells the terminal */
    int screen_fd;
};

/* ---- ringer.c ---- */
enum ws_status ws_ringer_start(struct ws_ringer **out, const struct ws_clock *clock,
                               const struct ws_sound *sound, _Atomic int *bells, int screen_fd,
                               struct ws_message *why);
/* Ends the thread and frees the ringer; one whose device hangs is left behind, and frees itself
 * when the device lets go. */
void ws_ringer_stop(struct ws_ringer *ringer);
/* Waits until all that is due by the clock has been played. */
void ws_ringer_settle(struct ws_ringer *ringer);

/* ---- ahead.c: for the drive's thread ---- */
void ws_ringer_hand(struct ws_ringer *ringer, int tank, const struct ws_ring_list *list);

#endif
