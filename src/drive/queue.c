/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Putting into and taking out of a bounded queue: what the drive's thread may call. Opening
 * and ending are in queue_open.c, so that this object holds nothing that can block. */
#include "wetside/drive/queue.h"

#include <string.h>

static unsigned char *at(const struct ws_queue *queue, size_t place)
{
    return queue->item + (queue->first + place) % queue->room * queue->size;
}

bool ws_queue_put_or_merge(struct ws_queue *queue, const void *item,
                           bool (*merge)(void *last, const void *item))
{
    bool done = false;

    pthread_mutex_lock(&queue->lock);
    if (merge != NULL && queue->count > 0 && merge(at(queue, queue->count - 1), item)) {
        done = true;
    } else if (queue->count < queue->room) {
        memcpy(at(queue, queue->count), item, queue->size);
        queue->count++;
        done = true;
    }
    pthread_mutex_unlock(&queue->lock);
    return done;
}

bool ws_queue_put(struct ws_queue *queue, const void *item)
{
    return ws_queue_put_or_merge(queue, item, NULL);
}

bool ws_queue_take(struct ws_queue *queue, void *item)
{
    bool found;

    pthread_mutex_lock(&queue->lock);
    found = queue->count > 0;
    if (found) {
        memcpy(item, at(queue, 0), queue->size);
        queue->first = (queue->first + 1) % queue->room;
        queue->count--;
    }
    pthread_mutex_unlock(&queue->lock);
    return found;
}

size_t ws_queue_count(struct ws_queue *queue)
{
    size_t count;

    pthread_mutex_lock(&queue->lock);
    count = queue->count;
    pthread_mutex_unlock(&queue->lock);
    return count;
}
