/* What the files of the drive share. Which file runs on which thread:
 *
 *   drive.c begin.c headless.c          the caller's (terminal) thread, may wait
 *   recover.c fetch.c alone.c ringer.c
 *   unwritten.c
 *   door.c                              the door's thread, may wait
 *   watcher.c                           a watcher's own thread, may wait
 *   keeper.c                            the book's thread
 *   sounder.c mouth.c words.c           the sound's thread
 *   loop.c seat.c strokes.c frames.c    the drive's thread: nothing in them may block, and a test
 *   ahead.c speak.c journal.c           reads the symbols they ask for against a short list
 *   signals.c queue.c */
#ifndef WETSIDE_SRC_DRIVE_INSIDE_H
#define WETSIDE_SRC_DRIVE_INSIDE_H

#include <pthread.h>
#include <semaphore.h>
#include <signal.h>
#include <stdatomic.h>

#include "keeper.h"
#include "ringer.h"
#include "wetside/drive/drive.h"
#include "wetside/drive/queue.h"
#include "wetside/port/owner.h"
#include "wetside/port/wait.h"
#include "wetside/session/hands.h"

enum { WS_SAID_ROOM = 32, WS_ORDERS = 16, WS_STROKES = 1024, WS_STROKES_OTHER = 512 };

#define WS_NS_IN_MS     INT64_C(1000000)
#define WS_NOTICE_MS    8000  /* how long a notice stands: time to read a line twice */
#define WS_AHEAD_MS     60000 /* what the sound is told ahead */
#define WS_FRAME_MS     1000
#define WS_STAND_IN_MS  2000 /* a bell of the terminal, while the sound hangs and a cue stands */
#define WS_FRAME_MIN_MS 33   /* of real time, on a scaled clock: a screen shows no more */

/* One run at the sink. Made by the caller, then the drive's thread's alone; freed at the end, since
 * frames point to its plan. */
struct ws_seat {
    struct ws_plan plan;
    struct ws_session session;
    struct ws_anchor anchor; /* of this boot: run time to boot moments */
    int tank;
    unsigned serial; /* 1 up, in the order of beginning */
    int64_t run, epoch;
    bool owned; /* the book knows of this epoch */
    bool rehearsal;
    bool estimated;  /* its run time rests on a clock that could not be trusted */
    bool resumed;    /* else it begins */
    bool time_lost;  /* resumed by an answer, not by a clock */
    int64_t last_ms; /* of a resumed one: run time of its last journaled event */
    uint32_t journaled;
    bool lost;    /* an event found no room in the journal: the book will never have it */
    bool changed; /* since the last frame */
    bool moved;   /* since the sound was last told */
    bool hush;    /* a press answered since then */
    int64_t ahead_next_ns, frame_next_ns;
    struct ws_cue said[WS_SAID_ROOM]; /* the latest, for the sound */
    int saids;
    uint32_t calls;         /* as in a frame */
    bool held;              /* it is being handed to another process: nothing is said or taken */
    bool alone;             /* nobody sees it: insistence falls */
    _Atomic bool closed;    /* or gone to another process: the place is free */
    struct ws_owner *owner; /* the callers' threads'; null: of a rehearsal, or let go */
    struct ws_seat *next;   /* all that were ever made */
};

enum ws_order_kind {
    WS_ORDER_SEAT,
    WS_ORDER_FORGET,
    WS_ORDER_LISTEN, /* cues go to `told`, those just said at `tank` first; a frame is made */
    WS_ORDER_SETTLE,
    WS_ORDER_HOLD, /* the seat says and takes nothing any more; not when it is closed */
    WS_ORDER_KEEP, /* it goes on after all */
    WS_ORDER_GONE, /* another process has it */
    WS_ORDER_ALONE,
    WS_ORDER_STOP
};
struct ws_order {
    enum ws_order_kind kind;
    struct ws_seat *seat;
    int tank;
    sem_t *done; /* posted when carried out */
};

