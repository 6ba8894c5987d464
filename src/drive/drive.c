/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Starting and stopping the drive, and the doors the terminal's thread uses. */
#include "inside.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "threads.h"

enum { TOLD = 4096 };

/* ---- starting ---- */

static enum ws_status open_queues(struct ws_drive *drive, struct ws_message *why)
{
    if (ws_queue_open(&drive->strokes, sizeof(struct ws_stroke), WS_STROKES) == WS_OK &&
        ws_queue_open(&drive->orders, sizeof(struct ws_order), WS_ORDERS) == WS_OK &&
        ws_queue_open(&drive->told, sizeof(struct ws_told), TOLD) == WS_OK)
        return WS_OK;
    return ws_fail(why, WS_NO_MEMORY, "not enough memory for the queues");
}

static enum ws_status open_screen(struct ws_drive *drive, struct ws_message *why)
{
    drive->screen_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
    if (drive->screen_fd >= 0)
        return WS_OK;
    return ws_fail(why, WS_IO, "no descriptor for the screen: %s", strerror(errno));
}

/* Undoes what ws_drive_start has done so far; also the last step of stopping. WS_IO: not every
 * event is kept. */
static enum ws_status take_down(struct ws_drive *drive, struct ws_message *why)
{
    enum ws_status status = WS_OK;
    struct ws_seat *seat = drive->seats;

    ws_door_close(drive->door);
    if (drive->ringer != NULL)
        ws_ringer_stop(drive->ringer);
    if (drive->has_keeper)
        status = ws_keeper_stop(&drive->keeper, why);
    if (drive->wait.extra_fd >= 0)
        close(drive->wait.extra_fd);
    ws_wait_close(&drive->wait);
    if (drive->screen_fd >= 0)
        close(drive->screen_fd);
    ws_queue_free(&drive->strokes);
    ws_queue_free(&drive->orders);
    ws_queue_free(&drive->told);
    while (seat != NULL) {
        struct ws_seat *next = seat->next;

        ws_seat_drop(seat);
        seat = next;
    }
    ws_owner_release(drive->fetched);
    if (drive->has_seating)
        pthread_mutex_destroy(&drive->seating);
    if (drive->take_signals)
        pthread_sigmask(SIG_SETMASK, &drive->old_signals, NULL);
    free(drive);
    return status;
}

/* Named here, since nothing else that a thread is started with belongs to the drive's own loop. */
static void *run(void *drive)
{
    ws_thread_name("wetside-drive");
    return ws_drive_thread(drive);
}

static enum ws_status start(struct ws_drive *drive, const struct ws_drive_options *options,
                            struct ws_message *why)
{
    enum ws_status status = ws_wait_open(&drive->wait, drive->clock, why);

    if (status == WS_OK && options->take_signals) {
        status = ws_signals_open(&drive->wait.extra_fd, &drive->old_signals, why);
        drive->take_signals = status == WS_OK;
    }
    if (status == WS_OK)
        status = open_screen(drive, why);
    if (status == WS_OK)
        status = open_queues(drive, why);
    if (status == WS_OK) {
        status =
            ws_keeper_start(&drive->keeper, options->book_path, options->mode, &drive->wait, why);
        drive->has_keeper = status == WS_OK;
    }
    if (status == WS_OK)
        status = ws_ringer_new(&drive->ringer, options, &drive->wait, &drive->bells,
                               drive->screen_fd, why);
    /* As it is before anything can have changed: every change is news to the drive. */
    if (status == WS_OK)
        ws_ringer_look(drive->ringer, &drive->ear);
    if (status == WS_OK && !ws_thread_start(&drive->thread, run, drive))
        status = ws_fail(why, WS_NO_MEMORY, "the system gives no thread for the drive");
    drive->has_thread = status == WS_OK;
    if (status == WS_OK && !options->open_beside)
        status = ws_drive_opened(drive, why);
    return status;
}

enum ws_status ws_drive_start(const struct ws_drive_options *options, struct ws_drive **out,
                              struct ws_message *why)
{
    struct ws_drive *drive = calloc(1, sizeof *drive);
    enum ws_status status;

