/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Beginning, taking up and forgetting runs. On the caller's thread, which may wait: for the book,
 * and for the drive to carry out an order. */
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

static enum ws_status new_seat(struct ws_drive *drive, const struct ws_plan *plan,
                               struct ws_seat **out, struct ws_message *why)
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

/* Gives the seat to the drive, which then owns what is in it. */
static void seat_it(struct ws_drive *drive, struct ws_seat *seat, uint32_t acked)
{
    struct ws_order order = { .kind = WS_ORDER_SEAT, .seat = seat, .tank = seat->tank };

    seat->serial = ++drive->serial;
    seat->next = drive->seats;
    drive->seats = seat;
    drive->at_tank[seat->tank] = seat;
    ws_keeper_assign(&drive->keeper, seat->tank, seat->run, seat->epoch, acked);
    ws_drive_order(drive, &order);
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
    status = ws_ringer_need(drive->ringer, why);
    if (status == WS_OK)
        status = new_seat(drive, plan, &seat, why);
    if (status == WS_OK)
        status = ws_session_begin(&seat->session, &seat->plan, why);
    if (status != WS_OK)
        goto out;
    ws_clock_stamp(drive->clock, &stamp);
    if (!rehearsal) {
        ws_keeper_do(&drive->keeper, keep_run, &job);
        status = job.status;
        if (status != WS_OK)
            goto out;
    }
    seat->anchor.stamp = stamp;
    seat->rehearsal = rehearsal;
    seat->run = job.row;
    seat->epoch = 1;
    seat_it(drive, seat, 1);
    *tank = seat->tank;
    seat = NULL;
out:
    pthread_mutex_unlock(&drive->seating);
    free(seat);
    return status;
}

/* ---- a run taken up ---- */

struct load_job {
    int64_t run;
    struct ws_run_line line;
    struct ws_plan plan;
    struct ws_journal_row *row;
    int rows;
    int64_t epoch;
    enum ws_status status;
    struct ws_message *why;
};

static enum ws_status load_rows(struct ws_book *book, struct load_job *job)
{
    enum ws_status status;

    free(job->row);
    job->row = NULL;
    status = ws_run_events_all(book, job->run, &job->row, &job->rows, job->why);
    if (status == WS_OK && job->rows == 0)
        status = ws_fail(job->why, WS_DAMAGED, "run %lld has no journal: check the book",
                         (long long)job->run);
    return status;
}

static void load_run(struct ws_book *book, void *arg)
{
    struct load_job *job = arg;

    job->status = ws_run_get(book, job->run, &job->line);
    if (job->status == WS_NOT_FOUND)
        ws_fail(job->why, WS_NOT_FOUND, "there is no run %lld in the book", (long long)job->run);
    if (job->status == WS_OK && job->line.ended_ms != 0)
        job->status = ws_fail(job->why, WS_NOT_FOUND, "run %lld is closed", (long long)job->run);
    if (job->status == WS_OK)
        job->status = ws_run_plan(book, job->run, &job->plan, job->why);
    if (job->status == WS_OK)
        job->status = load_rows(book, job);
}

/* Becomes the owner, and only then reads the journal to go on from: once the epoch is raised nobody
 * else can add to it, and what the owner before added since it was first read is there. */
static void own_run(struct ws_book *book, void *arg)
{
    struct load_job *job = arg;

    job->status = ws_run_own(book, job->run, &job->epoch, job->why);
    if (job->status == WS_OK)
        load_run(book, job);
}

static enum ws_status fold(struct ws_seat *seat, const struct load_job *job)
{
    struct ws_event *event = calloc((size_t)job->rows, sizeof *event);
    enum ws_status status;

    if (event == NULL)
        return ws_fail(job->why, WS_NO_MEMORY, "not enough memory for the run's journal");
    for (int i = 0; i < job->rows; i++)
        event[i] = job->row[i].event;
    status = ws_session_fold(&seat->session, &seat->plan, event, job->rows, job->why);
    free(event);
    return status;
}

/* A journal that ends in its CLOSE belongs to a run the book was about to close. */
static void close_it(struct ws_book *book, void *arg)
{
    struct load_job *job = arg;
    const struct ws_journal_row *last = &job->row[job->rows - 1];

    job->status = ws_run_close(book, job->run, job->line.given_up ? "given up" : NULL, &last->stamp,
                               job->why);
}

static enum ws_status finish_closing(struct ws_drive *drive, const struct ws_seat *seat,
                                     struct load_job *job)
{
    job->line.given_up = seat->session.step < seat->session.steps;
    ws_keeper_do(&drive->keeper, close_it, job);
    if (job->status != WS_OK)
        return job->status;
    return ws_fail(job->why, WS_NOT_FOUND, "run %lld was over already: it is closed now",
                   (long long)job->run);
}

