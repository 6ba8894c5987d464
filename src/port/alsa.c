/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The device: keeps a little of the mix ahead of what is heard, and stands still when all is
 * silent.
 *
 * How much ahead: as little as the device bears, since what it holds can't be taken back when a
 * press answers a cue. It begins with 40 ms, and each time the device ran dry it is 20 ms more, up
 * to its whole buffer. Opening plays a tenth of a second of silence: that finds out how much it
 * takes before anything is heard, that the device does play, and that it keeps time.
 *
 * A stream ends by silence that is written until the last note has been heard, and is dropped
 * then: draining is a call that blocks on a stopped server, and some plug-ins cut the end. */
#ifdef WS_ALSA

#include "wetside/port/alsa.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include "alsa_lib.h"
#include "mixer.h"

enum {
    DEVICE_BYTES = 128,
    BUFFER_MS = 100,
    PERIOD_MS = 10,
    AHEAD_MS = 40,
    AHEAD_MORE_MS = 20,
    BLOCK_FRAMES = 512,
    QUIET_MS = 50,  /* heard after the last sound before the stream ends */
    PROOF_MS = 100, /* of silence, when it is opened */
    STALL_MS = 1000,
    CLOSE_MS = 500,
    TRIES = 4,
    MS_NS = 1000000
};

struct ws_alsa {
    char device[DEVICE_BYTES];
    const struct ws_alsa_lib *lib;
    snd_pcm_t *pcm; /* null: not open */
    snd_pcm_sframes_t buffer, period, ahead;
    bool running, proving;
    int64_t written;               /* since it was opened */
    snd_pcm_sframes_t held, delay; /* in the device, and until what comes next is heard */
    int64_t looked_ns;             /* the boot moment from which delay counts */
    int64_t taken, taken_ns;       /* by the device, and when that last became more; 0: not yet */
    int watch_fd;                  /* wakes the caller when the device takes nothing for STALL_MS */
    int16_t block[BLOCK_FRAMES];
    int block_at, block_frames; /* mixed and not written yet */
    struct ws_mixer mixer;
};

static int64_t clock_ns(clockid_t clock)
{
    struct timespec now;

    clock_gettime(clock, &now);
    return now.tv_sec * 1000000000LL + now.tv_nsec;
}

static void watch(struct ws_alsa *alsa, int ms)
{
    struct itimerspec at = { .it_value = { ms / 1000, ms % 1000 * MS_NS } };

    timerfd_settime(alsa->watch_fd, 0, &at, NULL);
}

/* ---- the stream ---- */

/* Poll wakes when a period of what is to be ahead has been heard. */
static int set_ahead(struct ws_alsa *alsa, snd_pcm_sframes_t ahead)
{
    const struct ws_alsa_lib *lib = alsa->lib;
    snd_pcm_sw_params_t *params;
    snd_pcm_uframes_t boundary = 0;
    int err = lib->snd_pcm_sw_params_malloc(&params);

    if (err < 0)
        return err;
    alsa->ahead = ahead < alsa->buffer ? ahead : alsa->buffer;
    err = lib->snd_pcm_sw_params_current(alsa->pcm, params);
    if (err >= 0)
        err = lib->snd_pcm_sw_params_get_boundary(params, &boundary);
    /* It starts when it is told to, not by itself. */
    if (err >= 0)
        err = lib->snd_pcm_sw_params_set_start_threshold(alsa->pcm, params, boundary);
    if (err >= 0)
        err = lib->snd_pcm_sw_params_set_stop_threshold(alsa->pcm, params,
                                                        (snd_pcm_uframes_t)alsa->buffer);
    if (err >= 0)
        err = lib->snd_pcm_sw_params_set_avail_min(
            alsa->pcm, params, (snd_pcm_uframes_t)(alsa->buffer - alsa->ahead + alsa->period));
    if (err >= 0)
        err = lib->snd_pcm_sw_params(alsa->pcm, params);
    lib->snd_pcm_sw_params_free(params);
    return err;
}

static void stop(struct ws_alsa *alsa)
{
    alsa->lib->snd_pcm_drop(alsa->pcm);
    alsa->running = false;
    alsa->block_frames = alsa->block_at = 0;
    watch(alsa, 0);
}

/* Writes what is mixed, mixing more as needed, until `left` frames are written or the device takes
 * no more; an ALSA error, or 0. */