    if (drive == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory to start");
    drive->clock = options->clock;
    drive->on_cue = options->on_cue;
    drive->on_cue_self = options->on_cue_self;
    drive->wait.timer_fd = -1;
    drive->wait.wake_fd = -1;
    drive->wait.extra_fd = -1;
    drive->screen_fd = -1;
    drive->book_path = options->book_path;
    drive->has_book = options->book_path != NULL && options->mode == WS_BOOK_WRITE;
    atomic_init(&drive->box.middle, 1);
    drive->box.front = 2;
    ws_hands_begin(&drive->hands);
    atomic_init(&drive->posted_ms, INT64_MIN / 2);
    drive->has_seating = pthread_mutex_init(&drive->seating, NULL) == 0;
    status = start(drive, options, why);
    if (status != WS_OK) {
        if (drive->has_thread)
            ws_drive_stop(drive, NULL);
        else
            take_down(drive, NULL);
        return status;
    }
    *out = drive;
    return WS_OK;
}

enum ws_status ws_drive_sound(struct ws_drive *drive, struct ws_message *why)
{
    enum ws_status status;

    pthread_mutex_lock(&drive->seating);
    status = ws_ringer_need(drive->ringer, why);
    pthread_mutex_unlock(&drive->seating);
    return status;
}

void ws_drive_voice(struct ws_drive *drive, const struct ws_voice *voice)
{
    ws_ringer_voice(drive->ringer, voice);
}

enum ws_status ws_drive_opened(struct ws_drive *drive, struct ws_message *why)
{
    return ws_keeper_opened(&drive->keeper, why);
}

enum ws_status ws_drive_stop(struct ws_drive *drive, struct ws_message *why)
{
    struct ws_order stop = { .kind = WS_ORDER_STOP };

    if (drive == NULL)
        return WS_OK;
    /* A hand-over in hand is brought to its end first: the drive carries it out. */
    ws_door_close(drive->door);
    drive->door = NULL;
    ws_drive_order(drive, &stop);
    pthread_join(drive->thread, NULL);
    return take_down(drive, why);
}

/* ---- the terminal's thread ---- */

/* Keys that were only seen, one after the other: the latest says all. */
static bool merge_seen(void *last, const void *item)
{
    struct ws_stroke *have = last;
    const struct ws_stroke *more = item;

    if (have->kind != WS_STROKE_OTHER || more->kind != WS_STROKE_OTHER)
        return false;
    if (more->boot_ns > have->boot_ns)
        have->boot_ns = more->boot_ns;
    return true;
}

/* While strokes wait: the hands will call this one no press, since another was seen just before it
 * (the same sum as theirs). A foot held down must not fill the queue. */
static bool is_repeat(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    int64_t ms = stroke->boot_ns / WS_NS_IN_MS;
    int64_t last_ms = atomic_exchange(&drive->posted_ms, ms);

    return stroke->kind == WS_STROKE_HAND && ms >= last_ms && ms - last_ms < WS_QUIET_MS &&
           ws_queue_count(&drive->strokes) > 0;
}

bool ws_drive_post(struct ws_drive *drive, const struct ws_stroke *stroke)
{
    struct ws_stroke own = *stroke;
    bool done;

    if (is_repeat(drive, stroke))
        own.kind = WS_STROKE_OTHER;
    if (own.kind != WS_STROKE_HAND && own.kind != WS_STROKE_OTHER &&
        ws_queue_count(&drive->strokes) >= WS_STROKES_OTHER)
        return false;
    done = ws_queue_put_or_merge(&drive->strokes, &own, merge_seen);
    /* What was only seen changes nothing by itself: it waits for the next stroke or deadline. */
    if (done && own.kind != WS_STROKE_OTHER)
        ws_wait_wake(&drive->wait);
    return done;
}

void ws_drive_book(struct ws_drive *drive, void (*job)(struct ws_book *book, void *arg), void *arg)
{
    ws_keeper_do(&drive->keeper, job, arg);
}
