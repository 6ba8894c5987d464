/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The door: answers other processes that ask for a run of this one, and hands it over.
 *
 * Who asks is told what the book has not acknowledged, while the run here says and takes nothing.
 * The newcomer writes that under the epoch it was made in, and says so; only then is it let go, and
 * only then the newcomer raises the epoch. Without that word within three seconds, or when who said
 * it has hung up since, the run goes on here as if nothing had been asked: a newcomer that died on
 * the way, or was stopped, leaves no tank without cues and takes no event from it. */
#include "inside.h"

#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <unistd.h>

#include "threads.h"

/* How long who comes in may take to say what for; and how long the door rests when it is called and
 * nobody can be let in (no descriptor is free). */
enum { ASK_MS = 1000, REST_MS = 100 };

int ws_door_answer_ms = 3000;

/* What it waits for: to be woken, a run at each place, one that was fetched. */
enum { DOORS = 1 + WS_TANKS + 1 };

struct ws_door {
    struct ws_drive *drive;
    pthread_t thread;
    int wake_fd;
    _Atomic bool stop;
};

/* ---- words ---- */

void ws_door_word(struct ws_door_word *word, enum ws_door_kind kind, int64_t run)
{
    *word = (struct ws_door_word){ .magic = WS_DOOR_MAGIC,
                                   .version = WS_DOOR_VERSION,
                                   .row_bytes = sizeof(struct ws_journal_row),
                                   .kind = kind,
                                   .run = run,
                                   .pid = (int32_t)getpid() };
}

bool ws_door_understands(const struct ws_door_word *word, size_t length)
{
    return length == sizeof *word && word->magic == WS_DOOR_MAGIC &&
           word->version == WS_DOOR_VERSION && word->row_bytes == sizeof(struct ws_journal_row) &&
           word->rows >= 0;
}

static enum ws_status answer(const struct ws_drive *drive, int fd, enum ws_door_kind kind,
                             int64_t run, int rows)
{
    struct ws_door_word word;

    ws_door_word(&word, kind, run);
    word.alone = atomic_load(&drive->is_alone);
    if (word.alone != 0)
        word.alone_s = (int32_t)((ws_clock_boot_ns(drive->clock) - atomic_load(&drive->alone_ns)) /
                                 (1000 * WS_NS_IN_MS));
    word.rows = rows;
    return ws_line_send(fd, &word, sizeof word, ws_door_answer_ms);
}

/* ---- handing over ---- */

static void order(struct ws_drive *drive, enum ws_order_kind kind, int tank)
{
    struct ws_order own = { .kind = kind, .tank = tank };

    ws_drive_order(drive, &own);
}

static enum ws_status send_rows(int fd, const struct ws_journal_row *row, int rows)
{
    enum ws_status status = WS_OK;

    for (int at = 0; at < rows && status == WS_OK; at += WS_DOOR_ROWS) {
        int n = rows - at < WS_DOOR_ROWS ? rows - at : WS_DOOR_ROWS;

        status = ws_line_send(fd, row + at, (size_t)n * sizeof *row, ws_door_answer_ms);
    }
    return status;
}

/* Whether the newcomer says that it takes the run now, and is still there to do it: this process
 * may have been stopped meanwhile. */
static bool is_taken(int fd, int64_t run)
{
    struct ws_door_word word;
    size_t length;

    return ws_line_receive(fd, &word, sizeof word, &length, ws_door_answer_ms) == WS_OK &&
           ws_door_understands(&word, length) && word.kind == WS_DOOR_TAKEN && word.run == run &&
           !ws_line_hung_up(fd);
}

/* The held run's rows to the newcomer, and its word back. */
static bool hand_rows(struct ws_drive *drive, const struct ws_seat *seat, int fd)
{
    struct ws_journal_row *row = NULL;
    int rows = 0;
    bool taken;

    /* A row that is being written meanwhile is handed as well: it is the same row. */
    if (ws_keeper_unwritten(&drive->keeper, seat->tank, &row, &rows) != WS_OK) {
        answer(drive, fd, WS_DOOR_REFUSE, seat->run, 0);
        return false;
    }
    taken = answer(drive, fd, WS_DOOR_YIELD, seat->run, rows) == WS_OK &&
            send_rows(fd, row, rows) == WS_OK && is_taken(fd, seat->run);
    free(row);
    return taken;
}

static void yield(struct ws_drive *drive, struct ws_seat *seat, int fd)
{
    int64_t run = seat->run;

    order(drive, WS_ORDER_HOLD, seat->tank);
    if (atomic_load(&seat->closed) || !hand_rows(drive, seat, fd)) {
        order(drive, WS_ORDER_KEEP, seat->tank);
        return;
    }
    order(drive, WS_ORDER_GONE, seat->tank);
    ws_keeper_hand_on(&drive->keeper, seat->tank);
    drive->at_tank[seat->tank] = NULL;
    ws_owner_release(seat->owner);
    seat->owner = NULL;
    answer(drive, fd, WS_DOOR_GONE, run, 0);
}

/* ---- answering ---- */

