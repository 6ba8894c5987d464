/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A device of sound that plays, can't be opened, hangs or vanishes as a test tells it to. */
#include "aid_device.h"

#include <poll.h>

#include "aid.h"

enum { PATIENCE_MS = 10000, NAP_MS = 5 };

struct aid_device aid_device;

static enum ws_status device_open(void *self, char *name, size_t size, struct ws_message *why)
{
    struct aid_device *device = self;

    atomic_fetch_add(&device->opens, 1);
    while (atomic_load(&device->stuck))
        poll(NULL, 0, NAP_MS);
    if (ws_clock_boot_ns(device->clock) < atomic_load(&device->there_ns))
        return ws_fail(why, WS_IO, "no sound: a test has taken it away");
    snprintf(name, size, "a test's device");
    return WS_OK;
}

static void device_play(void *self, const struct ws_sounding *what)
{
    struct aid_device *device = self;

    atomic_store(&device->volume, what->volume_percent);
    if (what->kind == WS_CUE_POUR_OUT)
        atomic_fetch_add(&device->pours, 1);
    atomic_fetch_add(what->kind < WS_CUE_KINDS ? &device->tones : &device->words, 1);
}

static enum ws_status device_feed(void *self, struct ws_message *why)
{
    struct aid_device *device = self;

    if (ws_clock_boot_ns(device->clock) < atomic_load(&device->gone_ns))
        return WS_OK;
    atomic_store(&device->there_ns, INT64_MAX);
    return ws_fail(why, WS_IO, "the sound device is gone, says a test");
}

const struct ws_sound aid_device_sound = { .name = "sound",
                                           .play = device_play,
                                           .self = &aid_device,
                                           .open = device_open,
                                           .feed = device_feed };

void aid_device_reset(const struct ws_clock *clock)
{
    atomic_store(&aid_device.tones, 0);
    atomic_store(&aid_device.pours, 0);
    atomic_store(&aid_device.words, 0);
    atomic_store(&aid_device.opens, 0);
    atomic_store(&aid_device.there_ns, INT64_MIN);
    atomic_store(&aid_device.gone_ns, INT64_MAX);
    atomic_store(&aid_device.stuck, false);
    aid_device.clock = clock;
}

void aid_device_expect(_Atomic int *what, int many)
{
    for (int i = 0; atomic_load(what) < many; i++) {
        if (i > PATIENCE_MS / NAP_MS)
            fail_msg("only %d of %d were played", atomic_load(what), many);
        poll(NULL, 0, NAP_MS);
    }
    assert_int_equal(atomic_load(what), many);
}
