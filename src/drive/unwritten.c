/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the book did not take of a run, for whoever puts it elsewhere. On the caller's thread. */
#include "inside.h"

#include <stdlib.h>

static void nothing(struct ws_book *book, void *arg)
{
    (void)book;
    (void)arg;
}

/* Also of a run that is at the sink no more: what waits is still its. */
static const struct ws_plan *plan_of(struct ws_drive *drive, int64_t run)
{
    const struct ws_plan *plan = NULL;

    pthread_mutex_lock(&drive->seating);
    for (const struct ws_seat *seat = drive->seats; seat != NULL && plan == NULL; seat = seat->next)
        if (!seat->rehearsal && seat->run == run)
            plan = &seat->plan;
    pthread_mutex_unlock(&drive->seating);
    return plan;
}

enum ws_status ws_drive_unwritten(struct ws_drive *drive, int tank, struct ws_journal_row **row,
                                  int *rows, const struct ws_plan **plan, struct ws_message *why)
{
    struct ws_keeper_view view;

    *row = NULL;
    *rows = 0;
    *plan = NULL;
    if (tank < 0 || tank >= WS_TANKS || !drive->has_book)
        return WS_OK;
    ws_keeper_look(&drive->keeper, tank, &view);
    if (view.waiting == 0)
        return WS_OK;
    /* A job comes after an attempt at the rows. */
    ws_keeper_do(&drive->keeper, nothing, NULL);
    if (ws_keeper_unwritten(&drive->keeper, tank, row, rows) != WS_OK)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for the run's events");
    if (*rows > 0)
        *plan = plan_of(drive, (*row)[0].run);
    return WS_OK;
}
