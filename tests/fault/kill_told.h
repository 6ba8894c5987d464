/* What a program that is going to be killed tells of itself while it lives, over a pipe: each thing
 * in one write, so that it is told whole or not at all.
 *
 * What it was acknowledged is told where the book says so, on the book's own thread: the linker
 * puts kill_told.c between the drive and the functions of the book that write a run (see the
 * Makefile). So a row that was told has been committed, and is told as it was meant, not as it was
 * read. */
#ifndef WETSIDE_TESTS_FAULT_KILL_TOLD_H
#define WETSIDE_TESTS_FAULT_KILL_TOLD_H

#include "wetside/book/run.h"
#include "wetside/port/owner.h"

enum told_kind {
    TOLD_STARTED,
    TOLD_BEGINNING, /* ws_drive_begin is called next */
    TOLD_TAKING,    /* ws_drive_resume is called next */
    TOLD_CLOSING,   /* the run was asked to be closed */
    TOLD_HAS,       /* it drives `run`, with `epoch` */
    TOLD_ROW,       /* acknowledged: row */
    TOLD_CLOSED,    /* acknowledged: the close of `run` */
    TOLD_SEEN,      /* a frame: seen */
    TOLD_GONE,      /* it drives the run no more: another took it, or it let go */
    TOLD_QUIET,     /* it asks for nothing any more */
    TOLD_ENDED,     /* all is stopped, and nothing was left unkept; counts */
    TOLD_WRONG      /* text */
};

/* What a frame says of a run. */
struct told_seen {
    int64_t boot_ns, at_ms, began_wall_ms;
    int64_t pour_out_ms; /* run time; WS_NEVER */
    int64_t left_ms;
    uint32_t sequence;
    enum ws_stage stage;
    int step;
    bool kept;  /* the screen says that all is kept */
    bool first; /* since it was taken up or begun */
};

struct told {
    enum told_kind kind;
    int who; /* told_begin's */
    int64_t run, epoch;
    union {
        struct ws_journal_row row;
        struct told_seen seen;
        int64_t count[6];
        char text[200];
    };
};

/* From now on this process tells, to that descriptor, as `who`. Until then nothing is told. */
void told_begin(int fd, int who);
void told_say(struct told *what);
void told_plain(enum told_kind kind, int64_t run, int64_t epoch);
void told_wrong(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The next one from the other end, waiting most_ms at most; false: none came. *end: none will. */
bool told_next(int fd, int most_ms, struct told *out, bool *end);

/* Called after a lock was taken, and before it is let go; null: nobody. */
extern void (*told_lock_taken)(const struct ws_owner *owner);
extern void (*told_lock_let_go)(const struct ws_owner *owner);

#endif
