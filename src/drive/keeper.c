/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The book's thread. */
#include "keeper.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "threads.h"

enum { RETRY_MS = 1000, LAST_TRIES = 5, LAST_RETRY_MS = 200 };

/* ---- writing what waits ---- */

static bool waits(const struct ws_journal *journal)
{
    return journal->count > 0 || journal->own_wanted || (journal->close_wanted && !journal->closed);
}

static bool any_waits(const struct ws_keeper *keeper)
{
    for (int i = 0; i < WS_TANKS; i++)
        if (waits(&keeper->journal[i]))
            return true;
    return false;
}

static bool any_fails(const struct ws_keeper *keeper)
{
    for (int i = 0; i < WS_TANKS; i++)
        if (waits(&keeper->journal[i]) && keeper->journal[i].status != WS_OK)
            return true;
    return false;
}

/* Notes how an attempt ended, and wakes the drive when there is something new to show. */
static void note(struct ws_keeper *keeper, struct ws_journal *journal, enum ws_status status,
                 const struct ws_message *why)
{
    bool changed = status == WS_OK || status != journal->status;

    journal->status = status;
    journal->why = *why;
    if (changed) {
        atomic_fetch_add(&keeper->news, 1);
        ws_wait_wake(keeper->drive);
    }
}

/* Called and returns with the lock held, as write_rows. */
static enum ws_status write_owner(struct ws_keeper *keeper, struct ws_journal *journal)
{
    struct ws_message why = { "" };
    int64_t run = journal->run, epoch = journal->epoch;
    unsigned generation = journal->generation;
    enum ws_status status;

    pthread_mutex_unlock(&keeper->lock);
    status = ws_run_own_after(keeper->book, run, epoch - 1, &why);
    pthread_mutex_lock(&keeper->lock);
    if (journal->generation != generation)
        return WS_OK;
    journal->own_wanted = status != WS_OK;
    note(keeper, journal, status, &why);
    return status;
}

/* Writes up to one batch of rows of one tank. Called and returns with the lock held, which is not
 * held while the book is at work. */
static enum ws_status write_rows(struct ws_keeper *keeper, struct ws_journal *journal)
{
    struct ws_journal_row row[WS_JOURNAL_BATCH];
    struct ws_message why = { "" };
    unsigned generation = journal->generation;
    enum ws_status status;
    size_t rows;

    for (rows = 0; rows < journal->count && rows < WS_JOURNAL_BATCH; rows++)
        row[rows] = journal->row[(journal->first + rows) % WS_JOURNAL_ROOM];
    pthread_mutex_unlock(&keeper->lock);
    status = ws_run_journal(keeper->book, row, (int)rows, &why);
    pthread_mutex_lock(&keeper->lock);
    /* The ring was handed on meanwhile: what came of the run before is no news of this one. */
    if (journal->generation != generation) {
        if (journal->handed_on != generation)
            keeper->unkept -= status == WS_OK ? rows : 0;
        return WS_OK;
    }
    if (status == WS_OK) {
        journal->first = (journal->first + rows) % WS_JOURNAL_ROOM;
        journal->count -= rows;
        journal->acked = row[rows - 1].event.sequence;
    }
    note(keeper, journal, status, &why);
    return status;
}

static enum ws_status write_close(struct ws_keeper *keeper, struct ws_journal *journal)
{
    struct ws_message why = { "" };
    struct ws_stamp stamp = journal->close_stamp;
    char reason[sizeof journal->reason];
    int64_t run = journal->run;
    unsigned generation = journal->generation;
    enum ws_status status;

    memcpy(reason, journal->reason, sizeof reason);
    pthread_mutex_unlock(&keeper->lock);
    status = ws_run_close(keeper->book, run, reason[0] != '\0' ? reason : NULL, &stamp, &why);
    pthread_mutex_lock(&keeper->lock);
    if (journal->generation != generation)
        return WS_OK;
    if (status == WS_OK)
        journal->closed = true;
    note(keeper, journal, status, &why);
    return status;
}

/* One attempt at everything that waits; a tank whose rows fail does not hold up the others. */
static void write_all(struct ws_keeper *keeper)
{
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_journal *journal = &keeper->journal[i];
        enum ws_status status = WS_OK;

        if (journal->own_wanted)
            status = write_owner(keeper, journal);
        while (journal->count > 0 && status == WS_OK)
            status = write_rows(keeper, journal);
        if (status == WS_OK && waits(journal))
            write_close(keeper, journal);
    }
}

