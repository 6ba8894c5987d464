/* A file layer for SQLite that fails when a test wants it to. Everything else goes through to the
 * real one. */
#ifndef WETSIDE_TESTS_BOOK_FAULT_VFS_H
#define WETSIDE_TESTS_BOOK_FAULT_VFS_H

enum fault_what { FAULT_NONE, FAULT_WRITE, FAULT_SYNC, FAULT_OPEN };

/* Becomes the layer new connections use, until fault_end. */
void fault_begin(void);
void fault_end(void);

/* The `nth` call (1: the next) of that kind, and all after it, give `result` (SQLITE_FULL,
 * SQLITE_IOERR_FSYNC, ...); of opens, those that make a file. */
void fault_set(enum fault_what what, int nth, int result);
/* A power cut: every file is what it was when it was last synced, and the process ends at once with
 * status 0, so that nothing is closed. */
void fault_cut(void);
/* Cuts the power in place of the `nth` write or sync from now on. */
void fault_cut_at(int nth);

/* How many calls of that kind there were since fault_set. */
int fault_calls(void);

#endif
