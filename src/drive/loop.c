/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The drive's thread: sleeps to the next deadline or call, does what is due, and never waits for
 * anything else. */
#include "inside.h"

#include <signal.h>
#include <string.h>

int64_t ws_drive_woke_ns(const struct ws_drive *drive)
{
    return drive->now.boot_ns;
}

void ws_drive_notice(struct ws_drive *drive, const struct ws_message *line)
{
    drive->notice = *line;
    drive->notice_until_ns = drive->now.boot_ns + WS_NOTICE_MS * WS_NS_IN_MS;
    drive->changed = true;
}

/* ---- what came in ---- */

static void listen(struct ws_drive *drive, int tank)
{
    const struct ws_seat *seat = drive->seat[tank];

    for (int i = 0; seat != NULL && i < seat->saids; i++) {
        struct ws_told told = { tank, seat->said[i] };

        ws_queue_put(&drive->told, &told);
    }
    atomic_store(&drive->listening, true);
    drive->changed = true;
}

static void forget(struct ws_drive *drive, int tank)
{
    if (drive->seat[tank] == NULL || !drive->seat[tank]->session.closed)
        return;
    drive->seat[tank] = NULL;
    drive->changed = true;
}

/* A run that is being handed on says nothing more; one that is closed has nothing to hand on. */
static void hold(struct ws_drive *drive, int tank, bool held)
{
    struct ws_seat *seat = drive->seat[tank];

    if (seat == NULL || (held && seat->session.closed))
        return;
    seat->held = held;
    seat->moved = true;
    seat->hush = held;
    seat->changed = true;
}

/* Another process has the run: here its cues end, and its place is free. */
static void leave_to_other(struct ws_drive *drive, int tank, const char *how)
{
    struct ws_seat *seat = drive->seat[tank];
    struct ws_message line;

    if (seat == NULL)
        return;
    hold(drive, tank, true);
    ws_seat_tell_sound(drive, seat);
    atomic_store(&seat->closed, true);
    drive->seat[tank] = NULL;
    ws_fail(&line, WS_OK, "%s%s%s; its cues have ended here", seat->plan.tank,
            seat->plan.tank[0] != '\0' ? ": " : "", how);
    ws_drive_notice(drive, &line);
}

static void be_alone(struct ws_drive *drive)
{
    for (int i = 0; i < WS_TANKS; i++)
        if (drive->seat[i] != NULL) {
            drive->seat[i]->alone = true;
            drive->seat[i]->moved = true;
        }
}

static int take_orders(struct ws_drive *drive, struct ws_order order[WS_ORDERS])
{
    int n = 0;

    while (n < WS_ORDERS && ws_queue_take(&drive->orders, &order[n]))
        n++;
    for (int i = 0; i < n; i++) {
        switch (order[i].kind) {
        case WS_ORDER_SEAT:
            drive->seat[order[i].seat->tank] = order[i].seat;
            ws_seat_adopt(drive, order[i].seat);
            break;
        case WS_ORDER_FORGET:
            forget(drive, order[i].tank);
            break;
        case WS_ORDER_LISTEN:
            listen(drive, order[i].tank);
            break;
        case WS_ORDER_HOLD:
        case WS_ORDER_KEEP:
            hold(drive, order[i].tank, order[i].kind == WS_ORDER_HOLD);
            break;
        case WS_ORDER_GONE:
            leave_to_other(drive, order[i].tank, "the run goes on at another wetside");
            break;
        case WS_ORDER_ALONE:
            be_alone(drive);
            break;
        case WS_ORDER_STOP:
            drive->stop = true;
            break;
        case WS_ORDER_SETTLE:
            break;
        }
    }
    return n;
}

static void take_strokes(struct ws_drive *drive)
{
    struct ws_stroke stroke;

    while (ws_queue_take(&drive->strokes, &stroke))
        ws_drive_stroke(drive, &stroke);
}