/* ---- the thread ---- */

static void wait_work(struct ws_keeper *keeper, int64_t most_ms)
{
    struct timespec until;

    if (most_ms < 0) {
        pthread_cond_wait(&keeper->work, &keeper->lock);
        return;
    }
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += (time_t)(most_ms / 1000);
    until.tv_nsec += (long)(most_ms % 1000) * 1000000;
    if (until.tv_nsec >= 1000000000) {
        until.tv_sec++;
        until.tv_nsec -= 1000000000;
    }
    pthread_cond_timedwait(&keeper->work, &keeper->lock, &until);
}

static void do_job(struct ws_keeper *keeper)
{
    struct ws_job *job = keeper->first_job;

    keeper->first_job = job->next;
    if (keeper->first_job == NULL)
        keeper->last_job = NULL;
    pthread_mutex_unlock(&keeper->lock);
    job->run(keeper->book, job->arg);
    pthread_mutex_lock(&keeper->lock);
    job->done = true;
    pthread_cond_broadcast(&keeper->done);
}

static void work(struct ws_keeper *keeper)
{
    while (!keeper->stop || keeper->first_job != NULL) {
        bool job = keeper->first_job != NULL;
        bool fails = any_fails(keeper);

        if (!job && !keeper->stop && (fails || !any_waits(keeper)))
            wait_work(keeper, fails ? RETRY_MS : -1);
        /* Rows first, then the job. A failing book is asked again every second, and at every new
         * row and job. */
        write_all(keeper);
        if (keeper->first_job != NULL)
            do_job(keeper);
    }
    for (int tries = 0; tries < LAST_TRIES && any_waits(keeper); tries++) {
        if (tries > 0)
            wait_work(keeper, LAST_RETRY_MS);
        write_all(keeper);
    }
}

static void *keep(void *self)
{
    struct ws_keeper *keeper = self;
    struct ws_message why = { "" };
    struct ws_book *book = NULL;
    enum ws_status status = WS_OK;

    ws_thread_name("wetside-book");
    if (keeper->path != NULL)
        status = ws_book_open(keeper->path, keeper->mode, &book, &why);
    pthread_mutex_lock(&keeper->lock);
    keeper->book = book;
    keeper->open_status = status;
    keeper->open_why = why;
    keeper->opened = true;
    pthread_cond_broadcast(&keeper->done);
    work(keeper); /* without a book, too: a job is answered, and none has rows to write */
    pthread_mutex_unlock(&keeper->lock);
    if (book != NULL)
        ws_book_close(book);
    return NULL;
}

/* ---- for the other threads ---- */

static void free_rings(struct ws_keeper *keeper)
{
    for (int i = 0; i < WS_TANKS; i++) {
        free(keeper->journal[i].row);
        keeper->journal[i].row = NULL;
    }
}

static void destroy(struct ws_keeper *keeper)
{
    pthread_cond_destroy(&keeper->work);
    pthread_cond_destroy(&keeper->done);
    pthread_mutex_destroy(&keeper->lock);
    free_rings(keeper);
}

enum ws_status ws_keeper_start(struct ws_keeper *keeper, const char *path, enum ws_book_mode mode,
                               struct ws_wait *drive, struct ws_message *why)
{
    pthread_condattr_t attr;

    memset(keeper, 0, sizeof *keeper);
    keeper->path = path;
    keeper->mode = mode;
    keeper->drive = drive;
    for (int i = 0; i < WS_TANKS; i++) {
        keeper->journal[i].row = calloc(WS_JOURNAL_ROOM, sizeof *keeper->journal[i].row);
        if (keeper->journal[i].row == NULL) {
            free_rings(keeper);
            return ws_fail(why, WS_NO_MEMORY, "not enough memory for the journal");
        }
    }
    pthread_mutex_init(&keeper->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&keeper->work, &attr);
    pthread_cond_init(&keeper->done, &attr);
    pthread_condattr_destroy(&attr);
    if (!ws_thread_start(&keeper->thread, keep, keeper)) {
        destroy(keeper);
        return ws_fail(why, WS_NO_MEMORY, "the system gives no thread for the book");
    }
    return WS_OK;
}

enum ws_status ws_keeper_opened(struct ws_keeper *keeper, struct ws_message *why)
{
    pthread_mutex_lock(&keeper->lock);
    while (!keeper->opened)
        pthread_cond_wait(&keeper->done, &keeper->lock);
    pthread_mutex_unlock(&keeper->lock);
    if (keeper->open_status != WS_OK && why != NULL)
        *why = keeper->open_why;
    return keeper->open_status;
}

