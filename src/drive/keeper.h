/* The book's thread: the process's only connection. Journal rows first, then the jobs of the rooms.
 *
 * The drive puts rows into a ring for each tank and goes on; the keeper writes them, and takes them
 * out of the ring only when the book has acknowledged them. A book that fails is tried again every
 * second: rows carry (run, sequence), so a retry after an unknown COMMIT changes nothing twice. */
#ifndef WETSIDE_SRC_DRIVE_KEEPER_H
#define WETSIDE_SRC_DRIVE_KEEPER_H

#include <pthread.h>
#include <stdatomic.h>

#include "wetside/drive/drive.h"
#include "wetside/port/wait.h"

/* Rows that can wait for a book that keeps nothing: hours of presses at the quickest a foot can
 * make them (one in 0.8 s: 3.6 h). The memory is not touched before it is needed. */
enum { WS_JOURNAL_ROOM = 16384, WS_JOURNAL_BATCH = 64 };

struct ws_journal {
    struct ws_journal_row *row; /* a ring */
    size_t first, count;
    int64_t run, epoch;
    bool own_wanted;       /* the book does not know yet that `epoch` has come */
    unsigned generation;   /* counts the runs it was given to: a write in flight tells by it */
    unsigned handed_on;    /* the generation whose rows went to another process, 0: none */
    uint32_t acked;        /* the book has acknowledged every sequence up to this */
    enum ws_status status; /* of the last attempt */
    struct ws_message why;
    bool close_wanted, closed;
    char reason[64]; /* empty: finished */
    struct ws_stamp close_stamp;
};

struct ws_job {
    void (*run)(struct ws_book *book, void *arg);
    void *arg;
    bool done;
    struct ws_job *next;
};

struct ws_keeper {
    pthread_t thread;
    pthread_mutex_t lock; /* held for copies only */
    pthread_cond_t work, done;
    struct ws_journal journal[WS_TANKS];
    struct ws_job *first_job, *last_job;
    const char *path; /* null: no book */
    enum ws_book_mode mode;
    struct ws_book *book; /* the keeper's thread only */
    bool opened, stop;
    size_t unkept; /* rows the book will never have: refused, or without room in a ring */
    enum ws_status open_status;
    struct ws_message open_why;
    struct ws_wait *drive; /* woken at news */
    _Atomic unsigned news;
};

/* ---- keeper.c: for the threads that may wait ---- */
/* Starts the thread, which then opens the book. */
enum ws_status ws_keeper_start(struct ws_keeper *keeper, const char *path, enum ws_book_mode mode,
                               struct ws_wait *drive, struct ws_message *why);
/* Waits until the book is open; or says why it can't be. */
enum ws_status ws_keeper_opened(struct ws_keeper *keeper, struct ws_message *why);
/* Writes what waits (a failing book is tried a few times more), closes the book. WS_IO: not
 * everything is kept. */
enum ws_status ws_keeper_stop(struct ws_keeper *keeper, struct ws_message *why);
void ws_keeper_do(struct ws_keeper *keeper, void (*job)(struct ws_book *book, void *arg),
                  void *arg);
/* No rows of the run before wait any more. */
bool ws_keeper_idle(struct ws_keeper *keeper, int tank);
/* Gives the ring of an idle tank to a run. `owned`: the book has raised the run's epoch; else that
 * is done before its first row, and tried as the rows are. */
void ws_keeper_assign(struct ws_keeper *keeper, int tank, int64_t run, int64_t epoch, bool owned,
                      uint32_t acked);

/* Copies what the book has not acknowledged into `row` (malloced, null when there is none). */
enum ws_status ws_keeper_unwritten(struct ws_keeper *keeper, int tank, struct ws_journal_row **row,
                                   int *rows);
/* The rows have gone to another process: they are none of this one's any more. */
void ws_keeper_hand_on(struct ws_keeper *keeper, int tank);

/* ---- journal.c: for the drive's thread; nothing here waits for the book ---- */
/* False: the ring is full. */
bool ws_keeper_put(struct ws_keeper *keeper, int tank, const struct ws_event *event,
                   const struct ws_stamp *stamp);
void ws_keeper_close(struct ws_keeper *keeper, int tank, const char *reason,
                     const struct ws_stamp *stamp);

struct ws_keeper_view {
    size_t waiting; /* rows, and one for a close that waits */
    uint32_t acked;
    enum ws_status status;
    struct ws_message why;
};
void ws_keeper_look(struct ws_keeper *keeper, int tank, struct ws_keeper_view *out);

#endif