/* Where the run stands now by its journal. False: the clock can't say, ask. */
static bool find_moment(struct ws_drive *drive, struct ws_seat *seat, const struct load_job *job,
                        double minutes_away)
{
    const struct ws_journal_row *last = &job->row[job->rows - 1];
    struct ws_anchor anchor = { last->stamp, last->event.at_ms };
    struct ws_stamp now;
    bool same_boot, by_wall;

    ws_clock_stamp(drive->clock, &now);
    same_boot = ws_id_equal(&now.boot, &last->stamp.boot);
    if (!same_boot && minutes_away < 0 && !ws_timebase_wall_plausible(&anchor, &now))
        return false;
    seat->anchor.at_ms = ws_timebase_run_ms(&anchor, &now, minutes_away, &seat->estimated);
    seat->anchor.stamp = now;
    if (same_boot)
        seat->anchor = anchor; /* to the nanosecond as it was */
    seat->time_lost = !same_boot && minutes_away >= 0;
    seat->estimated = seat->estimated || seat->session.estimated;
    seat->away_ms = ws_timebase_run_ms(&seat->anchor, &now, -1.0, &by_wall) - anchor.at_ms;
    seat->resumed = true;
    seat->journaled = last->event.sequence;
    return true;
}

static bool is_seated(const struct ws_drive *drive, int64_t run)
{
    for (int i = 0; i < WS_TANKS; i++)
        if (drive->at_tank[i] != NULL && drive->at_tank[i]->run == run &&
            !atomic_load(&drive->at_tank[i]->closed))
            return true;
    return false;
}

static enum ws_status load(struct ws_drive *drive, struct load_job *job)
{
    ws_keeper_do(&drive->keeper, load_run, job);
    return job->status;
}

/* Puts the seat where the journal leads. *ask: the clock can't say where that is. */
static enum ws_status follow(struct ws_drive *drive, struct ws_seat *seat, struct load_job *job,
                             double minutes_away, bool *ask)
{
    enum ws_status status = fold(seat, job);

    if (status == WS_OK && seat->session.closed)
        status = finish_closing(drive, seat, job);
    if (status == WS_OK)
        *ask = !find_moment(drive, seat, job, minutes_away);
    return status;
}

enum ws_status ws_drive_resume(struct ws_drive *drive, int64_t run, double minutes_away, bool *ask,
                               int *tank, struct ws_message *why)
{
    struct load_job *job = calloc(1, sizeof *job);
    struct ws_seat *seat = NULL;
    enum ws_status status;

    *ask = false;
    if (job == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
    job->run = run;
    job->why = why;
    pthread_mutex_lock(&drive->seating);
    if (!drive->has_book)
        status = ws_fail(why, WS_NOT_FOUND, "no book is open that could have the run");
    else if (is_seated(drive, run))
        status = ws_fail(why, WS_EXISTS, "run %lld is at the sink already", (long long)run);
    else
        status = load(drive, job);
    if (status == WS_OK)
        status = ws_ringer_need(drive->ringer, why);
    if (status == WS_OK)
        status = new_seat(drive, &job->plan, &seat, why);
    /* First without owning it: a run that is refused or asked about stays its owner's. */
    if (status == WS_OK)
        status = follow(drive, seat, job, minutes_away, ask);
    if (status != WS_OK || *ask)
        goto out;
    ws_keeper_do(&drive->keeper, own_run, job);
    status = job->status;
    if (status == WS_OK)
        status = follow(drive, seat, job, minutes_away, ask);
    if (status != WS_OK || *ask)
        goto out;
    seat->run = run;
    seat->epoch = job->epoch;
    seat_it(drive, seat, seat->journaled);
    *tank = seat->tank;
    seat = NULL;
out:
    pthread_mutex_unlock(&drive->seating);
    free(seat);
    free(job->row);
    free(job);
    return status;
}

void ws_drive_forget(struct ws_drive *drive, int tank)
{
    struct ws_order order = { .kind = WS_ORDER_FORGET, .tank = tank };

    if (tank < 0 || tank >= WS_TANKS)
        return;
    pthread_mutex_lock(&drive->seating);
    if (drive->at_tank[tank] != NULL && atomic_load(&drive->at_tank[tank]->closed)) {
        drive->at_tank[tank] = NULL;
        ws_drive_order(drive, &order);
    }
    pthread_mutex_unlock(&drive->seating);
}
