/* Bounded queues between the threads: what is put in is copied, what is taken out is owned.
 *
 * Putting never blocks beyond a mutex held for a copy. A full queue says so; what then happens
 * (merge, drop a frame, keep a press) is the caller's rule. */
#ifndef WETSIDE_DRIVE_QUEUE_H
#define WETSIDE_DRIVE_QUEUE_H

#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>

#include "wetside/calc/status.h"

struct ws_queue {
    pthread_mutex_t lock;
    unsigned char *item;
    size_t size, room, first, count;
};

enum ws_status ws_queue_open(struct ws_queue *queue, size_t item_size, size_t room);
void ws_queue_free(struct ws_queue *queue);
/* False when full. */
bool ws_queue_put(struct ws_queue *queue, const void *item);
/* Puts, or lets `merge` put the item into the one that was put last (never called on an empty
 * queue): it returns true when it has. Called with the queue locked: a copy, nothing more. */
bool ws_queue_put_or_merge(struct ws_queue *queue, const void *item,
                           bool (*merge)(void *last, const void *item));
/* False when empty. Never waits. */
bool ws_queue_take(struct ws_queue *queue, void *item);
size_t ws_queue_count(struct ws_queue *queue);

#endif
