/* Starting threads so that no signal is ever delivered to them: signals are the drive's to read, or
 * the program's own thread's. */
#ifndef WETSIDE_SRC_DRIVE_THREADS_H
#define WETSIDE_SRC_DRIVE_THREADS_H

#include <pthread.h>
#include <stdbool.h>

bool ws_thread_start(pthread_t *thread, void *(*run)(void *self), void *self);
/* The calling thread's name, as the system's lists show it; 15 bytes at most. A thread names
 * itself: another's name goes through a file of the kernel's, which would be felt at the start. */
void ws_thread_name(const char *name);

#endif
