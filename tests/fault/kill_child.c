/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The process that is going to be killed. */
#include "kill_child.h"

#include <poll.h>
#include <string.h>
#include <unistd.h>

#include "../../src/drive/inside.h"
#include "../drive/plans.h"
#include "kill_told.h"

/* Milliseconds of real time from one press to the next, at most; frames before it hurries; what is
 * patience enough for all that may hold a process up. */
enum { APART_MS = 6, HURRY_AFTER = 4, PATIENCE_MS = 60000, BOOTED_S = 40 };

struct child {
    struct kill_order order;
    struct ws_drive *drive;
    uint64_t seed;
    int tank;
    bool first;   /* no frame of the run was seen yet */
    int frames;   /* since it has the run */
    bool closing; /* it was asked to be closed */
    struct ws_frame frame;
};

int kill_random(uint64_t *seed, int below)
{
    uint64_t x = *seed != 0 ? *seed : 1;

    x ^= x << 13;
    x ^= x >> 7;
    x ^= x << 17;
    *seed = x;
    return (int)((x >> 11) % (uint64_t)below);
}

/* ---- the clock ---- */

void kill_clock(struct ws_clock *clock, double rate)
{
    ws_clock_scaled(clock, rate);
}

void kill_clock_reboot(struct ws_clock *clock)
{
    struct ws_clock next;
    struct ws_stamp now;

    ws_clock_scaled(&next, clock->rate);
    ws_clock_stamp(clock, &now);
    next.origin_ns = BOOTED_S * SEC * WS_NS_IN_MS;
    next.wall_origin_ns = now.wall_ns;
    clock->real_origin_ns = next.real_origin_ns;
    clock->origin_ns = next.origin_ns;
    clock->wall_origin_ns = next.wall_origin_ns;
    clock->boot = next.boot;
}

/* ---- what it does ---- */

void kill_tell_seen(const struct ws_frame *frame, int tank, bool first)
{
    const struct ws_frame_tank *at = &frame->tank[tank];
    struct told told = { .kind = TOLD_SEEN, .run = at->run };
    struct ws_view view;

    ws_session_view(&at->session, at->plan, at->at_ms, &view);
    told.seen = (struct told_seen){ .boot_ns = frame->boot_ns,
                                    .at_ms = at->at_ms,
                                    .began_wall_ms = at->began_wall_ms,
                                    .pour_out_ms = view.pour_out_ms,
                                    .left_ms = view.left_ms,
                                    .sequence = at->session.sequence,
                                    .stage = view.stage,
                                    .step = view.step,
                                    .kept = at->kept == WS_KEPT_ALL,
                                    .first = first };
    told_say(&told);
}

void kill_press(struct ws_drive *drive, const struct ws_clock *clock, uint64_t *seed, int tank,
                int kinds)
{
    /* The first change no bath and end no run. */
    static const enum ws_stroke_kind kind[] = {
        WS_STROKE_READING, WS_STROKE_AWAY,  WS_STROKE_BACK,    WS_STROKE_READING,
        WS_STROKE_HAND,    WS_STROKE_HAND,  WS_STROKE_HAND,    WS_STROKE_HAND,
        WS_STROKE_HAND,    WS_STROKE_UNDO,  WS_STROKE_ON_TIME, WS_STROKE_READING,
        WS_STROKE_MINUTE,  WS_STROKE_LEAVE, WS_STROKE_INSERT,  WS_STROKE_TAKE
    };
    int most = (int)(sizeof kind / sizeof kind[0]);
    struct ws_stroke stroke = { .tank = tank, .boot_ns = ws_clock_boot_ns(clock) };

    stroke.kind = kind[kill_random(seed, kinds < most ? kinds : most)];
    stroke.value_c = 19.0 + kill_random(seed, 30) / 10.0;
    if (stroke.kind == WS_STROKE_INSERT) {
        stroke.bath_kind = WS_BATH_WASH;
        stroke.value_ms = MIN;
    }
    ws_drive_post(drive, &stroke);
}

static void begin_one(struct child *child)
{
    struct ws_message why = { "" };
    struct ws_plan plan;

    plan_one_roll(&plan);
    if (kill_random(&child->seed, 3) == 0)
        plan.bath[0].time_ms = 90 * MIN;
    ws_id_make(&plan.id);
    told_plain(TOLD_BEGINNING, 0, 0);
    if (ws_drive_begin(child->drive, &plan, false, &child->tank, &why) != WS_OK) {
        told_wrong("a run can't be begun: %s", why.text);
        _exit(1);
    }
}