static int write_out(struct ws_alsa *alsa, snd_pcm_sframes_t left)
{
    while (left > 0) {
        snd_pcm_sframes_t wrote;

        if (alsa->block_at == alsa->block_frames) {
            alsa->block_at = 0;
            alsa->block_frames = left < BLOCK_FRAMES ? (int)left : (int)BLOCK_FRAMES;
            ws_mixer_mix(&alsa->mixer, alsa->block, alsa->block_frames,
                         alsa->looked_ns + alsa->delay * 1000000000LL / WS_SOUND_HZ);
        }
        wrote = alsa->lib->snd_pcm_writei(alsa->pcm, alsa->block + alsa->block_at,
                                          (snd_pcm_uframes_t)(alsa->block_frames - alsa->block_at));
        if (wrote == -EAGAIN || wrote == 0)
            return 0;
        if (wrote < 0)
            return (int)wrote;
        alsa->block_at += (int)wrote;
        alsa->written += wrote;
        alsa->held += wrote;
        alsa->delay += wrote;
        left -= wrote;
    }
    return 0;
}

/* Looks how much is ahead, and writes what is missing; an ALSA error, or 0. */
static int top_up(struct ws_alsa *alsa)
{
    const struct ws_alsa_lib *lib = alsa->lib;
    snd_pcm_sframes_t free_frames;
    int err = alsa->running ? 0 : lib->snd_pcm_prepare(alsa->pcm);

    if (err < 0)
        return err;
    free_frames = lib->snd_pcm_avail(alsa->pcm);
    if (free_frames < 0)
        return (int)free_frames;
    alsa->held = alsa->buffer - free_frames;
    if (!alsa->running || lib->snd_pcm_delay(alsa->pcm, &alsa->delay) < 0)
        alsa->delay = alsa->held;
    alsa->looked_ns = clock_ns(CLOCK_BOOTTIME);
    err = write_out(alsa, alsa->ahead - alsa->held);
    if (err < 0 || alsa->running)
        return err;
    err = lib->snd_pcm_start(alsa->pcm);
    alsa->running = err >= 0;
    return err < 0 ? err : 0;
}

/* After an error that the device may get over; else the error. */
static int recover(struct ws_alsa *alsa, int err)
{
    if (err == -EINTR || err == -EAGAIN)
        return 0;
    if (err != -EPIPE && err != -ESTRPIPE) /* ran dry, or the machine slept */
        return err;
    alsa->running = false;
    if (err == -EPIPE && alsa->ahead < alsa->buffer)
        return set_ahead(alsa, alsa->ahead + ws_tone_frames(AHEAD_MORE_MS));
    return 0;
}

static void shut(struct ws_alsa *alsa)
{
    if (alsa->lib == NULL)
        return;
    if (alsa->pcm != NULL)
        alsa->lib->snd_pcm_close(alsa->pcm);
    alsa->pcm = NULL;
    alsa->running = false;
    alsa->block_frames = alsa->block_at = 0;
    ws_mixer_begin(&alsa->mixer);
    watch(alsa, 0);
    /* The configuration is read anew next time: a device may have come meanwhile. */
    alsa->lib->snd_config_update_free_global();
}

static enum ws_status lost(struct ws_alsa *alsa, struct ws_message *why, const char *how)
{
    shut(alsa);
    return ws_fail(why, WS_IO, "the sound device %s %s; is it still there?", alsa->device, how);
}

/* What a plug-in does when its descriptor was ready: some read it empty there. */
static void acknowledge(struct ws_alsa *alsa)
{
    struct pollfd fds[WS_SOUND_FDS];
    unsigned short events;
    uint64_t times;
    int n = alsa->lib->snd_pcm_poll_descriptors(alsa->pcm, fds, WS_SOUND_FDS - 1);

    if (n > 0 && poll(fds, (nfds_t)n, 0) > 0)
        alsa->lib->snd_pcm_poll_descriptors_revents(alsa->pcm, fds, (unsigned)n, &events);
    if (read(alsa->watch_fd, &times, sizeof times) < 0)
        return; /* not due: nothing to read */
}

/* Whether the device has taken nothing for too long; else it is watched on. */
static bool is_stalled(struct ws_alsa *alsa)
{
    int64_t now_ns = clock_ns(CLOCK_MONOTONIC);
    int64_t taken = alsa->written - alsa->held;

    if (taken > alsa->taken || alsa->taken_ns == 0) {
        alsa->taken = taken;
        alsa->taken_ns = now_ns;
    }
    watch(alsa, STALL_MS);
    return now_ns - alsa->taken_ns >= (int64_t)STALL_MS * MS_NS;
}

