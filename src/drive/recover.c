/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An open run as its journal tells it: looked at, and taken up. On the caller's thread. */
#include "inside.h"

#include <stdlib.h>
#include <string.h>

enum { CUES = 64, FORGOTTEN_MS = 3600000 };

/* ---- reading it ---- */

struct load_job {
    int64_t run;
    struct ws_run_line line;
    struct ws_plan plan;
    struct ws_journal_row *row;
    int rows;
    int64_t epoch;
    bool owned; /* the book knows of it */
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
    else if (job->status != WS_OK)
        ws_fail(job->why, job->status, "run %lld can't be read from the book", (long long)job->run);
    if (job->status == WS_OK && job->line.ended_ms != 0)
        job->status = ws_fail(job->why, WS_NOT_FOUND, "run %lld is closed", (long long)job->run);
    if (job->status == WS_OK)
        job->status = ws_run_plan(book, job->run, &job->plan, job->why);
    if (job->status == WS_OK)
        job->status = load_rows(book, job);
}

/* A disk that takes nothing now: what is to be written waits in memory, and the run goes on. */
static bool is_of_the_disk(enum ws_status status)
{
    return status == WS_DISK_FULL || status == WS_IO || status == WS_UNKNOWN || status == WS_BUSY ||
           status == WS_READ_ONLY;
}

/* Raises it by whatever it is then, so that no two who do it at the same time get the same, also
 * where no lock keeps them apart. After an unknown COMMIT it is raised once more, which does no
 * harm. */
static void raise_epoch(struct ws_book *book, struct load_job *job)
{
    int64_t from;

    job->epoch = 0;
    job->status = ws_run_epoch(book, job->run, &from, job->why);
    if (job->status != WS_OK)
        return;
    job->status = ws_run_own(book, job->run, &job->epoch, job->why);
    job->owned = job->status == WS_OK;
    if (!job->owned)
        job->epoch = from + 1;
}

/* Becomes the owner, and only then reads the journal to go on from: once the epoch is raised nobody
 * else can add to it, and what the owner before added since it was first read is there. Where the
 * book can't be written, the lock alone keeps others out until it can. */
static void own_run(struct ws_book *book, void *arg)
{
    struct load_job *job = arg;

    raise_epoch(book, job);
    if (job->status == WS_UNKNOWN)
        raise_epoch(book, job);
    if (job->owned || (job->epoch != 0 && is_of_the_disk(job->status)))
        load_run(book, job);
}

static enum ws_status fold(struct ws_glimpse *out, const struct load_job *job)
{
    struct ws_event *event = calloc((size_t)job->rows, sizeof *event);
    enum ws_status status;

