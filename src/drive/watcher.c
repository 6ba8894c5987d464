/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The watcher's thread: reads journals that others write. */
#include "wetside/drive/watch.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "inside.h"
#include "threads.h"

/* Each asking wakes the process that drives the run; one that does not answer costs a second. */
enum { ASK_EACH_MS = 2000, ASK_DUMB_EACH_MS = 10000, BUSY_PATIENCE = 8 };

struct ws_watch {
    const char *path;
    const struct ws_clock *clock;
    int64_t only; /* this run, 0: all */
    pthread_t thread;
    pthread_mutex_t lock; /* of what follows; held for copies only */
    pthread_cond_t wake, done;
    bool stop, fresh, ask_now;
    unsigned wanted, readings;
    struct ws_watched shown;
    /* The thread's own. */
    struct ws_watched now;
    int64_t asked_ms;
    int busy; /* readings in a row for which another held the book */
    bool changed;
};

static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* ---- reading ---- */

static struct ws_watched_run *find(struct ws_watched *seen, int64_t run)
{
    for (int i = 0; i < seen->runs; i++)
        if (seen->run[i].glimpse.line.row == run)
            return &seen->run[i];
    return NULL;
}

/* A place for one more: that of a run that is over, where there is no other. */
static struct ws_watched_run *place_for(struct ws_watched *seen)
{
    if (seen->runs < WS_TANKS)
        return &seen->run[seen->runs++];
    for (int i = 0; i < seen->runs; i++)
        if (seen->run[i].over)
            return &seen->run[i];
    return NULL;
}

static bool is_new(struct ws_book *book, const struct ws_watched_run *run)
{
    struct ws_journal_row row;
    int n = 0;

    return ws_run_events(book, run->glimpse.line.row, run->glimpse.sequence + 1, &row, 1, &n) !=
               WS_OK ||
           n > 0;
}

/* One run of the book that is open, as it is now. */
static enum ws_status read_run(struct ws_watch *watch, struct ws_book *book, int64_t row)
{
    struct ws_watched_run *run = find(&watch->now, row);
    struct ws_glimpse *glimpse;
    struct ws_message why = { "" };
    enum ws_status status;

    if (run != NULL && !run->over && !is_new(book, run))
        return WS_OK;
    glimpse = calloc(1, sizeof *glimpse);
    if (glimpse == NULL)
        return ws_fail(&watch->now.why, WS_NO_MEMORY, "not enough memory for a run");
    status = ws_glimpse_read(book, watch->clock, row, -1, glimpse, &why);
    if (status == WS_OK && run == NULL) {
        run = place_for(&watch->now);
        if (run != NULL)
            *run = (struct ws_watched_run){ .holder = { .hold = WS_HOLD_HERE } };
        watch->asked_ms = INT64_MIN / 2;
    }
    if (status == WS_OK && run != NULL) {
        run->glimpse = *glimpse;
        run->over = false;
        watch->changed = true;
    }
    free(glimpse);
    /* Closed since the list was made: the next one tells. */
    if (status == WS_NOT_FOUND)
        return WS_OK;
    if (status != WS_OK)
        watch->now.why = why;
    return status;
}

/* What was watched and is not in the list any more, is over. */
static void end_missing(struct ws_watch *watch, struct ws_book *book,
                        const struct ws_run_line *line, int n)
{
    for (int i = 0; i < watch->now.runs; i++) {
        struct ws_watched_run *run = &watch->now.run[i];
        struct ws_run_line now;
        bool open = false;

        for (int k = 0; k < n; k++)
            open = open || line[k].row == run->glimpse.line.row;
        if (open || run->over || ws_run_get(book, run->glimpse.line.row, &now) != WS_OK ||
            now.ended_ms == 0)
            continue;
        run->glimpse.line = now;
        run->over = true;
        watch->changed = true;
    }
}

static enum ws_status read_runs(struct ws_watch *watch, struct ws_book *book)
{
    struct ws_run_line line[WS_TANKS];
    enum ws_status status;
    int n = 0;

    status = ws_run_list(book, false, 0, line, WS_TANKS, &n);
    if (status != WS_OK)
        return ws_fail(&watch->now.why, status, "%s: its runs can't be read now", watch->path);
    end_missing(watch, book, line, n);
    for (int i = n - 1; i >= 0 && status == WS_OK; i--)
        if (watch->only == 0 || line[i].row == watch->only)
            status = read_run(watch, book, line[i].row);
    return status;
}

