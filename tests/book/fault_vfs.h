/* A file layer for SQLite that fails when a test wants it to. Everything else goes through to the
 * real one, but two things take no time: a sync need not reach the disk, and a wait for somebody
 * else's lock is over at once. May be used from several threads. */
#ifndef WETSIDE_TESTS_BOOK_FAULT_VFS_H
#define WETSIDE_TESTS_BOOK_FAULT_VFS_H

#include <stdbool.h>

/* Becomes the layer new connections use, until fault_end. */
void fault_begin(void);
void fault_end(void);

/* ---- all calls of one kind from the n-th on */

enum fault_what { FAULT_NONE, FAULT_WRITE, FAULT_SYNC, FAULT_OPEN };

/* The `nth` call (1: the next) of that kind, and all after it, give `result` (SQLITE_FULL,
 * SQLITE_IOERR_FSYNC, ...); of opens, those that make a file. */
void fault_set(enum fault_what what, int nth, int result);
/* How many calls of that kind there were since fault_set. */
int fault_calls(void);

/* ---- the n-th of all calls, of whatever kind */

enum fault_call {
    FAULT_CALL_OPEN,
    FAULT_CALL_ACCESS,
    FAULT_CALL_DELETE,
    FAULT_CALL_NAME, /* the full path of a name */
    FAULT_CALL_READ,
    FAULT_CALL_WRITE,
    FAULT_CALL_TRUNCATE,
    FAULT_CALL_SYNC,
    FAULT_CALL_SIZE,
    FAULT_CALL_LOCK,
    FAULT_CALL_UNLOCK,
    FAULT_CALL_RESERVED, /* whether somebody is about to write */
    FAULT_CALL_SHM_MAP,
    FAULT_CALL_SHM_LOCK,
    /* What the program asks of the system by itself, where a test lets it come here: */
    FAULT_CALL_OWN_OPEN,
    FAULT_CALL_OWN_WRITE,
    FAULT_CALL_OWN_SYNC,
    FAULT_CALL_OWN_CLOSE,
    FAULT_CALL_OWN_RENAME,
    FAULT_CALL_OWN_MKDIR,
    FAULT_CALL_OWN_STAT,
    FAULT_CALLS
};
const char *fault_call_name(enum fault_call call);

/* In how many ways a call of that kind can fail: refused with each result that fits it, half done,
 * or done and called failed. */
int fault_ways(enum fault_call call);

enum fault_span {
    FAULT_ONCE,
    FAULT_KIND, /* and every later call of its kind, in the same way */
    FAULT_ALL,  /* and every later call: the disk is gone */
    FAULT_SPANS
};
const char *fault_span_name(enum fault_span span);

/* For a call of the program's own: 0, it is to be carried out; else the errno it fails with, after
 * half of it was done or the whole where *half or *whole says so. */
int fault_own(enum fault_call call, bool *half, bool *whole);
/* Whether the layer is there: then nothing need reach the disk. */
bool fault_is_begun(void);

struct fault_shot {
    int nth; /* 1: the next call; 0: none, the calls are only counted */
    int way; /* below fault_ways of the call it hits; one too many is the last */
    enum fault_span span;
    /* In place of a failure: the call waits while this runs, and goes through. */
    void (*stall)(void *self);
    void *self;
};
void fault_arm(const struct fault_shot *shot);
/* From here on nothing fails. True if the shot hit: then *call is what it hit. */
bool fault_disarm(enum fault_call *call);
/* How many calls there were between the two, and what the `nth` of them was. */
int fault_counted(void);
enum fault_call fault_counted_call(int nth);

#endif