/* What is lost with the rings, when the book's thread has ended. */
static enum ws_status count_unkept(const struct ws_keeper *keeper, struct ws_message *why)
{
    const struct ws_journal *failing = NULL;
    size_t unkept = keeper->unkept;

    for (int i = 0; i < WS_TANKS; i++) {
        if (!waits(&keeper->journal[i]))
            continue;
        failing = &keeper->journal[i];
        unkept += failing->count > 0 ? failing->count : 1;
    }
    if (unkept == 0)
        return WS_OK;
    return ws_fail(why, WS_IO, "%zu event%s NOT KEPT: %s", unkept, unkept == 1 ? "" : "s",
                   failing != NULL ? failing->why.text : "the book did not take them in time");
}

enum ws_status ws_keeper_stop(struct ws_keeper *keeper, struct ws_message *why)
{
    enum ws_status status;

    pthread_mutex_lock(&keeper->lock);
    keeper->stop = true;
    pthread_cond_signal(&keeper->work);
    pthread_mutex_unlock(&keeper->lock);
    pthread_join(keeper->thread, NULL);
    status = count_unkept(keeper, why);
    destroy(keeper);
    return status;
}

void ws_keeper_do(struct ws_keeper *keeper, void (*job)(struct ws_book *book, void *arg), void *arg)
{
    struct ws_job own = { .run = job, .arg = arg };

    pthread_mutex_lock(&keeper->lock);
    if (keeper->last_job != NULL)
        keeper->last_job->next = &own;
    else
        keeper->first_job = &own;
    keeper->last_job = &own;
    pthread_cond_signal(&keeper->work);
    while (!own.done)
        pthread_cond_wait(&keeper->done, &keeper->lock);
    pthread_mutex_unlock(&keeper->lock);
}

bool ws_keeper_idle(struct ws_keeper *keeper, int tank)
{
    struct ws_journal *journal = &keeper->journal[tank];
    bool idle;

    pthread_mutex_lock(&keeper->lock);
    /* Rows that the book will never take (another process owns the run) hold no tank for ever. */
    idle = !waits(journal) || journal->status == WS_BAD_EVENT || journal->status == WS_OWNED;
    pthread_mutex_unlock(&keeper->lock);
    return idle;
}

enum ws_status ws_keeper_unwritten(struct ws_keeper *keeper, int tank, struct ws_journal_row **row,
                                   int *rows)
{
    const struct ws_journal *journal = &keeper->journal[tank];
    struct ws_journal_row *copy = NULL;
    enum ws_status status = WS_OK;

    *row = NULL;
    *rows = 0;
    pthread_mutex_lock(&keeper->lock);
    if (journal->count > 0) {
        copy = malloc(journal->count * sizeof *copy);
        status = copy == NULL ? WS_NO_MEMORY : WS_OK;
    }
    for (size_t i = 0; copy != NULL && i < journal->count; i++)
        copy[i] = journal->row[(journal->first + i) % WS_JOURNAL_ROOM];
    if (status == WS_OK) {
        *row = copy;
        *rows = (int)journal->count;
    }
    pthread_mutex_unlock(&keeper->lock);
    return status;
}

/* Gives the ring to a run, or to none. With the lock held. */
static void empty(struct ws_journal *journal, int64_t run, int64_t epoch, bool owned,
                  uint32_t acked)
{
    journal->first = 0;
    journal->count = 0;
    journal->generation++;
    journal->run = run;
    journal->epoch = epoch;
    journal->own_wanted = !owned;
    journal->acked = acked;
    journal->status = WS_OK;
    journal->close_wanted = false;
    journal->closed = false;
}

void ws_keeper_hand_on(struct ws_keeper *keeper, int tank)
{
    pthread_mutex_lock(&keeper->lock);
    keeper->journal[tank].handed_on = keeper->journal[tank].generation;
    empty(&keeper->journal[tank], 0, 0, true, 0);
    pthread_mutex_unlock(&keeper->lock);
}

void ws_keeper_assign(struct ws_keeper *keeper, int tank, int64_t run, int64_t epoch, bool owned,
                      uint32_t acked)
{
    struct ws_journal *journal = &keeper->journal[tank];

    pthread_mutex_lock(&keeper->lock);
    keeper->unkept += journal->count;
    empty(journal, run, epoch, owned, acked);
    pthread_mutex_unlock(&keeper->lock);
}
