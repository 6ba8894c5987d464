/* The sound's thread: cues handed over ahead of time, played at their moments.
 *
 * For each tank it holds one list, replaced whole whenever an event moves what is to come. A cue is
 * known by (bath, attempt, kind, index): what was played is not played again when a newer list
 * carries it too. Items that are only spoken (a minute that is over, a count) go the same way.
 *
 *   ringer.c          what the threads call that may wait
 *   ahead.c           what the drive's thread calls
 *   sounder.c         the thread: the lists and their moments
 *   mouth.c words.c   on it: the device and the voice; what is said */
#ifndef WETSIDE_SRC_DRIVE_RINGER_H
#define WETSIDE_SRC_DRIVE_RINGER_H

#include <pthread.h>
#include <stdatomic.h>

#include "wetside/drive/drive.h"
#include "wetside/port/phrases.h"
#include "wetside/port/wait.h"

enum { WS_RING_ITEMS = 192, WS_RING_PLAYED = 256, WS_RING_BELLS = 64 };

/* What is said with a cue, or by itself: a phrase and what its words in braces become. */
struct ws_saying {
    enum ws_phrase phrase;      /* WS_PHRASES: nothing */
    enum ws_bath_kind bath;     /* WS_BATH_KINDS: none */
    bool bare;                  /* a repeat: without tank and film, whatever else is said */
    bool named;                 /* with tank and film before it */
    int count, of;              /* negative: none */
    int64_t to_ns;              /* the moment its seconds count to; INT64_MAX: it has none */
    int64_t seconds;            /* said when so many are left to to_ns; negative: what fits */
    enum ws_speech_level least; /* of the voice, from which on it is said */
};

struct ws_ring_item {
    struct ws_cue cue;        /* kind WS_CUE_KINDS: no tone, told apart by phrase and index */
    int64_t due_ns, until_ns; /* boot moments of the drive's clock; until INT64_MAX: no end */
    int64_t again_ns;         /* 0: once; else repeated while it stands in the list */
    bool standing;            /* said before: only the repeats are to be played */
    struct ws_saying saying;
};

struct ws_ring_list {
    int items;
    unsigned serial;    /* of the run: cues of another run at this tank are others */
    bool hush;          /* a press answered: what still rings falls silent */
    bool several;       /* more tanks than this one are in use: each says its name */
    int64_t late_ns;    /* older than this is not played, unless it is repeated */
    char film[WS_NAME]; /* of all rolls in the tank; empty: they differ */
    struct ws_ring_item item[WS_RING_ITEMS];
};

struct ws_ringer {
    pthread_t thread;
    pthread_mutex_t lock; /* held for copies only */
    pthread_cond_t changed;
    struct ws_ring_list handed[WS_TANKS];
    unsigned version[WS_TANKS];
    /* Said at once, over whatever is spoken: the answer to a key. */
    struct ws_ring_item reply;
    int reply_tank;
    unsigned replies;
    struct ws_voice voice;
    unsigned voice_version;
    struct ws_ear ear; /* how the sound is, for the others */
    _Atomic unsigned news;
    /* Boot moment at which the device was called, while it has not come back; 0: it has. */
    _Atomic int64_t busy_ns;
    _Atomic bool stop;
    _Atomic bool no_thread; /* it could not be started */
    bool started, ended, abandoned;
    unsigned settle_asked, settle_done;
    struct ws_wait wait;
    struct ws_wait *drive; /* woken when there is news */
    struct ws_sound sound;
    bool has_sound, has_speech; /* else bells are asked of the terminal; nothing is spoken */
    _Atomic int *bells;         /* the drive's, with the descriptor that tells the terminal */
    int screen_fd;
};

/* ---- ringer.c ---- */
/* Makes it; no thread yet, since most programs end without a sound. */
enum ws_status ws_ringer_new(struct ws_ringer **out, const struct ws_drive_options *options,
                             struct ws_wait *drive, _Atomic int *bells, int screen_fd,
                             struct ws_message *why);
/* Starts its thread, which opens the device, if it does not run yet. From a thread that may wait.
 * Not WS_OK: `why` says so, as the ear does, and the drive rings the terminal for each cue; the
 * next call tries again. */
enum ws_status ws_ringer_need(struct ws_ringer *ringer, struct ws_message *why);
/* Ends the thread and frees the ringer; one whose device hangs is left behind, and frees itself
 * when the device lets go. */
void ws_ringer_stop(struct ws_ringer *ringer);
/* Waits until all that is due by the clock has been played. */
void ws_ringer_settle(struct ws_ringer *ringer);
void ws_ringer_voice(struct ws_ringer *ringer, const struct ws_voice *voice);
/* Of one whose thread has ended, or never began. */
void ws_ringer_free(struct ws_ringer *ringer);

/* ---- ahead.c: for the drive's thread ---- */
void ws_ringer_hand(struct ws_ringer *ringer, int tank, const struct ws_ring_list *list);
/* An answer to a key; true: it is to be rung by the terminal. */
bool ws_ringer_reply(struct ws_ringer *ringer, int tank, const struct ws_ring_item *item);
/* How the sound is now, and whether a call of the device has not come back for too long. */
void ws_ringer_look(struct ws_ringer *ringer, struct ws_ear *ear);
/* Nobody plays what is due, the drive is to ring the terminal for it: a call of the device has not
 * come back, or there is no thread. */
bool ws_ringer_is_out(const struct ws_ringer *ringer);
/* When the call that is out now will hang, boot ns; INT64_MAX: none is out. */
int64_t ws_ringer_hangs_ns(const struct ws_ringer *ringer);

#endif