static void take_signals(struct ws_drive *drive)
{
    int number;

    if (drive->wait.extra_fd < 0)
        return;
    while ((number = ws_signals_next(drive->wait.extra_fd)) != 0) {
        struct ws_message line;

        drive->changed = true;
        if (number == SIGWINCH || number == SIGCONT) {
            drive->resized = true;
        } else if (number == SIGTSTP) {
            ws_fail(&line, WS_OK, "wetside does not stop: a run's clock would go on unseen");
            ws_drive_notice(drive, &line);
        } else {
            drive->signal = number;
        }
    }
}

/* ---- what is due ---- */

static void tick_all(struct ws_drive *drive)
{
    for (int i = 0; i < WS_TANKS; i++)
        if (drive->seat[i] != NULL)
            ws_seat_tick(drive, drive->seat[i], ws_seat_ms(drive->seat[i], &drive->now));
}

/* When a finished run closes itself. Not while the lights are out: that it is closed would light
 * the screen, and nobody knows what else lies open. */
static int64_t close_ms(const struct ws_seat *seat)
{
    return seat->session.open_film ? WS_NEVER : ws_seat_close_ms(seat);
}

/* A finished run closes itself when its last press can't be undone any more, or at the end of the
 * program. */
static void close_finished(struct ws_drive *drive)
{
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_seat *seat = drive->seat[i];

        if (seat == NULL || seat->held || ws_seat_close_ms(seat) == WS_NEVER)
            continue;
        if (drive->stop || close_ms(seat) <= ws_seat_ms(seat, &drive->now))
            ws_seat_close(drive, seat, "", ws_seat_ms(seat, &drive->now));
    }
}

static void look_at_book(struct ws_drive *drive)
{
    unsigned news = atomic_load(&drive->keeper.news);

    if (news == drive->news_seen)
        return;
    drive->changed = true;
    drive->news_seen = news;
    /* One that was stopped, or whose lock was taken from it, learns of it by what is refused. */
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_keeper_view view;

        if (drive->seat[i] == NULL || drive->seat[i]->rehearsal)
            continue;
        ws_keeper_look(&drive->keeper, i, &view);
        if (view.status == WS_OWNED)
            leave_to_other(drive, i, "another wetside has taken the run up");
    }
}

/* What can't be heard any more is said; that it never could be stands in the pre-flight. */
static void look_at_sound(struct ws_drive *drive)
{
    struct ws_ear was = drive->ear, is;
    unsigned news = atomic_load(&drive->ringer->news);

    ws_ringer_look(drive->ringer, &is);
    /* What is newer than the news is taken when they come: else nobody would be told of it. */
    if (news == drive->sound_seen && was.state == is.state &&
        was.volume_percent == is.volume_percent)
        return;
    drive->sound_seen = news;
    drive->ear = is;
    drive->changed = true;
    if (drive->ear.state == WS_EAR_HANGS ||
        (drive->ear.state == WS_EAR_NONE &&
         (was.state == WS_EAR_PLAYS || was.state == WS_EAR_HANGS)))
        ws_drive_notice(drive, &drive->ear.why);
    else if (was.mute.text[0] == '\0' && drive->ear.mute.text[0] != '\0')
        ws_drive_notice(drive, &drive->ear.mute);
    else if (was.fault.text[0] == '\0' && drive->ear.fault.text[0] != '\0')
        ws_drive_notice(drive, &drive->ear.fault);
}

/* A device that hangs, or no thread for it: what stands unanswered is rung by the terminal, and so
 * is the moment a hang is found out, since the cue it hangs in was not heard. */
static bool any_stands(const struct ws_drive *drive)
{
    for (int i = 0; i < WS_TANKS; i++) {
        const struct ws_seat *seat = drive->seat[i];
        struct ws_view view;

        if (seat == NULL || seat->session.closed)
            continue;
        ws_session_view(&seat->session, &seat->plan, ws_seat_ms(seat, &drive->now), &view);
        if (view.wants_hand && (view.stage == WS_STAGE_DRAINING || view.stop_now))
            return true;
    }
    return false;
}

