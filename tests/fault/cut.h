/* Power cuts: a file layer for SQLite that notes everything the program writes, and from these
 * notes makes what a disk may hold when the power goes at any of its moments.
 *
 * What a disk promises: what was written before a sync of that file is on it; of what was written
 * since, each sector of 512 bytes may or may not be, in any order; a file made, or removed, is so
 * for sure only when its folder was synced. The layer below SQLite syncs the folder with the first
 * sync of a journal or log it made, and when asked to with a removal (SQLite, os_unix.c); the notes
 * take that over. A write does no harm beside its own bytes (as the layer below says of itself).
 * The index of the log (-shm) is memory, and gone. */
#ifndef WETSIDE_TESTS_FAULT_CUT_H
#define WETSIDE_TESTS_FAULT_CUT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct cut_notes;

/* Becomes the layer new connections use, and notes what happens to the files of `folder`. What is
 * there now is on the disk for sure. */
void cut_begin(const char *folder);
/* The program itself, below no connection, made a file, wrote to it (seen before it is written),
 * had a file or folder synced, gave a file another name, or removed it: noted as well. A
 * descriptor, or a name, that is none of the folder is passed over. */
void cut_saw_make(const char *path);
void cut_saw_write(int fd, const void *from, size_t size);
void cut_saw_sync(int fd);
void cut_saw_rename(const char *from, const char *to);
void cut_saw_remove(const char *path);
/* Something was acknowledged just now: moments from here on belong to the next number, from 0. */
void cut_acknowledge(void);
/* The `nth` sync from the begin on fails, once; what it was to bring to the disk is lost though it
 * still reads as written, as on systems that drop what they could not write. */
void cut_fail_sync(int nth);
/* How many syncs there were. */
int cut_syncs(void);
/* The layer before is back. For cut_free. */
struct cut_notes *cut_end(void);
void cut_free(struct cut_notes *notes);

/* How many moments there are: one before everything, one after each thing that happened. */
int cut_moments(const struct cut_notes *notes);

enum cut_how {
    CUT_NONE,    /* nothing unsynced is on the disk */
    CUT_WRITES,  /* a random half of the writes */
    CUT_SECTORS, /* a random half of the sectors; where a file grew by none, zeros or noise */
    CUT_HOWS
};
const char *cut_how_name(enum cut_how how);

/* Makes `folder` hold what is on the disk when the power goes at `moment`. Gives how many
 * acknowledgements there were before it. */
int cut_make(const struct cut_notes *notes, int moment, enum cut_how how, uint64_t seed,
             const char *folder);
/* Whether what is on the disk for sure, or what was acknowledged, became another thing with that
 * moment: at the others CUT_NONE gives what it gave before. */
bool cut_matters(const struct cut_notes *notes, int moment);

#endif
