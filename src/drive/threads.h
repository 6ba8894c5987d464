/* Starting threads so that no signal is ever delivered to them: signals are the drive's to read, or
 * the program's own thread's. */
#ifndef WETSIDE_SRC_DRIVE_THREADS_H
#define WETSIDE_SRC_DRIVE_THREADS_H

#include <pthread.h>
#include <stdbool.h>

/* `name` as the system's lists of threads show it; 15 bytes at most. */
bool ws_thread_start(pthread_t *thread, const char *name, void *(*run)(void *self), void *self);

#endif
