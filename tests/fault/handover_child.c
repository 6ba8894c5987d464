/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One of the processes that contend for a run. */
#include "handover_child.h"

#include <dirent.h>
#include <poll.h>
#include <string.h>
#include <unistd.h>

#include "../../src/drive/inside.h"
#include "../drive/plans.h"
#include "kill_child.h"
#include "kill_told.h"

enum {
    PATIENCE_S = 60,
    BETWEEN_MS = 25,   /* most from one asking to the next */
    PRESS_MS = 8,      /* and from one press to the next */
    DYING_MS = 10000,  /* a process that was killed is waited for by then */
    PLAIN_PRESSES = 3, /* of kill_press: what ends no bath */
};

static struct contender {
    struct contender_order order;
    struct ws_drive *drive;
    struct ws_frame frame;
    uint64_t seed;
    int64_t run;
    int who, tank, files;
    bool has, first, told_quiet;
} me;

/* ---- never two at once ---- */

/* Another that was noted as having the lock when this one got it: it has been killed, or there are
 * two. A process that lives takes its note back before it lets the lock go. */
static void check_dead(int other, int number)
{
    struct arena *arena = me.order.arena;

    for (int waited = 0; waited < DYING_MS; waited++) {
        if (atomic_load(&arena->contender[other].dead))
            return;
        if (atomic_load(&arena->contender[other].holds) != number)
            break;
        poll(NULL, 0, 1);
    }
    /* Its note is taken back by the parent after it was waited for, never before. */
    if (!atomic_load(&arena->contender[other].dead))
        told_wrong("TWO OWNERS: process %d has the lock as well", other);
}

static void lock_taken(const struct ws_owner *owner)
{
    struct arena *arena = me.order.arena;

    if (!ws_owner_locks(owner))
        told_wrong("the file system of this test knows no locks");
    atomic_store(&arena->contender[me.who].holds, atomic_fetch_add(&arena->numbers, 1) + 1);
    for (int i = 0; i < CONTENDERS; i++) {
        int number = atomic_load(&arena->contender[i].holds);

        if (i != me.who && number != 0)
            check_dead(i, number);
    }
}

static void lock_let_go(const struct ws_owner *owner)
{
    (void)owner;
    atomic_store(&me.order.arena->contender[me.who].holds, 0);
}

/* ---- starting and ending ---- */

static int open_files(void)
{
    DIR *folder = opendir("/proc/self/fd");
    int n = 0;

    while (folder != NULL && readdir(folder) != NULL)
        n++;
    if (folder != NULL)
        closedir(folder);
    return n;
}

/* A book that another holds, which is stopped, may take its time. */
static void start(void)
{
    struct ws_drive_options options = { .clock = &me.order.clock,
                                        .book_path = me.order.path,
                                        .mode = WS_BOOK_WRITE };
    struct ws_message why = { "" };
    enum ws_status status;

    me.files = open_files();
    while ((status = ws_drive_start(&options, &me.drive, &why)) == WS_BUSY)
        poll(NULL, 0, BETWEEN_MS);
    if (status == WS_OK)
        return;
    told_wrong("it can't start: %s", why.text);
    _exit(1);
}

static void gone(void)
{
    me.has = false;
    told_plain(TOLD_GONE, me.run, 0);
}

static void stop(void)
{
    int files;

    /* WS_IO: what was never acknowledged was not kept. */
    (void)ws_drive_stop(me.drive, NULL);
    files = open_files();
    if (files != me.files)
        told_wrong("%d descriptors were open before, %d are after it was stopped", me.files, files);
    if (me.has)
        gone();
}

_Noreturn static void leave(void)
{
    stop();
    told_plain(TOLD_ENDED, me.run, 0);
    _exit(0);
}

/* ---- having it ---- */

static void have(int tank)
{
    int64_t epoch;

    me.tank = tank;
    me.has = true;
    me.first = true;
    /* Of the seat that was made last: it may have gone to another process again by now. */
    pthread_mutex_lock(&me.drive->seating);
    epoch = me.drive->seats->epoch;
    pthread_mutex_unlock(&me.drive->seating);
    told_plain(TOLD_HAS, me.run, epoch);
}

static bool look(int most_ms)
{
    struct pollfd news = { .fd = ws_drive_screen_fd(me.drive), .events = POLLIN };

    poll(&news, 1, most_ms);
    ws_drive_seen(me.drive);
    return ws_drive_frame(me.drive, &me.frame);
}

static void hold_on(void)
{
    if (look(kill_random(&me.seed, PRESS_MS))) {
        if (me.frame.tank[me.tank].plan == NULL) {
            gone();
            return;
        }
        kill_tell_seen(&me.frame, me.tank, me.first);
        me.first = false;
    }
    kill_press(me.drive, &me.order.clock, &me.seed, me.tank, PLAIN_PRESSES);
    if (!atomic_load(&me.order.arena->quiet) && kill_random(&me.seed, 80) == 0) {
        stop();
        start();
    }
}

/* ---- asking for it ---- */

