/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Asking for a run that another process drives: the newcomer's side of door.c. On the caller's
 * thread, and never under `seating` while it waits: two that ask each other must not wait for
 * ever. */
#include "inside.h"

#include <stdlib.h>
#include <time.h>
#include <unistd.h>

enum { WHO_MS = 1000, STEP_MS = 10 };

/* ---- the lock ---- */

/* Tries for the lock until most_ms of real time have gone. */
static enum ws_status wait_for_lock(struct ws_drive *drive, int64_t run, int most_ms,
                                    struct ws_owner **out, struct ws_message *why)
{
    const struct timespec step = { 0, STEP_MS * WS_NS_IN_MS };
    enum ws_status status;

    for (int waited = 0;; waited += STEP_MS) {
        status = ws_owner_take(drive->book_path, run, out, why);
        if (status != WS_BUSY || waited >= most_ms)
            return status;
        nanosleep(&step, NULL);
    }
}

/* Keeps it for ws_drive_resume; who asks meanwhile is answered. */
static enum ws_status keep_fetched(struct ws_drive *drive, struct ws_owner *owner,
                                   struct ws_message *why)
{
    enum ws_status status;

    pthread_mutex_lock(&drive->seating);
    ws_owner_release(drive->fetched);
    drive->fetched = NULL;
    status = ws_door_open(drive, why);
    if (status == WS_OK) {
        drive->fetched = owner;
        ws_door_look(drive->door);
    } else {
        ws_owner_release(owner);
    }
    pthread_mutex_unlock(&drive->seating);
    return status;
}

static bool is_fetched(struct ws_drive *drive, int64_t run)
{
    bool is;

    pthread_mutex_lock(&drive->seating);
    is = drive->fetched != NULL && ws_owner_run(drive->fetched) == run;
    pthread_mutex_unlock(&drive->seating);
    return is;
}

/* ---- what is handed over ---- */

struct take_job {
    int64_t run;
    struct ws_journal_row *row;
    int rows;
    enum ws_status status;
    struct ws_message *why;
};

/* What the owner could not write, as the owner's: until it lets go the run is its own. Asked twice
 * where nobody can tell whether it was written: rows that are there are passed over. */
static void take_job(struct ws_book *book, void *arg)
{
    struct take_job *job = arg;

    if (book == NULL) {
        job->status = ws_fail(job->why, WS_NOT_FOUND, "no book is open that could have the run");
        return;
    }
    /* Its epoch may have waited for the disk as its rows did. */
    for (int tries = 0; tries == 0 || (tries == 1 && job->status == WS_UNKNOWN); tries++) {
        job->status = ws_run_own_after(book, job->run, job->row[0].epoch - 1, job->why);
        if (job->status == WS_OK)
            job->status = ws_run_journal(book, job->row, job->rows, job->why);
    }
    /* It drives the run no more, by the book, and does not know yet: its lock is to be had, and its
     * rows are never taken. */
    if (job->status == WS_OWNED)
        job->status = WS_OK;
    /* Of the book, not of the owner, which did answer. */
    if (job->status == WS_BUSY)
        job->status = WS_IO;
}

static enum ws_status receive_rows(int fd, int rows, struct ws_journal_row **out)
{
    struct ws_journal_row *row;
    enum ws_status status = WS_OK;
    int have = 0;

    *out = NULL;
    if (rows == 0)
        return WS_OK;
    if (rows > WS_JOURNAL_ROOM)
        return WS_IO;
    row = calloc((size_t)rows + WS_DOOR_ROWS, sizeof *row);
    if (row == NULL)
        return WS_NO_MEMORY;
    while (have < rows && status == WS_OK) {
        size_t length = 0;

        status =
            ws_line_receive(fd, row + have, WS_DOOR_ROWS * sizeof *row, &length, ws_door_answer_ms);
        if (status == WS_OK && (length == 0 || length % sizeof *row != 0))
            status = WS_IO;
        have += status == WS_OK ? (int)(length / sizeof *row) : 0;
    }
    if (status == WS_OK && have == rows) {
        *out = row;
        return WS_OK;
    }
    free(row);
    return status == WS_OK ? WS_IO : status;
}

/* ---- asking ---- */

static enum ws_status ask(int fd, enum ws_door_kind kind, int64_t run, int most_ms,
                          struct ws_door_word *out)
{
    struct ws_door_word word;
    size_t length;
    enum ws_status status;

    ws_door_word(&word, kind, run);
    status = ws_line_send(fd, &word, sizeof word, most_ms);
    if (status == WS_OK)
        status = ws_line_receive(fd, out, sizeof *out, &length, most_ms);
    if (status == WS_OK && (!ws_door_understands(out, length) || out->run != run))
        status = WS_IO;
    return status;
}

