/* A disk that stalls or fails, put under SQLite for the tests of the drive. */
#ifndef WETSIDE_TESTS_DRIVE_DISK_H
#define WETSIDE_TESTS_DRIVE_DISK_H

#include <stdbool.h>

/* Makes it the disk of every book opened from now on. Once. */
void disk_install(void);

/* From now on every sync waits, until it is released. */
void disk_hold(void);
void disk_release(void);
/* How many syncs wait now. */
int disk_waiting(void);

/* From now on every write (or every sync) gives this SQLite error; 0: works again. */
void disk_fail_writes(int error);
/* Only the next `times` writes. */
void disk_fail_next_writes(int error, int times);
void disk_fail_syncs(int error);

#endif