struct open_job {
    struct ws_run_line line;
    int n;
};

static void find_open(struct ws_book *book, void *arg)
{
    struct open_job *job = arg;

    if (ws_run_list(book, false, 0, &job->line, 1, &job->n) != WS_OK)
        told_wrong("the open runs can't be listed");
}

/* False: it was over, and is closed now. */
static bool take_up(struct child *child, int64_t run)
{
    struct ws_message why = { "" };
    enum ws_status status;
    bool ask;

    told_plain(TOLD_TAKING, run, 0);
    status = ws_drive_resume(child->drive, run, -1, &ask, &child->tank, &why);
    if (status == WS_NOT_FOUND && strstr(why.text, "over already") != NULL)
        return false;
    if (status != WS_OK || ask) {
        told_wrong("run %lld can't be taken up: %s", (long long)run, ask ? "it asks" : why.text);
        _exit(1);
    }
    return true;
}

static void have_a_run(struct child *child)
{
    struct open_job job;

    do {
        job.n = 0;
        ws_drive_book(child->drive, find_open, &job);
    } while (job.n > 0 && !take_up(child, job.line.row));
    if (job.n == 0)
        begin_one(child);
    child->first = true;
    child->frames = 0;
    child->closing = false;
    told_plain(TOLD_HAS, child->drive->at_tank[child->tank]->run,
               child->drive->at_tank[child->tank]->epoch);
}

/* Waits so long at most for a frame; true: there was one of its run. */
static bool look(struct child *child, int most_ms)
{
    struct pollfd news = { .fd = ws_drive_screen_fd(child->drive), .events = POLLIN };

    poll(&news, 1, most_ms);
    ws_drive_seen(child->drive);
    if (!ws_drive_frame(child->drive, &child->frame) || child->frame.tank[child->tank].plan == NULL)
        return false;
    kill_tell_seen(&child->frame, child->tank, child->first);
    child->first = false;
    child->frames++;
    return true;
}

static void close_it(struct child *child)
{
    struct ws_stroke stroke = { .kind = WS_STROKE_CLOSE,
                                .tank = child->tank,
                                .boot_ns = ws_clock_boot_ns(&child->order.clock),
                                .reason = "killed" };

    told_plain(TOLD_CLOSING, 0, 0);
    child->closing = true;
    ws_drive_post(child->drive, &stroke);
}

static bool is_over(const struct child *child)
{
    const struct ws_frame_tank *tank = &child->frame.tank[child->tank];

    return child->frames > 0 && tank->plan != NULL && tank->session.closed &&
           tank->kept == WS_KEPT_ALL;
}

static void end(struct child *child)
{
    struct told told = { .kind = TOLD_ENDED };
    struct ws_message why = { "" };

    if (ws_drive_stop(child->drive, &why) != WS_OK)
        told_wrong("stopped: %s", why.text);
    told_say(&told);
    _exit(0);
}

static void go_on(struct child *child)
{
    bool hurries = child->order.goal == KILL_CLOSING || child->order.goal == KILL_BEGINNING ||
                   child->order.goal == KILL_LAST;

    look(child, kill_random(&child->seed, APART_MS));
    if (is_over(child)) {
        if (child->order.goal == KILL_LAST)
            end(child);
        ws_drive_forget(child->drive, child->tank);
        have_a_run(child);
        return;
    }
    if (child->closing)
        return;
    if (hurries ? child->frames > HURRY_AFTER : kill_random(&child->seed, 200) == 0)
        close_it(child);
    else
        kill_press(child->drive, &child->order.clock, &child->seed, child->tank, 99);
}

static void live(const struct kill_order *order)
{
    static struct child child;
    struct ws_drive_options options = { .clock = &child.order.clock,
                                        .book_path = order->path,
                                        .mode = WS_BOOK_WRITE };
    struct ws_message why = { "" };

    alarm(PATIENCE_MS / 1000);
    child.order = *order;
    child.seed = order->seed;
    if (ws_drive_start(&options, &child.drive, &why) != WS_OK) {
        told_wrong("it can't start: %s", why.text);
        _exit(1);
    }
    told_plain(TOLD_STARTED, 0, 0);
    have_a_run(&child);
    for (;;)
        go_on(&child);
}

pid_t kill_child(const struct kill_order *order, int who, int *fd)
{
    int ends[2];
    pid_t child;

    if (pipe(ends) != 0)
        return -1;
    child = fork();
    if (child == 0) {
        close(ends[0]);
        told_begin(ends[1], who);
        live(order);
    }
    close(ends[1]);
    *fd = ends[0];
    return child;
}