static enum ws_status explain(enum ws_status status, int64_t run, int pid, struct ws_message *why)
{
    if (status == WS_BUSY)
        return ws_fail(why, WS_BUSY, "run %lld: process %d drives it and does not answer",
                       (long long)run, pid);
    if (status == WS_NO_MEMORY)
        return ws_fail(why, status, "not enough memory for what is handed over");
    return ws_fail(why, WS_IO,
                   "run %lld: process %d drives it and was not understood (another "
                   "version?): end it there",
                   (long long)run, pid);
}

/* Asks over an open line. WS_OK: all that was the owner's is in the book, and it lets go. */
static enum ws_status take_over(struct ws_drive *drive, int fd, int pid, int64_t run,
                                struct ws_message *why)
{
    struct take_job job = { .run = run, .why = why };
    struct ws_door_word word;
    enum ws_status status = ask(fd, WS_DOOR_YIELD, run, ws_door_answer_ms, &word);

    if (status == WS_NOT_FOUND)
        return WS_OK; /* it has hung up: it is ending */
    if (status == WS_OK && word.kind == WS_DOOR_REFUSE)
        return WS_OK; /* it is over there, and about to be let go */
    if (status == WS_OK)
        status = receive_rows(fd, word.rows, &job.row);
    if (status != WS_OK)
        return explain(status, run, pid, why);
    job.rows = word.rows;
    if (job.rows > 0)
        ws_keeper_do(&drive->keeper, take_job, &job);
    free(job.row);
    if (job.status != WS_OK)
        return job.status;
    /* The lock says whether it came. */
    (void)ask(fd, WS_DOOR_TAKEN, run, ws_door_answer_ms, &word);
    return WS_OK;
}

/* The lock of a run that somebody has. The line stays up until it is ours, or never will be: an
 * owner that wakes up from a stop sees by it whether it is still waited for. */
static enum ws_status fetch_lock(struct ws_drive *drive, int64_t run, bool end_it,
                                 struct ws_owner **out, struct ws_message *why)
{
    enum ws_status status = WS_OK;
    pid_t pid = 0;
    int fd = -1;

    /* Without a line it may be just beginning or ending: the lock tells. */
    if (ws_owner_call(drive->book_path, run, &fd, &pid, why) == WS_OK)
        status = take_over(drive, fd, (int)pid, run, why);
    if (status == WS_OK)
        status = wait_for_lock(drive, run, ws_door_answer_ms, out, why);
    if (status == WS_BUSY && end_it && fd >= 0) {
        status = ws_owner_end(fd, pid, why);
        if (status == WS_OK)
            status = wait_for_lock(drive, run, ws_door_answer_ms, out, why);
    }
    if (fd >= 0)
        close(fd);
    return status;
}

enum ws_status ws_drive_fetch(struct ws_drive *drive, int64_t run, bool end_it,
                              struct ws_message *why)
{
    struct ws_owner *owner = NULL;
    enum ws_status status;

    if (!drive->has_book)
        return ws_fail(why, WS_NOT_FOUND, "no book is open that could have the run");
    if (is_fetched(drive, run))
        return WS_OK;
    status = ws_owner_take(drive->book_path, run, &owner, why);
    if (status == WS_BUSY)
        status = fetch_lock(drive, run, end_it, &owner, why);
    return status == WS_OK ? keep_fetched(drive, owner, why) : status;
}

/* ---- who has it ---- */

bool ws_door_ask_who(const char *book_path, int64_t run, struct ws_holder *out)
{
    struct ws_door_word word;
    pid_t pid = 0;
    int fd = -1;

    *out = (struct ws_holder){ .hold = WS_HOLD_NONE };
    if (ws_owner_call(book_path, run, &fd, &pid, NULL) != WS_OK)
        return false;
    out->pid = (int)pid;
    if (pid == getpid())
        out->hold = WS_HOLD_HERE;
    else if (ask(fd, WS_DOOR_WHO, run, WHO_MS, &word) != WS_OK ||
             (word.kind != WS_DOOR_WHO && word.kind != WS_DOOR_REFUSE))
        out->hold = WS_HOLD_DUMB;
    else if (word.kind == WS_DOOR_REFUSE)
        out->hold = WS_HOLD_NONE; /* it is over there, or has just been let go */
    else
        out->hold = word.alone != 0 ? WS_HOLD_ALONE : WS_HOLD_SEEN;
    if (out->hold == WS_HOLD_ALONE)
        out->alone_ms = INT64_C(1000) * word.alone_s;
    close(fd);
    return true;
}

void ws_drive_holder(struct ws_drive *drive, int64_t run, struct ws_holder *out)
{
    struct ws_owner *owner = NULL;

    *out = (struct ws_holder){ .hold = WS_HOLD_NONE };
    if (drive->book_path == NULL || ws_door_ask_who(drive->book_path, run, out))
        return;
    /* Nobody listens: the lock alone can be asked, for a moment. */
    if (ws_owner_take(drive->book_path, run, &owner, NULL) == WS_BUSY)
        out->hold = WS_HOLD_DUMB;
    ws_owner_release(owner);
}
