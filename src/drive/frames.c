/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Frames: what is to be drawn, made by the drive's thread and taken by the terminal's, neither ever
 * waiting for the other. */
#include "inside.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

/* ---- making ---- */

/* On a fast clock digits change more often than a screen is drawn. */
static int64_t period_ms(const struct ws_clock *clock)
{
    int64_t least_ms = (int64_t)(clock->rate * WS_FRAME_MIN_MS);

    if (clock->kind != WS_CLOCK_SCALED || least_ms <= WS_FRAME_MS)
        return WS_FRAME_MS;
    return (least_ms / WS_FRAME_MS + 1) * WS_FRAME_MS;
}

int64_t ws_seat_next_frame_ns(const struct ws_drive *drive, const struct ws_seat *seat)
{
    int64_t now_ms = ws_seat_ms(seat, &drive->now), each_ms = period_ms(drive->clock);
    int64_t past_ms, grid_ms = 0;
    struct ws_view view;

    if (seat->session.closed || seat->held)
        return INT64_MAX;
    /* The digits count down to POUR OUT, or to first liquid, or up from a moment that is asked
     * for: they change at whole seconds of that. */
    ws_session_view(&seat->session, &seat->plan, now_ms, &view);
    if (view.stage == WS_STAGE_COUNT_IN)
        grid_ms = now_ms + view.left_ms;
    else if (view.pour_out_ms != WS_NEVER)
        grid_ms = view.pour_out_ms;
    else if (view.stop_now)
        grid_ms = now_ms - view.over_ms;
    past_ms = (now_ms - grid_ms) % each_ms;
    if (past_ms < 0)
        past_ms += each_ms;
    return ws_seat_ns(seat, now_ms - past_ms + each_ms);
}

static enum ws_kept how_kept(struct ws_drive *drive, const struct ws_seat *seat,
                             struct ws_keeper_view *book)
{
    if (seat->rehearsal)
        return WS_KEPT_NONE;
    ws_keeper_look(&drive->keeper, seat->tank, book);
    if (seat->lost)
        return WS_KEPT_FAILING;
    if (book->waiting == 0 && book->acked >= seat->journaled)
        return WS_KEPT_ALL;
    return book->status == WS_OK ? WS_KEPT_WAITING : WS_KEPT_FAILING;
}

/* The reason in a few words: a long path would push it off the line. */
static const char *reason(const struct ws_keeper_view *book)
{
    switch (book->status) {
    case WS_DISK_FULL:
        return "no room on the disk";
    case WS_READ_ONLY:
        return "the book can't be written";
    case WS_BUSY:
        return "another process holds the book";
    case WS_NOT_FOUND:
        return "the book is not where it was: put it back";
    case WS_UNKNOWN:
    case WS_IO:
        return "the disk failed";
    default:
        return book->why.text;
    }
}

static void say_failing(struct ws_message *line, const struct ws_seat *seat,
                        const struct ws_keeper_view *book)
{
    int waiting = (int)book->waiting;

    if (seat->lost)
        ws_fail(line, WS_OK,
                "NOT KEPT: more events than %d waited for the book; write the run down",
                (int)WS_JOURNAL_ROOM);
    else if (book->status == WS_BAD_EVENT)
        ws_fail(line, WS_OK, "NOT KEPT: the book has other events in their place: %s",
                book->why.text);
    else
        ws_fail(line, WS_OK, "NOT KEPT YET: %d event%s wait%s in memory, tried each second: %s",
                waiting, waiting == 1 ? "" : "s", waiting == 1 ? "s" : "", reason(book));
}

static void fill_tank(struct ws_drive *drive, struct ws_seat *seat, struct ws_frame_tank *out,
                      struct ws_message *failing)
{
    struct ws_keeper_view book;
    struct ws_view view;

    out->plan = &seat->plan;
    out->session = seat->session;
    out->at_ms = ws_seat_ms(seat, &drive->now);
    out->began_wall_ms = drive->now.wall_ns / WS_NS_IN_MS - out->at_ms;
    out->run = seat->run;
    out->rehearsal = seat->rehearsal;
    ws_session_view(&seat->session, &seat->plan, out->at_ms, &view);
    out->calls = seat->calls;
    out->repeats = ws_seat_repeats(seat, &view);
    out->kept = how_kept(drive, seat, &book);
    if (out->kept == WS_KEPT_FAILING)
        say_failing(failing, seat, &book);
    seat->changed = false;
}

static void wake_screen(const struct ws_drive *drive)
{
    uint64_t one = 1;

    while (write(drive->screen_fd, &one, sizeof one) < 0 && errno == EINTR)
        continue;
}

void ws_screen_bell(struct ws_drive *drive)
{
    atomic_fetch_add(&drive->bells, 1);
    wake_screen(drive);
}

void ws_frame_publish(struct ws_drive *drive)
{
    struct ws_frame_box *box = &drive->box;
    struct ws_frame *frame = &box->frame[box->back];
    struct ws_message failing = { "" };
    unsigned middle = atomic_load(&box->middle);
    bool resized = drive->resized;

    /* A resize told in a frame that nobody took is told again. */
    if (middle & WS_FRAME_FRESH)
        resized = resized || box->frame_resized;
    frame->tanks = 0;
    for (int i = 0; i < WS_TANKS; i++) {
        frame->tank[i].plan = NULL;
        if (drive->seat[i] == NULL)
            continue;
        fill_tank(drive, drive->seat[i], &frame->tank[i], &failing);
        frame->tanks = i + 1;
    }
    frame->boot_ns = drive->now.boot_ns;
    memcpy(frame->notice, drive->notice.text[0] != '\0' ? drive->notice.text : failing.text,
           sizeof frame->notice);
    frame->sound = drive->ear.state == WS_EAR_PLAYS && drive->ear.volume_percent > 0;
    frame->ear = drive->ear;
    frame->signal = drive->signal;
    frame->resized = resized;
    frame->number = ++drive->number;
    box->frame_resized = resized;
    drive->resized = false;
    drive->changed = false;
    box->back = atomic_exchange(&box->middle, box->back | WS_FRAME_FRESH) & ~WS_FRAME_FRESH;
    wake_screen(drive);
}

/* ---- taking: the terminal's thread ---- */

bool ws_drive_frame(struct ws_drive *drive, struct ws_frame *out)
{
    struct ws_frame_box *box = &drive->box;

    if (!(atomic_load(&box->middle) & WS_FRAME_FRESH))
        return false;
    box->front = atomic_exchange(&box->middle, box->front) & ~WS_FRAME_FRESH;
    *out = box->frame[box->front];
    return true;
}

int ws_drive_screen_fd(const struct ws_drive *drive)
{
    return drive->screen_fd;
}

void ws_drive_seen(struct ws_drive *drive)
{
    uint64_t count;

    while (read(drive->screen_fd, &count, sizeof count) < 0 && errno == EINTR)
        continue;
}

int ws_drive_bells(struct ws_drive *drive)
{
    return atomic_exchange(&drive->bells, 0);
}
