/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A run without a screen, with hands that are in time. On the caller's thread. */
#include "wetside/drive/headless.h"

#include <stdlib.h>
#include <string.h>

#include "inside.h"

/* How often in a row a press may change nothing before the run counts as stuck, and how long hands
 * take from one press to the next: more than the quiet that a press needs before it. */
enum { PRESSES_MOST = 8, PRESS_APART_MS = 1000 };

struct hands {
    struct ws_drive *drive;
    int tank;
    void (*on_line)(void *self, const struct ws_headless_line *line);
    void *self;
    struct ws_wait wait; /* for clocks that go by themselves */
    struct ws_frame frame;
    int64_t pressed_ms; /* run time of the last press, INT64_MIN none */
    int vain;           /* presses since the last that changed something */
    uint32_t sequence;
};

/* ---- settling ---- */

static void nothing(struct ws_book *book, void *arg)
{
    (void)book;
    (void)arg;
}

void ws_drive_settle(struct ws_drive *drive, unsigned what)
{
    struct ws_order order = { .kind = WS_ORDER_SETTLE };

    ws_drive_order(drive, &order);
    if (what & WS_SETTLE_SOUND)
        ws_ringer_settle(drive->ringer);
    if (what & WS_SETTLE_BOOK) {
        ws_keeper_do(&drive->keeper, nothing, NULL);
        ws_drive_order(drive, &order);
    }
}

/* ---- what was said ---- */

static void report(struct hands *hands)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];
    struct ws_headless_line line = { .plan = tank->plan,
                                     .session = &tank->session,
                                     .tank = hands->tank };
    struct ws_told told;

    while (ws_queue_take(&hands->drive->told, &told)) {
        if (told.tank != hands->tank || hands->on_line == NULL)
            continue;
        line.cue = told.cue;
        line.bath = ws_session_bath(&tank->session, tank->plan, told.cue.bath);
        hands->on_line(hands->self, &line);
    }
}

/* Brings everything up to the clock; false when there is no run at the tank. */
static bool look(struct hands *hands)
{
    ws_drive_settle(hands->drive, WS_SETTLE_DRIVE);
    ws_drive_seen(hands->drive);
    ws_drive_frame(hands->drive, &hands->frame);
    if (hands->frame.tank[hands->tank].plan == NULL)
        return false;
    report(hands);
    return true;
}

/* ---- pressing and waiting ---- */

static void post(struct hands *hands, enum ws_stroke_kind kind)
{
    struct ws_stroke stroke = { .kind = kind,
                                .tank = hands->tank,
                                .boot_ns = ws_clock_boot_ns(hands->drive->clock) };

    ws_drive_post(hands->drive, &stroke);
}

static int64_t now_ms(const struct hands *hands)
{
    int64_t since_ns = ws_clock_boot_ns(hands->drive->clock) - hands->frame.boot_ns;

    return hands->frame.tank[hands->tank].at_ms + since_ns / WS_NS_IN_MS;
}

static void wait_until(struct hands *hands, int64_t at_ms)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];
    int64_t boot_ns = hands->frame.boot_ns + (at_ms - tank->at_ms) * WS_NS_IN_MS;

    if (hands->drive->clock->kind == WS_CLOCK_STEPPED)
        ws_clock_step_to(hands->drive->clock, boot_ns);
    else
        while (!(ws_wait_until(&hands->wait, boot_ns) & WS_WOKE_TIMER))
            continue;
}

static int64_t next_press_ms(const struct hands *hands)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];
    int64_t answer_ms = ws_session_answer_ms(&tank->session, tank->plan);

    if (answer_ms != WS_NEVER && hands->pressed_ms != INT64_MIN &&
        answer_ms < hands->pressed_ms + PRESS_APART_MS)
        return hands->pressed_ms + PRESS_APART_MS;
    return answer_ms;
}

/* One press or one wait. False: nothing more will happen by itself or by these hands. */
static bool go_on(struct hands *hands)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];
    int64_t press_ms = next_press_ms(hands);
    int64_t next_ms = ws_session_next_ms(&tank->session, tank->plan);

    if (tank->session.stage == WS_STAGE_OVER) {
        post(hands, WS_STROKE_CLOSE);
        return true;
    }
    if (press_ms <= now_ms(hands)) {
        hands->vain = tank->session.sequence == hands->sequence ? hands->vain + 1 : 0;
        hands->sequence = tank->session.sequence;
        hands->pressed_ms = now_ms(hands);
        post(hands, WS_STROKE_HAND);
        return hands->vain < PRESSES_MOST;
    }
    if (press_ms == WS_NEVER && next_ms == WS_NEVER)
        return false;
    wait_until(hands, press_ms < next_ms ? press_ms : next_ms);
    return true;
}

static enum ws_status kept(struct hands *hands, struct ws_message *why)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];
    struct ws_keeper_view view;

    if (tank->rehearsal)
        return WS_OK;
    ws_drive_settle(hands->drive, WS_SETTLE_ALL);
    ws_keeper_look(&hands->drive->keeper, hands->tank, &view);
    if (view.waiting == 0)
        return WS_OK;
    return ws_fail(why, WS_IO, "%d events of the run are not kept: %s", (int)view.waiting,
                   view.why.text);
}

static enum ws_status drive_to_end(struct hands *hands, struct ws_message *why)
{
    const struct ws_frame_tank *tank = &hands->frame.tank[hands->tank];

    if (!look(hands) || tank->session.closed)
        return ws_fail(why, WS_NOT_FOUND, "no run is at the sink in place %d", hands->tank + 1);
    while (!tank->session.closed) {
        if (!go_on(hands))
            return ws_fail(why, WS_BAD_PLAN, "the run waits for something that never comes");
        if (!look(hands))
            return ws_fail(why, WS_NOT_FOUND, "the run was taken from the sink");
    }
    return kept(hands, why);
}

enum ws_status ws_headless_run(struct ws_drive *drive, int tank,
                               void (*on_line)(void *self, const struct ws_headless_line *line),
                               void *self, struct ws_message *why)
{
    struct ws_order listen = { .kind = WS_ORDER_LISTEN, .tank = tank };
    struct hands *hands;
    struct ws_told stale;
    enum ws_status status;

    if (tank < 0 || tank >= WS_TANKS)
        return ws_fail(why, WS_NOT_FOUND, "there is no place %d at the sink", tank + 1);
    hands = calloc(1, sizeof *hands);
    if (hands == NULL)
        return ws_fail(why, WS_NO_MEMORY, "not enough memory for a run");
    /* What an earlier run left. */
    while (ws_queue_take(&drive->told, &stale))
        continue;
    hands->drive = drive;
    hands->tank = tank;
    hands->on_line = on_line;
    hands->self = self;
    hands->pressed_ms = INT64_MIN;
    status = ws_wait_open(&hands->wait, drive->clock, why);
    if (status == WS_OK) {
        ws_drive_order(drive, &listen);
        status = drive_to_end(hands, why);
        atomic_store(&drive->listening, false);
        ws_wait_close(&hands->wait);
    }
    free(hands);
    return status;
}
