/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plug-in of ALSA that listens: a device that takes 16 bit mono at the pace of the clock, wakes
 * its player by a timer, and writes down what was played, and when. It can be told to hang, to
 * stand still or to vanish. */
#include "listen.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/timerfd.h>
#include <time.h>
#include <unistd.h>

#include <alsa/asoundlib.h>
#include <alsa/pcm_external.h>

struct ear {
    snd_pcm_ioplug_t io;
    int file, hang_fd;
    const char *fail, *when;
    int64_t after_ms, after_writes;
    int64_t opened_ns, started_ns; /* started 0: stands */
    int64_t written, still_at, writes;
    snd_pcm_uframes_t avail_min;
    bool dry;
};

static int64_t now_ns(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000000000LL + now.tv_nsec;
}

static void note(struct ear *ear, enum listen_what what, int64_t place, int frames,
                 const void *samples)
{
    struct listen_record record = { (int32_t)what, frames, now_ns(), place };
    size_t bytes = (size_t)frames * sizeof(int16_t);

    if (write(ear->file, &record, sizeof record) != (ssize_t)sizeof record ||
        (frames > 0 && write(ear->file, samples, bytes) != (ssize_t)bytes))
        abort();
}

static bool fails(const struct ear *ear, const char *how)
{
    return strcmp(ear->fail, how) == 0 && ear->writes >= ear->after_writes &&
           now_ns() - ear->opened_ns >= ear->after_ms * 1000000 &&
           (ear->when == NULL || access(ear->when, F_OK) == 0);
}

static int hang(struct ear *ear)
{
    struct pollfd released = { .fd = ear->hang_fd, .events = POLLIN };

    note(ear, LISTEN_HANGS, 0, 0, NULL);
    while (poll(&released, 1, -1) < 0 && errno == EINTR)
        continue;
    return -EIO;
}

static void set_timer(struct ear *ear, int64_t every_ns)
{
    struct timespec every = { every_ns / 1000000000, every_ns % 1000000000 };
    struct itimerspec timer = { every, every };

    timerfd_settime(ear->io.poll_fd, 0, &timer, NULL);
}

/* Frames heard since it was prepared. */
static int64_t heard(struct ear *ear)
{
    int64_t frames;

    if (ear->started_ns == 0)
        return 0;
    if (ear->still_at >= 0)
        return ear->still_at;
    frames = (now_ns() - ear->started_ns) * ear->io.rate / 1000000000;
    if (fails(ear, "still")) {
        ear->still_at = frames < ear->written ? frames : ear->written;
        set_timer(ear, 0);
    }
    return frames;
}

static int on_prepare(snd_pcm_ioplug_t *io)
{
    struct ear *ear = io->private_data;

    if (fails(ear, "hang-prepare"))
        return hang(ear);
    if (fails(ear, "gone"))
        return -ENODEV;
    ear->written = ear->started_ns = 0;
    ear->still_at = -1;
    ear->dry = false;
    note(ear, LISTEN_PREPARED, 0, 0, NULL);
    return 0;
}

static int on_start(snd_pcm_ioplug_t *io)
{
    struct ear *ear = io->private_data;

    if (fails(ear, "gone"))
        return -ENODEV;
    ear->started_ns = now_ns();
    note(ear, LISTEN_STARTED, 0, 0, NULL);
    set_timer(ear, (int64_t)io->period_size * 1000000000 / io->rate);
    return 0;
}

static int on_stop(snd_pcm_ioplug_t *io)
{
    struct ear *ear = io->private_data;
    int64_t frames = heard(ear);

    set_timer(ear, 0);
    if (ear->started_ns != 0 && !ear->dry)
        note(ear, LISTEN_STOPPED, frames < ear->written ? frames : ear->written, 0, NULL);
    ear->started_ns = 0;
    return 0;
}

static snd_pcm_sframes_t on_pointer(snd_pcm_ioplug_t *io)
{
    struct ear *ear = io->private_data;
    int64_t frames = heard(ear);

    if (fails(ear, "gone"))
        return -ENODEV;
    if (frames > ear->written) {
        if (!ear->dry)
            note(ear, LISTEN_RAN_DRY, ear->written, 0, NULL);
        ear->dry = true;
        return -EPIPE;
    }
    return (snd_pcm_sframes_t)(frames % (int64_t)io->buffer_size);
}

static snd_pcm_sframes_t on_transfer(snd_pcm_ioplug_t *io, const snd_pcm_channel_area_t *areas,
                                     snd_pcm_uframes_t offset, snd_pcm_uframes_t size)
{
    struct ear *ear = io->private_data;
    const int16_t *samples = (const int16_t *)areas->addr + areas->first / 16 + offset;

    if (fails(ear, "hang-write"))
        return hang(ear);
    if (fails(ear, "gone"))
        return -ENODEV;
    note(ear, LISTEN_WROTE, ear->written, (int)size, samples);
    ear->written += (int64_t)size;
    ear->writes++;
    return (snd_pcm_sframes_t)size;
}