static void read_book(struct ws_watch *watch)
{
    struct ws_book *book = NULL;
    struct ws_message was = watch->now.why;
    enum ws_status status = ws_book_open(watch->path, WS_BOOK_READ, &book, &watch->now.why);
    bool lost;

    if (status == WS_OK) {
        status = read_runs(watch, book);
        ws_book_close(book);
    }
    watch->busy = status == WS_BUSY ? watch->busy + 1 : 0;
    lost = status != WS_OK && (status != WS_BUSY || watch->busy > BUSY_PATIENCE);
    if (status == WS_OK)
        watch->now.why.text[0] = '\0';
    if (lost != watch->now.lost || (status == WS_OK && !watch->now.read) ||
        (lost && strcmp(was.text, watch->now.why.text) != 0))
        watch->changed = true;
    watch->now.lost = lost;
    watch->now.read = watch->now.read || status == WS_OK;
}

/* ---- who drives them ---- */

static void ask(struct ws_watch *watch)
{
    bool dumb = false;

    for (int i = 0; i < watch->now.runs; i++)
        dumb = dumb || watch->now.run[i].holder.hold == WS_HOLD_DUMB;
    if (now_ms() - watch->asked_ms < (dumb ? ASK_DUMB_EACH_MS : ASK_EACH_MS))
        return;
    for (int i = 0; i < watch->now.runs; i++) {
        struct ws_watched_run *run = &watch->now.run[i];
        struct ws_holder holder;

        if (run->over)
            continue;
        (void)ws_door_ask_who(watch->path, run->glimpse.line.row, &holder);
        if (holder.hold != run->holder.hold || holder.pid != run->holder.pid)
            watch->changed = true;
        run->holder = holder;
    }
    watch->asked_ms = now_ms();
}

/* ---- the thread ---- */

static void wait_for_next(struct ws_watch *watch)
{
    struct timespec until;

    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_nsec += WS_WATCH_MS * WS_NS_IN_MS;
    until.tv_sec += until.tv_nsec / 1000000000;
    until.tv_nsec %= 1000000000;
    while (!watch->stop && watch->wanted == watch->readings)
        if (pthread_cond_timedwait(&watch->wake, &watch->lock, &until) != 0)
            break;
}

static void *read_on(void *self)
{
    struct ws_watch *watch = self;
    unsigned wanted;

    ws_thread_name("wetside-watch");
    pthread_mutex_lock(&watch->lock);
    while (!watch->stop) {
        wanted = watch->wanted;
        if (watch->ask_now)
            watch->asked_ms = INT64_MIN / 2;
        watch->ask_now = false;
        pthread_mutex_unlock(&watch->lock);
        read_book(watch);
        ask(watch);
        pthread_mutex_lock(&watch->lock);
        if (watch->changed) {
            watch->shown = watch->now;
            watch->fresh = true;
        }
        watch->changed = false;
        watch->readings = wanted;
        pthread_cond_broadcast(&watch->done);
        wait_for_next(watch);
    }
    pthread_mutex_unlock(&watch->lock);
    return NULL;
}

/* ---- for the other threads ---- */

static void destroy(struct ws_watch *watch)
{
    pthread_cond_destroy(&watch->wake);
    pthread_cond_destroy(&watch->done);
    pthread_mutex_destroy(&watch->lock);
    free(watch);
}

enum ws_status ws_watch_start(const char *book_path, const struct ws_clock *clock, int64_t run,
                              struct ws_watch **out, struct ws_message *why)
{
    struct ws_watch *watch = calloc(1, sizeof *watch);
    pthread_condattr_t attr;

    if (watch == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to watch a run");
    watch->path = book_path;
    watch->clock = clock;
    watch->only = run;
    watch->asked_ms = INT64_MIN / 2;
    pthread_mutex_init(&watch->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    pthread_cond_init(&watch->wake, &attr);
    pthread_cond_init(&watch->done, &attr);
    pthread_condattr_destroy(&attr);
    if (!ws_thread_start(&watch->thread, read_on, watch)) {
        destroy(watch);
        return ws_fail(why, WS_NO_MEMORY, "the system gives no thread to watch a run");
    }
    *out = watch;
    return WS_OK;
}

bool ws_watch_look(struct ws_watch *watch, struct ws_watched *out)
{
    bool fresh;

    pthread_mutex_lock(&watch->lock);
    fresh = watch->fresh;
    if (fresh)
        *out = watch->shown;
    watch->fresh = false;
    pthread_mutex_unlock(&watch->lock);
    return fresh;
}

void ws_watch_settle(struct ws_watch *watch)
{
    unsigned wanted;

    pthread_mutex_lock(&watch->lock);
    watch->ask_now = true;
    wanted = ++watch->wanted;
    pthread_cond_signal(&watch->wake);
    while (watch->readings != wanted)
        pthread_cond_wait(&watch->done, &watch->lock);
    pthread_mutex_unlock(&watch->lock);
}

void ws_watch_stop(struct ws_watch *watch)
{
    if (watch == NULL)
        return;
    pthread_mutex_lock(&watch->lock);
    watch->stop = true;
    pthread_cond_signal(&watch->wake);
    pthread_mutex_unlock(&watch->lock);
    pthread_join(watch->thread, NULL);
    destroy(watch);
}
