/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening, ending and waiting on a queue: never called on the drive's thread. */
#include "wetside/drive/queue.h"

#include <stdlib.h>
#include <string.h>

enum ws_status ws_queue_open(struct ws_queue *queue, size_t item_size, size_t room)
{
    memset(queue, 0, sizeof *queue);
    queue->item = calloc(room, item_size);
    if (queue->item == NULL)
        return WS_NO_MEMORY;
    queue->size = item_size;
    queue->room = room;
    pthread_mutex_init(&queue->lock, NULL);
    pthread_cond_init(&queue->filled, NULL);
    return WS_OK;
}

void ws_queue_close(struct ws_queue *queue)
{
    pthread_mutex_lock(&queue->lock);
    queue->closed = true;
    pthread_cond_broadcast(&queue->filled);
    pthread_mutex_unlock(&queue->lock);
}

void ws_queue_free(struct ws_queue *queue)
{
    if (queue->item == NULL)
        return;
    free(queue->item);
    queue->item = NULL;
    pthread_cond_destroy(&queue->filled);
    pthread_mutex_destroy(&queue->lock);
}

bool ws_queue_wait(struct ws_queue *queue, void *item)
{
    bool over;

    do {
        pthread_mutex_lock(&queue->lock);
        while (queue->count == 0 && !queue->closed)
            pthread_cond_wait(&queue->filled, &queue->lock);
        over = queue->count == 0;
        pthread_mutex_unlock(&queue->lock);
        if (over)
            return false;
        /* Another waiter may be quicker here: then this one waits again. */
    } while (!ws_queue_take(queue, item));
    return true;
}