/* The latest frame, between one writer and one reader, neither of which ever waits: the writer
 * fills `back` and exchanges it with the middle one; the reader exchanges `front` with it. */
struct ws_frame_box {
    struct ws_frame frame[3];
    _Atomic unsigned middle; /* index, with WS_FRAME_FRESH while nobody has taken it */
    unsigned back, front;
    bool frame_resized; /* of the frame last put; the writer's own note */
};
#define WS_FRAME_FRESH 4u

/* A cue for a headless run. */
struct ws_told {
    int tank;
    struct ws_cue cue;
};

struct ws_drive {
    struct ws_clock *clock;
    void (*on_cue)(void *self, int tank, const struct ws_cue *cue, int64_t due_ns, int64_t now_ns);
    void *on_cue_self;

    /* Shared. */
    struct ws_wait wait;
    struct ws_queue strokes, orders, told;
    _Atomic bool listening;    /* cues go to `told` */
    _Atomic int64_t posted_ms; /* boot moment of the last stroke */
    struct ws_keeper keeper;
    struct ws_ringer *ringer;
    struct ws_frame_box box;
    int screen_fd;
    _Atomic int bells;

    /* The callers' threads, under `seating`, which the drive's thread never takes. */
    pthread_mutex_t seating;
    bool has_seating;
    struct ws_seat *at_tank[WS_TANKS], *seats;
    unsigned serial;
    const char *book_path;
    struct ws_door *door;     /* null: no run of the book was at the sink yet */
    struct ws_owner *fetched; /* of a run that is about to be taken up, and given to who asks for it
                                 before it is; null: none */
    _Atomic bool greets_not;  /* a run that is taken up is told of elsewhere */
    _Atomic bool is_alone;    /* it has lost its terminal, */
    _Atomic int64_t alone_ns; /* at this boot moment */
    bool take_signals, has_thread, has_keeper;
    sigset_t old_signals;
    pthread_t thread;
    bool has_book;

    /* The drive's thread alone. */
    struct ws_seat *seat[WS_TANKS];
    struct ws_hands hands;
    struct ws_stamp now; /* of this pass */
    struct ws_message notice;
    int64_t notice_until_ns;
    unsigned news_seen, sound_seen;
    struct ws_ear ear; /* as last looked at */
    int64_t bell_next_ns;
    int signal;
    bool resized, changed, stop;
    uint32_t number;
};

/* ---- loop.c ---- */
void *ws_drive_thread(void *drive);
/* When the drive's thread woke for what it does now; for figures, from within on_cue. */
int64_t ws_drive_woke_ns(const struct ws_drive *drive);
/* A line for the person, for some seconds. */
void ws_drive_notice(struct ws_drive *drive, const struct ws_message *line);

/* ---- door.c ---- */
/* A thread that answers who asks for a run of this process. Started with the first. */
struct ws_door;
enum ws_status ws_door_open(struct ws_drive *drive, struct ws_message *why);
/* The runs have changed. */
void ws_door_look(struct ws_door *door);
/* Before the drive is stopped: nobody is answered any more. */
void ws_door_close(struct ws_door *door);

/* What is said over the line: one packet each, of one machine and one build. */
enum { WS_DOOR_MAGIC = 0x77646F72, WS_DOOR_VERSION = 1, WS_DOOR_ROWS = 64 };
/* How long each side waits for the other's next word, and the newcomer for the lock: 3000, and less
 * in tests. */
extern int ws_door_answer_ms;
enum ws_door_kind {
    WS_DOOR_WHO,   /* asks; answered with itself: pid, alone */
    WS_DOOR_YIELD, /* asks; answered with itself and `rows` rows that follow, or with REFUSE */
    WS_DOOR_TAKEN, /* asks no more: the newcomer takes the run. Hanging up instead keeps it */
    WS_DOOR_GONE,  /* the answer to it: the lock is free */
    WS_DOOR_REFUSE
};
struct ws_door_word {
    uint32_t magic, version, row_bytes, kind;
    int64_t run;
    int32_t pid, alone, rows;
    int32_t alone_s; /* since when */
};
void ws_door_word(struct ws_door_word *word, enum ws_door_kind kind, int64_t run);
/* Whether it is a word of this build's. */
bool ws_door_understands(const struct ws_door_word *word, size_t length);

