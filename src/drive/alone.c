/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs whose terminal is gone: they go on with sound alone, until they are over or somebody takes
 * them up from another terminal. On the caller's thread, which has no screen any more. */
#include "inside.h"

#include <errno.h>
#include <poll.h>

/* A run that is over but stays open (the lights are out over it) is left to whoever starts the
 * program next: the book has it as it is. */
static bool goes_on(const struct ws_frame_tank *tank)
{
    return tank->plan != NULL && !tank->rehearsal && !tank->session.closed &&
           tank->session.stage != WS_STAGE_OVER;
}

static bool any_goes_on(const struct ws_frame *frame)
{
    for (int i = 0; i < frame->tanks; i++)
        if (goes_on(&frame->tank[i]))
            return true;
    return false;
}

bool ws_drive_has_run(struct ws_drive *drive)
{
    bool has = false;

    pthread_mutex_lock(&drive->seating);
    for (int i = 0; i < WS_TANKS; i++)
        has = has || (drive->at_tank[i] != NULL && !drive->at_tank[i]->rehearsal &&
                      !atomic_load(&drive->at_tank[i]->closed));
    pthread_mutex_unlock(&drive->seating);
    return has;
}

void ws_drive_alone(struct ws_drive *drive, int *signal)
{
    struct ws_order order = { .kind = WS_ORDER_ALONE };
    struct pollfd news = { .fd = ws_drive_screen_fd(drive), .events = POLLIN };
    struct ws_frame frame = { .tanks = 0 };
    bool have = false;

    *signal = 0;
    atomic_store(&drive->alone_ns, ws_clock_boot_ns(drive->clock));
    atomic_store(&drive->is_alone, true);
    ws_drive_order(drive, &order);
    while (!have || any_goes_on(&frame)) {
        ws_drive_seen(drive);
        ws_drive_bells(drive); /* there is nothing that could ring */
        if (ws_drive_frame(drive, &frame)) {
            have = true;
            if (frame.signal != 0 && frame.signal != SIGHUP) {
                *signal = frame.signal;
                return;
            }
            for (int i = 0; i < frame.tanks; i++)
                if (frame.tank[i].plan != NULL && frame.tank[i].session.closed)
                    ws_drive_forget(drive, i);
            continue;
        }
        if (poll(&news, 1, -1) < 0 && errno != EINTR)
            return;
    }
}