static void serve(struct ws_drive *drive, struct ws_seat *seat, int fd)
{
    struct ws_door_word word;
    size_t length;
    bool closed = atomic_load(&seat->closed);

    if (ws_line_receive(fd, &word, sizeof word, &length, ASK_MS) != WS_OK)
        return;
    ws_seat_let_go(drive, seat);
    if (!ws_door_understands(&word, length) || word.run != seat->run || seat->owner == NULL ||
        (closed && word.kind == WS_DOOR_YIELD))
        answer(drive, fd, WS_DOOR_REFUSE, seat->run, 0);
    else if (word.kind == WS_DOOR_WHO)
        answer(drive, fd, WS_DOOR_WHO, seat->run, 0);
    else if (word.kind == WS_DOOR_YIELD)
        yield(drive, seat, fd);
}

/* A run that was fetched and not yet taken up: nobody's cues depend on it here. */
static void serve_fetched(struct ws_drive *drive, int fd)
{
    int64_t run = ws_owner_run(drive->fetched);
    struct ws_door_word word;
    size_t length;

    if (ws_line_receive(fd, &word, sizeof word, &length, ASK_MS) != WS_OK)
        return;
    if (ws_door_understands(&word, length) && word.run == run && word.kind == WS_DOOR_WHO) {
        answer(drive, fd, WS_DOOR_WHO, run, 0);
        return;
    }
    if (ws_door_understands(&word, length) && word.run == run && word.kind == WS_DOOR_YIELD) {
        ws_owner_release(drive->fetched);
        drive->fetched = NULL;
    }
    answer(drive, fd, WS_DOOR_REFUSE, run, 0);
}

/* The next who waits before that run; -1: nobody. */
static int let_in(struct ws_owner *owner)
{
    return owner != NULL && ws_owner_fd(owner) >= 0 ? ws_owner_accept(owner) : -1;
}

/* All who wait before a run of this process; false: there was nobody. Under `seating`: nothing is
 * seated or forgotten meanwhile. */
static bool serve_all(struct ws_drive *drive)
{
    bool any = false;
    int fd;

    pthread_mutex_lock(&drive->seating);
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_seat *seat = drive->at_tank[i];

        while (seat != NULL && drive->at_tank[i] == seat && (fd = let_in(seat->owner)) >= 0) {
            serve(drive, seat, fd);
            close(fd);
            any = true;
        }
    }
    while ((fd = let_in(drive->fetched)) >= 0) {
        serve_fetched(drive, fd);
        close(fd);
        any = true;
    }
    pthread_mutex_unlock(&drive->seating);
    return any;
}

static int doors(struct ws_door *door, struct pollfd fd[DOORS])
{
    struct ws_drive *drive = door->drive;
    int n = 0;

    fd[n++] = (struct pollfd){ .fd = door->wake_fd, .events = POLLIN };
    pthread_mutex_lock(&drive->seating);
    for (int i = 0; i < WS_TANKS; i++)
        if (drive->at_tank[i] != NULL && drive->at_tank[i]->owner != NULL)
            fd[n++] =
                (struct pollfd){ .fd = ws_owner_fd(drive->at_tank[i]->owner), .events = POLLIN };
    if (drive->fetched != NULL)
        fd[n++] = (struct pollfd){ .fd = ws_owner_fd(drive->fetched), .events = POLLIN };
    pthread_mutex_unlock(&drive->seating);
    return n;
}

static void *attend(void *self)
{
    struct ws_door *door = self;
    struct pollfd fd[DOORS];
    uint64_t count;

    ws_thread_name("wetside-door");
    while (!atomic_load(&door->stop)) {
        int n = doors(door, fd);

        if (poll(fd, (nfds_t)n, -1) <= 0)
            continue;
        if (fd[0].revents != 0 && read(door->wake_fd, &count, sizeof count) < 0)
            continue;
        if (atomic_load(&door->stop))
            break;
        if (!serve_all(door->drive) && fd[0].revents == 0)
            poll(fd, 1, REST_MS);
    }
    return NULL;
}

/* ---- its thread ---- */

enum ws_status ws_door_open(struct ws_drive *drive, struct ws_message *why)
{
    struct ws_door *door;

    if (drive->door != NULL)
        return WS_OK;
    door = calloc(1, sizeof *door);
    if (door == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
    door->drive = drive;
    door->wake_fd = eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
    if (door->wake_fd < 0 || !ws_thread_start(&door->thread, attend, door)) {
        if (door->wake_fd >= 0)
            close(door->wake_fd);
        free(door);
        return ws_fail(why, WS_NO_MEMORY, "the system gives no thread for the run");
    }
    drive->door = door;
    return WS_OK;
}

void ws_door_look(struct ws_door *door)
{
    uint64_t one = 1;

    if (write(door->wake_fd, &one, sizeof one) < 0)
        return; /* it has news that it did not take yet */
}

void ws_door_close(struct ws_door *door)
{
    if (door == NULL)
        return;
    atomic_store(&door->stop, true);
    ws_door_look(door);
    pthread_join(door->thread, NULL);
    close(door->wake_fd);
    free(door);
}