static bool may_happen(enum ws_status status)
{
    /* Another has it or gets it first; the book is held by a process that is stopped. */
    return status == WS_OK || status == WS_BUSY || status == WS_IO || status == WS_UNKNOWN ||
           status == WS_OWNED;
}

static bool take_up(void)
{
    struct ws_message why = { "" };
    enum ws_status status;
    bool ask = false;
    int tank;

    told_plain(TOLD_TAKING, me.run, 0);
    status = ws_drive_resume(me.drive, me.run, -1, &ask, &tank, &why);
    if (ask || !may_happen(status))
        told_wrong("it can't be taken up: %s", ask ? "it asks" : why.text);
    if (status == WS_OK && !ask)
        have(tank);
    return status == WS_OK && !ask;
}

static void ask_for_it(void)
{
    struct ws_message why = { "" };
    struct ws_holder holder;
    enum ws_status status;

    poll(NULL, 0, kill_random(&me.seed, BETWEEN_MS));
    if (kill_random(&me.seed, 8) == 0) {
        ws_drive_holder(me.drive, me.run, &holder);
        return;
    }
    status = ws_drive_fetch(me.drive, me.run, kill_random(&me.seed, 2) == 0, &why);
    if (!may_happen(status))
        told_wrong("it can't be had: %s", why.text);
    /* Sometimes the person thinks better of it. */
    if (status == WS_OK && kill_random(&me.seed, 10) != 0)
        take_up();
}

/* ---- the parts ---- */

static void begin_it(void)
{
    struct ws_message why = { "" };
    struct ws_stroke press = { .kind = WS_STROKE_HAND, .tank = -1 };
    struct ws_plan plan;
    int tank;

    plan_one_roll(&plan);
    plan.bath[0].time_ms = 600 * MIN;
    ws_id_make(&plan.id);
    told_plain(TOLD_BEGINNING, 0, 0);
    if (ws_drive_begin(me.drive, &plan, false, &tank, &why) != WS_OK) {
        told_wrong("it can't be begun: %s", why.text);
        _exit(1);
    }
    me.run = me.drive->at_tank[tank]->run;
    press.boot_ns = ws_clock_boot_ns(&me.order.clock);
    ws_drive_post(me.drive, &press);
    have(tank);
    atomic_store(&me.order.arena->run, me.run);
}

/* Until the screen says that all is kept, after a press that was taken. */
static void await_kept(bool closed)
{
    uint32_t from = 0;

    for (;;) {
        const struct ws_frame_tank *tank = &me.frame.tank[me.tank];

        if (look(PRESS_MS) && tank->plan == NULL) {
            told_wrong("it was lost again, though nobody asks");
            return;
        }
        if (tank->plan == NULL)
            continue;
        if (from == 0)
            from = tank->session.sequence;
        if (tank->kept == WS_KEPT_ALL &&
            (closed ? tank->session.closed : tank->session.sequence > from))
            return;
        if (!closed)
            kill_press(me.drive, &me.order.clock, &me.seed, me.tank, PLAIN_PRESSES);
    }
}

_Noreturn static void be_last(void)
{
    struct ws_stroke close = { .kind = WS_STROKE_CLOSE, .reason = "the round is over" };
    struct ws_message why = { "" };
    enum ws_status status = ws_drive_fetch(me.drive, me.run, false, &why);

    if (status != WS_OK)
        told_wrong("it can't be had in the end: %s", why.text);
    else if (take_up()) {
        await_kept(false);
        close.tank = me.tank;
        close.boot_ns = ws_clock_boot_ns(&me.order.clock);
        ws_drive_post(me.drive, &close);
        await_kept(true);
    } else
        told_wrong("it can't be taken up in the end");
    leave();
}

_Noreturn static void contend(void)
{
    struct arena *arena = me.order.arena;

    while (!atomic_load(&arena->end)) {
        ws_door_answer_ms = atomic_load(&arena->answer_ms);
        if (atomic_load(&arena->quiet) && !me.told_quiet) {
            me.told_quiet = true;
            told_plain(TOLD_QUIET, me.run, 0);
        }
        if (me.has)
            hold_on();
        else if (me.told_quiet)
            poll(NULL, 0, BETWEEN_MS);
        else
            ask_for_it();
    }
    leave();
}

static void live(const struct contender_order *order, int who)
{
    me.order = *order;
    me.who = who;
    me.seed = order->seed;
    alarm(PATIENCE_S);
    if (order->by_lock) {
        told_lock_taken = lock_taken;
        told_lock_let_go = lock_let_go;
    }
    ws_door_answer_ms = atomic_load(&order->arena->answer_ms);
    start();
    told_plain(TOLD_STARTED, 0, 0);
    if (order->part == CONTENDER_FIRST)
        begin_it();
    me.run = atomic_load(&order->arena->run);
    if (order->part == CONTENDER_LAST)
        be_last();
    contend();
}

pid_t contender_start(const struct contender_order *order, int who, int told_fd)
{
    pid_t child = fork();

    if (child != 0)
        return child;
    told_begin(told_fd, who);
    live(order, who);
    return 0;
}
