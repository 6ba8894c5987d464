/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive's side of the book: rows are put and looked after, and never waited for. */
#include "keeper.h"

#include <string.h>

bool ws_keeper_put(struct ws_keeper *keeper, int tank, const struct ws_event *event,
                   const struct ws_stamp *stamp)
{
    struct ws_journal *journal = &keeper->journal[tank];
    bool room;

    pthread_mutex_lock(&keeper->lock);
    room = journal->count < WS_JOURNAL_ROOM;
    if (room) {
        size_t place = (journal->first + journal->count) % WS_JOURNAL_ROOM;
        struct ws_journal_row *row = &journal->row[place];

        row->run = journal->run;
        row->epoch = journal->epoch;
        row->event = *event;
        row->stamp = *stamp;
        journal->count++;
        pthread_cond_signal(&keeper->work);
    } else {
        keeper->unkept++;
    }
    pthread_mutex_unlock(&keeper->lock);
    return room;
}

void ws_keeper_close(struct ws_keeper *keeper, int tank, const char *reason,
                     const struct ws_stamp *stamp)
{
    struct ws_journal *journal = &keeper->journal[tank];
    size_t length = strlen(reason);

    if (length >= sizeof journal->reason)
        length = sizeof journal->reason - 1;
    pthread_mutex_lock(&keeper->lock);
    memcpy(journal->reason, reason, length);
    journal->reason[length] = '\0';
    journal->close_stamp = *stamp;
    journal->close_wanted = true;
    pthread_cond_signal(&keeper->work);
    pthread_mutex_unlock(&keeper->lock);
}

void ws_keeper_look(struct ws_keeper *keeper, int tank, struct ws_keeper_view *out)
{
    const struct ws_journal *journal = &keeper->journal[tank];

    pthread_mutex_lock(&keeper->lock);
    out->waiting = journal->count + (journal->close_wanted && !journal->closed ? 1 : 0);
    out->acked = journal->acked;
    out->status = journal->status;
    out->why = journal->why;
    pthread_mutex_unlock(&keeper->lock);
}