    if (event == NULL)
        return ws_fail(job->why, WS_NO_MEMORY, "not enough memory for the run's journal");
    for (int i = 0; i < job->rows; i++)
        event[i] = job->row[i].event;
    status = ws_session_fold(&out->session, &out->plan, event, job->rows, job->why);
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

static enum ws_status finish_closing(struct ws_drive *drive, const struct ws_glimpse *glimpse,
                                     struct load_job *job)
{
    job->line.given_up = glimpse->session.step < glimpse->session.steps;
    ws_keeper_do(&drive->keeper, close_it, job);
    if (job->status != WS_OK)
        return job->status;
    return ws_fail(job->why, WS_NOT_FOUND, "run %lld was over already: it is closed now",
                   (long long)job->run);
}

/* Where the run stands now by its journal. */
static void find_moment(const struct ws_clock *clock, const struct load_job *job,
                        double minutes_away, struct ws_glimpse *out)
{
    const struct ws_journal_row *last = &job->row[job->rows - 1];
    struct ws_anchor anchor = { last->stamp, last->event.at_ms };
    struct ws_stamp now;

    ws_clock_stamp(clock, &now);
    out->last_ms = last->event.at_ms;
    out->last = last->stamp;
    out->sequence = last->event.sequence;
    out->same_boot = ws_id_equal(&now.boot, &last->stamp.boot);
    out->ask = !out->same_boot && minutes_away < 0 && !ws_timebase_wall_plausible(&anchor, &now);
    out->anchor.at_ms =
        ws_timebase_run_ms(&anchor, &now, out->ask ? 0 : minutes_away, &out->estimated);
    out->anchor.stamp = now;
    if (out->same_boot)
        out->anchor = anchor; /* to the nanosecond as it was */
    out->estimated = out->estimated || out->session.estimated;
}

/* The run as its journal leads to it, into `out`. */
static enum ws_status follow(const struct ws_clock *clock, const struct load_job *job,
                             double minutes_away, struct ws_glimpse *out)
{
    enum ws_status status;

    out->line = job->line;
    out->plan = job->plan;
    status = fold(out, job);
    if (status == WS_OK)
        find_moment(clock, job, minutes_away, out);
    return status;
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

static void free_job(struct load_job *job)
{
    if (job != NULL)
        free(job->row);
    free(job);
}

/* ---- looking at it ---- */

enum ws_status ws_glimpse_read(struct ws_book *book, const struct ws_clock *clock, int64_t run,
                               double minutes_away, struct ws_glimpse *out, struct ws_message *why)
{
    struct load_job *job = calloc(1, sizeof *job);
    enum ws_status status;

    if (job == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
    job->run = run;
    job->why = why;
    load_run(book, job);
    status = job->status;
    if (status == WS_OK)
        status = follow(clock, job, minutes_away, out);
    if (status == WS_OK && out->session.closed)
        status = ws_fail(why, WS_NOT_FOUND, "run %lld is over", (long long)run);
    free_job(job);
    return status;
}

struct glimpse_job {
    const struct ws_clock *clock;
    int64_t run;
    double minutes_away;
    struct ws_glimpse *out;
    enum ws_status status;
    struct ws_message *why;
};

static void glimpse_job(struct ws_book *book, void *arg)
{
    struct glimpse_job *job = arg;

    if (book == NULL)
        job->status = ws_fail(job->why, WS_NOT_FOUND, "no book is open that could have the run");
    else
        job->status =
            ws_glimpse_read(book, job->clock, job->run, job->minutes_away, job->out, job->why);
}

enum ws_status ws_drive_glimpse(struct ws_drive *drive, int64_t run, double minutes_away,
                                struct ws_glimpse *out, struct ws_message *why)
{
    struct glimpse_job job = { drive->clock, run, minutes_away, out, WS_OK, why };

    ws_keeper_do(&drive->keeper, glimpse_job, &job);
    return job.status;
}

static int64_t glimpse_ms(const struct ws_glimpse *glimpse, const struct ws_clock *clock)
{
    struct ws_stamp now;
    bool estimated;

    ws_clock_stamp(clock, &now);
    return ws_timebase_run_ms(&glimpse->anchor, &now, -1.0, &estimated);
}

void ws_glimpse_tick(struct ws_glimpse *glimpse, struct ws_clock *clock)
{
    struct ws_event tick = { .kind = WS_EVENT_TICK, .bath = -1 };
    struct ws_cue cue[CUES];
    int n;

    tick.at_ms = glimpse_ms(glimpse, clock);
    while (!glimpse->session.closed &&
           ws_session_next_ms(&glimpse->session, &glimpse->plan) <= tick.at_ms) {
        n = 0;
        if (ws_session_take(&glimpse->session, &glimpse->plan, &tick, cue, CUES, &n) != WS_MORE)
            break;
    }
}

void ws_glimpse_tank(struct ws_glimpse *glimpse, struct ws_clock *clock, struct ws_frame_tank *out)
{
    struct ws_stamp now;
    bool estimated;

    ws_glimpse_tick(glimpse, clock);
    ws_clock_stamp(clock, &now);
    memset(out, 0, sizeof *out);
    out->plan = &glimpse->plan;
    out->session = glimpse->session;
    out->at_ms = ws_timebase_run_ms(&glimpse->anchor, &now, -1.0, &estimated);
    out->began_wall_ms = now.wall_ns / WS_NS_IN_MS - out->at_ms;
    out->run = glimpse->line.row;
    out->kept = WS_KEPT_ALL;
}

bool ws_glimpse_is_forgotten(struct ws_glimpse *glimpse, struct ws_clock *clock)
{
    struct ws_frame_tank tank;
    struct ws_view view;

    ws_glimpse_tank(glimpse, clock, &tank);
    ws_session_view(&tank.session, tank.plan, tank.at_ms, &view);
    if (view.stage == WS_STAGE_OVER)
        return true;
    return (view.stage == WS_STAGE_WAITING || view.stage == WS_STAGE_DRAINING) &&
           view.asked_ms != WS_NEVER && tank.at_ms - view.asked_ms > FORGOTTEN_MS;
}

/* ---- taking it up ---- */

/* Puts the seat where the glimpse is. */
static void place(const struct ws_glimpse *glimpse, double minutes_away, struct ws_seat *seat)
{
    seat->session = glimpse->session;
    seat->anchor = glimpse->anchor;
    seat->estimated = glimpse->estimated;
    seat->time_lost = !glimpse->same_boot && minutes_away >= 0;
    seat->last_ms = glimpse->last_ms;
    seat->resumed = true;
    seat->journaled = glimpse->sequence;
}

/* Owns it and then reads it once more: only then nobody else can add to it. */
static enum ws_status own(struct ws_drive *drive, struct load_job *job, struct ws_seat *seat,
                          struct ws_message *why)
{
    enum ws_status status = ws_seat_own(drive, seat, job->run, why);

    if (status != WS_OK)
        return status;
    ws_keeper_do(&drive->keeper, own_run, job);
    return job->status;
}

static enum ws_status look(struct ws_drive *drive, struct load_job *job, double minutes_away,
                           struct ws_glimpse *glimpse)
{
    enum ws_status status = follow(drive->clock, job, minutes_away, glimpse);

    if (status == WS_OK && glimpse->session.closed)
        status = finish_closing(drive, glimpse, job);
    return status;
}

static enum ws_status take_up(struct ws_drive *drive, struct load_job *job, double minutes_away,
                              struct ws_glimpse *glimpse, struct ws_seat **seat)
{
    enum ws_status status = load(drive, job);

    /* Without it the terminal rings, and the frames say why. */
    if (status == WS_OK)
        (void)ws_ringer_need(drive->ringer, NULL);
    if (status == WS_OK)
        status = ws_seat_new(drive, &job->plan, seat, job->why);
    /* First without owning it: a run that is refused or asked about stays its owner's. */
    if (status == WS_OK)
        status = look(drive, job, minutes_away, glimpse);
    if (status != WS_OK || glimpse->ask)
        return status;
    status = own(drive, job, *seat, job->why);
    return status == WS_OK ? look(drive, job, minutes_away, glimpse) : status;
}

/* What was fetched for this and can't be used is anybody's. */
static void drop_fetched(struct ws_drive *drive, int64_t run)
{
    if (drive->fetched == NULL || ws_owner_run(drive->fetched) != run)
        return;
    ws_owner_release(drive->fetched);
    drive->fetched = NULL;
}

void ws_drive_greet(struct ws_drive *drive, bool greet)
{
    atomic_store(&drive->greets_not, !greet);
}

enum ws_status ws_drive_resume(struct ws_drive *drive, int64_t run, double minutes_away, bool *ask,
                               int *tank, struct ws_message *why)
{
    struct load_job *job = calloc(1, sizeof *job);
    struct ws_glimpse *glimpse = calloc(1, sizeof *glimpse);
    struct ws_seat *seat = NULL;
    enum ws_status status = WS_OK;

    *ask = false;
    if (job == NULL || glimpse == NULL) {
        status = ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
        goto out;
    }
    job->run = run;
    job->why = why;
    pthread_mutex_lock(&drive->seating);
    if (!drive->has_book)
        status = ws_fail(why, WS_NOT_FOUND, "no book is open that could have the run");
    else if (is_seated(drive, run))
        status = ws_fail(why, WS_EXISTS, "run %lld is at the sink already", (long long)run);
    else
        status = take_up(drive, job, minutes_away, glimpse, &seat);
    *ask = status == WS_OK && glimpse->ask;
    if (status == WS_OK && !*ask) {
        place(glimpse, minutes_away, seat);
        seat->run = run;
        seat->epoch = job->epoch;
        seat->owned = job->owned;
        ws_seat_give(drive, seat, seat->journaled);
        *tank = seat->tank;
        seat = NULL;
    }
    if (status != WS_OK)
        drop_fetched(drive, run);
    pthread_mutex_unlock(&drive->seating);
out:
    ws_seat_drop(seat);
    free(glimpse);
    free_job(job);
    return status;
}