/* Nothing but silence has been mixed for so many frames of what was written. */
static bool is_quiet(const struct ws_alsa *alsa, int64_t frames)
{
    return !ws_mixer_busy(&alsa->mixer) &&
           alsa->mixer.quiet - (alsa->block_frames - alsa->block_at) >= frames;
}

static enum ws_status feed(void *self, struct ws_message *why)
{
    struct ws_alsa *alsa = self;
    int quiet_ms = alsa->proving ? PROOF_MS : QUIET_MS;
    int tries = 0, err;

    if (alsa->pcm == NULL || (!alsa->running && !alsa->proving && !ws_mixer_busy(&alsa->mixer)))
        return WS_OK;
    if (alsa->running)
        acknowledge(alsa);
    else
        alsa->taken_ns = 0;
    while ((err = top_up(alsa)) < 0) {
        /* Ran dry in the silence at its end: nothing was lost. */
        if (err == -EPIPE && !alsa->proving && is_quiet(alsa, 0)) {
            stop(alsa);
            return WS_OK;
        }
        err = recover(alsa, err);
        alsa->taken_ns = 0;
        if (err < 0)
            return lost(alsa, why, alsa->lib->snd_strerror(err));
        if (++tries == TRIES)
            return lost(alsa, why, "can't be kept playing");
    }
    if (is_stalled(alsa))
        return lost(alsa, why, "takes no sound any more");
    if (is_quiet(alsa, alsa->delay + ws_tone_frames(quiet_ms)))
        stop(alsa);
    return WS_OK;
}

/* ---- opening ---- */

/* Asks for what we play; an ALSA error, or 0. */
static int set_up(struct ws_alsa *alsa)
{
    const struct ws_alsa_lib *lib = alsa->lib;
    unsigned buffer_us = BUFFER_MS * 1000, period_us = PERIOD_MS * 1000;
    snd_pcm_uframes_t buffer = 0, period = 0;
    snd_pcm_sframes_t ahead = ws_tone_frames(AHEAD_MS);
    snd_pcm_hw_params_t *params;
    int err = lib->snd_pcm_hw_params_malloc(&params);

    if (err < 0)
        return err;
    err = lib->snd_pcm_hw_params_any(alsa->pcm, params);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_access(alsa->pcm, params, SND_PCM_ACCESS_RW_INTERLEAVED);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_format(alsa->pcm, params, SND_PCM_FORMAT_S16);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_channels(alsa->pcm, params, 1);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_rate(alsa->pcm, params, WS_SOUND_HZ, 0);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_period_time_near(alsa->pcm, params, &period_us, NULL);
    if (err >= 0)
        err = lib->snd_pcm_hw_params_set_buffer_time_near(alsa->pcm, params, &buffer_us, NULL);
    if (err >= 0)
        err = lib->snd_pcm_hw_params(alsa->pcm, params);
    lib->snd_pcm_hw_params_free(params);
    if (err >= 0)
        err = lib->snd_pcm_get_params(alsa->pcm, &buffer, &period);
    if (err < 0)
        return err;
    alsa->buffer = (snd_pcm_sframes_t)buffer;
    alsa->period = (snd_pcm_sframes_t)period;
    /* A device that takes long periods has to be fed one while it plays another. */
    if (ahead < 2 * alsa->period + ws_tone_frames(PERIOD_MS) / 2)
        ahead = 2 * alsa->period + ws_tone_frames(PERIOD_MS) / 2;
    return set_ahead(alsa, ahead);
}

/* Plays until it stops by itself, at most so long. */
static enum ws_status play_out(struct ws_alsa *alsa, int most_ms, struct ws_message *why)
{
    int64_t until_ns = clock_ns(CLOCK_MONOTONIC) + (int64_t)most_ms * MS_NS;
    enum ws_status status = feed(alsa, why);

    while (status == WS_OK && alsa->running && clock_ns(CLOCK_MONOTONIC) < until_ns) {
        struct pollfd fds[WS_SOUND_FDS];
        int n = alsa->lib->snd_pcm_poll_descriptors(alsa->pcm, fds, WS_SOUND_FDS);

        poll(fds, n > 0 ? (nfds_t)n : 0, PERIOD_MS);
        status = feed(alsa, why);
    }
    return status;
}

static enum ws_status prove(struct ws_alsa *alsa, struct ws_message *why)
{
    int64_t from_ns = clock_ns(CLOCK_MONOTONIC), took_ns;
    enum ws_status status;