static bool nobody_plays(const struct ws_drive *drive)
{
    return drive->ear.state == WS_EAR_HANGS || atomic_load(&drive->ringer->no_thread);
}

static void stand_in(struct ws_drive *drive, enum ws_ear_state was)
{
    bool found_out = drive->ear.state == WS_EAR_HANGS && was != WS_EAR_HANGS;

    if (!nobody_plays(drive) ||
        (!found_out && (drive->now.boot_ns < drive->bell_next_ns || !any_stands(drive))))
        return;
    ws_screen_bell(drive);
    drive->bell_next_ns = drive->now.boot_ns + WS_STAND_IN_MS * WS_NS_IN_MS;
}

static int64_t next_stand_in_ns(const struct ws_drive *drive)
{
    if (!nobody_plays(drive))
        return ws_ringer_hangs_ns(drive->ringer);
    return any_stands(drive) ? drive->bell_next_ns : INT64_MAX;
}

static void age_notice(struct ws_drive *drive)
{
    if (drive->notice.text[0] == '\0' || drive->now.boot_ns < drive->notice_until_ns)
        return;
    drive->notice.text[0] = '\0';
    drive->changed = true;
}

static void tell_sound(struct ws_drive *drive)
{
    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_seat *seat = drive->seat[i];

        if (seat != NULL && (seat->moved || seat->ahead_next_ns <= drive->now.boot_ns))
            ws_seat_tell_sound(drive, seat);
    }
}

static void show(struct ws_drive *drive)
{
    bool changed = drive->changed;

    for (int i = 0; i < WS_TANKS; i++) {
        struct ws_seat *seat = drive->seat[i];

        if (seat == NULL || (!seat->changed && seat->frame_next_ns > drive->now.boot_ns))
            continue;
        changed = true;
        seat->frame_next_ns = ws_seat_next_frame_ns(drive, seat);
    }
    if (changed)
        ws_frame_publish(drive);
}

/* ---- the loop ---- */

static int64_t sooner(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t next_deadline_ns(const struct ws_drive *drive)
{
    int64_t next_ns = drive->notice.text[0] != '\0' ? drive->notice_until_ns : INT64_MAX;

    next_ns = sooner(next_ns, next_stand_in_ns(drive));
    for (int i = 0; i < WS_TANKS; i++) {
        const struct ws_seat *seat = drive->seat[i];

        if (seat == NULL || seat->session.closed || seat->held)
            continue;
        next_ns =
            sooner(next_ns, ws_seat_ns(seat, ws_session_next_ms(&seat->session, &seat->plan)));
        next_ns = sooner(next_ns, ws_seat_ns(seat, close_ms(seat)));
        next_ns = sooner(next_ns, sooner(seat->frame_next_ns, seat->ahead_next_ns));
    }
    return next_ns;
}

/* What is due first: a press read before a cue fell due is taken before it, everything else after
 * the cues. */
static void pass(struct ws_drive *drive)
{
    struct ws_order order[WS_ORDERS];
    int orders = take_orders(drive, order);
    enum ws_ear_state was = drive->ear.state;

    take_strokes(drive);
    tick_all(drive);
    take_signals(drive);
    look_at_book(drive);
    look_at_sound(drive);
    stand_in(drive, was);
    close_finished(drive);
    age_notice(drive);
    tell_sound(drive);
    show(drive);
    for (int i = 0; i < orders; i++)
        if (order[i].done != NULL)
            sem_post(order[i].done);
}

void *ws_drive_thread(void *self)
{
    struct ws_drive *drive = self;

    ws_clock_stamp(drive->clock, &drive->now);
    ws_frame_publish(drive);
    while (!drive->stop) {
        ws_wait_until(&drive->wait, next_deadline_ns(drive));
        ws_clock_stamp(drive->clock, &drive->now);
        pass(drive);
    }
    return NULL;
}