/* ---- fetch.c ---- */
/* Asks who listens for that run; waits at most a second for an answer. False: nobody does. */
bool ws_door_ask_who(const char *book_path, int64_t run, struct ws_holder *out);

/* ---- recover.c ---- */
/* As ws_drive_glimpse, of a book in hand. */
enum ws_status ws_glimpse_read(struct ws_book *book, const struct ws_clock *clock, int64_t run,
                               double minutes_away, struct ws_glimpse *out, struct ws_message *why);

/* ---- begin.c ---- */
/* What both ways to a run at the sink share; under `seating`. */
enum ws_status ws_seat_new(struct ws_drive *drive, const struct ws_plan *plan, struct ws_seat **out,
                           struct ws_message *why);
/* Owns the run: its lock, and the door open. WS_BUSY: another process drives it. */
enum ws_status ws_seat_own(struct ws_drive *drive, struct ws_seat *seat, int64_t run,
                           struct ws_message *why);
/* Gives the seat to the drive, which then owns what is in it. */
void ws_seat_give(struct ws_drive *drive, struct ws_seat *seat, uint32_t acked);
/* Of a seat that was never given. Null is allowed. */
void ws_seat_drop(struct ws_seat *seat);
/* Lets the lock go of a run that is closed, or another process's, unless the book still lacks some
 * of it. Null is allowed. */
void ws_seat_let_go(struct ws_drive *drive, struct ws_seat *seat);
/* Gives an order and waits until the drive's thread has carried it out. */
void ws_drive_order(struct ws_drive *drive, const struct ws_order *order);

/* ---- seat.c ---- */
int64_t ws_seat_ms(const struct ws_seat *seat, const struct ws_stamp *stamp);
int64_t ws_seat_ns(const struct ws_seat *seat, int64_t at_ms); /* WS_NEVER gives INT64_MAX */
void ws_seat_tick(struct ws_drive *drive, struct ws_seat *seat, int64_t at_ms);
/* Takes an event at at_ms (or now, if that is later) and journals it unless it changed nothing. */
enum ws_status ws_seat_act(struct ws_drive *drive, struct ws_seat *seat, struct ws_event *event,
                           int64_t at_ms);
/* Gives the run up, or (reason empty) leaves a finished one; journals and closes it. */
void ws_seat_close(struct ws_drive *drive, struct ws_seat *seat, const char *reason, int64_t at_ms);
/* First pass of a seat: what a resumed run owes its journal, and what is due is said. */
void ws_seat_adopt(struct ws_drive *drive, struct ws_seat *seat);
/* When a finished run closes itself: at the end of the time in which its last press can be undone.
 * WS_NEVER: it is not finished. */
int64_t ws_seat_close_ms(const struct ws_seat *seat);

/* ---- strokes.c ---- */
void ws_drive_stroke(struct ws_drive *drive, const struct ws_stroke *stroke);

/* ---- ahead.c ---- */
void ws_seat_tell_sound(struct ws_drive *drive, struct ws_seat *seat);
/* How often what stands unanswered at view->at_ms was repeated since it fell due. */
uint32_t ws_seat_repeats(const struct ws_seat *seat, const struct ws_view *view);

/* ---- frames.c ---- */
void ws_frame_publish(struct ws_drive *drive);
/* One bell of the terminal. */
void ws_screen_bell(struct ws_drive *drive);
/* The next moment at which digits of this run change, boot ns. */
int64_t ws_seat_next_frame_ns(const struct ws_drive *drive, const struct ws_seat *seat);

/* ---- signals.c ---- */
/* Blocks the signals and gives a descriptor to read them from. */
enum ws_status ws_signals_open(int *fd, sigset_t *old, struct ws_message *why);
/* The next one that waits, 0 none. */
int ws_signals_next(int fd);

#endif
