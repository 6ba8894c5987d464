/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The listening plug-in: set up, told how to fail, and read. */
#include "aid_listen.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "wetside/port/sound.h"

int64_t listen_now_ns(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * 1000000000LL + now.tv_nsec;
}

/* Beside the tests of port. An empty file: built without ALSA. */
static bool find_plugin(char *path, size_t size)
{
    struct stat found;
    char self[512];
    ssize_t length = readlink("/proc/self/exe", self, sizeof self - 1);
    char *slash;

    if (length < 0)
        return false;
    self[length] = '\0';
    slash = strrchr(self, '/');
    if (slash == NULL)
        return false;
    *slash = '\0';
    snprintf(path, size, "%s/../port/listen/libasound_module_pcm_listen.so", self);
    return stat(path, &found) == 0 && found.st_size > 0;
}

bool listen_begin(struct listen_place *place)
{
    const char *tmp = getenv("TMPDIR");
    char plugin[600];
    FILE *config;

    if (!find_plugin(plugin, sizeof plugin))
        return false;
    snprintf(place->folder, sizeof place->folder, "%.40s/listen-XXXXXX",
             tmp != NULL && tmp[0] != '\0' ? tmp : "/tmp");
    if (mkdtemp(place->folder) == NULL)
        return false;
    snprintf(place->file, sizeof place->file, "%s/heard", place->folder);
    snprintf(place->config, sizeof place->config, "%s/asound.conf", place->folder);
    snprintf(place->when, sizeof place->when, "%s/fails", place->folder);
    config = fopen(place->config, "w");
    if (config == NULL)
        return false;
    fprintf(config,
            "pcm_type.listen { lib \"%s\" }\n"
            "pcm.listen { type listen }\n"
            "pcm.swallow { type null }\n",
            plugin);
    if (fclose(config) != 0)
        return false;
    setenv("ALSA_CONFIG_PATH", place->config, 1);
    setenv("LISTEN_FILE", place->file, 1);
    setenv("LISTEN_WHEN", place->when, 1);
    listen_fail(place, NULL, -1);
    return true;
}

void listen_clear(const struct listen_place *place)
{
    /* Not unlinked: the device may have it open. */
    if (truncate(place->file, 0) != 0 && errno != ENOENT)
        abort();
}

void listen_end(struct listen_place *place)
{
    unlink(place->file);
    unlink(place->config);
    unlink(place->when);
    rmdir(place->folder);
}

void listen_fail(const struct listen_place *place, const char *how, int hang_fd)
{
    char text[16];

    unlink(place->when);
    snprintf(text, sizeof text, "%d", hang_fd);
    setenv("LISTEN_FAIL", how != NULL ? how : "", 1);
    setenv("LISTEN_HANG_FD", text, 1);
}

void listen_let_fail(const struct listen_place *place)
{
    FILE *file = fopen(place->when, "w");

    if (file == NULL || fclose(file) != 0)
        abort();
}

/* ---- reading ---- */

/* One stream from its preparation on. */
struct stream {
    int16_t *frame;
    int64_t frames, started_ns; /* 0: not started */
};

/* Puts what was heard of a stream where the clock was. */
static void lay_out(struct listened *out, struct stream *stream, int64_t frames)
{
    int64_t from = (stream->started_ns - out->from_ns) * WS_SOUND_HZ / 1000000000;

    if (stream->started_ns != 0 && frames > 0) {
        out->frame = realloc(out->frame, (size_t)(from + frames) * sizeof(int16_t));
        memset(out->frame + out->frames, 0, (size_t)(from - out->frames) * sizeof(int16_t));
        memcpy(out->frame + from, stream->frame, (size_t)frames * sizeof(int16_t));
        out->frames = (int)(from + frames);
        if (out->runs < (int)(sizeof out->run / sizeof out->run[0])) {
            out->run[out->runs].from = (int)from;
            out->run[out->runs++].frames = (int)frames;
        }
    }
    stream->frames = stream->started_ns = 0;
}

static void take(struct listened *out, struct stream *stream, const struct listen_record *record,
                 FILE *file)
{
    size_t frames = (size_t)record->frames;

    switch ((enum listen_what)record->what) {
    case LISTEN_PREPARED:
        stream->frames = stream->started_ns = 0;
        break;
    case LISTEN_STARTED:
        stream->started_ns = record->at_ns;
        out->ahead = (int)stream->frames;
        break;
    case LISTEN_WROTE:
        stream->frame = realloc(stream->frame, ((size_t)stream->frames + frames) * sizeof(int16_t));
        if (fread(stream->frame + stream->frames, sizeof(int16_t), frames, file) == frames)
            stream->frames += record->frames;
        break;
    case LISTEN_STOPPED:
    case LISTEN_RAN_DRY:
        lay_out(out, stream, record->place < stream->frames ? record->place : stream->frames);
        break;
    case LISTEN_OPENED:
    case LISTEN_HANGS:
    case LISTEN_CLOSED:
        break;
    }
}

void listen_read(const struct listen_place *place, struct listened *out)
{
    struct stream stream = { NULL, 0, 0 };
    struct listen_record record;
    FILE *file = fopen(place->file, "r");

    memset(out, 0, sizeof *out);
    while (file != NULL && fread(&record, sizeof record, 1, file) == 1) {
        if (record.what < 0 || record.what > LISTEN_CLOSED)
            abort();
        out->count[record.what]++;
        if (out->from_ns == 0)
            out->from_ns = record.at_ns;
        take(out, &stream, &record, file);
    }
    /* Still playing: up to what was written. */
    lay_out(out, &stream, stream.frames);
    free(stream.frame);
    if (file != NULL)
        fclose(file);
}

void listened_free(struct listened *heard)
{
    free(heard->frame);
}