    alsa->proving = true;
    status = play_out(alsa, 2 * STALL_MS, why);
    alsa->proving = false;
    took_ns = clock_ns(CLOCK_MONOTONIC) - from_ns;
    if (status == WS_OK && took_ns < (int64_t)PROOF_MS * MS_NS / 4) {
        shut(alsa);
        status = ws_fail(why, WS_IO,
                         "no sound: the device %s swallows it without playing; WETSIDE_SOUND names "
                         "another",
                         alsa->device);
    }
    return status;
}

static enum ws_status open_device(void *self, char *name, size_t size, struct ws_message *why)
{
    struct ws_alsa *alsa = self;
    enum ws_status status;
    int err;

    if (strcmp(alsa->device, "none") == 0)
        return ws_fail(why, WS_NOT_FOUND, "no sound but the bell, by WETSIDE_SOUND=none");
    status = ws_alsa_lib_load(&alsa->lib, why);
    if (status != WS_OK)
        return status;
    shut(alsa);
    err = alsa->lib->snd_pcm_open(&alsa->pcm, alsa->device, SND_PCM_STREAM_PLAYBACK,
                                  SND_PCM_NONBLOCK);
    if (err < 0) {
        alsa->pcm = NULL;
        shut(alsa);
        return ws_fail(why, WS_IO,
                       "no sound: the device %s can't be opened: %s; WETSIDE_SOUND names another",
                       alsa->device, alsa->lib->snd_strerror(err));
    }
    err = set_up(alsa);
    if (err < 0) {
        shut(alsa);
        return ws_fail(why, WS_IO,
                       "no sound: the device %s can't play one channel at %d Hz: %s; plughw in the "
                       "place of hw may",
                       alsa->device, (int)WS_SOUND_HZ, alsa->lib->snd_strerror(err));
    }
    ws_mixer_begin(&alsa->mixer);
    alsa->written = alsa->taken = 0;
    status = prove(alsa, why);
    if (status == WS_OK && size > 0)
        snprintf(name, size, "ALSA %s", alsa->device);
    return status;
}

/* ---- the rest of the interface ---- */

static void play(void *self, const struct ws_sounding *what)
{
    struct ws_alsa *alsa = self;

    if (alsa->pcm != NULL)
        ws_mixer_play(&alsa->mixer, what, clock_ns(CLOCK_BOOTTIME));
}

static int fds(void *self, struct pollfd *poll_fds, int most)
{
    struct ws_alsa *alsa = self;
    int n;

    if (!alsa->running || most < 2)
        return 0;
    n = alsa->lib->snd_pcm_poll_descriptors(alsa->pcm, poll_fds, (unsigned)most - 1);
    if (n < 0)
        n = 0;
    poll_fds[n] = (struct pollfd){ .fd = alsa->watch_fd, .events = POLLIN };
    return n + 1;
}

static void hush(void *self, int tank)
{
    struct ws_alsa *alsa = self;

    ws_mixer_hush(&alsa->mixer, tank);
}

static void close_device(void *self)
{
    struct ws_alsa *alsa = self;

    if (alsa->running) {
        ws_mixer_hush(&alsa->mixer, -1);
        play_out(alsa, CLOSE_MS, NULL);
    }
    shut(alsa);
}

enum ws_status ws_alsa_new(const char *device, struct ws_alsa **out, struct ws_sound *sound,
                           struct ws_message *why)
{
    static const char memory[] = "no sound but the bell: not enough memory";
    static const char timer[] = "no sound but the bell: the system gives no timer for it";
    struct ws_alsa *alsa = calloc(1, sizeof *alsa);

    *out = NULL;
    if (alsa == NULL) {
        ws_sound_none(sound, memory);
        return ws_fail(why, WS_NO_MEMORY, "%s", memory);
    }
    alsa->watch_fd = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
    if (alsa->watch_fd < 0) {
        free(alsa);
        ws_sound_none(sound, timer);
        return ws_fail(why, WS_IO, "%s", timer);
    }
    if (device == NULL)
        device = getenv("WETSIDE_SOUND");
    snprintf(alsa->device, sizeof alsa->device, "%s",
             device != NULL && device[0] != '\0' ? device : "default");
    *out = alsa;
    *sound = (struct ws_sound){ .name = "ALSA",
                                .play = play,
                                .self = alsa,
                                .open = open_device,
                                .fds = fds,
                                .feed = feed,
                                .hush = hush,
                                .close = close_device };
    return WS_OK;
}

void ws_alsa_free(struct ws_alsa *alsa)
{
    if (alsa == NULL)
        return;
    shut(alsa);
    close(alsa->watch_fd);
    free(alsa);
}

bool ws_alsa_built(void)
{
    return true;
}

#else
/* Built without the library: alsa_none.c. */
extern int ws_alsa_is_not_built;
#endif
