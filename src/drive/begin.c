/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Beginning and forgetting runs. On the caller's thread, which may wait: for the book, and for the
 * drive to carry out an order. */
#include "inside.h"

#include <errno.h>
#include <sched.h>
#include <stdlib.h>
#include <string.h>

void ws_drive_order(struct ws_drive *drive, const struct ws_order *order)
{
    struct ws_order own = *order;
    sem_t done;

    sem_init(&done, 0, 0);
    own.done = &done;
    /* Each caller waits for its own order, so the queue holds no more than there are callers. */
    while (!ws_queue_put(&drive->orders, &own))
        sched_yield();
    ws_wait_wake(&drive->wait);
    while (sem_wait(&done) != 0 && errno == EINTR)
        continue;
    sem_destroy(&done);
}

/* ---- places ---- */

/* A place for one more run: an empty one, else that of a run that is closed. -1: all are in use.
 * Under the seating lock. */
static int find_place(struct ws_drive *drive)
{
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < WS_TANKS; i++) {
            const struct ws_seat *there = drive->at_tank[i];

            if ((there == NULL || (pass == 1 && atomic_load(&there->closed))) &&
                ws_keeper_idle(&drive->keeper, i))
                return i;
        }
    return -1;
}

enum ws_status ws_seat_new(struct ws_drive *drive, const struct ws_plan *plan, struct ws_seat **out,
                           struct ws_message *why)
{
    int tank = find_place(drive);
    struct ws_seat *seat;

    if (tank < 0)
        return ws_fail(why, WS_BUSY, "all %d places are taken: close a run first", (int)WS_TANKS);
    seat = calloc(1, sizeof *seat);
    if (seat == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
    seat->plan = *plan;
    seat->tank = tank;
    *out = seat;
    return WS_OK;
}

static void let_go(struct ws_seat *seat)
{
    ws_owner_release(seat->owner);
    seat->owner = NULL;
}

void ws_seat_drop(struct ws_seat *seat)
{
    if (seat != NULL)
        let_go(seat);
    free(seat);
}

void ws_seat_let_go(struct ws_drive *drive, struct ws_seat *seat)
{
    if (seat != NULL && atomic_load(&seat->closed) && ws_keeper_idle(&drive->keeper, seat->tank))
        let_go(seat);
}

enum ws_status ws_seat_own(struct ws_drive *drive, struct ws_seat *seat, int64_t run,
                           struct ws_message *why)
{
    enum ws_status status = WS_OK;

    /* It may have been driven here before, and have gone to another process since. */
    for (int i = 0; i < WS_TANKS; i++)
        if (drive->at_tank[i] != NULL && drive->at_tank[i]->run == run)
            ws_seat_let_go(drive, drive->at_tank[i]);
    if (drive->fetched != NULL && ws_owner_run(drive->fetched) == run) {
        seat->owner = drive->fetched;
        drive->fetched = NULL;
    } else {
        status = ws_owner_take(drive->book_path, run, &seat->owner, why);
    }
    return status == WS_OK ? ws_door_open(drive, why) : status;
}

void ws_seat_give(struct ws_drive *drive, struct ws_seat *seat, uint32_t acked)
{
    struct ws_order order = { .kind = WS_ORDER_SEAT, .seat = seat, .tank = seat->tank };

    seat->serial = ++drive->serial;
    seat->next = drive->seats;
    drive->seats = seat;
    ws_seat_let_go(drive, drive->at_tank[seat->tank]);
    drive->at_tank[seat->tank] = seat;
    ws_keeper_assign(&drive->keeper, seat->tank, seat->run, seat->epoch, seat->owned, acked);
    ws_drive_order(drive, &order);
    if (drive->door != NULL)
        ws_door_look(drive->door);
}

/* ---- a new run ---- */

struct keep_job {
    const struct ws_plan *plan;
    const struct ws_stamp *stamp;
    int64_t row;
    enum ws_status status;
    struct ws_message *why;
};

static void keep_run(struct ws_book *book, void *arg)
{
    struct keep_job *job = arg;

    /* A COMMIT that failed may have written all the same; the plan's id makes asking again safe. */
    job->status = ws_run_keep(book, job->plan, job->stamp, &job->row, job->why);
    if (job->status == WS_UNKNOWN)
        job->status = ws_run_keep(book, job->plan, job->stamp, &job->row, job->why);
}

enum ws_status ws_drive_begin(struct ws_drive *drive, const struct ws_plan *plan, bool rehearsal,
                              int *tank, struct ws_message *why)
{
    struct ws_seat *seat = NULL;
    struct ws_stamp stamp;
    struct keep_job job = { plan, &stamp, 0, WS_OK, why };
    enum ws_status status;

    if (!rehearsal && !drive->has_book)
        return ws_fail(why, WS_NOT_FOUND,
                       "no book to keep the run in: name one with --book, or rehearse");
    pthread_mutex_lock(&drive->seating);
    /* Without it the terminal rings, and the frames say why. */
    (void)ws_ringer_need(drive->ringer, NULL);
    status = ws_seat_new(drive, plan, &seat, why);
    if (status == WS_OK)
        status = ws_session_begin(&seat->session, &seat->plan, why);
    if (status != WS_OK)
        goto out;
    ws_clock_stamp(drive->clock, &stamp);
    if (!rehearsal) {
        ws_keeper_do(&drive->keeper, keep_run, &job);
        status = job.status;
        if (status == WS_OK)
            status = ws_seat_own(drive, seat, job.row, why);
        if (status != WS_OK)
            goto out;
    }
    seat->anchor.stamp = stamp;
    seat->rehearsal = rehearsal;
    seat->run = job.row;
    seat->epoch = 1;
    seat->owned = true;
    ws_seat_give(drive, seat, 1);
    *tank = seat->tank;
    seat = NULL;
out:
    pthread_mutex_unlock(&drive->seating);
    ws_seat_drop(seat);
    return status;
}

void ws_drive_forget(struct ws_drive *drive, int tank)
{
    struct ws_order order = { .kind = WS_ORDER_FORGET, .tank = tank };

    if (tank < 0 || tank >= WS_TANKS)
        return;
    pthread_mutex_lock(&drive->seating);
    if (drive->at_tank[tank] != NULL && atomic_load(&drive->at_tank[tank]->closed)) {
        ws_seat_let_go(drive, drive->at_tank[tank]);
        drive->at_tank[tank] = NULL;
        ws_drive_order(drive, &order);
    }
    pthread_mutex_unlock(&drive->seating);
}
