/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Opening and ending a queue: never called on the drive's thread. */
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
    return WS_OK;
}

void ws_queue_free(struct ws_queue *queue)
{
    if (queue->item == NULL)
        return;
    free(queue->item);
    queue->item = NULL;
    pthread_mutex_destroy(&queue->lock);
}