static int on_sw_params(snd_pcm_ioplug_t *io, snd_pcm_sw_params_t *params)
{
    struct ear *ear = io->private_data;

    return snd_pcm_sw_params_get_avail_min(params, &ear->avail_min);
}

/* The timer ticks each period; the player is woken only when there is room enough. */
static int on_poll_revents(snd_pcm_ioplug_t *io, struct pollfd *fds, unsigned int n,
                           unsigned short *events)
{
    struct ear *ear = io->private_data;
    int64_t room = (int64_t)io->buffer_size - ear->written + heard(ear);
    uint64_t ticks;

    *events = 0;
    if (n != 1 || fds[0].fd != io->poll_fd)
        return -EINVAL;
    if (read(io->poll_fd, &ticks, sizeof ticks) < 0 && errno != EAGAIN)
        return -errno;
    if (room >= (int64_t)ear->avail_min || ear->dry || fails(ear, "gone"))
        *events = POLLOUT;
    return 0;
}

static int on_close(snd_pcm_ioplug_t *io)
{
    struct ear *ear = io->private_data;

    note(ear, LISTEN_CLOSED, 0, 0, NULL);
    close(io->poll_fd);
    close(ear->file);
    free(ear);
    return 0;
}

static const snd_pcm_ioplug_callback_t callbacks = { .start = on_start,
                                                     .stop = on_stop,
                                                     .pointer = on_pointer,
                                                     .transfer = on_transfer,
                                                     .close = on_close,
                                                     .prepare = on_prepare,
                                                     .sw_params = on_sw_params,
                                                     .poll_revents = on_poll_revents };

static int64_t number(const char *name)
{
    const char *text = getenv(name);

    return text != NULL ? strtoll(text, NULL, 10) : 0;
}

static int offer(snd_pcm_ioplug_t *io)
{
    static const unsigned access[] = { SND_PCM_ACCESS_RW_INTERLEAVED };
    static const unsigned format[] = { SND_PCM_FORMAT_S16 };
    unsigned channels = number("LISTEN_CHANNELS") > 0 ? (unsigned)number("LISTEN_CHANNELS") : 1;
    int err = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_ACCESS, 1, access);

    if (err >= 0)
        err = snd_pcm_ioplug_set_param_list(io, SND_PCM_IOPLUG_HW_FORMAT, 1, format);
    if (err >= 0)
        err = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_CHANNELS, channels, channels);
    if (err >= 0)
        err = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_RATE, 8000, 48000);
    if (err >= 0)
        err = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_PERIOD_BYTES, 128, 16384);
    if (err >= 0)
        err = snd_pcm_ioplug_set_param_minmax(io, SND_PCM_IOPLUG_HW_BUFFER_BYTES, 512, 65536);
    return err;
}

SND_PCM_PLUGIN_DEFINE_FUNC(listen)
{
    const char *path = getenv("LISTEN_FILE"), *fail = getenv("LISTEN_FAIL");
    struct ear *ear = calloc(1, sizeof *ear);
    int err = -ENOMEM;

    (void)root;
    (void)conf;
    if (ear == NULL)
        return err;
    ear->io = (snd_pcm_ioplug_t){ .version = SND_PCM_IOPLUG_VERSION,
                                  .name = "listens, and writes down what it hears",
                                  .callback = &callbacks,
                                  .private_data = ear,
                                  .poll_events = POLLIN };
    ear->fail = fail != NULL ? fail : "";
    ear->when = getenv("LISTEN_WHEN");
    ear->after_ms = number("LISTEN_AFTER_MS");
    ear->after_writes = number("LISTEN_AFTER_WRITES");
    ear->hang_fd = (int)number("LISTEN_HANG_FD");
    ear->opened_ns = now_ns();
    ear->avail_min = 1;
    ear->still_at = -1;
    ear->io.poll_fd = timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC);
    ear->file = open(path != NULL ? path : "", O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0600);
    err = ear->io.poll_fd < 0 || ear->file < 0 ? -errno : 0;
    if (err >= 0 && fails(ear, "gone"))
        err = -ENODEV;
    if (err >= 0)
        err = snd_pcm_ioplug_create(&ear->io, name, stream, mode);
    if (err < 0) {
        close(ear->io.poll_fd);
        close(ear->file);
        free(ear);
        return err;
    }
    err = offer(&ear->io);
    if (err < 0) {
        snd_pcm_ioplug_delete(&ear->io);
        return err;
    }
    note(ear, LISTEN_OPENED, 0, 0, NULL);
    *pcmp = ear->io.pcm;
    return 0;
}

/* SND_PCM_PLUGIN_SYMBOL without its semicolon, which is one too many in strict C. */
SND_DLSYM_BUILD_VERSION(SND_PCM_PLUGIN_ENTRY(listen), SND_PCM_DLSYM_VERSION)
